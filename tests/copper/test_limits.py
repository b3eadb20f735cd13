"""Limits of cable and connections: ranges, floors and caps, sums worked by hand.

Expected values: a table of a standard where one is named; else a sum shown beside it.
"""

import itertools

import pytest

from pullstring.copper import limits
from pullstring.copper.limits_table import category_key, in_mhz, pieces_by_use

MHZ = 1e6
PARTS = [piece for rows in pieces_by_use().values() for piece in rows]
TOP_MHZ = {"3": 16, "5": 100, "5e": 100, "6": 250, "6A": 500, "C": 16, "D": 100, "E": 250, "EA": 500, "any": 500}
LOW_MHZ = {("3", "loss"): 0.256, ("5", "loss"): 0.772, ("3", "next"): 0.772, ("5", "next"): 0.772}


def loss(category, mhz, length_m=100):
    return limits.cable_loss_db(category=category, frequency_hz=mhz * MHZ, length_m=length_m)


def test_table__every_row_has_standard_unit_and_provenance():
    assert len(PARTS) > 100
    assert [p for p in PARTS if not (p.edition and p.standard and p.unit and p.provenance)] == []
    known = ("read in a published text", "from memory", "computed here")
    assert [p for p in PARTS if not any(word in p.provenance for word in known)] == []


def test_table__pieces_follow_each_other_without_gap():
    for use, rows in pieces_by_use().items():
        for edition in {p.edition for p in rows}:
            own = [p for p in rows if p.edition == edition]
            assert [a.high for a in own[:-1]] == [b.low for b in own[1:]], use


def test_table__pieces_join_within_a_tenth_of_a_decibel():
    """But for connections of Category 5, whose old table goes in steps of 0.1 dB."""
    for use, rows in pieces_by_use().items():
        for a, b in itertools.pairwise(rows):
            if a.edition == b.edition and "voltages" not in (a.form, b.form):
                assert abs(a.bounded(a.line(a.high)) - b.bounded(b.line(b.low))) < 0.101, use


def test_table__every_curve_runs_from_1_mhz_to_the_top_of_its_category():
    """Tops of TIA-568 and ISO/IEC 11801; the tables of Category 3 and 5 cable (read) begin below 1 MHz."""
    for (part, category, quantity), rows in pieces_by_use().items():
        if part == "phy":
            continue
        for edition in {p.edition for p in rows if p.over == "MHz"}:
            own = [p for p in rows if p.edition == edition]
            low = LOW_MHZ.get((category, quantity), 1) if part == "cable" else 1
            assert (own[0].low, own[-1].high) == (low, TOP_MHZ[category]), (part, category, quantity)


@pytest.mark.parametrize(
    ("category", "db"),
    [("3", 2.558), ("5", 2.040), ("5e", 2.040), ("6", 2.025), ("6A", 2.0791)]
    + [("C", 3.23), ("D", 2.133), ("E", 2.0869), ("EA", 2.0791)],
)
def test_cable_loss__at_1_mhz_is_the_sum_of_its_coefficients(category, db):
    """a + b + c, added by hand from the formulas of TIA-568 and ISO/IEC 11801."""
    assert loss(category, 1) == pytest.approx(db, abs=1e-6)


@pytest.mark.parametrize(("category", "mhz", "db"), [("5e", 100, 20.107), ("6", 250, 17.322), ("6A", 500, 15.214)])
def test_cable_return_loss__at_the_top(category, mhz, db):
    """25 - 7 log(f/20): TIA-568-C.2 (from memory) prints 20.1, 17.3 and 15.2 dB."""
    at_top = limits.cable_return_loss_db(category=category, frequency_hz=mhz * MHZ)
    assert at_top == pytest.approx(db, abs=0.001)
    at = [limits.cable_return_loss_db(category=category, frequency_hz=f * MHZ) for f in (1, 10, 15, 20)]
    assert at == pytest.approx([20, 25, 25, 25])


@pytest.mark.parametrize("written", ["5e", "5E", "cat5e", "Cat 5e", " category 5E "])
def test_category__written_as_people_write_it(written):
    assert category_key(written) == "5e"


def test_category__class_ea_is_not_class_e():
    assert category_key("class EA") == "EA" and category_key("class e") == "E"


def test_category__unknown_names_those_held():
    with pytest.raises(ValueError, match="'7'.*give one of 3, 5, 5e"):
        loss("7", 10)


@pytest.mark.parametrize(("category", "inside", "outside"), [("3", 16, 16.1), ("5e", 100, 101), ("6", 250, 251)])
def test_cable_loss__ends_at_the_top_of_its_category(category, inside, outside):
    assert loss(category, inside) > 0
    with pytest.raises(ValueError, match=f"{outside:g} MHz is outside"):
        loss(category, outside)
    far = limits.cable_loss_extrapolated_db(category=category, frequency_hz=outside * MHZ, length_m=100)
    assert far > loss(category, inside)


def test_cable_loss__extrapolated_agrees_inside():
    assert limits.cable_loss_extrapolated_db(category="3", frequency_hz=10e6, length_m=100) == loss("3", 10)


def test_cable_loss__category_3_carried_on_to_62_5_mhz():
    """2.320 x 7.9057 + 0.238 x 62.5 = 18.341 + 14.875 = 33.216 dB."""
    far = limits.cable_loss_extrapolated_db(category="3", frequency_hz=62.5e6, length_m=100)
    assert far == pytest.approx(33.216, abs=0.001)


def test_cable_next__extrapolated_goes_on_at_15_db_a_decade():
    at = [limits.cable_next_extrapolated_db(category="3", frequency_hz=f * MHZ) for f in (10, 100)]
    assert at[0] - at[1] == pytest.approx(15)
    assert at[0] == limits.cable_next_db(category="3", frequency_hz=10e6)


def test_cable_loss__goes_with_length():
    assert loss("5e", 100, 50) == pytest.approx(loss("5e", 100) / 2)
    assert loss("5e", 100, 0) == 0


@pytest.mark.parametrize(
    ("category", "power_sum", "acrf"),
    [("5e", 32.3, 23.8), ("6", 42.3, 27.8), ("6A", 42.3, 27.8)],
)
def test_cable__power_sum_and_far_end_at_100_mhz(category, power_sum, acrf):
    """TIA-568-C.2 (from memory); a decade lower they are 15 and 20 dB better."""
    for mhz, near, far in ((100, 0, 0), (10, 15, 20)):
        at = {"category": category, "frequency_hz": mhz * MHZ}
        assert limits.cable_power_sum_next_db(**at) == pytest.approx(power_sum + near)
        assert limits.cable_acrf_db(**at) == pytest.approx(acrf + far)


def test_connector__floor_of_loss_and_steps_of_category_5():
    def at(category, mhz):
        return limits.connector_loss_db(category=category, frequency_hz=mhz * MHZ)

    assert [at(c, 1) for c in ("5e", "6", "6A")] == [0.1, 0.1, 0.1]  # 0.04 and 0.02 without the floor
    assert limits.curve(part="connector", category="3", quantity="loss", edition=None).pieces[0].least == 0.1
    assert [at("5", mhz) for mhz in (10, 16, 31.25, 62.5, 100)] == [0.1, 0.2, 0.2, 0.3, 0.4]


def test_connector__line_of_the_formula_has_neither_floor_nor_cap():
    assert limits.connector_line_db(category="6", quantity="loss", frequency_hz=1e6) == pytest.approx(0.02)
    assert limits.connector_line_db(category="5e", quantity="next", frequency_hz=1e6) == 83
    assert limits.connector_next_db(category="5e", frequency_hz=1e6) == 65


def test_connector__category_6a_falls_twice_as_steeply_above_250_mhz():
    """94 - 20 log 250 = 46.04; an octave on 12.04 dB less."""
    at = [limits.connector_next_db(category="6A", frequency_hz=f * MHZ) for f in (1, 125, 250, 500)]
    assert at == pytest.approx([75, 52.06, 46.04, 34.0], abs=0.01)


def test_frequency__in_mhz():
    assert in_mhz(frequency_hz=31.25e6) == 31.25


def test_untwisted__at_terminations():
    """TIA-568 (from memory): 13 mm, 75 mm for Category 3."""
    assert limits.untwisted_limit(category="cat5e").value == 0.013
    assert limits.untwisted_limit(category="3").value == 0.075
