"""What hangs on what at the inn: its traps, from its own tables."""

from __future__ import annotations

import pathlib

from pullstring.log.store import open_store
from pullstring.model.asbuilt import Site
from pullstring.model.entries import Did, Entry
from pullstring.model.refs import parse_ref
from pullstring.model.replay import replay
from pullstring.reach.consequence import goes_dark, single_points
from pullstring.reach.guards import guards_of, protected
from pullstring.reach.listen import Why, listen
from pullstring.reach.loops import loops
from pullstring.reach.points import feeds
from pullstring.reach.rules import build


def dark(site: Site, *removed: str) -> set[str]:
    reach = build(site)
    return {name.removeprefix("service:") for name in goes_dark(reach.rules, reach.services, removed)}


def test_feed__six_things_before_the_roof_radio(arrived: Site) -> None:
    """Breaker, switch beside the bar, socket, strip, injector and the black cable without a label."""
    path = feeds(arrived)["service:NET"]
    assert [str(p) for p in path.points] == [
        "circuit:BAR",
        "switch:SW1",
        "socket:K1",
        "socket:P1",
        "unit:D02",
        "cable:C01",
    ]
    assert path.fed


def test_feed__it_looks_like_scrap_and_is_not_touched(arrived: Site) -> None:
    reach = build(arrived)
    points = single_points(reach.rules, reach.services, reach.keep)
    untouched = {*protected(arrived), *points}
    assert {"end:E01", "unit:D01", "unit:D02", "socket:P1", "socket:K1", "switch:SW1", "circuit:BAR"} <= untouched
    assert "end:E39" not in untouched  # the stub of 30 cm


def test_feed__the_providers_hand_ends_at_the_injector(visited: Site, year_after: Site) -> None:
    """Access points and the house's own runs carry it on, and are the house's."""
    for site in (visited, year_after):
        theirs = {ref for ref, company in protected(site).items() if company == "ISP"}
        assert theirs == {"cable:C01", "end:E01", "end:D01a", "unit:D01", "unit:D02"}


def test_lift__hangs_on_the_red_jack_and_on_the_panel(traced: Site) -> None:
    assert dark(traced, "unit:RJ1") == {"FIRE", "LIFT"}
    assert dark(traced, "unit:D18") == {"FIRE", "LIFT"}
    assert dark(traced, "end:E05") == {"LIFT"}
    assert set(guards_of(traced, parse_ref("end:E05")).values()) == {"ALM", "LFT"}


def test_lift__both_companies_are_called_before_the_red_jack(traced: Site) -> None:
    said = listen(traced, [parse_ref("end:E05")])
    assert [(c.company, c.stops_kept) for c in said.calls] == [("ALM", True), ("LFT", True)]
    assert said.goes is not None and (said.goes.ref, said.goes.why) == ("service:LIFT", Why.HANGS_ON_IT)


def test_card_terminal__does_not_hang_on_the_old_switch_once_it_was_moved(traced: Site, visited: Site) -> None:
    assert dark(traced, "unit:D04") == {"CARD"}
    assert dark(visited, "unit:D04") == set()
    assert dark(visited, "unit:N01") == {"CARD"}


def test_router__leaves_the_ups_socket_for_the_strip(traced: Site, visited: Site) -> None:
    assert dark(traced, "unit:D12") >= {"NET"}
    assert dark(visited, "unit:D12") == set()


def test_loops__none_was_left_by_anybody(arrived: Site, traced: Site, visited: Site, year_after: Site) -> None:
    for site in (arrived, traced, visited, year_after):
        assert loops(site) == ()


def test_loops__the_adapters_left_in_beside_the_new_run(record: pathlib.Path) -> None:
    """Without the acts that took them away there are two ways to the owner's sitting room."""
    with open_store(record, read_only=True) as store:
        entries = [e for e in store.entries() if not _takes_adapters(e)]
    (loop,) = loops(replay(entries, today="2026-03-05", as_of="2026-03-05"))
    assert {u.tag for u in loop.units} == {"N01", "N08", "D11", "D10", "D04", "D03"}
    assert loop.darkens == () and {r.parent_tag for r in loop.pull} & {"D10", "D11"}


def _takes_adapters(entry: Entry) -> bool:
    named = {str(getattr(entry.body, side, "")).partition(".")[0] for side in ("subject", "object")}
    return isinstance(entry.body, Did) and bool(named & {"port:D10", "port:D11", "unit:D10", "unit:D11"})
