"""Which conductors touch: rows, clips, splices; and which pair of an end a row holds."""

from __future__ import annotations

import dataclasses

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.wiring import nets, runs
from tests.model.make import claimed, entry, noted


def site(*bodies) -> Site:
    return replay([entry(f"i{n:02d}", b, tick=n) for n, b in enumerate(bodies, 1)], today="2026-04-01")


def cable(n: int, **fields):
    return [
        noted(f"cable:C{n}", {"pairs": 4, **fields}, new=True),
        noted(f"end:E{n}", {"cable": f"cable:C{n}"}, new=True),
    ]


def touching(found: Site) -> list[list[str]]:
    return [[str(m) for m in net.members] for net in nets(found)]


def test_two_ends_on_one_row_touch__by_their_first_pairs() -> None:
    found = site(
        *cable(1),
        *cable(2),
        claimed("end:E1", "ends_at", "row:B1.5"),
        claimed("end:E2", "ends_at", "row:B1.5", grade="told"),
    )
    assert touching(found) == [["pair:C1.1", "pair:C2.1", "row:B1.5"]]
    assert nets(found)[0].weakest == "told"
    assert {str(r.start): [str(t) for t in r.touching] for r in runs(found)} == {
        "end:E1": ["cable:C2"],
        "end:E2": ["cable:C1"],
    }


def test_detail_names_the_pair() -> None:
    second = dataclasses.replace(claimed("end:E2", "ends_at", "row:B1.5"), detail="pair 3")
    found = site(*cable(1), *cable(2), claimed("end:E1", "ends_at", "row:B1.5"), second)
    assert touching(found) == [["pair:C1.1", "pair:C2.3", "row:B1.5"]]


def test_clip_joins_rows_and_other_rows_stay_apart() -> None:
    bodies = [
        *cable(1),
        *cable(2),
        *cable(3),
        claimed("end:E1", "ends_at", "row:B1.10"),
        claimed("end:E2", "ends_at", "row:B1.11"),
        claimed("end:E3", "ends_at", "row:B1.12"),
        claimed("row:B1.10", "joined", "row:B1.11"),
    ]
    assert touching(site(*bodies)) == [["pair:C1.1", "pair:C2.1", "row:B1.10", "row:B1.11"], ["pair:C3.1", "row:B1.12"]]
    denied = site(*bodies, claimed("row:B1.10", "joined", "row:B1.11", holds=False))
    assert [r.touching for r in runs(denied) if str(r.start) == "end:E1"] != [()], (
        "a denied claim of equal grade still warns"
    )


def test_splice_makes_one_run_of_two_cables() -> None:
    found = site(
        noted("room:M1", {"closet": "yes"}, new=True),
        noted("cable:C1", {"pairs": 4}, new=True),
        noted("cable:C2", {"pairs": 2}, new=True),
        noted("end:E1", {"cable": "cable:C1", "room": "room:M1"}, new=True),
        noted("end:J1", {"cable": "cable:C1"}, new=True),
        noted("end:J2", {"cable": "cable:C2"}, new=True),
        noted("end:O1a", {"cable": "cable:C2"}, new=True),
        claimed("end:J1", "joined", "end:J2", grade="told"),
        claimed("end:O1a", "ends_at", "outlet:O1", grade="toned"),
    )
    (run,) = runs(found)
    assert ([str(c) for c in run.cables], [str(t) for t in run.to], run.joints) == (
        ["cable:C1", "cable:C2"],
        ["outlet:O1"],
        1,
    )
    assert run.grade == "told", "as strong as the weakest claim it stands on"
    assert run.touching == ()


def test_unknown_far_end__is_no_destination() -> None:
    (run,) = runs(site(*cable(1)))
    assert (run.to, run.grade, run.joints) == ((), None, 0)


def test_entries_are_named() -> None:
    record: list[Entry] = [
        entry("a", noted("cable:C1", {}, new=True), tick=1),
        entry("b", noted("end:E1", {"cable": "cable:C1"}, new=True), tick=2),
        entry("c", claimed("end:E1", "goes_to", "outlet:O1"), tick=3),
    ]
    assert runs(replay(record, today="2026-04-01"))[0].because == ("c",)
