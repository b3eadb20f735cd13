"""Traps of the inn that copper and power must see, from its own tables; the figures are those of the written scenario."""

from __future__ import annotations

import dataclasses

import pytest

from pullstring.copper.estimated import EstimatedRun, estimate, kit_at_hand
from pullstring.copper.judged import judged_runs
from pullstring.model.answers import Band
from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.power.backup import backups
from pullstring.power.card import supply
from pullstring.power.changes import Verdict, check_mode
from pullstring.power.heat import btu_per_h
from pullstring.power.ports import judge_port
from pullstring.power.supposed import with_field
from pullstring.power.verdicts import Code
from pullstring.reach.guards import guards_of
from pullstring.reach.hanging import outlets_on
from tests.demo.test_three_lamps_counts import RUNS


def run(site: Site, end: str) -> EstimatedRun:
    judged = next(j for j in judged_runs(site) if j.run.start.tag == end)
    return estimate(site, judged, kit=kit_at_hand(site))


def test_ring__one_chain_and_not_five_cables(traced: Site) -> None:
    one, other = run(traced, "E12").judged.run, run(traced, "E40").judged.run
    assert one.cables == other.cables and one.back == other.start
    assert {"O11", "O12", "O13"} <= {t.tag for t in one.to}


def test_bridge__until_the_clip_is_lifted_each_hangs_on_the_other(arrived: Site, traced: Site) -> None:
    tags = {c.tag for c in run(arrived, "E13").judged.run.touching}
    assert tags == {"C14"}
    assert run(traced, "E13").judged.run.touching == ()  # the clips were lifted on the walk


def test_splice__onto_quad_promises_a_telephone_only(traced: Site) -> None:
    said = run(traced, "E16")
    assert said.judged.jackets == ("cat5", "quad")
    assert all(rate.band in (Band.UNLIKELY, Band.NO) for rate in said.capability.rates)
    assert said.capability.telephone is not Band.NO


def test_tap__on_the_staff_run_swallows_100_and_is_to_be_parted_first(traced: Site) -> None:
    said = run(traced, "E24")
    margins = {m.name: m for m in said.margins}
    assert margins["100BASE-TX"].notch is not None and str(margins["100BASE-TX"].part) == "notch"
    assert said.capability.band is Band.UNLIKELY
    assert "part_first" in {w.test.name for w in said.worth}


def test_staple__100_over_two_pairs_and_the_remedy_for_two_gigabit_ports(traced: Site, visited: Site) -> None:
    for site in (traced, visited):
        said = run(site, "E17")
        assert (said.capability.mbps, said.capability.band) == (100, Band.LIKELY)
        assert said.capability.rates[2].band is Band.NO
        assert said.two_pairs_trap


def test_staple__alternative_a_only_and_never_24_v(visited: Site) -> None:
    """Pins 5 and 7 touch: plus and minus of alternative B and of 24 V, nothing to alternative A."""
    port = parse_ref("port:N01.4")
    a, b = (
        judge_port(with_field(visited, port, alternative=which), port=port, gives="802.3at") for which in ("A", "B")
    )
    assert a.verdict is not None and a.verdict.works is Band.LIKELY
    assert b.verdict is not None and b.verdict.works is Band.NO and Code.SHORT_BETWEEN_POLES in b.verdict.because
    assert (5, 7) in a.reach.shorts
    always = check_mode(visited, port=port, gives="24 V always-on")
    assert always.verdict is Verdict.STOP
    assert any(j.verdict and Code.SHORT_BETWEEN_POLES in j.verdict.because for j in always.then)


def test_cut_wires__about_7_and_10_m_to_the_open_end(traced: Site) -> None:
    for end, metres in (("E19", 0.36 / 0.052), ("E31", 0.52 / 0.052)):
        length = run(traced, end).judged.length
        assert length is not None and length.low <= metres <= length.high


@pytest.mark.parametrize("end", sorted(set(RUNS) - {"E14", "E16", "E33"}))
def test_lengths__by_the_route_rule_lie_in_the_range_that_is_told(traced: Site, end: str) -> None:
    """E22 has marks of 27 m, which rule and ohms miss by 1.55 m; C14 and C16 are spliced, E33 is half rotten."""
    length = run(traced, end).judged.length
    if end == "E22":
        marks = [s.interval for s in run(traced, end).judged.said.sources if s.source == "marks"]
        assert marks and all(one.low <= 27.0 <= one.high for one in marks)
    elif length is not None:
        assert length.low <= RUNS[end][1] <= length.high, length


def test_resistors__are_recognised_and_give_no_length(traced: Site) -> None:
    for end in ("E13", "E14"):
        said = run(traced, end).said
        causes = {str(c) for s in said for c in s.causes if s.taken.quantity == "resistance"}
        assert "coded_resistor" in causes
        assert not any(s.length for s in said if s.taken.quantity == "resistance")


@pytest.mark.parametrize(
    ("end", "company"), [("E03", "ALM"), ("E04", "ALM"), ("E26", "ALM"), ("E27", "ALM"), ("E30", "HTG")]
)
def test_lines_that_look_spare__belong_to_a_company(traced: Site, end: str, company: str) -> None:
    assert company in guards_of(traced, parse_ref(f"end:{end}")).values()


def test_outlet_without_an_end__vanishes_with_the_old_cabinet_cable(traced: Site) -> None:
    assert parse_ref("outlet:O23") in outlets_on(traced, [parse_ref("cable:C09")])
    assert parse_ref("outlet:O23") not in outlets_on(traced, [parse_ref("cable:C10")])


def test_battery__called_dead_promises_nothing(traced: Site) -> None:
    (ups,) = backups(traced)
    assert ups.unit == "D12" and (ups.minutes is None or ups.minutes.low == 0)


def test_ports__one_load_more_than_the_new_switch_has_ports_for(visited: Site) -> None:
    """Seven standard loads and two always-on for eight powered ports: N05 is left over."""
    assert parse_ref("unit:N05") in supply(visited, planned=True).unfed


def test_heat__75_w_in_the_closet_are_255_9_btu_per_h() -> None:
    assert round(btu_per_h(heat_w=20 + 10 + 30 + 15), 1) == 255.9


def test_because__without_the_wire_map_the_staple_is_not_known(visited: Site) -> None:
    """The readings that say so are among the entries the answer stands on."""
    said = run(visited, "E17")
    maps = {r.entry for r in visited.readings if r.measured.quantity == "wire map"}
    assert maps & set(said.judged.because)
    without = dataclasses.replace(
        visited, readings=tuple(r for r in visited.readings if r.measured.quantity != "wire map")
    )
    assert run(without, "E17").capability.rates[2].band is not Band.NO or run(without, "E17").judged.damage.any
