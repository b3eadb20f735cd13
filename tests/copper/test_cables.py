"""The table of jackets: complete, marked, and in step with the rules that use it."""

import pytest

from pullstring.copper.cables import cable_kind, cable_kinds
from pullstring.model.answers import Band


def test_cable_kinds__every_row_says_where_its_numbers_come_from():
    marks = ("published", "from memory", "common practice", "assumed by us")
    for kind in cable_kinds().values():
        assert any(mark in kind.provenance_wire for mark in marks), kind.name
        assert any(mark in kind.provenance_bands for mark in marks), kind.name
        assert kind.family in ("data", "telephone", "other")


def test_cable_kinds__typical_gauge_lies_in_its_range_and_farads_are_per_metre():
    """No pair cable is outside 20 to 200 pF/m, so a slip of a unit shows."""
    for kind in cable_kinds().values():
        assert kind.awg.low <= kind.awg_typical <= kind.awg.high
        assert 20e-12 < kind.capacitance_f_per_m.low < kind.capacitance_f_per_m.high < 200e-12


def test_cable_kinds__a_faster_rate_is_never_likelier_than_a_slower_one():
    order = list(Band)
    for kind in cable_kinds().values():
        ranks = [order.index(kind.bands[rate]) for rate in (10, 100, 1000)]
        assert ranks == sorted(ranks), kind.name


def test_cable_kinds__untwisted_is_never_likely():
    for kind in cable_kinds().values():
        if kind.twisted is False:
            assert Band.LIKELY not in kind.bands.values(), kind.name


@pytest.mark.parametrize(
    ("name", "usual_mbps", "min_good_pairs"),
    [
        ("cat3", 10, 2),
        ("cat5", 100, 2),
        ("cat5e", 1000, 4),
        ("cat6", 1000, 4),
        ("quad", 10, 2),
        ("coax", 0, 0),
    ],
)
def test_cable_kind__usual_rate(name, usual_mbps, min_good_pairs):
    """Category tables (read in a published text); quad links at 10, fails at 100 (article on old wiring)."""
    kind = cable_kind(name)
    assert (kind.usual_mbps, kind.min_good_pairs) == (usual_mbps, min_good_pairs)


def test_cable_kind__spelling_of_case_and_spaces_does_not_matter():
    assert cable_kind("  Gel  6-Pair ") is cable_kind("gel 6-pair")
    assert cable_kind("CAT5E").name == "cat5e"


def test_cable_kind__a_strange_name_is_unknown_and_wider_than_all_house_cable():
    strange = cable_kind("purple spaghetti")
    assert (strange.name, strange.known, strange.pairs, strange.twisted) == ("unknown", False, None, None)
    for name in ("cat3", "cat5e", "cat6", "quad", "25-pair"):
        kind = cable_kind(name)
        assert kind.known
        assert strange.awg.low <= kind.awg.low
        assert strange.awg.high >= kind.awg.high
        assert strange.capacitance_f_per_m.low < kind.capacitance_f_per_m.low
        assert strange.capacitance_f_per_m.high > kind.capacitance_f_per_m.high
