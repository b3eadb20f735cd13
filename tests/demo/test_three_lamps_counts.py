"""Every count of the written scenario, typed from it by hand, against the imported record: house and wires.

The numbers of the scenario were computed from its own tables when it was written. Words such as "section 9" name its
sections. Sums are taken unrounded and rounded as printed.
"""

from __future__ import annotations

import collections
import itertools
import math
import pathlib
import re
from collections.abc import Iterable

import pytest

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import parse_outline
from pullstring.model.refs import Ref
from tests.demo.inn import DAYS, bring_in, closet, the, truth, value


def test_all_again__adds_nothing(record: pathlib.Path) -> None:
    assert [bring_in(record, stage) for stage in DAYS] == [0, 0, 0, 0]


# Section 3

AREAS_M2 = {
    **{
        "M001": 30,
        "M002": 24,
        "M003": 31.5,
        "M004": 4.0,
        "M005": 40,
        "M006": 40,
        "M007": 22.5,
        "M008": 54,
        "M009": 18.0,
    },
    **{"M101": 49.8, "M102": 24, "M103": 18.0, "M104": 12.0, "M105": 20.0, "M106": 22.0, "M107": 21.6, "M108": 37.8},
    **{"M109": 40, "M110": 40, "M201": 52.5, "M202": 52.5, "S001": 70, "S002": 70, "S101": 70, "S102": 70},
    **{"G001": 36, "G101": 36},
}


def test_section_3__areas_of_27_rooms(arrived: Site) -> None:
    outlines = {r.ref.tag: parse_outline(r.text("outline")) for r in arrived.of_kind("room")}
    found = {tag: sum(_area(ring) for ring in outline) for tag, outline in outlines.items()}
    assert found == pytest.approx(AREAS_M2)
    assert (len(found), round(sum(found.values()), 1)) == (27, 1006.2)


def _area(ring: Iterable[tuple[float, float]]) -> float:
    points = list(ring)
    if len(points) == 2:
        (x0, y0), (x1, y1) = points
        return abs((x1 - x0) * (y1 - y0))
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True))) / 2


# Section 5

LINES = [
    (0, (8.2, 3.5), (3.0, 2.5), 5.3, "W2", 62.7, 75.7),
    (0, (8.2, 3.5), (3.0, 7.0), 6.27, "W2+W5", 88.1, 93.2),
    (0, (8.2, 3.5), (4.0, 11.5), 9.04, "W4+W2+W1", 89.3, 114.4),
    (0, (9.5, 8.5), (3.0, 2.5), 8.85, "W4+W4+W2+W5", 99.1, 108.2),
    (0, (8.2, 3.5), (15.75, 2.5), 7.62, "W2+W2", 73.8, 92.9),
    (1, (8.2, 6.5), (3.0, 2.0), 6.88, "W5", 80.9, 80.0),
    (1, (8.2, 6.5), (3.0, 7.2), 5.25, "W2", 62.6, 75.7),
    (1, (16.0, 4.7), (16.0, 2.0), 2.7, "W5", 72.8, 71.9),
    (1, (16.0, 4.7), (18.75, 7.2), 3.72, "W5", 75.6, 74.7),
    (1, (8.2, 6.5), (4.0, 11.5), 6.53, "W1", 74.5, 91.6),
]


def _meets(p: tuple[float, float], q: tuple[float, float], wall: Thing) -> float | None:
    """Where along the line from p to q it cuts a wall, 0 to 1; by solving two equations."""
    ((x0, y0), (x1, y1)) = [tuple(map(float, c.split())) for c in wall.text("line").split(";")]
    dx, dy, ex, ey = q[0] - p[0], q[1] - p[1], x1 - x0, y1 - y0
    det = dx * ey - dy * ex
    if abs(det) < 1e-12:
        return None
    t = ((x0 - p[0]) * ey - (y0 - p[1]) * ex) / det
    u = ((x0 - p[0]) * dy - (y0 - p[1]) * dx) / det
    return t if 0 < t < 1 and 0 <= u <= 1 else None


@pytest.mark.parametrize(("level", "p", "q", "d_m", "walls", "loss_2g4_db", "loss_5g_db"), LINES)
def test_section_5__walls_met_and_losses(
    arrived: Site, level: int, p: tuple, q: tuple, d_m: float, walls: str, loss_2g4_db: float, loss_5g_db: float
) -> None:
    floor = Ref("floor", f"M{level}")
    here = [w for w in arrived.of_kind("wall") if floor in w.refs_of("floors")]
    met = [(t, w) for w in here if (t := _meets(p, q, w)) is not None]
    kinds = [the(arrived, str(w.ref_of("wall_type"))) for _, w in sorted(met, key=lambda m: m[0])]
    assert "+".join(k.ref.tag for k in kinds) == walls
    d = math.dist(p, q)
    assert round(d, 2) == pytest.approx(d_m)
    for mhz, field, loss in ((2437, "loss_2g4_db", loss_2g4_db), (5500, "loss_5g_db", loss_5g_db)):
        free = 20 * math.log10(d) + 20 * math.log10(mhz) - 27.55
        assert round(free + sum(value(k, field) for k in kinds), 1) == pytest.approx(loss)


def test_section_5_and_6__counts(arrived: Site) -> None:
    assert len(list(arrived.of_kind("wall"))) == 52
    assert len(list(arrived.of_kind("outlet"))) == 30


# Section 8


def _state(site: Site, end: Thing) -> str:
    cable = end.ref_of("cable")
    if the(site, str(cable)).text("state") == "out of use":
        return "dead"
    keepers = {
        r: s.ref_of("protected_by") for s in site.of_kind("service") for r in s.refs_of("carried_on") if r.kind == "end"
    }
    if keepers.get(end.ref) in (Ref("company", "ALM"), Ref("company", "LFT")):
        return "protected"
    carries = {c.object for c in site.about(subject=end.ref, relation="carries")}
    if carries == {Ref("use", "idle")}:
        joined = _ends_of_joints(site, "clip", "tap")
        return "idle, bridged or tapped" if cable in joined else "idle"
    return "live feed" if end.ref == Ref("end", "E01") else "live" if carries else "?"


def _ends_of_joints(site: Site, *styles: str) -> set[Ref | None]:
    """Cables that have an end, or a row under an end, in a joint; a chain that is tapped for its own sake is live here."""
    refs = {r for j in site.of_kind("joint") if j.text("style") in styles for r in j.refs_of("ends")}
    refs |= {c.subject for r in tuple(refs) for c in site.about(relation="ends_at", object=r)}
    return {t.ref_of("cable") for r in refs if (t := site.get(r))}


def test_section_8__states_of_the_40_ends(traced: Site) -> None:
    found = collections.Counter(_state(traced, e) for e in closet(traced))
    assert found == {
        "dead": 5,
        "idle": 20,
        "idle, bridged or tapped": 3,
        "live": 6,
        "live feed": 1,
        "protected": 5,
    }


def test_section_8__states_as_in_the_truth_end_by_end(traced: Site) -> None:
    told = {"bridged": "idle, bridged or tapped"}
    want = {row["end"]: told.get(row["state"], row["state"]) for row in truth()}
    assert {e.ref.tag: _state(traced, e) for e in closet(traced)} == want


def test_section_8__40_ends_on_39_cables(arrived: Site, traced: Site) -> None:
    assert len({e.ref_of("cable") for e in closet(arrived)}) == 40
    assert len(closet(traced)) == 40
    assert len({e.ref_of("cable") for e in closet(traced)}) == 39
    twice = collections.Counter(str(e.ref_of("cable")) for e in closet(traced))
    assert [cable for cable, n in twice.items() if n > 1] == ["cable:C12"]


def test_section_8__grades_of_where_ends_go(visited: Site) -> None:
    """The best evidence after visit 1; a meter reading at the closet leaves the place to the old label."""
    checked = 0
    for row in truth():
        named = re.findall(r"\bO\d\d\b", row["goes_to"])
        if not named:
            continue
        claims = visited.about(subject=Ref("end", row["end"]), relation="goes_to")
        want = "told" if row["evidence"] == "metered" else row["evidence"]
        assert {c.support for c in claims if c.object == Ref("outlet", named[0])} == {want}, row["end"]
        checked += 1
    assert checked == 24


def test_section_8__seven_joints(traced: Site) -> None:
    found = {j.ref.tag: j.text("style") for j in traced.of_kind("joint")}
    assert sorted(found) == [f"J{n}" for n in range(1, 8)]


# Section 9

RUNS = {
    "E10": ("O01", 20.65, 3.48, 1.074),
    "E11": ("O03", 16.15, 2.72, 0.840),
    "E12": ("O11", 20.75, 3.49, 1.079),
    "E13": ("O14", 19.75, 3.33, 1.027),
    "E14": ("O15", 26.25, 4.42, 1.365),
    "E15": ("O17", 20.65, 3.48, 1.074),
    "E16": ("O16", 20.65, 3.48, 1.074),
    "E17": ("O18", 23.65, 3.98, 1.230),
    "E18": ("O20", 27.65, 4.66, 1.438),
    "E20": ("O05", 23.85, 4.02, 1.240),
    "E21": ("O07", 17.85, 3.01, 0.928),
    "E22": ("O08", 25.45, 4.29, 1.323),
    "E23": ("O09", 25.15, 4.24, 1.308),
    "E24": ("O22", 16.15, 2.72, 0.840),
    "E25": ("O10", 14.05, 2.37, 0.731),
    "E32": ("O19", 17.55, 2.96, 0.913),
    "E33": ("O06", 15.45, 2.60, 0.803),
    "E34": ("O02", 13.75, 2.32, 0.715),
}
ROUTE_M = {"hole A": 6.6, "hole C": -0.3, "ceiling void F": 3.1}


@pytest.mark.parametrize("end", RUNS)
def test_section_9__length_ohm_and_farad_by_the_route_rule(traced: Site, end: str) -> None:
    outlet, length_m, loop_ohm, nf = RUNS[end]
    thing, route = the(traced, f"outlet:{outlet}"), ROUTE_M[the(traced, f"end:{end}").text("enters_by")]
    floor = the(traced, str(the(traced, str(thing.ref_of("room"))).ref_of("floor")))
    block = the(traced, "block:B1")
    z, z0 = value(floor, "z_m") + value(thing, "z_m"), value(block, "z_m")
    aside = sum(abs(value(thing, axis) - value(block, axis)) for axis in ("x_m", "y_m"))
    length = abs(z0 - route) + aside + abs(route - z) + 3.0 + 0.3
    assert length == pytest.approx(length_m)
    assert length * 0.1684 == pytest.approx(loop_ohm, abs=0.0051)
    assert length * 0.052 == pytest.approx(nf, abs=0.00051)
    assert {Ref("outlet", outlet)} <= {c.object for c in traced.about(subject=Ref("end", end), relation="goes_to")}


def read_on(site: Site, subject: str, quantity: str) -> list[float]:
    return [
        r.measured.value_si
        for r in site.readings
        if str(r.measured.subject) == subject and r.measured.quantity == quantity and r.measured.value_si is not None
    ]


@pytest.mark.parametrize("end", RUNS)
def test_section_9__what_was_read_is_within_the_meter(traced: Site, end: str) -> None:
    """1 % of ohms and 3 % of farads, and half of the last digit shown."""
    _, _, loop_ohm, nf = RUNS[end]
    for ohm in read_on(traced, f"end:{end}", "loop resistance"):
        assert ohm == pytest.approx(loop_ohm, rel=0.01, abs=0.011)
    for farad in read_on(traced, f"end:{end}", "capacitance"):
        assert farad == pytest.approx(nf * 1e-9, rel=0.032)


def test_section_9__the_cut_cables_and_the_marks(traced: Site) -> None:
    assert read_on(traced, "end:E19", "capacitance") == pytest.approx([0.36e-9])
    assert read_on(traced, "end:E31", "capacitance") == pytest.approx([0.52e-9])
    assert round(0.36 / 0.052, 1) == 6.9
    assert round(0.52 / 0.052, 1) == 10.0
    marks = [value(the(traced, tag), "mark_m") for tag in ("end:E22", "end:F08a")]
    assert marks == [412, 439]
    assert marks[1] - marks[0] - RUNS["E22"][1] == pytest.approx(1.55)


def test_section_9__resistors_and_the_bridge(traced: Site) -> None:
    ohms = sorted(r.measured.value_si or 0 for r in traced.readings if r.measured.quantity == "resistor placed")
    assert ohms == [1200, 2200, 3900, 4700, 6800, 12000, 18000, 33000]
    both = [a * b / (a + b) for a, b in itertools.combinations(ohms, 2)]
    assert len(both) == 28
    every = sorted([*ohms, *both])
    assert round(100 * min((b - a) / a for a, b in itertools.pairwise(every)), 2) == 2.92
    before, after = read_on(traced, "end:E13", "resistance")
    assert (before, read_on(traced, "end:E14", "resistance")[0]) == (2131.4, 2131.4)
    assert round(3900 * 4700 / 8600, 1) == before
    assert after == pytest.approx(3900 + 3.33, rel=0.01)
    assert read_on(traced, "end:E14", "resistance")[1] == pytest.approx(4700 + 4.42, rel=0.01)
