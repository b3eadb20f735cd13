"""Every count of the written scenario, typed from it by hand, against the imported record: power, money and time.

The numbers of the scenario were computed from its own tables when it was written. Words such as "section 9" name its
sections. Sums are taken unrounded and rounded as printed.
"""

from __future__ import annotations

import math

import pytest

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from tests.demo.inn import amount, the, value

# Section 10


def test_section_10__six_single_points_before_the_feed(arrived: Site) -> None:
    path, at = ["cable:C01", "unit:D02"], Ref("unit", "D02")
    assert arrived.about(subject=Ref("end", "E01"), relation="plugged")[0].object == Ref("port", "D02.radio")
    while fed := arrived.about(subject=at, relation="fed_by"):
        at = fed[0].object
        path.append(str(at))
    assert path == ["cable:C01", "unit:D02", "socket:P1", "socket:K1", "switch:SW1", "circuit:BAR"]


def test_section_10__units_in_a_box_have_no_address_in_use(arrived: Site) -> None:
    assert [the(arrived, f"unit:{t}").text("address") for t in ("D06", "D21", "D13")] == ["", "", "10.20.0.20"]
    assert the(arrived, "model:MD-AP-24").text("default_address") == "10.20.0.20"


# Sections 12 and 19


def to_buy(site: Site) -> list[Thing]:
    return [p for p in site.of_kind("part") if p.text("price")]


def test_section_12__sum_and_weight_of_goods(arrived: Site) -> None:
    goods = to_buy(arrived)
    assert len(goods) == 18
    cost = sum(value(p, "count") * amount(arrived, str(p.ref_of("price")).removeprefix("price:")) for p in goods)
    assert cost == 2463
    assert sum(value(p, "count") * value(p, "mass_kg") for p in goods) == pytest.approx(62.0, abs=0.05)
    assert cost * 1.25 == 3078.75
    assert (cost * 1.25 - cost) / (cost * 1.25) == pytest.approx(0.20)


def test_section_12__units_that_fly_weigh_2_7_kg(arrived: Site) -> None:
    mass = [value(p, "count") * value(p, "mass_kg") for p in to_buy(arrived) if p.text("travels") == "cabin"]
    assert sum(mass) == pytest.approx(2.7)


def test_section_19__sums_of_money(arrived: Site) -> None:
    travel = 8 * amount(arrived, "PR-TIME") + amount(arrived, "PR-TICKETS") + amount(arrived, "PR-CAR")
    assert travel == 710
    pieces = {"N01": 1, "N03": 3, "N06": 3, "N21": 1, "N14": 24, "N20": 1}
    goods = sum(n * amount(arrived, f"PR-{tag}") for tag, n in pieces.items())
    assert goods == amount(arrived, "PR-GOODS") == 1086
    fixed = sum(amount(arrived, f"PR-{n}") for n in ("SURVEY", "PULL", "SWITCH", "TEST"))
    net = fixed + 6 * amount(arrived, "PR-TAKEOVER") + 6 * amount(arrived, "PR-PLACE") + travel + goods * 1.25
    assert (net, net * 0.1, net * 1.1) == pytest.approx((3937.50, 393.75, 4331.25))
    assert net * 1.1 - amount(arrived, "PR-CAP") == pytest.approx(331.25)


# Section 15


def test_section_15__three_of_19_rooms_reach_minus_70_on_5_ghz(arrived: Site) -> None:
    read = {
        r.measured.subject.tag: r.measured.value_si
        for r in arrived.readings
        if r.measured.quantity == "level 5 GHz" and r.measured.subject.kind == "room"
    }
    assert len(read) == 19
    assert sorted(tag for tag, dbm in read.items() if dbm is not None and dbm >= -70) == ["M001", "M003", "M103"]


# Section 16


def test_section_16__budget_by_class_by_plate_and_typical(visited: Site) -> None:
    """Class 3 is 15.4 W and class 4 is 30 W at the switch (IEEE 802.3, from memory); 24 V loads count their most."""
    loads = [the(visited, f"unit:{t}") for t in ("D05", "N03", "N04", "N05", "N06", "N07", "N08", "D06", "D21")]
    models = [the(visited, str(u.ref_of("model"))) for u in loads]
    by_class = [{3: 15.4, 4: 30.0}.get(int(m.number("class") or 0), value(m, "max_w")) for m in models]
    sums = [sum(by_class), sum(value(m, "max_w") for m in models), sum(value(m, "typical_w") for m in models)]
    assert sums == pytest.approx([163.6, 99.0, 71.5])
    budget = value(the(visited, "model:MD-SW16"), "budget_w")
    assert [round(100 * s / budget, 1) for s in sums] == [109.1, 66.0, 47.7]
    assert the(visited, "unit:N05").text("state") == "planned"


@pytest.mark.parametrize(
    ("cable", "length_m", "watt", "ohm", "volt"),
    [("C10", 20.65, 6.0, 1.739, 23.56), ("C11", 16.15, 6.0, 1.360, 23.66), ("C01", 19.00, 8.0, 1.600, 23.45)],
)
def test_section_16__volts_at_24_v_loads(
    visited: Site, cable: str, length_m: float, watt: float, ohm: float, volt: float
) -> None:
    assert value(the(visited, f"cable:{cable}"), "length_m") == length_m
    model = "model:MD-FEED" if cable == "C01" else "model:MD-AP-24"
    assert value(the(visited, model), "max_w") == watt
    R = 0.0842 * length_m
    assert round(R, 3) == pytest.approx(ohm, abs=0.0011)
    assert round((24 + math.sqrt(576 - 4 * watt * R)) / 2, 2) == pytest.approx(volt)


# Sections 17 and 18


@pytest.mark.parametrize(
    ("visit", "count", "mean", "sd", "p80"),
    [("V1", 19, 1427.5, 76.9, 1492), ("V2", 14, 2228.3, 165.4, 2368)],
)
def test_sections_17_and_18__sums_of_times(
    visited: Site, visit: str, count: int, mean: float, sd: float, p80: float
) -> None:
    tasks = [t for t in visited.of_kind("task") if t.ref_of("visit") == Ref("visit", visit)]
    times = [tuple(value(t, f"{w}_min") for w in ("best", "likely", "worst")) for t in tasks]
    assert len(times) == count
    means = sum((a + 4 * m + b) / 6 for a, m, b in times)
    spread = math.sqrt(sum(((b - a) / 6) ** 2 for a, _, b in times))
    assert (round(means, 1), round(spread, 1)) == (mean, sd)
    assert round(means + 0.8416 * spread) == p80


def test_section_17__end_block_and_overrun(visited: Site) -> None:
    likely = {t.ref.tag: value(t, "likely_min") for t in visited.of_kind("task")}
    assert sum(minutes for tag, minutes in likely.items() if tag.startswith("T")) == 1325
    end_block = sum(likely[f"T{n}"] for n in range(14, 19))
    assert (end_block, end_block + likely["T12b"]) == (285, 300)
    assert 420 + 660 + 330 == 1410
    assert 1427.5 - 1410 == 17.5
    assert (round(1.2 * 1427.5), round(1.2 * 1427.5 - 1410)) == (1713, 303)


def test_section_17__eight_temporary_works_all_ended_by_visit_2(visited: Site, year_after: Site) -> None:
    left = {t.ref.tag: t.text("ended") for t in visited.of_kind("temporary")}
    assert left == dict.fromkeys([f"X{n}" for n in range(1, 9)], "")
    assert {t.text("ended") for t in year_after.of_kind("temporary")} == {"yes"}


def test_section_18__weight_and_heat_of_the_rack(year_after: Site) -> None:
    """There is no column for the weight or the place in a rack yet: both stand in words."""
    words = [t.text("note") for t in year_after.things.values() if "RK1, U" in t.text("place") + t.text("note")]
    kg = [float(w.split(" kg")[0].split()[-1]) for w in words]
    watt = [float(w.split(" W")[0].split()[-1]) for w in words]
    assert sorted(kg) == [0.5, 0.8, 1.0, 1.2, 1.5, 3.1, 11.0]
    assert 16.0 + sum(kg) == pytest.approx(35.1)
    assert the(year_after, "rack:RK1").text("note").split(" kg")[0].endswith("16.0")
    assert sum(watt) == 75
    assert round(75 * 3.412, 1) == 255.9


def test_section_18__fifteen_runs_on_the_panel_and_17_certified(year_after: Site) -> None:
    on_panel = [c for c in year_after.about(relation="ends_at") if c.object.tag.startswith("PP1.")]
    assert len({c.object for c in on_panel}) == len(on_panel) == 15
    certified = {r.measured.subject for r in year_after.readings if r.measured.evidence.grade == "certified"}
    assert len(certified) == 17


def test_section_18__removed_cables_and_kept_ones(year_after: Site) -> None:
    gone = {c.ref.tag for c in year_after.of_kind("cable") if c.text("state") == "removed"}
    assert gone == {"C08", "C08b", "C17", "C19", "C28", "C31", "C33", "C39"}
    reserved = {c.ref.tag for c in year_after.of_kind("cable") if c.text("reserved") == "yes"}
    assert {"C02", "C35"} <= reserved and not gone & reserved


# Section 20


def test_section_20__calls_of_the_year(year_after: Site) -> None:
    calls = list(year_after.of_kind("call"))
    assert [value(c, "took_min") for c in calls] == [12, 25, 6, 15, 8, 10, 20, 5]
    assert [c.text("page") for c in calls] == ["C1", "C4", "C6", "C7", "C8", "C9", "C10", "C12"]
