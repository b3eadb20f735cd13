"""What one thumb can do: each act as a person does it, and what then stands in the record."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from pullstring import api
from tests.journeys.sites import ASKED
from tests.phone.phone import (
    act,
    all_in_record,
    double_tap,
    entries,
    jottings,
    keep,
    next_code,
    note,
    once_and_in_order,
    open_pocket,
    paired,
    picture,
    shoot,
    words_in,
)

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

    from tests.phone.phone import Line
    from tests.web.served import Served


def fields(site: Path) -> list[dict[str, str]]:
    return [entry["body"]["fields"] for entry in jottings(site)]


def test_new_end__tag_and_photograph_in_three_taps(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.evaluate("addEventListener('click', (e) => { if (e.isTrusted) window.taps = (window.taps ?? 0) + 1 }, true)")
    shoot(page, lambda: act(page, "New end"), picture(1, size=(3000, 2250)))  # tap 1: the act; tap 2: the shutter
    page.get_by_role("button", name="Keep", exact=True).tap()  # tap 3
    words_in(page, "#says", "E6 is")  # the record's own ends go to E5
    assert page.evaluate("window.taps") + 1 == 3  # the shutter is pressed in the phone's own camera
    all_in_record(page)
    jotted, pictured = once_and_in_order(site)
    assert jotted["body"]["fields"] == {"what": "tag", "about": "E6"}
    own = jotted["body"]["subject"].split(":")[1]
    said = pictured["body"]["fields"]
    assert pictured["body"]["subject"] == f"photo:{own}a"
    assert (said["of"], said["privacy"], said["when_taken"]) == (f"jotting:{own}", "site", "during")
    kept, form = api.photo(site, said["sha256"])
    assert (form, hashlib.sha256(kept).hexdigest()) == ("image/jpeg", said["sha256"])
    seen = Image.open(io.BytesIO(kept))
    assert seen.size == (2048, 1536)  # drawn down to 2048 along the longer side
    assert not seen.getexif()  # no position, no maker
    [thing] = api.inbox(site, ASKED).answer["waiting"]
    assert (thing["tag"], thing["about"], [p["sha256"] for p in thing["photos"]]) == (own, "E6", [said["sha256"]])


def test_new_end__next_free_number_goes_on_from_what_this_phone_hung(pocket: BrowserContext, laptop: Served) -> None:
    page = paired(pocket, laptop)
    for wanted in ("E6", "E7"):
        shoot(page, lambda: act(page, "New end"), picture(2))
        assert page.input_value("[name=about]") == wanted
        keep(page)
    shoot(page, lambda: act(page, "New end"), picture(3))
    page.fill("[name=about]", "W07")  # another row of tags
    keep(page)
    shoot(page, lambda: act(page, "New end"), picture(3))
    assert page.input_value("[name=about]") == "W08"


def test_reading__quantity_number_and_unit(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.locator("#room").tap()
    page.locator(".room").first.tap()
    act(page, "Reading")
    page.fill("[name=about]", "E3")
    page.get_by_role("radio", name="volts DC").tap()
    page.fill("[name=value]", "48,2")
    page.get_by_role("button", name="minus").tap()
    keep(page)
    act(page, "Reading")
    assert page.input_value("[name=about]") == "E3"  # the last tag is remembered
    page.get_by_role("radio", name="capacitance").tap()
    page.fill("[name=value]", "36")
    page.get_by_role("button", name="less than").tap()
    keep(page)
    all_in_record(page)
    once_and_in_order(site)
    first, second = fields(site)
    assert first.pop("place") == second.pop("place") != ""
    assert first == {"what": "reading", "about": "E3", "quantity": "volts DC", "value": "-48,2 V"}
    assert second == {"what": "reading", "about": "E3", "quantity": "capacitance", "value": "<36 nF"}


def test_reading__a_level_in_this_room_or_none_heard_becomes_a_row(
    pocket: BrowserContext, laptop: Served, site: Path
) -> None:
    """The access point and the spot go into the conditions, so that the row teaches the signal something."""
    page = paired(pocket, laptop)
    page.locator("#room").tap()
    page.locator(".room").first.tap()
    act(page, "Reading")
    assert not page.locator("[name=sent_on]").is_visible()
    page.locator("summary", has_text="Other quantities").tap()
    page.get_by_role("radio", name="level 5 GHz").tap()
    page.fill("[name=sent_on]", "U7")
    page.get_by_label("Where and how").fill("at 3.2 4.5; doors shut")
    page.fill("[name=value]", "66")
    page.get_by_role("button", name="minus").tap()
    keep(page)
    act(page, "Reading")
    page.get_by_role("button", name="none", exact=True).tap()
    page.fill("[name=sent_on]", "")
    keep(page)
    act(page, "Reading")
    page.get_by_role("radio", name="volts DC").tap()
    assert not page.locator("[name=sent_on]").is_visible()
    page.get_by_role("button", name="Back", exact=True).tap()
    all_in_record(page)
    once_and_in_order(site)
    first, second = (j["rows"][0] for j in api.inbox(site, ASKED).answer["waiting"])
    room = fields(site)[0]["place"]
    assert first["table"] == second["table"] == "measurements"
    assert first["cells"]["subject"] == second["cells"]["subject"] == f"room:{room}"
    assert first["cells"]["value"] == "-66 dBm" and second["cells"]["value"] == "none"
    assert first["cells"]["conditions"] == "heard from U7; at 3.2 4.5; doors shut"
    assert "conditions" not in second["cells"]
    assert first["cells"]["quantity"] == second["cells"]["quantity"] == "level 5 GHz"


def test_tone__one_tap_stores_at_once(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    act(page, "Tone")
    page.fill("[name=sent_on]", "E3")
    for outlet, heard in (("O1", "loud"), ("O2", "faint"), ("O3", "nothing"), ("", "not looked")):
        if outlet:
            page.fill("[name=about]", outlet)
        page.get_by_role("button", name=heard, exact=True).tap()  # one tap each
        words_in(page, "#says", f"{outlet} is" if outlet else " is on this phone")
        assert page.input_value("[name=about]") == ""  # the next outlet is another one
        assert page.input_value("[name=sent_on]") == "E3"
    page.get_by_role("button", name="Back", exact=True).tap()
    all_in_record(page)
    once_and_in_order(site)
    told = [(f.get("about", ""), f["heard"], f["sent_on"]) for f in fields(site)]
    assert told == [("O1", "loud", "E3"), ("O2", "faint", "E3"), ("O3", "nothing", "E3"), ("", "not looked", "E3")]


def test_tone__a_double_tap_is_one_entry(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    act(page, "Tone")
    double_tap(page, "loud")
    all_in_record(page)
    assert len(once_and_in_order(site)) == 1


def test_keep__a_double_tap_opens_no_other_act(pocket: BrowserContext, laptop: Served) -> None:
    """`New end` stands where `Keep` stood."""
    page = paired(pocket, laptop)
    act(page, "Note")
    page.fill("[name=words]", "once")
    spot = page.get_by_role("button", name="Keep", exact=True).bounding_box()
    assert spot is not None
    for _ in range(2):
        page.touchscreen.tap(spot["x"] + 100, spot["y"] + 20)
        page.wait_for_timeout(120)
    assert page.inner_text("#title") == "Last entries"


def test_anything_may_stay_blank(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    for word in ("Plate opened", "Reading", "Note"):
        act(page, word)
        keep(page)
    all_in_record(page)
    once_and_in_order(site)
    assert fields(site) == [{"what": "plate"}, {"what": "reading"}, {"what": "note"}]


def test_note__any_words_arrive_as_typed(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    odd = 'Größe <b>"½"</b> 🔌\nzweite Zeile\\ {}'
    page = paired(pocket, laptop)
    note(page, odd, about="KÜ 1")
    all_in_record(page)
    once_and_in_order(site)
    assert fields(site) == [{"what": "note", "about": "KÜ 1", "words": odd}]
    assert "<b>" in page.inner_text(".list")


def test_draft__half_typed_words_and_a_photograph_survive_a_reload(
    pocket: BrowserContext, laptop: Served, site: Path
) -> None:
    page = paired(pocket, laptop)
    act(page, "Plate opened")
    page.fill("[name=words]", "two pairs, one cu")
    shoot(page, lambda: page.get_by_role("button", name="Photograph").tap(), picture(4))
    page.reload()
    page.wait_for_selector(".taken li")
    assert page.input_value("[name=words]") == "two pairs, one cu"
    page.get_by_role("button", name="Back", exact=True).tap()
    act(page, "Plate opened")  # it says that it was begun
    page.fill("[name=about]", "O1")
    keep(page)
    all_in_record(page)
    assert [e["body"]["fields"].get("words") for e in once_and_in_order(site)] == ["two pairs, one cu", None]
    act(page, "Plate opened")
    assert page.input_value("[name=words]") == ""
    assert page.locator(".taken li").count() == 0


def test_say_more__a_note_on_the_same_thing(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    note(page, "smoke behind the plate", about="O2")
    page.locator(".list summary").first.tap()
    page.get_by_role("button", name="Say more").tap()
    page.fill("[name=words]", "from the left box")
    keep(page)
    all_in_record(page)
    first, _ = once_and_in_order(site)
    own = first["body"]["subject"].split(":")[1]
    assert fields(site)[1] == {"what": "note", "about": "O2", "words": f"more on {own}: from the left box"}


def test_take_back__also_on_this_phone_an_entry_of_its_own(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    page = paired(pocket, laptop)
    line.mode = "dead"
    shoot(page, lambda: act(page, "New end"), picture(5))
    keep(page)
    page.locator(".list summary").first.tap()
    page.get_by_role("button", name="Take it back").tap()
    page.fill("[name=words]", "wrong cable")
    page.locator("#acts").get_by_role("button", name="Take it back").tap()
    words_in(page, ".list", "on this phone, taken back")
    line.mode = "pass"
    page.get_by_role("button", name="Send now").tap()
    all_in_record(page)
    made = once_and_in_order(site)
    assert [e["kind"] for e in made] == ["noted", "noted", "struck_out", "struck_out"]
    assert [e["body"]["entry"] for e in made[2:]] == [e["id"] for e in made[:2]]
    assert {e["body"]["why"] for e in made[2:]} == {"wrong cable"}
    assert api.inbox(site, ASKED).answer["waiting"] == []
    words_in(page, ".list", "in the record, taken back")


def test_keyboard__an_entry_without_a_touch(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.locator("[data-act=note]").focus()
    page.keyboard.press("Enter")
    page.keyboard.type("by keys")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Keep"
    page.keyboard.press("Enter")
    words_in(page, ".list", "by keys")
    all_in_record(page)
    assert fields(site) == [{"what": "note", "words": "by keys"}]
    page.wait_for_function("() => document.activeElement.dataset.act === 'note'")  # the next one is at hand


def test_unpaired__what_is_written_goes_after_pairing(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = open_pocket(pocket, laptop)
    note(page, "before")
    shoot(page, lambda: act(page, "New end"), picture(6))
    keep(page)
    page.get_by_role("button", name="Pair", exact=True).tap()
    page.fill("#author", "ELE")
    page.fill("#code", "000000" if next_code(laptop) != "000000" else "111111")
    page.locator("#acts").get_by_role("button", name="Pair").tap()
    words_in(page, "#says", "this code does not hold")
    page.fill("#code", next_code(laptop))
    page.locator("#acts").get_by_role("button", name="Pair").tap()
    all_in_record(page)
    made = once_and_in_order(site)
    assert [e["body"]["fields"].get("words") for e in made] == ["before", None, None]
    own = [e["body"]["subject"] for e in made]
    assert re.fullmatch(r"jotting:[A-Z]{2}1", own[0])
    assert own[2] == own[1].replace("jotting", "photo") + "a"
    note(page, "after")
    all_in_record(page)
    assert entries(site)[-1]["author"] == "ELE"


def test_list__says_when_by_a_clock_set_right(pocket: BrowserContext, laptop: Served) -> None:
    page = paired(pocket, laptop)
    note(page, "now")
    zone = dt.timezone(dt.timedelta(minutes=-page.evaluate("new Date().getTimezoneOffset()")))
    here = dt.datetime.now(zone)
    times = {(here - dt.timedelta(minutes=m)).strftime("%H:%M") for m in (0, 1)}
    assert page.inner_text(".list .when")[:5] in times
