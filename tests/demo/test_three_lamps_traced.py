"""The inn traced from what was seen on arrival and read on the walk alone: the truth, and each thing named for what it is."""

from __future__ import annotations

import pathlib

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.trace.assumed import assumed_noise, assumed_prior
from pullstring.trace.doubts import doubted
from pullstring.trace.evidence import Traced, traced
from pullstring.trace.findings import Findings, Stand, findings
from pullstring.trace.posterior import Posterior
from tests.demo.inn import DAYS, HAND, bring_in, truth

NONE = {"O04": "no cable", "O27": "no cable", "O23": "fed from elsewhere"}
"""Outlets on no end of the closet: pulled back, an empty box, and one that hangs on a cabinet."""
MORE = {
    "O11": {"E12", "E40"},
    "O12": {"E12", "E40"},
    "O13": {"E12", "E40"},
    "O21": {"E24"},
    "O26": {"E08"},
    "O29": {"E07"},
}
MORE |= {"O05": {"E20"}, "O07": {"E21"}, "O16": {"E16"}, "O19": {"E32"}, "O22": {"E24"}, "O24": {"E36"}, "O25": {"E08"}}
MORE |= {"O28": {"E07"}, "O30": {"E14"}}
PROTECTED = {
    "E03": "ALM",
    "E04": "ALM",
    "E05": "ALM",
    "E06": "LFT",
    "E26": "ALM",
    "E27": "ALM",
    "E30": "HTG",
    "E01": "ISP",
}


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> Site:
    path = tmp_path_factory.mktemp("walked") / "house.site"
    api.new(path, Request(today="2026-03-03"), code="TLH", name="", wrote="2026-03-03T12:00:00+00:00", **HAND)
    for stage in ("1_arrival", "2_walk"):
        bring_in(path, stage)
    return api.load(path, Request(today=DAYS["2_walk"]))


@pytest.fixture(scope="module")
def given(walked: Site) -> Traced:
    return traced(walked)


@pytest.fixture(scope="module")
def odds(given: Traced) -> Posterior:
    return doubted(given.scene, given.readings, prior=assumed_prior(), noise=assumed_noise()).posterior


@pytest.fixture(scope="module")
def found(given: Traced, odds: Posterior) -> Findings:
    return findings(given, odds)


def of(found: Findings, tag: str) -> dict[str, Stand]:
    kind = "outlet" if tag.startswith("O") else "end"
    return {stand.what: stand for stand in found.of(parse_ref(f"{kind}:{tag}")).stands}


def true_ends() -> dict[str, set[str]]:
    """Table 8: the end of each outlet."""
    ends = {row["outlet"]: {row["end"]} for row in truth() if row["outlet"]}
    return {**ends, **MORE, **{tag: set() for tag in NONE}}


def on_true(odds: Posterior, given: Traced, o: int) -> float:
    """Chance that an outlet is where table 8 has it."""
    right = true_ends()[given.outlets[o].tag]
    ends = sum(odds.own[o, e] for e, end in enumerate(given.ends) if end.tag in right)
    return float(ends if right else odds.own[o, -1])


def test_traced__no_outlet_is_believed_wrongly(given: Traced, odds: Posterior) -> None:
    assert set(true_ends()) == {ref.tag for ref in given.outlets}
    for o, ref in enumerate(given.outlets):
        assert 1 - on_true(odds, given, o) < 0.9, f"{ref} is believed wrongly"


def test_traced__all_is_recovered_but_the_outlet_that_nobody_opened(given: Traced, odds: Posterior) -> None:
    """O10 is painted over and its cable was never toned: a length alone speaks for it."""
    chances = {ref.tag: on_true(odds, given, o) for o, ref in enumerate(given.outlets)}
    assert {tag for tag, chance in chances.items() if chance < 0.7} == {"O10"}
    assert 0.4 < chances["O10"] < 0.9
    by_hand = {row["outlet"] for row in truth() if row["resistor"] or "outlet:" in row["tone_at"]} - {""}
    assert all(chances[tag] > 0.99 for tag in by_hand), chances


def test_traced__the_ring_is_one_ring(found: Findings) -> None:
    for tag in ("O11", "O12", "O13"):
        assert set(of(found, tag)) == {"ring"}
    for tag, other in (("E12", "E40"), ("E40", "E12")):
        stands = of(found, tag)
        assert {r.tag for r in stands["goes to"].about} == {"O11", "O12", "O13"}
        assert [r.tag for r in stands["ring"].about] == [other]
        assert stands["ring"].chance > 0.9


def test_traced__the_clip_is_a_clip_and_each_cable_has_its_own_outlet(found: Findings, given: Traced) -> None:
    assert [r.tag for r in of(found, "E13")["clip"].about] == ["E14"]
    assert [r.tag for r in of(found, "E14")["clip"].about] == ["E13"]
    assert [r.tag for r in of(found, "E13")["goes to"].about] == ["O14"]
    assert {r.tag for r in of(found, "E14")["goes to"].about} == {"O15", "O30"}
    assert "ring" not in of(found, "E13")
    read = {r.measured.key: r.entry for r in given.ground.site.readings}
    assert read["W106"] in of(found, "E13")["clip"].because, "both ends read alike while the clip was on"


def test_traced__readings_before_and_after_the_clip_was_lifted(given: Traced) -> None:
    """2131.4 ohm is both resistors in parallel, 3866.7 and 4738.8 each its own: only the latter were read alone."""
    opened = {r.key.split()[-1]: bool(r.opened) for r in given.readings if type(r).__name__ == "Ohms"}
    assert [opened[key] for key in ("W106", "W107", "W113", "W114")] == [False, False, True, True]


def test_traced__hidden_splices(found: Findings) -> None:
    assert [r.tag for r in of(found, "E16")["splice"].about] == ["O16"]
    assert of(found, "E16")["splice"].says == "cat5 quad"
    assert [r.tag for r in of(found, "E14")["splice"].about] == ["O30"], "both jackets are behind the blank plate"
    spliced = {f.thing.tag for f in found.ends for s in f.stands if s.what == "splice"}
    assert spliced == {"E14", "E16"}


def test_traced__cut_cables_with_how_far_off(found: Findings) -> None:
    """0.36 nF and 0.52 nF: about 7 m and 10 m at 52 pF a metre (table 9)."""
    for tag, metres in (("E19", 7.0), ("E31", 10.0)):
        stand = of(found, tag)["cut"]
        assert stand.length is not None and stand.length.low <= metres <= stand.length.high
    assert {f.thing.tag for f in found.ends for s in f.stands if s.what == "cut"} == {"E19", "E31"}


def test_traced__what_a_company_alone_may_touch_takes_no_part(found: Findings, given: Traced) -> None:
    for tag, company in PROTECTED.items():
        assert of(found, tag)["protected"].says == company
        assert tag not in {e.tag for e in given.ends}


def test_traced__the_rest_is_named_for_what_it_is(found: Findings) -> None:
    assert set(of(found, "E38")) == {"coil"}
    assert set(of(found, "E39")) == {"stub"}
    assert set(of(found, "E02")) == set(of(found, "E35")) == {"coax"}
    assert [r.tag for r in of(found, "E09")["elsewhere"].about] == ["F07a"], "the only tail of 25 pairs"
    assert {r.tag for r in of(found, "E28")["elsewhere"].about} == {"M001", "M005"}
    assert set(of(found, "E37")) == {"plugged"}
    assert "live" in of(found, "E07") and "unknown" in of(found, "E29")
    for tag, what in NONE.items():
        assert set(of(found, tag)) == {what}
        assert of(found, tag)[what].chance > 0.5
    assert [r.tag for r in of(found, "O23")["fed from elsewhere"].about] == ["F07c"]


def test_traced__every_finding_names_its_entries(found: Findings, walked: Site) -> None:
    known = {e for thing in walked.things.values() for e in thing.entries} | {r.entry for r in walked.readings}
    known |= {e for claim in walked.claims for e in claim.entries}
    for f in (*found.outlets, *found.ends):
        for stand in f.stands:
            assert stand.because and set(stand.because) <= known, f"{f.thing} {stand.what}"
            assert 0 <= stand.chance <= 1


def test_traced__a_lifted_clip_that_was_entered_as_an_act_says_so(visited: Site) -> None:
    """After the first visit the act is in the record: the older readings still mean both."""
    given = traced(visited)
    odds = doubted(given.scene, given.readings, prior=assumed_prior(), noise=assumed_noise()).posterior
    found = findings(given, odds)
    assert [r.tag for r in of(found, "E13")["clip lifted"].about] == ["E14"]
    opened = {r.key.split()[-1]: bool(r.opened) for r in given.readings if type(r).__name__ == "Ohms"}
    assert [opened[key] for key in ("W106", "W113")] == [False, True]


def test_source__knows_nothing_of_the_inn() -> None:
    source = pathlib.Path(__file__).resolve().parents[2] / "src" / "pullstring" / "trace"
    text = "\n".join(p.read_text(encoding="utf-8") for p in source.glob("evidence*.py"))
    text += (source / "findings.py").read_text(encoding="utf-8")
    for word in ("F07c", "M007", "three_lamps", "key system", "bell board", "GUEST", "BFAST"):
        assert word not in text
