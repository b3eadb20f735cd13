"""The next act on the phone: one, big; its answers are kept, also without the laptop, and the place in the walk is never lost.

The plan of the walk is given here, so that every kind of act comes up; the laptop, its record and the line are real.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import uvicorn

from pullstring import api
from pullstring.api import pocket_walk
from pullstring.api.pocket_answers import pocket_acts
from pullstring.api.tracing_acts import blank_act, numbers_answer, ohm_answer, row, tone_answers, volts_answers
from pullstring.model.answers import Request
from pullstring.model.refs import parse_ref
from pullstring.web.pairing import Pairing
from pullstring.web.server import application, lan_addresses
from tests.journeys.lime_house import lime_house
from tests.journeys.sites import ASKED, HAND
from tests.phone.phone import (
    act,
    address,
    all_in_record,
    double_tap,
    jottings,
    next_code,
    once_and_in_order,
    open_pocket,
    phone,
    words_in,
)
from tests.web.served import Served, serving
from tests.web.test_reading import violations

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.phone.phone import Line

Acts = list[dict[str, Any]]


class Given(Served):
    """A laptop in this process, so that its plan of the walk can be given."""

    def __init__(self, port: int, pairing: Pairing) -> None:
        self.port, self.pairing = port, pairing

    @property
    def code(self) -> str:
        return self.pairing.code()


@contextlib.contextmanager
def given_laptop(site: Path) -> Iterator[Given]:
    listener = socket.create_server(("0.0.0.0", 0))
    port, pairing = listener.getsockname()[1], Pairing()
    app = application(site, ASKED, port=port, addresses=lan_addresses(), pairing=pairing)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, proxy_headers=False))
    running = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    running.start()
    try:
        while not server.started:
            time.sleep(0.02)
        yield Given(port, pairing)
    finally:
        server.should_exit = True
        running.join(20)
        listener.close()


def acts_of(site: Path) -> Acts:
    """A walk with an act of every kind, over outlets and ends that the record holds."""
    found = api.load(site, ASKED)

    def at(kind: str, ref: str, **more: Any) -> dict[str, Any]:
        return blank_act(found, kind, parse_ref(ref), **{"seconds": 10.0, "travel_s": 20.0, **more})

    placed = [row("outlet:O2", "remote placed", "7")]
    return [
        at("place tone", "outlet:O3", caution=["ladder"]),
        at("touch", "end:E3", answers=tone_answers("end:E3", "outlet:O3"), caution=["isolate"]),
        at("touch", "end:E4", answers=tone_answers("end:E4", "outlet:O3")),
        at("take off tone", "outlet:O3"),
        at("place remote", "outlet:O2", what=7, notes=placed),
        at("clip", "end:E5", answers=numbers_answer("end:E5", [7, 8])),
        at("take off remote", "outlet:O2", what=7, notes=[row("outlet:O2", "remote placed", "none")]),
        at("ohms", "end:E3", answers=ohm_answer("end:E3")),
        at("meter", "end:E5", answers=volts_answers("end:E5")),
    ]


@pytest.fixture
def laptop(site: Path, line: Line, monkeypatch: pytest.MonkeyPatch) -> Iterator[Given]:
    monkeypatch.setattr(pocket_walk, "_planned", lambda path, request: (acts_of(site), "all sure"))
    with given_laptop(site) as given:
        line.target, line.mode, line.lose, line.lost = given.port, "pass", 0, 0
        line.heard.clear()
        yield given


def at_act(pocket: BrowserContext, laptop: Given) -> Page:
    """A paired phone that shows the first act."""
    page = open_pocket(pocket, laptop, code=laptop.code)
    act(page, "Next act")
    words_in(page, ".do", "Put the tone on outlet O3.")
    return page


def tap(page: Page, word: str) -> None:
    page.get_by_role("button", name=word, exact=True).tap()


def answer(page: Page, *words: str) -> None:
    """One tap each; another act, or the end of the walk, is shown after it."""
    for word in words:
        before = page.locator(".step").inner_text()
        tap(page, word)
        page.locator(".step", has_not_text=before).or_(page.locator(".do", has_text="Every act")).first.wait_for()
        page.locator("#acts:not([inert])").wait_for()


def fields(site: Path) -> list[dict[str, str]]:
    said = [{**entry["body"]["fields"]} for entry in jottings(site)]
    return [{name: value for name, value in one.items() if name != "place"} for one in said]


def reading(about: str, quantity: str, value: str, **more: str) -> dict[str, str]:
    return {"what": "reading", "about": about, "quantity": quantity, "value": value, **more}


def test_act__every_answer_becomes_the_row_that_the_act_means(
    pocket: BrowserContext, laptop: Given, site: Path
) -> None:
    page = at_act(pocket, laptop)
    assert page.locator(".caution").inner_text().startswith("Caution: Ladder")
    answer(page, "Done")
    page.get_by_role("checkbox", name="pair off the block").tap()
    page.get_by_role("checkbox", name="stops when shorted there").tap()
    answer(page, "loud", "not looked", "Done", "Done")
    page.get_by_role("checkbox", name="7").tap()
    answer(page, "Keep", "Done")
    for key in "1209":
        page.get_by_role("button", name=key, exact=True).tap()
    answer(page, "Keep", "no volts DC")
    page.get_by_role("textbox").fill("0.3")
    tap(page, "Keep")
    page.locator(".do", has_text="Every act of this walk is done").wait_for()
    all_in_record(page)
    once_and_in_order(site)
    assert fields(site) == [
        {"what": "tone", "about": "outlet:O3", "words": "tone put on"},
        reading("end:E3", "tone", "loud from outlet:O3 isolated confirmed", sent_on="outlet:O3"),
        reading("end:E4", "tone", "not looked from outlet:O3", sent_on="outlet:O3"),
        {"what": "tone", "about": "outlet:O3", "words": "tone taken off"},
        reading("outlet:O2", "remote placed", "7"),
        reading("end:E5", "remotes heard", "7 of 7 8"),
        reading("outlet:O2", "remote placed", "none"),
        reading("end:E3", "resistance", "1209 ohm"),
        reading("end:E5", "volts DC", "none"),
        reading("end:E5", "volts AC", "0.3 V"),
    ]
    rooms = {e["body"]["fields"].get("place") for e in jottings(site)}
    assert rooms == {"R1", "R2"}  # outlets are in the kiln room, ends in the closet


def test_act__sorted_in_one_go_it_is_the_reading_itself(pocket: BrowserContext, laptop: Given, site: Path) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done")
    page.get_by_role("checkbox", name="stops when shorted there").tap()
    answer(page, "loud")
    all_in_record(page)
    waiting = api.inbox(site, ASKED).answer["waiting"]
    rows = [api.Row(r["table"], r["cells"], r["new"]) for j in waiting for r in j["rows"]]
    api.add_rows(site, ASKED, rows=rows, key="ab" * 16, **HAND)
    found = api.load(site, ASKED)
    tones = [r.measured.written for r in found.readings if r.measured.quantity == "tone"]
    assert tones == ["loud from outlet:O3 confirmed"]
    assert api.inbox(site, ASKED).answer["waiting"] == []


def test_act__a_tone_takes_two_taps_from_the_list(pocket: BrowserContext, laptop: Given) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done")
    tap(page, "Back")
    page.evaluate("addEventListener('click', (e) => { if (e.isTrusted) window.taps = (window.taps ?? 0) + 1 }, true)")
    act(page, "Next act")
    tap(page, "faint")
    words_in(page, "#says", "E3 is")
    assert page.evaluate("window.taps") == 2


def test_act__offline_it_goes_on_in_order_and_all_arrives_once(
    pocket: BrowserContext, laptop: Given, line: Line, site: Path
) -> None:
    page = at_act(pocket, laptop)
    all_in_record(page)
    line.mode = "dead"
    answer(page, "Done", "loud", "nothing")
    words_in(page, ".do", "Take the tone off outlet O3.")
    words_in(page, "#waiting-words", "3 on this phone")
    assert jottings(site) == []
    line.mode, line.lose = "pass", 2  # the laptop keeps what is sent, and its first two answers are lost
    page.locator("#waiting").tap()
    all_in_record(page)
    assert line.lost == 2
    once_and_in_order(site)
    assert [f.get("value", f.get("words")) for f in fields(site)] == [
        "tone put on",
        "loud from outlet:O3",
        "none from outlet:O3",
    ]
    act(page, "Next act")
    words_in(page, ".do", "Take the tone off outlet O3.")  # the list was told anew, and nothing is asked twice


def test_act__loaded_anew_it_stands_at_the_same_act(pocket: BrowserContext, laptop: Given) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done", "loud")
    words_in(page, ".step", "Act 3 of 10")
    page.reload()
    words_in(page, ".step", "Act 3 of 10")
    words_in(page, ".do", "Touch end E4 with the probe.")


def test_act__offline_the_place_is_kept_while_the_page_is_away(
    pocket: BrowserContext, laptop: Given, line: Line
) -> None:
    """What was answered counts also before the laptop knows it: the place follows from what is kept on the phone."""
    page = at_act(pocket, laptop)
    all_in_record(page)
    line.mode = "dead"
    answer(page, "Done", "loud")
    line.mode = "pass"
    page.reload()
    words_in(page, ".step", "Act 3 of 10")


def test_act__another_thing_done_is_kept_and_the_act_waits(pocket: BrowserContext, laptop: Given, site: Path) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done", "loud")
    tap(page, "Did something else")
    act(page, "Reading")
    page.fill("[name=about]", "E1")
    page.get_by_role("radio", name="volts DC").tap()
    page.fill("[name=value]", "48")
    tap(page, "Keep")
    words_in(page, ".step", "Act 3 of 10")
    words_in(page, "#says", "E1 is")
    answer(page, "nothing")
    all_in_record(page)
    once_and_in_order(site)
    assert [f.get("value", "") for f in fields(site)] == ["", "loud from outlet:O3", "48 V", "none from outlet:O3"]


def test_act__the_same_reading_written_as_something_else_answers_it_too(pocket: BrowserContext, laptop: Given) -> None:
    """Whoever did act 8 first wrote it down as a reading; it is not asked for again."""
    page = at_act(pocket, laptop)
    tap(page, "Did something else")
    act(page, "Reading")
    page.fill("[name=about]", "end:E3")
    page.get_by_role("radio", name="resistance", exact=True).tap()
    page.fill("[name=value]", "1209")
    tap(page, "Keep")
    words_in(page, ".step", "Act 2 of 10")
    words_in(page, ".do", "Put the tone on outlet O3.")


def test_act__skipped_it_comes_last_with_what_needs_it(pocket: BrowserContext, laptop: Given, site: Path) -> None:
    page = at_act(pocket, laptop)
    tap(page, "Skip")  # the tone goes on nowhere, so nothing can be heard of it and it is not taken off
    words_in(page, ".do", "Put remote 7 on outlet O2.")
    answer(page, "Done", "none", "Done", "open", "no volts DC", "no volts AC")
    words_in(page, ".step", "put off before")
    words_in(page, ".do", "Put the tone on outlet O3.")
    answer(page, "Done")
    words_in(page, ".do", "Touch end E3 with the probe.")
    all_in_record(page)
    assert len(once_and_in_order(site)) == 7  # skipping wrote nothing


def test_act__taken_back_it_is_asked_again(pocket: BrowserContext, laptop: Given) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done", "loud")
    all_in_record(page)
    tap(page, "Take it back")
    words_in(page, "#title", "Take it back")
    page.locator("#acts").get_by_role("button", name="Take it back").tap()
    words_in(page, ".do", "Touch end E3 with the probe.")
    all_in_record(page)
    page.reload()
    words_in(page, ".do", "Touch end E3 with the probe.")


def test_act__taken_back_offline_it_is_asked_again_at_once(pocket: BrowserContext, laptop: Given, line: Line) -> None:
    page = at_act(pocket, laptop)
    all_in_record(page)
    line.mode = "dead"
    answer(page, "Done", "loud")
    tap(page, "Take it back")
    page.locator("#acts").get_by_role("button", name="Take it back").tap()
    words_in(page, ".step", "Act 2 of 10")
    words_in(page, ".do", "Touch end E3 with the probe.")


def test_act__a_plan_that_cannot_be_made_holds_nothing_up(
    pocket: BrowserContext, laptop: Given, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answers arrive all the same, and the old plan holds: what was answered since is not asked again."""
    page = at_act(pocket, laptop)
    all_in_record(page)

    def broken(path: Path, request: Request) -> None:
        raise ValueError("no plan today")

    monkeypatch.setattr(pocket_walk, "_planned", broken)
    answer(page, "Done", "loud")
    all_in_record(page)
    assert len(once_and_in_order(site)) == 2
    page.reload()
    words_in(page, ".step", "Act 3 of 10")


def test_act__what_another_phone_answered_is_not_asked_again(
    pocket: BrowserContext, laptop: Given, browser: Browser
) -> None:
    page = at_act(pocket, laptop)
    with phone(browser) as other:
        second = at_act(other, laptop)
        answer(second, "Done", "loud")
        all_in_record(second)
    page.locator("#site").tap()
    tap(page, "Back")  # back to the act; the laptop is asked when the page is loaded, written to or looked at again
    page.reload()
    words_in(page, "#asks", "planned anew")
    words_in(page, ".step", "Act 1 of 10")  # nothing changes under the thumb
    tap(page, "Show the new act")
    words_in(page, ".step", "Act 3 of 10")


def test_act__a_double_tap_answers_one_act(pocket: BrowserContext, laptop: Given, site: Path) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done")
    double_tap(page, "loud")
    words_in(page, ".step", "Act 3 of 10")
    all_in_record(page)
    assert len(once_and_in_order(site)) == 2


def test_skip__a_double_tap_puts_off_one_act(pocket: BrowserContext, laptop: Given) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done")
    spot = page.get_by_role("button", name="Skip", exact=True).bounding_box()
    assert spot is not None
    for _ in range(2):
        page.touchscreen.tap(spot["x"] + 30, spot["y"] + 20)
        page.wait_for_timeout(120)
    words_in(page, ".do", "Touch end E4 with the probe.")


def test_act__nothing_typed_is_no_answer(pocket: BrowserContext, laptop: Given, site: Path) -> None:
    page = at_act(pocket, laptop)
    answer(page, "Done", "loud", "loud", "Done", "Done")
    tap(page, "Keep")  # no number was ticked
    words_in(page, "#says", "take one of the other answers")
    words_in(page, ".step", "Act 6 of 10")
    all_in_record(page)
    assert len(once_and_in_order(site)) == 5


def test_acts__the_same_act_twice_has_two_keys_and_what_is_taken_off_was_put_on(site: Path) -> None:
    made = pocket_acts([*acts_of(site), *acts_of(site)[:2]])
    keys = [one["key"] for one in made]
    assert len(set(keys)) == len(keys) == 12
    needs = {one["key"]: one["needs"] for one in made}
    put_on, heard = keys[0], keys[1]
    assert needs[heard] == [put_on] and needs[put_on] == []
    assert needs[keys[11]] == [keys[10]]  # the second hearing needs the second putting on
    assert sum(one["match"].get("quantity") == "volts AC" for one in made) == 1


def test_walk__one_jotting_answers_one_act(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two acts that are the same, one answer: the second is still to be done."""
    twice = [acts_of(site)[4], acts_of(site)[4]]
    monkeypatch.setattr(pocket_walk, "_planned", lambda path, request: (twice, ""))
    cells = {"jotting": "Z1", "what": "reading", "about": "outlet:O2", "quantity": "remote placed", "value": "7"}
    api.add_rows(site, ASKED, rows=[api.Row("jottings", {**cells, "grade": "seen"}, True)], key="cd" * 16, **HAND)
    walk = api.walk_for_pocket(site, ASKED, device="phone-none")
    assert [one["by"] for one in walk["acts"]] == ["Z1", ""]


def test_walk__planned_by_the_laptop_itself_is_told_anew_when_answers_were_sorted(
    browser: Browser, line: Line, tmp_path: Path
) -> None:
    """Nothing is given here: the planner, the phone and the sorting are the real ones."""
    site, today = lime_house(tmp_path), dt.date.today().isoformat()  # what the phone dates is of today
    asked = Request(today=today)
    tried = [api.Row("kit", {"kit": f"KT{n}", "checked": today, "grade": "seen"}) for n in (1, 2, 3)]
    api.add_rows(site, asked, rows=tried, key="01" * 16, **HAND)
    with serving(site, "--phones", "--today", today) as laptop, phone(browser) as pocket:
        line.target, line.mode = laptop.port, "pass"
        page = pocket.new_page()
        page.on("dialog", lambda dialog: dialog.accept())
        page.goto(address(laptop, f"?code={next_code(laptop)}"))
        planned = api.walk_for_pocket(site, asked, device="phone-none")["acts"]
        act(page, "Next act")
        words_in(page, ".do", planned[0]["says"])
        for one in planned[:2]:
            answer(page, one["answers"][0]["label"])
        all_in_record(page)
        waiting = api.inbox(site, asked).answer["waiting"]
        assert [j["about"] for j in waiting] == [one["match"]["about"] for one in planned[:2]]
        rows = [api.Row(r["table"], r["cells"], r["new"]) for j in waiting for r in j["rows"]]
        api.add_rows(site, asked, rows=rows, key="ef" * 16, **HAND)
        anew = api.walk_for_pocket(site, asked, device="phone-none")["acts"]
        assert [one["by"] for one in anew] == [""] * len(anew)
        written = [r.measured.written for r in api.load(site, asked).readings]
        assert planned[1]["answers"][0]["fields"]["value"] in written
        page.locator("#waiting").tap()
        act(page, "Next act")
        page.locator("#asks button").or_(page.locator(".do", has_text=anew[0]["says"])).first.wait_for()
        if page.locator("#asks button").count():
            tap(page, "Show the new act")
        words_in(page, ".do", anew[0]["says"])


@pytest.mark.parametrize("night", [False, True])
def test_act__every_kind_is_usable_by_everybody(browser: Browser, laptop: Given, night: bool) -> None:
    with phone(browser, bypass_csp=True) as pocket:
        page = at_act(pocket, laptop)
        if night:
            tap(page, "Back")
            tap(page, "Night print")
            act(page, "Next act")
        for word in ("Done", "loud", "nothing", "Done", "Done", "none", "Done", "open", "no volts DC", "no volts AC"):
            assert violations(page) == [], page.locator(".do").inner_text()
            assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
            small = page.locator("#acts button, #sheet button").evaluate_all(
                "all => all.filter((b) => b.offsetHeight < 52).map((b) => b.textContent)"
            )
            assert small == []
            answer(page, word)
        assert violations(page) == []
