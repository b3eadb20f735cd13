"""Tags that changed and acts that cannot be read: what hangs on a thing follows it to its new tag."""

from __future__ import annotations

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry, Evidence, Measured
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.replay import replay
from tests.model.make import claimed, did, entry, noted


def site(*bodies, **dates: str) -> Site:
    record: list[Entry] = [entry(f"i{n}", b, tick=n) for n, b in enumerate(bodies, 1)]
    return replay(record, today="2026-04-01", **dates)


CABLE = [
    noted("cable:C1", {"look": "grey"}, new=True),
    noted("end:E1", {"cable": "cable:C1"}, new=True),
    Measured(Ref("cable", "C1"), "length", "=", 9.0, "m", "9 m", Evidence("metered")),
]


def test_retag__there_and_back_and_there_again() -> None:
    """Each re-tagging undoes the last, so after three the thing bears the second tag."""
    there, back = did("re-tag", "cable:C1", to="C9"), did("re-tag", "cable:C9", to="C1")
    for acts, tag in (([there], "C9"), ([there, back], "C1"), ([there, back, there], "C9")):
        assert [t.ref.tag for t in site(CABLE[0], *acts).of_kind("cable")] == [tag]


def test_retag__fields_and_readings_that_name_the_thing_follow_it() -> None:
    found = site(*CABLE, did("re-tag", "cable:C1", to="C9"))
    end = found.things[Ref("end", "E1")]
    assert end.ref_of("cable") == Ref("cable", "C9")
    assert found.get(end.ref_of("cable")) is not None
    assert [str(r.measured.subject) for r in found.readings] == ["cable:C9"]
    assert [str(d.subject) for d in found.done] == ["cable:C9"]


def test_exchange__a_field_written_before_means_the_thing_it_meant_then() -> None:
    """E1 hung on the grey cable when it was written down; swapping the tags of the cables moves no wire."""
    before = [*CABLE, noted("cable:C2", {"look": "blue"}, new=True), did("exchange tags", "cable:C1", "cable:C2")]
    after = noted("end:E2", {"cable": "cable:C1"}, new=True)
    found = site(*before, after)

    def look(end: str) -> object:
        cable = found.get(found.things[Ref("end", end)].ref_of("cable"))
        return cable.get("look") if cable else None

    assert (look("E1"), look("E2")) == ("grey", "blue")


def test_alias__fields_that_name_the_alias_find_the_thing() -> None:
    found = site(*CABLE, noted("end:E2", {"cable": "cable:K3"}, new=True), claimed("cable:K3", "alias_of", "cable:C1"))
    assert found.things[Ref("end", "E2")].ref_of("cable") == Ref("cable", "C1")


def test_split__moves_an_act_too() -> None:
    found = site(
        noted("end:E7", {"found": "row 1"}, new=True),
        did("plug in", "end:E7", "port:U1.2"),
        did("split", "end:E7", to="E70", entries="i2"),
    )
    assert [str(c.subject) for c in found.claims] == ["end:E70"]


@pytest.mark.parametrize("act", ["re-tag", "split", "set mode"])
@pytest.mark.parametrize("values", [{}, {"to": "a:b"}, {"to": "a:b", "entries": "i1"}])
def test_act__with_what_it_needs_missing_or_unreadable__does_not_stop_replay(act: str, values: dict) -> None:
    """Entries come from other programs too; one bad act may not hide the rest of the record."""
    found = site(noted("port:U1.1", {"gives": "nothing"}, new=True), did(act, "port:U1.1", **values))
    assert parse_ref("port:U1.1") in found.things
