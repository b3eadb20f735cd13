"""What can go wrong between a phone and the laptop: each entry is in the record exactly once, in order, and the page says so."""

from __future__ import annotations

import datetime as dt
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from pullstring import api
from tests.phone.phone import (
    SIZE,
    act,
    address,
    all_in_record,
    entries,
    jottings,
    keep,
    next_code,
    note,
    once_and_in_order,
    open_pocket,
    paired,
    phone,
    picture,
    shoot,
    words_in,
)
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.phone.phone import Line


def words(site: Path) -> list[str]:
    once_and_in_order(site)
    return [entry["body"]["fields"].get("words", "") for entry in jottings(site)]


def waiting(page: Page, count: int) -> None:
    words_in(page, "#waiting-words", f"{count} on this phone")


def send_now(page: Page) -> None:
    page.get_by_role("button", name="Send now").tap()


def test_reload__what_waits_is_still_there(pocket: BrowserContext, laptop: Served, site: Path, line: Line) -> None:
    page = paired(pocket, laptop)
    line.mode = "dead"
    note(page, "one")
    note(page, "two")
    waiting(page, 2)
    assert entries(site) == []
    line.mode = "pass"
    page.reload()
    all_in_record(page)
    assert words(site) == ["one", "two"]
    assert page.locator(".list .state").all_inner_texts() == ["in the record"] * 2


def test_closed_tab__a_new_one_goes_on(pocket: BrowserContext, laptop: Served, site: Path, line: Line) -> None:
    page = paired(pocket, laptop)
    line.mode = "dead"
    note(page, "one")
    shoot(page, lambda: act(page, "New end"), picture(11))
    keep(page)
    page.close()
    line.mode = "pass"
    page = open_pocket(pocket, laptop)
    note(page, "two")
    all_in_record(page)
    assert words(site) == ["one", "", "two"]
    assert len(entries(site)) == 4  # the photograph too


def test_killed_server__started_again_on_the_same_port(browser: Browser, site: Path, line: Line) -> None:
    with serving(site, "--phones") as first, phone(browser) as pocket:
        line.target, line.mode, line.lose = first.port, "pass", 0
        page = paired(pocket, first)
        note(page, "one")
        all_in_record(page)
        first.process.kill()
        first.process.wait(20)
        note(page, "two")
        note(page, "three")
        words_in(page, "#asks", "The laptop does not answer")
        waiting(page, 2)
        with serving(site, "--phones", port=first.port):
            all_in_record(page)  # by its own timer
            assert words(site) == ["one", "two", "three"]


def test_lost_acknowledgement__sent_again_and_stored_once(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    page = paired(pocket, laptop)
    line.lose = 2
    note(page, "one")
    words_in(page, "#asks", "The laptop does not answer")
    assert [entry["body"]["fields"]["words"] for entry in entries(site)] == [
        "one"
    ]  # it is there, and the phone cannot know
    waiting(page, 1)
    note(page, "two")
    all_in_record(page)
    assert line.lost == 2
    assert words(site) == ["one", "two"]


@pytest.mark.parametrize("year", [2001, 2040])
def test_wrong_clock__the_order_and_the_hour_on_site_are_right(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line, year: int
) -> None:
    page = pocket.new_page()
    page.clock.set_fixed_time(dt.datetime(2026, 3, 3, 12, tzinfo=dt.UTC))
    page.goto(address(laptop, f"?code={next_code(laptop)}"))
    words_in(page, "#site-name", "Kiln Cottage")
    note(page, "with the first clock")
    page.clock.set_fixed_time(dt.datetime(year, 1, 1, 12, tzinfo=dt.UTC))
    note(page, "with the wrong clock")  # the page learns how wrong it is by sending this one
    all_in_record(page)
    note(page, "set right")
    all_in_record(page)
    assert words(site) == ["with the first clock", "with the wrong clock", "set right"]
    *_, last = jottings(site)
    assert last["wrote"].startswith(f"{year}-01-01T13:00:00+01:00")  # the phone's clock as it is, in Vienna
    away = dt.datetime.fromisoformat(last["at"]) - dt.datetime.now(dt.UTC)
    assert abs(away) < dt.timedelta(seconds=60)  # set right by the laptop's
    assert [e["tick"] for e in entries(site)] == sorted(e["tick"] for e in entries(site))


def test_two_tabs__no_count_twice_and_one_sending(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    first = paired(pocket, laptop)
    second = open_pocket(pocket, laptop)
    line.mode = "dead"
    keep_many = """async (from) => {
      const { keep } = await import('/pocket/outbox.js');
      await Promise.all([0, 1, 2, 3, 4, 5, 6, 7].map((i) => keep({ what: 'note', words: `${from}${i}` })));
    }"""
    for page, name in ((first, "a"), (second, "b")):
        page.evaluate(f"() => {{ window.done = ({keep_many})('{name}').then(() => true); }}")
    assert first.evaluate("window.done")
    assert second.evaluate("window.done")
    for page in (first, second):
        page.evaluate("new BroadcastChannel('pocket').postMessage('look')")  # the entries went past the page's buttons
    waiting(first, 16)
    waiting(second, 16)
    line.mode = "pass"
    for page in (first, second):
        page.evaluate("() => { import('/pocket/sending.js').then((m) => m.awake()); }")
    all_in_record(first)
    all_in_record(second)
    made = words(site)
    assert sorted(made) == sorted(f"{name}{i}" for name in "ab" for i in range(8))
    note(first, "from one")
    words_in(second, ".list", "from one")  # the other tab shows it without being loaded anew
    all_in_record(second)
    assert second.locator(".list li").count() == 17


HOLD = """() => { (async () => {
  const { inTurn } = await import('/pocket/turns.js');
  const held = () => new Promise((go) => { window.go = go; });
  while (!(await inTurn(held))) await new Promise((next) => setTimeout(next, 50));
})(); }"""
"""Take the turn to send, when it is free, and keep it until `go` is called."""


def test_two_tabs__only_one_sends_at_a_time(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    first = paired(pocket, laptop)
    second = open_pocket(pocket, laptop)
    first.evaluate(HOLD)
    first.wait_for_function("() => window.go")
    assert second.evaluate("import('/pocket/turns.js').then((m) => m.inTurn(() => {}))") is False
    note(second, "waits for its turn")
    waiting(second, 1)
    first.evaluate("window.go()")
    all_in_record(second)
    assert words(site) == ["waits for its turn"]


def test_closed_in_the_middle_of_its_turn__holds_up_nobody_for_long(
    pocket: BrowserContext, laptop: Served, site: Path
) -> None:
    first = paired(pocket, laptop)
    first.evaluate(HOLD)
    first.wait_for_function("() => window.go")
    second = open_pocket(pocket, laptop)
    first.close()
    note(second, "after it")
    all_in_record(second, seconds=20)
    assert words(site) == ["after it"]


def test_hotel__a_foreign_page_counts_as_not_arrived(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    page = paired(pocket, laptop)
    line.mode = "hotel"
    shoot(page, lambda: act(page, "New end"), picture(12))
    keep(page)
    words_in(page, "#asks", "The laptop does not answer")
    waiting(page, 1)
    line.mode = "pass"
    send_now(page)
    all_in_record(page)
    assert len(once_and_in_order(site)) == 2


def test_photograph__leaves_the_phone_with_its_acknowledgement(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    held = """() => new Promise((resolve) => {
      indexedDB.open('pullstring-pocket').onsuccess = ({ target }) => {
        target.result.transaction('photos').objectStore('photos').getAllKeys().onsuccess = (got) => {
          target.result.close(); resolve(got.target.result);
        };
      };
    })"""
    page = paired(pocket, laptop)
    line.lose = 1
    shoot(page, lambda: act(page, "New end"), picture(13))
    keep(page)
    words_in(page, "#asks", "The laptop does not answer")
    [sha256] = page.evaluate(held)
    all_in_record(page)
    assert page.evaluate(held) == []
    data, _ = api.photo(site, sha256)
    assert hashlib.sha256(data).hexdigest() == sha256
    asked = [a for a in line.heard if a.startswith(("PUT", "POST /api/entries"))]
    assert asked.index(f"PUT /api/photos/{sha256}") < len(asked) - 1  # bytes first, then the entry that names them


REFUSED = """async () => {
  const { keep } = await import('/pocket/outbox.js');
  const canvas = document.createElement('canvas');
  const blob = await new Promise((made) => canvas.toBlob(made, 'image/jpeg'));
  const { sha256 } = await import('/pocket/sha256.js');
  const photo = { blob, type: 'image/jpeg', sha256: sha256(new Uint8Array(await blob.arrayBuffer())) };
  await keep({ what: 'tag', about: 'E6', words: 'a slip of paper', password: 'hunter2' }, [photo]);
}"""
"""An entry that can never be stored: the record takes no field of a secret in clear."""


def test_refused__holds_up_nothing_and_is_written_anew(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.evaluate(REFUSED)
    note(page, "behind it")
    words_in(page, ".list", "The record cannot take this as it is:")
    waiting(page, 1)
    assert words_of(site) == ["behind it"]
    page.locator(".list summary", has_text="a slip of paper").tap()
    page.get_by_role("button", name="Write it anew").tap()
    page.wait_for_selector(".taken li")  # its photograph came along
    assert page.input_value("[name=about]") == "E6"
    page.fill("[name=words]", "a slip of paper on the lid")
    keep(page)
    all_in_record(page)
    made = entries(site)
    assert len({e["id"] for e in made}) == len(made) == 3
    assert [e["n"] for e in made] == sorted(e["n"] for e in made)
    assert words_of(site) == ["behind it", "a slip of paper on the lid"]
    assert made[-1]["body"]["fields"]["of"] == made[-2]["body"]["subject"]
    words_in(page, ".list", "let be, not in the record")


def words_of(site: Path) -> list[str]:
    return [entry["body"]["fields"].get("words", "") for entry in jottings(site)]


def test_refused__let_be(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.evaluate(REFUSED)
    page.locator("#waiting").tap()
    words_in(page, ".list", "The record cannot take this as it is:")
    page.locator(".list summary").first.tap()
    page.get_by_role("button", name="Let it be").tap()
    all_in_record(page)
    assert entries(site) == []


def test_refused_photograph__its_words_are_stored(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    """A file that the browser cannot draw is kept as it is; the record says what it thinks of it."""
    page = paired(pocket, laptop)
    shoot(page, lambda: act(page, "New end"), b"no picture at all", name="shot.heic")
    words_in(page, "#says", "kept as the camera made it")
    page.fill("[name=words]", "brown sheath")
    keep(page)
    words_in(page, ".list", "this is no photograph that is known")
    assert words(site) == ["brown sheath"]
    note(page, "behind it")
    waiting(page, 1)
    page.locator(".list summary", has_text="brown sheath").tap()
    page.get_by_role("button", name="Let it be").tap()
    all_in_record(page)
    assert words_of(site) == ["brown sheath", "behind it"]
    words_in(page, ".list", "in the record, its photograph let be")


def test_no_longer_paired__asks_and_keeps_and_sends_once(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line
) -> None:
    """One entry had arrived and its acknowledgement was lost; it must not come a second time under the new pairing."""
    page = paired(pocket, laptop)
    line.lose = 1
    note(page, "arrived")
    words_in(page, "#asks", "The laptop does not answer")
    [arrived] = entries(site)
    laptop.post("/api/unpair", {"device": arrived["device"]})
    note(page, "not arrived")
    words_in(page, "#asks", "Pair this phone again")
    waiting(page, 2)
    page.reload()
    words_in(page, "#asks", "Pair this phone again")
    page.get_by_role("button", name="Pair again").tap()
    page.fill("#code", next_code(laptop))
    page.locator("#acts").get_by_role("button", name="Pair").tap()
    all_in_record(page)
    made = entries(site)
    assert [e["body"]["fields"]["words"] for e in made] == ["arrived", "not arrived"]
    assert len({e["device"] for e in made}) == 2
    assert len({e["body"]["subject"] for e in made}) == 2


def test_two_phones_with_one_pairing__found_out_and_nothing_lost(
    browser: Browser, laptop: Served, site: Path, line: Line
) -> None:
    """A phone and its copy, as after moving to a new one: both go on counting from the same number."""
    with phone(browser) as one:
        first = paired(one, laptop)
        note(first, "before the copy")
        all_in_record(first)
        copied = one.storage_state(indexed_db=True)
    with phone(browser, storage_state=copied) as one, phone(browser, storage_state=copied) as other:
        first, second = open_pocket(one, laptop), open_pocket(other, laptop)
        words_in(second, ".list", "before the copy")
        line.mode = "dead"
        note(first, "by the first")
        shoot(second, lambda: act(second, "New end"), picture(15))
        keep(second)
        note(second, "by the copy")
        second.evaluate(HOLD)  # else its own timer may make it the first
        second.wait_for_function("() => window.go")
        line.mode = "pass"
        send_now(first)
        all_in_record(first)
        second.evaluate("window.go()")
        second.locator("#waiting").tap()
        words_in(second, "#asks", "Another phone writes as this one")
        second.get_by_role("button", name="Pair anew").tap()
        second.fill("#code", next_code(laptop))
        second.locator("#acts").get_by_role("button", name="Pair").tap()
        all_in_record(second)
        made = entries(site)
        assert len({e["id"] for e in made}) == len(made) == 5
        assert sorted(words_of(site)) == ["", "before the copy", "by the copy", "by the first"]
        assert len({e["body"]["subject"] for e in made}) == 5  # no tag is borne by two things
        for device in {e["device"] for e in made}:
            counts = [e["n"] for e in made if e["device"] == device]
            assert counts == sorted(set(counts))
        shown = next(e for e in made if e["body"]["subject"].startswith("photo:"))
        hung = next(e for e in made if e["body"]["fields"].get("what") == "tag")
        assert shown["body"]["fields"]["of"] == hung["body"]["subject"]


def test_erased_storage__a_new_device_that_counts_from_one(browser: Browser, laptop: Served, site: Path) -> None:
    for words_kept in ("first life", "second life"):
        with phone(browser) as context:
            page = paired(context, laptop)
            note(page, words_kept)
            all_in_record(page)
    made = once_and_in_order(site)
    assert [e["n"] for e in made] == [1, 1]
    assert len({e["device"] for e in made}) == len({e["body"]["subject"] for e in made}) == 2


NO_ROOM = {
    "at once": "throw new DOMException('full', 'QuotaExceededError');",
    "at the end": """
      const asked = put.apply(this, given);
      asked.addEventListener('success', () => this.transaction.abort());
      return asked;""",
}
"""The two ways in which a browser says that its storage is full: by the request, or when all of it is to be written."""


@pytest.mark.parametrize("when", NO_ROOM)
def test_no_room_on_the_phone__the_words_are_kept(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line, when: str
) -> None:
    """This Chromium does not hold its database to a quota set from outside, so its refusal is played."""
    pocket.add_init_script(f"""
      const put = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (...given) {{
        if (!['photos', 'drafts'].includes(this.name)) return put.apply(this, given);
        {NO_ROOM[when]}
      }};
    """)
    page = paired(pocket, laptop)
    line.mode = "dead"
    shoot(page, lambda: act(page, "New end"), picture(16))
    words_in(page, "#says", "no room to hold the photograph")
    page.fill("[name=words]", "brown sheath, no print")
    keep(page)
    words_in(page, "#says", "the words are kept, the photograph is not")
    line.mode = "pass"
    send_now(page)
    all_in_record(page)
    assert words(site) == ["brown sheath, no print"]


def test_no_room_for_words_either__they_stay_in_the_form(pocket: BrowserContext, laptop: Served, site: Path) -> None:
    page = paired(pocket, laptop)
    page.evaluate("""() => { window.add = IDBObjectStore.prototype.add; IDBObjectStore.prototype.add = () => {
      throw new DOMException('full', 'QuotaExceededError'); }; }""")
    act(page, "Note")
    page.fill("[name=words]", "not lost")
    page.get_by_role("button", name="Keep", exact=True).tap()
    words_in(page, "#says", "This phone did not keep it")
    assert page.input_value("[name=words]") == "not lost"
    page.evaluate("() => { IDBObjectStore.prototype.add = window.add; }")
    keep(page)
    all_in_record(page)
    assert words(site) == ["not lost"]


def test_leaving_while_something_waits__the_browser_asks(pocket: BrowserContext, laptop: Served, line: Line) -> None:
    asked: list[str] = []
    page = pocket.new_page()
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto(address(laptop, f"?code={next_code(laptop)}"))
    words_in(page, "#site-name", "Kiln Cottage")
    page.reload()
    assert asked == []
    line.mode = "dead"
    note(page, "waits")
    line.mode = "pass"
    page.reload()
    assert asked == ["beforeunload"]


def test_older_than_a_day__nags(pocket: BrowserContext, laptop: Served, line: Line) -> None:
    page = pocket.new_page()
    page.goto(address(laptop, f"?code={next_code(laptop)}"))
    words_in(page, "#site-name", "Kiln Cottage")
    line.mode = "dead"
    note(page, "waits")
    page.clock.set_fixed_time(dt.datetime.now(dt.UTC) + dt.timedelta(hours=50))
    page.locator("#waiting").tap()
    words_in(page, "#asks", "1 entry waits on this phone, the oldest for 2 days")


def test_another_record_at_the_same_address__waits_for_its_own(
    pocket: BrowserContext, laptop: Served, site: Path, line: Line, tmp_path: Path
) -> None:
    page = paired(pocket, laptop)
    line.mode = "dead"
    note(page, "for the cottage")
    other = tmp_path / "other.site"
    hand: dict[str, Any] = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
    from tests.journeys.sites import ASKED

    api.new(other, ASKED, code="OAST", name="Oast House", **hand)
    laptop.process.kill()
    laptop.process.wait(20)
    with serving(other, "--phones", port=laptop.port) as foreign:
        line.mode = "pass"
        page.locator("#waiting").tap()
        page.get_by_role("button", name="Pair again").tap()
        page.fill("#code", next_code(foreign))
        page.locator("#acts").get_by_role("button", name="Pair").tap()
        words_in(page, "#asks", "for KC; this address now serves another record")
        note(page, "for the oast house")
        waiting(page, 1)
        assert words(other) == ["for the oast house"]
        assert entries(site) == []
    with serving(site, "--phones", port=laptop.port) as again:
        page.locator("#waiting").tap()
        page.get_by_role("button", name="Pair again").tap()
        page.fill("#code", next_code(again))
        page.locator("#acts").get_by_role("button", name="Pair").tap()
        all_in_record(page)
        assert words(site) == ["for the cottage"]
    assert SIZE["width"] == page.evaluate("innerWidth")
