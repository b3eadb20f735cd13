"""Acts that cannot be: refused when they are entered, and without effect when they come from elsewhere."""

from __future__ import annotations

import pytest

from pullstring.model.tables import RawTable, understand
from tests.model.make import claimed, did, entry, noted
from tests.model.test_replay import site
from tests.notice.lines import TODAY, entries
from tests.notice.lines import site as lines

ABSURD = [
    ("act='swap' subject=unit:U1 object=unit:U1", "needs two things"),
    ("act='join' subject=end:E1 object=end:E1", "needs two things"),
    ("act='exchange tags' subject=end:E1 object=end:E1", "needs two things"),
    ("act='exchange tags' subject=end:E1 object=unit:U1", "things of one kind"),
    ("act='take out' subject=use:idle", "nothing can be done to use:idle"),
    ("act='re-tag' subject=end:E1 to=E01", "bears that tag already"),
    ("act='re-tag' subject=end:E1 to='x;y'", "is no tag"),
    ("act='re-tag' subject=end:E1", "needs the column to"),
]


@pytest.mark.parametrize(("act", "words"), ABSURD)
def test_absurd_act__is_refused_in_a_sentence(act: str, words: str) -> None:
    with pytest.raises(AssertionError, match=words):
        entries(f"ends end=E1\nunits unit=U1\nacts {act}")


def test_alias_of_itself__is_refused() -> None:
    row = RawTable("c", "claims", ("subject", "relation", "object"), ((2, ("end:E1", "alias_of", "end:E1")),))
    ends = RawTable("e", "ends", ("end",), ((2, ("E1",)),))
    assert "no other name of itself" in str(understand([ends, row], known={}, today=TODAY).faults[0])


def test_retag_onto_a_tag_in_use__both_things_stay() -> None:
    """As two copies that did not know of each other may give it when they are merged."""
    found = site(
        entry("a", noted("room:A", {"name": "Hall"}, new=True), tick=1),
        entry("b", noted("room:B", {"name": "Attic"}, new=True), tick=2),
        entry("c", did("re-tag", "room:A", to="B"), tick=3),
    )
    assert sorted(t.text("name") for t in found.things.values()) == ["Attic", "Hall"]


def test_from_elsewhere__a_swap_with_itself_and_tags_of_two_kinds_change_nothing() -> None:
    base = [
        entry("a", noted("unit:U1", {"name": "radio"}, new=True), tick=1),
        entry("b", noted("room:A", {"name": "Hall"}, new=True), tick=2),
    ]
    bent = [
        entry("c", did("swap", "unit:U1", "unit:U1"), tick=3),
        entry("d", did("exchange tags", "room:A", "unit:U1"), tick=4),
    ]
    assert site(*base, *bent).things == site(*base).things


def test_part__whichever_way_round_it_was_joined() -> None:
    joined = entry("a", claimed("end:E1", "joined", "end:E3"), tick=1)
    assert site(joined, entry("b", did("part", "end:E3", "end:E1"), tick=2)).claims == ()


def test_cut__shakes_what_was_found_on_the_ends() -> None:
    text = (
        "cables cable=C1\noutlets outlet=O1\nends end=E1 cable=C1 goes_to=O1 at=2026-01-01\n"
        "acts act=cut subject=cable:C1 at=2026-02-01"
    )
    assert [c.status for c in lines(text).about(relation="goes_to")] == ["stale"]


def test_two_pairs_on_two_rows__do_not_contradict() -> None:
    text = (
        "blocks block=B1\ncables cable=C1 pairs=4\nends end=E1 cable=C1\n"
        "claims subject=end:E1 relation=ends_at object=row:B1.1 detail='pair 1' grade=seen\n"
        "claims subject=end:E1 relation=ends_at object=row:B1.2 detail='pair 2' grade=seen\n"
    )
    assert [c.status for c in lines(text).claims] == ["holds", "holds"]
    same = text.replace("pair 2", "pair 1")
    assert [c.status for c in lines(same).claims] == ["contradicted", "contradicted"]


def test_exchanged_tags__pairs_go_with_their_cable() -> None:
    text = (
        "cables cable=C1\ncables cable=C2\nmeasurements subject=pair:C1.1 quantity='volts DC' value='48 V' at=2026-03-01\n"
        "acts act='exchange tags' subject=cable:C1 object=cable:C2 from=2026-02-01 at=2026-03-20"
    )
    assert [str(r.measured.subject) for r in lines(text).readings] == ["pair:C2.1"]


def test_wire_map__the_later_date_counts_whatever_the_order_of_entering() -> None:
    from pullstring.model.damage import damage_of, mapped_pairs
    from pullstring.model.refs import Ref

    text = (
        "cables cable=C1 pairs=4\nends end=E1 cable=C1\n"
        "measurements subject=end:E1 quantity='wire map' value='whole; touch 5+7' at=2026-03-10 key=new\n"
        "measurements subject=end:E1 quantity='wire map' value=whole at=2026-02-10 key=old\n"
    )
    cable = Ref("cable", "C1")
    assert damage_of(lines(text), cable).pairs == {1, 4} and mapped_pairs(lines(text), cable)[1] is False
    cut = lines(text + "acts act=cut subject=cable:C1 at=2026-03-20")
    assert mapped_pairs(cut, cable) is None, "after a cut no older map proves a pair whole"


@pytest.mark.parametrize("at", ["0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00"])
def test_moment_at_the_edge_of_the_calendar__is_a_sentence(at: str) -> None:
    with pytest.raises(AssertionError, match="edge of the calendar"):
        entries(f"rooms room=R1 at={at}")


@pytest.mark.parametrize(
    ("outline", "words"),
    [("0 0; 1 1; 0 1; 1 0", "crosses itself"), ("0 0; 1e7 1e7", "m away"), ("0 0; 1e200 1", "m away")],
)
def test_outline__that_nobody_could_walk(outline: str, words: str) -> None:
    with pytest.raises(AssertionError, match=words):
        entries(f"rooms room=R1 outline='{outline}'")
