"""Limits beyond the published check rows: ranges, floors and caps, joins between pieces, what is not held.

Expected values: a table of a standard where one is named; else sums that can be done by hand, shown beside them.
"""

import itertools
import math

import pytest

from pullstring.copper import cords, dc_limits, delay, limits
from pullstring.copper.limits_channel import What, channel_limit, link_limit
from pullstring.copper.limits_table import category_key, in_mhz, pieces_by_use
from pullstring.copper.phy_limits import RINGING_V, TELEPHONE_V, phy_limit, phy_needs, phys, ringing_peak_v
from pullstring.model.answers import Limit

MHZ = 1e6
PARTS = [piece for rows in pieces_by_use().values() for piece in rows]


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


@pytest.mark.parametrize(("kind", "join_mhz"), [(channel_limit, 330), (link_limit, 300)])
def test_category_6a_crosstalk__its_straight_piece_joins_the_voltage_sum(kind, join_mhz):
    below, above = (kind(category="6A", what="next", frequency_hz=(join_mhz + step) * MHZ).value for step in (0, 1e-6))
    assert below == pytest.approx(above, abs=0.05)


def test_category_6a_crosstalk__at_500_mhz():
    """TIA-568-C.2 (from memory): channel 26.1 dB, permanent link 26.7 dB."""
    assert channel_limit(category="6A", what="next", frequency_hz=500e6).value == pytest.approx(26.1, abs=0.06)
    assert link_limit(category="6A", what="next", frequency_hz=500e6).value == pytest.approx(26.7, abs=0.06)


TOP_MHZ = {"3": 16, "5": 100, "5e": 100, "6": 250, "6A": 500, "C": 16, "D": 100, "E": 250, "EA": 500, "any": 500}
LOW_MHZ = {("3", "loss"): 0.256, ("5", "loss"): 0.772, ("3", "next"): 0.772, ("5", "next"): 0.772}


def test_table__every_curve_runs_from_1_mhz_to_the_top_of_its_category():
    """Tops of TIA-568 and ISO/IEC 11801; the tables of Category 3 and 5 cable (read) begin below 1 MHz."""
    for (part, category, quantity), rows in pieces_by_use().items():
        if part == "phy":
            continue
        for edition in {p.edition for p in rows if p.over == "MHz"}:
            own = [p for p in rows if p.edition == edition]
            low = LOW_MHZ.get((category, quantity), 1) if part == "cable" else 1
            assert (own[0].low, own[-1].high) == (low, TOP_MHZ[category]), (part, category, quantity)


def test_table__curves_of_ethernet_cover_their_band():
    """Bands of IEEE 802.3 clauses 14, 40, 96, 97, 146 and 147, in MHz."""
    bands = {
        "10BASE-T": (5, 10),
        "1000BASE-T": (1, 100),
        "10BASE-T1L": (0.1, 20),
        "10BASE-T1S": (0.3, 40),
        "100BASE-T1": (1, 66),
        "1000BASE-T1": (1, 600),
    }
    held = {category for part, category, _ in pieces_by_use() if part == "phy"}
    assert held == set(bands)
    for (part, category, _), rows in pieces_by_use().items():
        if part == "phy":
            assert (rows[0].low, rows[-1].high) == bands[category]
            needs = phy_needs(category)
            assert (needs.band.low, needs.band.high) == tuple(pytest.approx(f * MHZ) for f in bands[category])


@pytest.mark.parametrize(
    ("category", "db"),
    [("3", 2.558), ("5", 2.040), ("5e", 2.040), ("6", 2.025), ("6A", 2.0791)]
    + [("C", 3.23), ("D", 2.133), ("E", 2.0869), ("EA", 2.0791)],
)
def test_cable_loss__at_1_mhz_is_the_sum_of_its_coefficients(category, db):
    """a + b + c, added by hand from the formulas of TIA-568 and ISO/IEC 11801."""
    assert loss(category, 1) == pytest.approx(db, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "category", "mhz", "db"),
    [
        (link_limit, "5e", 100, 0.9 * 21.975 + 3 * 0.4),
        (link_limit, "6", 250, 0.9 * 32.84964 + 3 * 0.316228 + 0.59293),  # 0.00015 x 250^1.5
        (link_limit, "6A", 500, 0.9 * 45.25762 + 3 * 0.447214 + 1.67705),  # 0.00015 x 500^1.5
        (channel_limit, "C", 16, 1.05 * 12.92 + 4 * 0.2),
        (channel_limit, "D", 100, 1.05 * 21.348 + 4 * 0.4),
        (channel_limit, "E", 250, 1.05 * 33.01754 + 4 * 0.316228),
        (channel_limit, "EA", 500, 1.05 * 45.25762 + 4 * 0.447214),
    ],
)
def test_loss__sums_of_cable_and_connections(kind, category, mhz, db):
    """Worked by hand from the parts at the top of the category."""
    assert kind(category=category, what="loss", frequency_hz=mhz * MHZ).value == pytest.approx(db, abs=1e-4)


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


@pytest.mark.parametrize("category", ["3", "5", "5e", "6", "6A", "C", "D", "E", "EA"])
def test_loss__rises_with_frequency_and_a_channel_loses_more_than_its_link(category):
    top = limits.curve(part="cable", category=category, quantity="loss", edition=None).pieces[-1].high
    at = [1 + (top - 1) * n / 200 for n in range(201)]
    values = [channel_limit(category=category, what="loss", frequency_hz=f * MHZ).value for f in at]
    assert values == sorted(values)
    if category not in "CDEEA":
        fixed = [link_limit(category=category, what="loss", frequency_hz=f * MHZ).value for f in at]
        assert fixed == sorted(fixed)
        assert all(link < channel for link, channel in zip(fixed, values, strict=True))


@pytest.mark.parametrize("what", ["next", "power-sum next", "acrf"])
@pytest.mark.parametrize("category", ["5e", "6"])
def test_crosstalk__falls_with_frequency_and_a_channel_may_have_less(category, what):
    top = 100 if category == "5e" else 250
    at = [1 + (top - 1) * n / 100 for n in range(101)]
    channel, link = (
        [kind(category=category, what=what, frequency_hz=f * MHZ).value for f in at]
        for kind in (channel_limit, link_limit)
    )
    assert channel == sorted(channel, reverse=True) and link == sorted(link, reverse=True)
    assert all(a <= b for a, b in zip(channel, link, strict=True))


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


@pytest.mark.parametrize(
    ("category", "kind", "what", "db"),
    [
        ("5e", channel_limit, "power-sum next", 27.1),
        ("5e", link_limit, "power-sum next", 29.3),
        ("6", channel_limit, "power-sum next", 37.1),
        ("6", link_limit, "power-sum next", 39.3),
        ("5e", link_limit, "acrf", 18.6),
        ("6", link_limit, "acrf", 24.2),
        ("5e", link_limit, "return loss", 12.0),
        ("6", link_limit, "return loss", 14.0),
    ],
)
def test_channel_and_link__at_100_mhz(category, kind, what, db):
    """TIA-568-C.2 tables (from memory)."""
    assert kind(category=category, what=what, frequency_hz=100e6).value == pytest.approx(db, abs=0.06)


def test_return_loss__of_category_6_links_low_down():
    """TIA-568-C.2 (from memory): permanent link 19.1 dB at 1 MHz, 21.0 at 10; channel 19.0 and 19.0."""
    assert link_limit(category="6", what="return loss", frequency_hz=1e6).value == pytest.approx(19.1, abs=0.06)
    assert link_limit(category="6", what="return loss", frequency_hz=10e6).value == pytest.approx(21, abs=0.06)
    assert channel_limit(category="6", what="return loss", frequency_hz=1e6).value == 19
    assert channel_limit(category="6", what="return loss", frequency_hz=10e6).value == 19


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


@pytest.mark.parametrize(
    ("category", "channel_db", "link_db"),
    [("3", 39.08, 40.13), ("5", 60, 60), ("5e", 63.29, 64.24), ("6", 65, 65), ("6A", 65, 65)],
)
def test_next__cap_of_its_tables_at_1_mhz(category, channel_db, link_db):
    """60 dB in TSB-67 (read), 65 dB later; the sums of Category 3 (39.1 and 40.1 read) and 5e stay below."""
    at = [kind(category=category, what="next", frequency_hz=1e6).value for kind in (channel_limit, link_limit)]
    assert at == pytest.approx([channel_db, link_db], abs=0.006)


def test_next__caps_that_stand_in_the_table():
    caps = {(p.part, p.category, p.quantity): p.most for p in PARTS if p.form == "voltages" and p.most < math.inf}
    assert caps == {
        (part, category, what): cap
        for part in ("channel", "link")
        for what, categories in (("next", ("5", "5e", "6", "6A")), ("power-sum next", ("5e", "6")))
        for category in categories
        for cap in ((60 if category == "5" else 65) - (3 if what == "power-sum next" else 0),)
    }


@pytest.mark.parametrize("category", ["5e", "6"])
def test_acrf__all_its_parts_fall_20_db_a_decade(category):
    for kind in (channel_limit, link_limit):
        at = [kind(category=category, what="acrf", frequency_hz=f * MHZ).value for f in (10, 100)]
        assert at[0] - at[1] == pytest.approx(20)


def test_channel__tia_and_iso_differ_for_category_6_and_class_e():
    """21.3 against 21.7 dB at 100 MHz."""
    tia, iso = (channel_limit(category=c, what="loss", frequency_hz=100e6) for c in ("6", "E"))
    assert iso.value - tia.value == pytest.approx(0.4, abs=0.06)
    assert "TIA-568" in tia.standard and "ISO/IEC 11801" in iso.standard


def test_limit__names_standard_part_category_and_how_it_is_known():
    limit = channel_limit(category="cat5e", what=What.LOSS, frequency_hz=100e6)
    assert isinstance(limit, Limit)
    assert (limit.unit, limit.standard) == ("dB", "TIA-568-C.2 and -D.2, channel of 5e")
    assert "from memory" in limit.provenance


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (
            {"category": "5e", "what": "loss", "frequency_hz": 1e6, "edition": "tsb67"},
            "no loss is held in tsb67; give 568c",
        ),
        ({"category": "3", "what": "acrf", "frequency_hz": 1e6}, "no acrf is held; ask for another"),
        ({"category": "5e", "what": "loss", "frequency_hz": None}, "goes with frequency"),
        ({"category": "5e", "what": "loss", "frequency_hz": 0.0}, "give one above zero"),
        ({"category": "5e", "what": "loss", "frequency_hz": math.nan}, "give one above zero"),
        ({"category": "5e", "what": "colour", "frequency_hz": 1e6}, "colour"),
        ({"category": "E", "what": "next", "frequency_hz": 1e6}, "no next is held"),
    ],
)
def test_channel__what_is_not_held_is_said(asked, says):
    with pytest.raises(ValueError, match=says):
        channel_limit(**asked)


def test_frequency__in_mhz():
    assert in_mhz(frequency_hz=31.25e6) == 31.25


def test_link__without_frequency():
    """TIA-568-C.2 (from memory): loop 25 and 21 ohm, Category 3 40 ohm; skew 50 and 44 ns; unbalance 3 %, of cable 5 % of the
    smaller wire."""

    def value(kind, what, category="5e"):
        return kind(category=category, what=what, frequency_hz=None).value

    assert (value(channel_limit, "loop resistance"), value(link_limit, "loop resistance")) == (25, 21)
    assert value(channel_limit, "loop resistance", "3") == 40
    assert value(channel_limit, "skew") == pytest.approx(50e-9)
    assert value(link_limit, "skew") == pytest.approx(44.25e-9)  # 0.9 x 45 + 3 x 1.25
    assert value(channel_limit, "unbalance") == 0.03
    (of_cable,) = pieces_by_use()["cable", "any", "unbalance"]
    assert (of_cable.a, of_cable.unit) == (0.05, "(max-min)/min")


def test_delay__limits_are_those_of_their_parts():
    channel = channel_limit(category="6", what="delay", frequency_hz=10e6)
    assert channel.unit == "s"
    assert channel.value == pytest.approx(delay.run_delay_s(frequency_hz=10e6, length_m=100, joints=4))


def test_delay__skew_and_velocity():
    """45 ns for 100 m; 545.4 ns for 100 m is 0.61 of the speed of light."""
    assert delay.cable_skew_s(length_m=100) == pytest.approx(45e-9)
    assert delay.cable_skew_s(length_m=50) == pytest.approx(22.5e-9)
    whole, half = (delay.cable_delay_s(frequency_hz=10e6, length_m=m) for m in (100, 50))
    assert half == pytest.approx(whole / 2)
    assert delay.velocity_factor(delay_s_per_m=5.454e-9) == pytest.approx(0.6116, abs=0.0001)


def test_conductor_limit__passes_24_awg_and_refuses_26():
    """Wire table at 20 C (read): 8.420 and 13.386 ohm for 100 m."""
    limit = dc_limits.conductor_limit()
    assert limit.unit == "ohm/m" and 0.08420 < limit.value < 0.13386
    assert limit.value == pytest.approx(0.0938)


def test_pairset_loop__four_pairs_halve_it_and_one_is_refused():
    two, four = (dc_limits.pairset_loop_ohm(conductor_ohm_per_m=0.0842, length_m=100, pairs=pairs) for pairs in (2, 4))
    assert (two, four) == (pytest.approx(8.42), pytest.approx(4.21))
    with pytest.raises(ValueError, match="give 2 or 4"):
        dc_limits.pairset_loop_ohm(conductor_ohm_per_m=0.0842, length_m=100, pairs=1)
    longest = dc_limits.length_for_pairset_loop_m(loop_ohm=8.42, conductor_ohm_per_m=0.0842, pairs=4)
    assert longest == pytest.approx(200)


@pytest.mark.parametrize(("kind", "factor"), [("utp", 1), ("screened", 1), ("cat3", 1)])
def test_temperature__twenty_degrees_is_where_limits_stand(kind, factor):
    assert cords.loss_temperature_factor(kind=kind, temperature_c=20) == factor


def test_temperature__rises_without_a_jump_at_40_degrees():
    at = [cords.loss_temperature_factor(kind="utp", temperature_c=t) for t in (39.999, 40, 40.001)]
    assert at == sorted(at) and at[2] - at[0] < 1e-4
    assert cords.loss_temperature_factor(kind="utp", temperature_c=50) == pytest.approx(1.14)


@pytest.mark.parametrize("temperature_c", [19, 61])
def test_temperature__outside_the_clause_only_by_name(temperature_c):
    for kind in ("utp", "screened", "cat3"):
        with pytest.raises(ValueError, match="20 to 60 C"):
            cords.loss_temperature_factor(kind=kind, temperature_c=temperature_c)
    with pytest.raises(ValueError, match="20 to 60 C"):
        cords.derated_link_m(temperature_c=temperature_c)
    far = cords.loss_temperature_factor_extrapolated(kind="utp", temperature_c=temperature_c)
    assert far == pytest.approx({19: 0.996, 61: 1.206}[temperature_c])


def test_temperature__no_cable_lives_below_minus_20_or_above_90_degrees():
    """The slopes carried on: 1 - 40 x 0.004 and 1.08 + 50 x 0.006."""
    at = [cords.loss_temperature_factor_extrapolated(kind="utp", temperature_c=t) for t in (-20, 90)]
    assert at == pytest.approx([0.84, 1.38])
    for outside in (-20.5, 90.5):
        with pytest.raises(ValueError, match="-20 and 90"):
            cords.loss_temperature_factor_extrapolated(kind="utp", temperature_c=outside)


def test_derated_length__printed_table_never_asks_for_less_than_its_coefficient():
    """The table is the more generous of the two, by 0.67 m at 40 C, 0.55 m at 50 C and nothing at 60 C."""
    apart = [
        cords.derated_link_m(temperature_c=t) - cords.derated_link_by_factor_m(kind="utp", temperature_c=t)
        for t in (20, 40, 50, 60)
    ]
    assert apart == pytest.approx([0, 0.667, 0.553, 0], abs=0.001)


def test_cords__longer_run_leaves_less_cord():
    """(102 - 90) / 1.2 = 10 m, and 12 more metres of run cost 10 m of cord."""
    at = [cords.total_cord_m(horizontal_m=h, derating_ratio=0.2) for h in (78, 90)]
    assert at == pytest.approx([20, 10])
    for wrong in (90.1, -1):
        with pytest.raises(ValueError, match="from 0 to 90 m"):
            cords.total_cord_m(horizontal_m=wrong, derating_ratio=0.2)


def test_cords__derating_by_gauge_and_cap_at_the_work_place():
    assert [cords.cord_derating(awg=awg) for awg in (22, 24, 25, 26)] == [0.2, 0.2, 0.5, 0.5]
    with pytest.raises(ValueError, match="27 AWG"):
        cords.cord_derating(awg=27)
    assert [cords.work_area_cord(edition=e).value for e in ("568c", "11801")] == [22, 20]


def test_untwisted__at_terminations():
    """TIA-568 (from memory): 13 mm, 75 mm for Category 3."""
    assert limits.untwisted_limit(category="cat5e").value == 0.013
    assert limits.untwisted_limit(category="3").value == 0.075


def test_telephone__rings_at_175_v():
    """90 V rms on 48 V (both read): 127.3 + 48 = 175.3 V at the peak."""
    assert (RINGING_V.value, TELEPHONE_V.value, RINGING_V.unit, TELEPHONE_V.unit) == (90, 48, "V", "V")
    peak = ringing_peak_v(ringing_v=RINGING_V.value, battery_v=TELEPHONE_V.value)
    assert peak == pytest.approx(175.3, abs=0.05)


def test_phys__rates_name_the_usual_kind():
    names = [phy_needs(rate).name for rate in (10, 100, 1000, 2500, 5000, 10000)]
    assert names == ["10BASE-T", "100BASE-TX", "1000BASE-T", "2.5GBASE-T", "5GBASE-T", "10GBASE-T"]
    assert phy_needs("10base-t1l").name == "10BASE-T1L"
    with pytest.raises(ValueError, match="10, 100, 1000, 2500"):
        phy_needs(40)


def test_phys__two_pairs_stop_at_100():
    """IEEE 802.3 clauses 14, 25, 40 (read): two pairs for 10 and 100 Mb/s, four from there up."""
    assert [phy_needs(rate).pairs for rate in (10, 100, 1000, 2500, 5000, 10000)] == [2, 2, 4, 4, 4, 4]


@pytest.mark.parametrize("rate", [2500, 5000, 10000])
def test_phys__above_a_gigabit_there_is_the_category_rule_only(rate):
    needs = phy_needs(rate)
    assert (needs.model, needs.loss) == (False, None)
    assert needs.least_category == {2500: "5e", 5000: "6", 10000: "6A"}[rate]
    with pytest.raises(ValueError, match="only the category rule"):
        phy_limit(name=needs.name, what="loss", frequency_hz=1e6)


def test_phys__100base_tx_takes_the_category_5_channel():
    """24.0 dB at 100 MHz; 40.6 dB of NEXT at 16 MHz (tables of TSB-67, read)."""
    assert phy_limit(name="100BASE-TX", what="loss", frequency_hz=100e6).value == pytest.approx(24.0, abs=0.06)
    assert phy_limit(name="100BASE-TX", what="next", frequency_hz=16e6).value == pytest.approx(40.6, abs=0.06)


@pytest.mark.parametrize(
    ("name", "loss_db", "delay_ns", "skew_ns"),
    [
        ("10BASE-T", 11.5, 1000, None),
        ("100BASE-TX", 12.8, 556, None),
        ("1000BASE-T", 18.7, 570, 50),
        ("10BASE-T1L", 25.6, 8834, None),
    ],
)
def test_phys__what_they_allow_where_their_signal_ends(name, loss_db, delay_ns, skew_ns):
    """11.5 dB, 1000 and 8834 ns read; 12.8 dB is the Category 5 channel at 31.25 MHz (read); the others from memory:
    2.1 x 62.5^0.529 + 0.4 / 62.5 = 18.7 and 12.5 x 1.936 + 0.375 + 1.033 = 25.6."""
    needs = phy_needs(name)
    assert needs.model
    assert needs.loss is not None and needs.loss.value == pytest.approx(loss_db, abs=0.06)
    assert needs.delay is not None and needs.delay.value * 1e9 == pytest.approx(delay_ns)
    assert (needs.skew.value * 1e9 if needs.skew else None) == (pytest.approx(skew_ns) if skew_ns else None)
    assert needs.band.low < needs.signal_hz <= needs.band.high


BITS = {  # bits that one symbol carries on one pair, by the line code of its clause
    "10BASE-T": 1,
    "100BASE-TX": 4 / 5,  # 4B5B
    "1000BASE-T": 2,
    "2.5GBASE-T": 3.125,
    "5GBASE-T": 3.125,
    "10GBASE-T": 3.125,
    "10BASE-T1L": 4 / 3,  # 4B3T
    "10BASE-T1S": 4 / 5,  # 4B5B
    "100BASE-T1": 3 / 2,  # 3B2T
    "1000BASE-T1": 3 / 2 * 80 / 81 * 406 / 450 / 1.0033,  # 3B2T, 80B81B, Reed-Solomon with its management bit
}


@pytest.mark.parametrize("name", BITS)
def test_phys__symbols_times_bits_times_pairs_are_the_rate(name):
    """Both directions share a pair where the standard says both ways; else half of two pairs sends."""
    needs = phy_needs(name)
    sending = max(needs.pairs // (1 if needs.both_ways else 2), 1)
    assert needs.symbol_hz * BITS[name] * sending == pytest.approx(needs.mbps * 1e6, rel=0.002)


def test_phys__levels_are_those_in_the_name_of_the_code():
    for needs in phys().values():
        said = needs.signal.rpartition("-")[2]
        assert needs.levels == (int(said) if said.isdigit() else 2), needs.name


def test_phys__reach():
    """100 m of category cable; 15 m of single pair, 1000 m for 10BASE-T1L (IEEE 802.3; read and from memory)."""
    reach = {name: needs.reach.value for name, needs in phys().items()}
    single = {"10BASE-T1L": 1000, "10BASE-T1S": 15, "100BASE-T1": 15, "1000BASE-T1": 15}
    assert reach == {name: single.get(name, 100) for name in phys()}
    assert {name for name, needs in phys().items() if needs.pairs == 1} == set(single)


@pytest.mark.parametrize("rate", [100, 1000, 2500, 5000, 10000])
def test_phys__band_ends_with_the_category_it_asks_for(rate):
    needs = phy_needs(rate)
    assert (needs.band.low, needs.band.high) == (1e6, TOP_MHZ[needs.least_category] * MHZ)


@pytest.mark.parametrize("rate", [1000, 2500, 5000, 10000])
def test_phys__four_pairs_allow_570_ns_and_50_ns_between_them(rate):
    """IEEE 802.3 clauses 40, 55 and 126 (from memory)."""
    needs = phy_needs(rate)
    assert needs.delay.value == pytest.approx(570e-9) and needs.skew.value == pytest.approx(50e-9)


@pytest.mark.parametrize(
    ("name", "mhz", "db"),
    [
        ("1000BASE-T", 1, 2.5),  # 2.1 + 0.4
        ("10BASE-T1L", 1, 14.6),  # 12.5 + 0.1 + 2
        ("10BASE-T1S", 0.3, 1.0),
        ("10BASE-T1S", 1, 1.0),
        ("10BASE-T1S", 5.5, 1.8),  # half way from 1.0 at 1 to 2.6 at 10
        ("10BASE-T1S", 33, 4.9),
        ("10BASE-T1S", 40, 5.388),  # 4.9 + 2.3 x 7 / 33
        ("100BASE-T1", 1, 1.0),
        ("100BASE-T1", 5.5, 1.8),  # half way from 1.0 at 1 to 2.6 at 10
        ("100BASE-T1", 33, 4.9),
        ("1000BASE-T1", 1, 0.6569),  # 0.5907 + 0.0023 + 0.0639
        ("1000BASE-T1", 600, 15.8517),  # 14.4691 + 1.38 + 0.0026
    ],
)
def test_phy_limit__loss_by_hand(name, mhz, db):
    """IEEE 802.3 clauses 40, 96, 97, 146, 147 (from memory), added by hand."""
    assert phy_limit(name=name, what="loss", frequency_hz=mhz * MHZ).value == pytest.approx(db, abs=0.0005)


def test_phys__signal_ends_at_half_the_symbol_rate_or_below():
    """A line code of Nyquist width needs half of its symbol rate; Manchester codes need all of it."""
    for needs in phys().values():
        share = 1 if "Manchester" in needs.signal else 0.5
        assert needs.signal_hz <= needs.symbol_hz * share
        assert needs.band.low < needs.band.high and needs.provenance


def test_phys__loss_limits_rise_with_frequency():
    for needs in phys().values():
        if needs.loss is None:
            continue
        low, high = needs.band.low, needs.band.high
        at = [
            phy_limit(name=needs.name, what="loss", frequency_hz=low + (high - low) * n / 60).value for n in range(61)
        ]
        start = 12 if needs.name == "10BASE-T1L" else 0  # below 0.4 MHz the term 2/sqrt(f) lifts it a little
        assert at[start:] == sorted(at[start:]), needs.name


def test_phys__return_loss_of_1000base_t():
    """IEEE 802.3 clause 40.7 (from memory): 15 dB to 20 MHz, 8.0 dB at 100 MHz."""
    at = [phy_limit(name="1000BASE-T", what="return loss", frequency_hz=f * MHZ).value for f in (1, 20, 100)]
    assert at == pytest.approx([15, 15, 8.0], abs=0.02)
