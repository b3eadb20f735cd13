"""Margins of old runs: the calibrations, one run made worse by known amounts, and a thousand runs that never get better."""

import cmath
import dataclasses
import math
import random
import time

import numpy as np
import pytest

from pullstring.copper.estimate import margins
from pullstring.copper.makeup import Branch, Makeup, Part, RateMargin, Splice, Stretch
from pullstring.model.answers import Interval, plain

MHZ = 1e6
LIGHT = 299_792_458.0
RATES = ("10BASE-T", "100BASE-TX", "1000BASE-T", "10BASE-T1L")


def stretch(jacket, length, *, warm=20.0, untwisted=0.0, awg=None, cord=False, screened=False):
    def around(given, unit):
        low, high = given if isinstance(given, tuple) else (given, given)
        return Interval(low, high, unit)

    return Stretch(
        jacket,
        around(length, "m"),
        around(warm, "C"),
        around(untwisted, "m"),
        None if awg is None else around(awg, "AWG"),
        cord,
        screened,
    )


def run(*parts, pairs=4):
    return Makeup(tuple(parts), pairs)


def rate(makeup, name) -> RateMargin:
    return next(m for m in margins(makeup) if m.name == name)


# --- calibrations, as published ---------------------------------------------------------------------------------------------

TABLE = {10: (18.5, 29.2), 30: (14.7, 26.6), 50: (11.3, 24.1), 75: (7.9, 21.0), 90: (6.4, 19.1)}


@pytest.mark.parametrize("length_m", TABLE)
def test_calibration__100base_tx_on_category_3(length_m):
    """Worst loss and worst NEXT of Category 3; typical loss (T05h) and NEXT 10 dB better."""
    worst, typical = TABLE[length_m]
    got = rate(run(stretch("cat3", length_m)), "100BASE-TX")
    assert got.salz.worst.low == pytest.approx(worst, abs=0.05)
    assert got.salz.typical.high == pytest.approx(typical, abs=0.05)
    assert got.required_db == pytest.approx(19.2, abs=0.05)
    assert got.margin.low == pytest.approx(worst - 19.24 - 6, abs=0.06)
    assert got.margin.high == pytest.approx(typical - 19.24 - 6, abs=0.06)


def test_calibration__1000base_t_on_5e_and_10base_t_on_category_3():
    gigabit = rate(run(stretch("cat5e", 100)), "1000BASE-T")
    assert gigabit.salz.worst.low == pytest.approx(30.3, abs=0.06)
    assert gigabit.required_db == pytest.approx(20.4, abs=0.06)
    ten = rate(run(stretch("cat3", 100)), "10BASE-T")
    assert ten.salz.worst.low == pytest.approx(24.6, abs=0.06)
    assert ten.required_db == pytest.approx(15.0, abs=0.05)


def test_calibration__10base_t_keeps_to_its_own_limit_of_loss():
    """11.5 dB at 10 MHz less the 9.7 of 100 m of Category 3: 1.8 dB, less than the receiver would have."""
    got = rate(run(stretch("cat3", 100)), "10BASE-T")
    assert got.margin.low == pytest.approx(11.5 - 9.72, abs=0.01)
    assert got.spare_loss.worst.low == got.margin.low
    assert got.part is Part.LOSS


@pytest.mark.parametrize("jacket, of, reach_m", [("cat3", "typical", 563), ("cat3", "worst", 386)])
def test_reach__10base_t1l_where_its_limit_meets_the_cable(jacket, of, reach_m):
    for length_m, works in ((reach_m - 1, True), (reach_m + 1, False)):
        got = rate(run(stretch(jacket, length_m)), "10BASE-T1L")
        assert (getattr(got.margins, of).low >= 0) is works


@pytest.mark.parametrize("model, reach_m", [("awg24", 613), ("awg26", 484), ("T05h", 563), ("cat3_limit", 386)])
def test_reach__10base_t1l_on_the_models_themselves(model, reach_m):
    from pullstring.copper.line_models import attenuation_db

    f = np.linspace(0.1, 20, 2000)
    limit = 10 * (1.23 * np.sqrt(f) + 0.01 * f + 0.2 / np.sqrt(f)) + 10 * 0.02 * np.sqrt(f)
    assert np.min(limit / attenuation_db(model=model, frequency_hz=f * MHZ, length_m=1)) == pytest.approx(
        reach_m, abs=0.6
    )


def test_reach__10base_t_by_its_delay():
    """1000 ns at the TIA limit of 545 ns for 100 m is 183 m."""
    near, far = (rate(run(stretch("cat6a", m)), "10BASE-T") for m in (182, 184))
    assert near.margin.low > 0
    assert far.margin.low < 0 and far.part is Part.DELAY
    assert far.delay.high == pytest.approx(184 / 0.61 / LIGHT)


def test_delay__and_skew_of_100_m():
    """545 ns at the TIA limit at 10 MHz, 483 ns on quick cable; skew up to 45 ns."""
    got = rate(run(stretch("cat5e", 100)), "1000BASE-T")
    assert got.delay.high == pytest.approx(545.4e-9, rel=0.004)
    assert got.delay.low == pytest.approx(483e-9, rel=0.004)
    assert got.skew.high == pytest.approx(45e-9)
    assert got.delay.inputs == ("velocity_factor",)


# --- the same run with a tap, a splice and heat -----------------------------------------------------------------------------


def t05h_db(mhz):
    """T05h by itself, from its parameters, with Python's complex numbers. dB for a metre."""
    z0, nvf, rs0, ql, qh, qx, qy, phi = 98.369783, 0.681182, 0.1708, 1.7, 0.65, 0.777307, 1.5, 3.023930e-3
    omega = 2 * math.pi * mhz * MHZ
    qs = 1 / (qh * qh * ql)
    s = 1j * omega * 4e-7 * math.pi / (4 * math.pi * qh * qh * rs0)
    zs = 1j * omega * z0 / (nvf * LIGHT) + rs0 * (
        1 - qs * qx + cmath.sqrt((qs * qx) ** 2 + 2 * s * (qs**2 + s * qy) / (qs**2 / qx + s * qy))
    )
    yp = 1j * omega / (nvf * LIGHT * z0) * (1 + 1j * mhz * MHZ) ** (-2 * phi / math.pi)
    return 20 / math.log(10) * cmath.sqrt(zs * yp).real


def awg24_gamma(f):
    """24 AWG by BT0, per metre."""
    r = (174.55888**4 + 0.053073481 * f * f) ** 0.25
    x = (f / 553760.63) ** 1.1529766
    ind = (617.29593e-6 + 478.97099e-6 * x) / (1 + x)
    w = 2 * math.pi * f
    return cmath.sqrt((r + 1j * w * ind) * 1j * w * 50e-9) / 1000, cmath.sqrt((r + 1j * w * ind) / (1j * w * 50e-9))


def tapped_minus_plain_db(f, before_m, tap_m, after_m):
    """What a tap adds on 24 AWG between 100 ohm ends: node voltages by impedances seen, no matrices."""
    gamma, z = awg24_gamma(f)

    def seen(load, metres):
        t = cmath.tanh(gamma * metres)
        return z * (load + z * t) / (z + load * t)

    def arrives(with_tap):
        far = seen(100, after_m)
        node = 1 / (1 / far + cmath.tanh(gamma * tap_m) / z) if with_tap else far
        near = seen(node, before_m)
        volt = near / (near + 100)
        for load, metres in ((node, before_m), (100, after_m)):
            volt /= cmath.cosh(gamma * metres) + z / load * cmath.sinh(gamma * metres)
        return volt

    return 20 * math.log10(abs(arrives(False)) / abs(arrives(True)))


BEFORE = run(stretch("cat3", 40))
AFTER = run(
    stretch("cat3", 20, warm=35.0),
    Splice("splice"),
    Branch(stretch("cat3", 3, warm=35.0), 20.0),
    stretch("cat3", 20, warm=35.0),
)


@pytest.mark.parametrize("name, mhz", [("10BASE-T", 10), ("100BASE-TX", 31.25), ("10BASE-T1L", 3.75)])
def test_tap_splice_35_c__loss_changes_by_what_the_models_give(name, mhz):
    """Category 3 warms by 1.5 % a degree: x1.225; a splice costs 0.04 sqrt f (5e) to 0.1 sqrt f (Category 3)."""
    before, after = rate(BEFORE, name), rate(AFTER, name)
    limit = 0.4 * (2.32 * math.sqrt(mhz) + 0.238 * mhz)
    assert before.loss.typical.low == pytest.approx(40 * t05h_db(mhz), abs=0.001)
    assert before.loss.worst.high == pytest.approx(limit, abs=0.001)
    assert after.loss.typical.low == pytest.approx(40 * t05h_db(mhz) * 1.225 + 0.04 * math.sqrt(mhz), abs=0.001)
    assert after.loss.worst.high == pytest.approx(limit * 1.225 + 0.1 * math.sqrt(mhz), abs=0.001)


def test_tap_splice_35_c__notch_lies_and_bites_where_a_circuit_says():
    """24.9 dB near 17 MHz for 3 m of 24 AWG (printed); the circuit with its reflections agrees to 1.5 dB."""
    assert rate(BEFORE, "100BASE-TX").notch is None
    notch = rate(AFTER, "100BASE-TX").notch
    f = np.linspace(10, 25, 6001) * MHZ
    added = [tapped_minus_plain_db(x, 20, 3, 20) for x in f]
    deepest = int(np.argmax(added))
    assert notch.frequency.low <= f[deepest] <= notch.frequency.high
    assert notch.frequency.low == pytest.approx(0.61 * LIGHT / 12) and notch.frequency.high == pytest.approx(
        0.69 * LIGHT / 12
    )
    assert notch.depth.low - 1.5 <= added[deepest] <= notch.depth.high + 1.5
    assert notch.depth.low <= 24.9 <= notch.depth.high
    assert rate(AFTER, "10BASE-T").notch is None  # 15 to 17 MHz lie above its 10 MHz


def test_tap_splice_35_c__crosstalk_gains_the_splice_as_a_voltage():
    """Category 3 limit at 31.25 MHz 18.9 dB, with a connection of 58 - 20 log f in step."""
    limit = 43 - 15 * math.log10(31.25 / 0.772)
    before, after = rate(BEFORE, "100BASE-TX"), rate(AFTER, "100BASE-TX")
    assert before.next.worst.low == pytest.approx(limit, abs=0.001)
    together = -20 * math.log10(10 ** (-limit / 20) + 10 ** (-(58 - 20 * math.log10(31.25)) / 20))
    assert after.next.worst.low == pytest.approx(together, abs=0.001)


def test_tap_splice_35_c__reason_changes():
    assert rate(BEFORE, "100BASE-TX").part is Part.CROSSTALK
    assert rate(AFTER, "100BASE-TX").part is Part.NOTCH
    good = (
        run(stretch("cat5e", 100)),
        run(stretch("cat5e", 100, warm=35.0), Branch(stretch("cat5e", 3), None), Splice("splice")),
    )
    assert [rate(m, "100BASE-TX").part for m in good] == [Part.LOSS, Part.NOTCH]
    assert rate(good[0], "100BASE-TX").margin.low > 0 > rate(good[1], "100BASE-TX").margin.low


def test_tap__in_the_band_of_a_run_that_may_fail_is_the_reason_though_crosstalk_is_worse():
    """Nothing can be judged before the tap is gone: quad, 31 dB of crosstalk over Category 5 at worst, with 2 m on it."""
    bare, tapped = (run(stretch("quad", 30), *tap) for tap in ((), (Branch(stretch("quad", 2), None),)))
    assert rate(bare, "100BASE-TX").part is Part.CROSSTALK
    assert rate(tapped, "100BASE-TX").part is Part.NOTCH
    assert rate(tapped, "10BASE-T").part is Part.CROSSTALK  # its null is at 23 MHz, no concern of 10 MHz


def test_tap__short_of_a_metre_and_a_half_leaves_100_without_a_notch():
    for metres, found in ((1.3, False), (1.6, True)):
        got = rate(run(stretch("cat5e", 50), Branch(stretch("cat5e", metres), None)), "100BASE-TX")
        assert (got.notch is not None) is found


def test_tap__that_is_long_shows_the_null_that_lies_in_the_band():
    """200 m: the first null is at 0.23 MHz, under the band of 100BASE-TX; its third, at 5 x that, is the first inside."""
    got = rate(run(stretch("cat5e", 50), Branch(stretch("cat5e", 200), None)), "100BASE-TX")
    assert got.notch.frequency.low == pytest.approx(5 * 0.61 * LIGHT / 800)
    assert got.notch.frequency.low >= 1e6


def test_tap__two_of_them_name_the_deeper():
    both = run(stretch("cat5e", 50), Branch(stretch("cat5e", 10), None), Branch(stretch("cat5e", 3), None))
    assert rate(both, "100BASE-TX").notch.branch == 1


# --- what else a run is made of ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind, screened, celsius, factor",
    [("cat5e", False, 40, 1.08), ("cat5e", False, 60, 1.20), ("cat5e", True, 60, 1.08), ("cat3", False, 30, 1.15)],
)
def test_heat__adds_what_the_standard_says(kind, screened, celsius, factor):
    """TIA-568-C.2 clause 6.4.7; Category 3 from memory."""
    cold, hot = (rate(run(stretch(kind, 50, warm=t, screened=screened)), "100BASE-TX").loss for t in (20.0, celsius))
    assert hot.worst.high == pytest.approx(cold.worst.high * factor)
    assert hot.typical.low == pytest.approx(cold.typical.low * factor)


def test_heat__cold_gives_no_credit():
    assert (
        rate(run(stretch("cat3", 50, warm=-10.0)), "100BASE-TX").margin
        == rate(run(stretch("cat3", 50)), "100BASE-TX").margin
    )


def test_gauge__26_awg_loses_26_percent_more_than_24():
    """Diameters of ASTM B258, 0.5106 and 0.4049 mm: the published 26 AWG line is 1.268 times the 24 AWG one at 16 MHz."""
    thick, thin = (rate(run(stretch("cat3", 50, awg=g)), "100BASE-TX").loss for g in (24.0, 26.0))
    assert thin.typical.low / thick.typical.low == pytest.approx(0.5106 / 0.4049, rel=1e-3)
    assert thin.worst.high / thick.worst.high == pytest.approx(0.5106 / 0.4049, rel=1e-3)


def test_gauge__thick_wire_is_no_reason_to_expect_better_than_the_worst():
    plain_, thick = (rate(run(stretch("cat3", 50, awg=g)), "100BASE-TX").loss for g in (24.0, 22.0))
    assert thick.worst == plain_.worst
    assert thick.typical.low / plain_.typical.low == pytest.approx(0.5106 / 0.6438, rel=1e-3)


def test_untwisted__is_added_as_a_voltage():
    """13 mm on 5e cable at 31.25 MHz: 42.9 + 5 dB as usual with 83 - 20 log f; at worst 42.9 with 58 at 75 mm brought to 13."""
    got = rate(run(stretch("cat5e", 50, untwisted=0.013)), "100BASE-TX").next
    cable = 35.3 - 15 * math.log10(0.3125)
    up = 20 * math.log10(31.25)
    for ours, of_cable, of_piece in (
        (got.typical.low, cable + 5, 83 - up),
        (got.worst.low, cable, 58 - up + 20 * math.log10(75 / 13)),
    ):
        assert ours == pytest.approx(-20 * math.log10(10 ** (-of_cable / 20) + 10 ** (-of_piece / 20)), abs=1e-6)


def test_cord__loses_a_fifth_more_and_half_more_in_26_awg():
    solid = rate(run(stretch("cat5e", 10)), "100BASE-TX").loss.worst.high
    cord = rate(run(stretch("cat5e", 10, cord=True)), "100BASE-TX").loss.worst
    assert cord.low == pytest.approx(1.2 * solid) and cord.high == pytest.approx(1.5 * solid, rel=0.01)
    assert cord.inputs == ("awg",)


def test_flat_cord__never_carries_more_than_10():
    for length_m in (0.5, 2, 5):
        made = run(stretch("flat cord", length_m))
        assert rate(made, "100BASE-TX").margin.high < 0 and rate(made, "1000BASE-T").margin.high < 0
    assert rate(run(stretch("flat cord", 0.5)), "10BASE-T").margin.high > 0


def test_quad__may_carry_10_and_not_100():
    """Published: links on untwisted quad come up at 10 and fail at 100; by 60 m the worst of it is marginal (17.3 dB)."""
    got = run(stretch("quad", 60), pairs=2)
    ten = rate(got, "10BASE-T")
    assert ten.margin.low < 0 < ten.margin.high
    assert ten.salz.worst.low == pytest.approx(17.3, abs=0.6)  # its loss may be a little over the Category 3 limit
    assert rate(got, "100BASE-TX").margin.high < 0


def test_pairs__two_stop_at_100_and_one_at_single_pair():
    def parts(pairs):
        return [m.part is Part.PAIRS for m in margins(run(stretch("cat5e", 30), pairs=pairs))]

    assert parts(4) == [False] * 7
    assert parts(2) == [False, False, True, False, True, True, True]
    assert parts(1) == [True, True, True, False, True, True, True]
    assert parts(0) == [True] * 7
    assert rate(run(stretch("cat5e", 30), pairs=2), "1000BASE-T").margin is None


def test_pairs__nobody_counted_are_taken_as_whole_and_that_is_said():
    got = rate(run(stretch("cat5e", 30), pairs=None), "1000BASE-T")
    assert got.margin is not None and "pairs_taken_as_whole" in got.assumed
    assert "pairs_taken_as_whole" not in rate(run(stretch("cat5e", 30)), "1000BASE-T").assumed


@pytest.mark.parametrize("jacket", ["fibre", "coax"])
def test_no_model__of_what_has_no_pairs(jacket):
    assert {m.part for m in margins(run(stretch(jacket, 30)))} == {Part.NO_MODEL}
    assert {m.part for m in margins(run())} == {Part.NO_MODEL}


def test_above_1000__the_rule_of_categories_and_nothing_else():
    def says(*parts):
        return [(m.mbps, m.category_says) for m in margins(run(*parts)) if m.mbps > 1000]

    for m in margins(run(stretch("cat6a", 90))):
        if m.mbps > 1000:
            assert (m.part, m.margin, m.salz) == (Part.NO_MODEL, None, None)
    assert says(stretch("cat6a", 90)) == [(2500, True), (5000, True), (10000, True)]
    assert says(stretch("cat6", 90)) == [(2500, True), (5000, True), (10000, False)]
    assert says(stretch("cat5e", 90)) == [(2500, True), (5000, False), (10000, False)]
    assert says(stretch("cat5e", 90), stretch("cat3", 2)) == [(2500, False), (5000, False), (10000, False)]
    assert says(stretch("cat6a", 101)) == [(2500, False), (5000, False), (10000, False)]
    assert says(stretch("cat6a", 90), Splice("splice")) == [(2500, False), (5000, False), (10000, False)]
    assert says(stretch("unknown", 90)) == [(2500, None), (5000, None), (10000, None)]


def test_assumed__is_said_where_it_is_assumed():
    codes = rate(
        run(stretch("quad", 30, warm=65.0, untwisted=0.1), Branch(stretch("quad", 3), None), Splice("a knot")),
        "100BASE-TX",
    ).assumed
    assert codes == (
        "limits_beyond_top",
        "no_table_for_jacket",
        "gauge_of_kind",
        "heat_beyond_60",
        "branch_envelope",
        "untwist_by_connection",
        "joint_as_splice",
    )
    assert rate(run(stretch("cat5e", 30, awg=24.0)), "100BASE-TX").assumed == ()
    assert "limits_beyond_top" not in rate(run(stretch("quad", 30)), "10BASE-T").assumed


# --- intervals --------------------------------------------------------------------------------------------------------------

WIDE = dict(length=(30.0, 50.0), warm=(20.0, 45.0), untwisted=(0.01, 0.2), awg=(22.0, 26.0))


def wide(**fixed):
    given = WIDE | {k: v for k, v in fixed.items() if k in WIDE}
    main = stretch(
        fixed.get("jacket", "unknown"),
        given["length"],
        warm=given["warm"],
        untwisted=given["untwisted"],
        awg=given["awg"],
    )
    return run(main, Branch(stretch("quad", fixed.get("branch", (0.4, 1.2)), awg=24.0), None))


@pytest.mark.parametrize(
    "name, fixed",
    [
        ("length_m", {"length": 40.0}),
        ("temperature_c", {"warm": 32.5}),
        ("awg", {"awg": 24.0}),
        ("untwisted_m", {"untwisted": 0.105}),
        ("branch_m", {"branch": 0.8}),
        ("jacket", {"jacket": "cat3"}),
    ],
)
def test_interval__names_each_input_and_fixing_it_shrinks_it(name, fixed):
    base = (
        {"jacket": "cat3"} if name == "awg" else {}
    )  # of the unknown, the worst is a flat cord, whose model is 26 AWG
    runs = wide(**base), wide(**base, **fixed)
    before, after = (rate(m, "100BASE-TX").margins for m in runs)
    for of in ("typical", "worst"):
        one, other = getattr(before, of), getattr(after, of)
        assert name in one.inputs and name not in other.inputs
        assert other.high - other.low < one.high - one.low
    whole, less = (rate(m, "100BASE-TX").margin for m in runs)
    assert name in whole.inputs and less.high - less.low < whole.high - whole.low
    assert {"loss_model", "crosstalk", "branch_model"} <= set(whole.inputs)


def test_interval__without_spread_only_the_models_are_named():
    got = rate(run(stretch("cat3", 40, awg=24.0)), "100BASE-TX")
    assert got.margin.inputs == ("loss_model", "crosstalk")
    assert got.margins.typical.inputs == () and got.margins.typical.low == got.margins.typical.high
    assert (got.margin.low, got.margin.high) == (got.margins.worst.low, got.margins.typical.high)


@pytest.mark.parametrize(
    "parts",
    [
        (stretch("flat cord", 10_000, warm=200.0, untwisted=10_000.0, awg=40.0, cord=True),),
        (stretch("cat6a", 0, warm=-90.0, awg=0.0),),
        (stretch("unknown", (0, 10_000)), Branch(stretch("unknown", (0, 10_000)), None)),
        (
            stretch("cat5e", 20),
            *(Branch(stretch("quad", 5), None) for _ in range(40)),
            *(Splice("splice") for _ in range(300)),
        ),
    ],
)
def test_extremes__give_finite_numbers(parts):
    for got in margins(run(*parts)):
        plain(got)  # refuses NaN and infinity


@pytest.mark.parametrize(
    "wrong, says",
    [
        (lambda: stretch("cat3", -1), "length_m"),
        (lambda: stretch("cat3", (0, math.inf)), "length_m"),
        (lambda: stretch("cat3", 1, warm=300.0), "temperature_c"),
        (lambda: stretch("cat3", 1, untwisted=-1.0), "untwisted_m"),
        (lambda: dataclasses.replace(stretch("cat3", 1), length_m=Interval(1, 1, "ft")), "'ft'; give it in 'm'"),
        (lambda: run(pairs=-1), "good_pairs"),
        (lambda: Branch(stretch("cat3", 1), -5.0), "after_m"),
    ],
)
def test_makeup__that_cannot_be_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        wrong()


# --- never better -----------------------------------------------------------------------------------------------------------

CHAIN = ("cat6a", "cat6", "cat5e", "cat5", "cat3", "quad", "flat cord")  # from jacket to weaker jacket


def some_range(rng, low, high):
    a, b = sorted((rng.uniform(low, high), rng.uniform(low, high)))
    return (a, b) if rng.random() < 0.5 else (a, a)


def some_stretch(rng, longest):
    return stretch(
        rng.choice((*CHAIN, "unknown", "25-pair")),
        some_range(rng, 0, longest),
        warm=some_range(rng, -10, 70),
        untwisted=some_range(rng, 0, 0.3) if rng.random() < 0.5 else 0.0,
        awg=some_range(rng, 22, 26) if rng.random() < 0.5 else None,
        cord=rng.random() < 0.2,
        screened=rng.random() < 0.2,
    )


def some_run(rng):
    parts = [some_stretch(rng, 120) for _ in range(rng.randint(1, 3))]
    parts += [Branch(some_stretch(rng, 30), None) for _ in range(rng.choice((0, 0, 1, 2)))]
    parts += [Splice(rng.choice(("splice", "block", "jack 5e"))) for _ in range(rng.choice((0, 1, 3)))]
    rng.shuffle(parts)
    return Makeup(tuple(parts), rng.choice((None, 1, 2, 4)))


def more(given, by):
    return Interval(given.low + by, given.high + by, given.unit)


def with_one(makeup, rng, change, kinds=(Stretch, Branch)):
    """The run with one of its stretches changed; None where there is none to change."""
    order = list(range(len(makeup.parts)))
    rng.shuffle(order)
    for i in order:
        part = makeup.parts[i]
        if not isinstance(part, kinds):
            continue
        changed = change(part.stretch if isinstance(part, Branch) else part)
        if changed is not None:
            new = dataclasses.replace(part, stretch=changed) if isinstance(part, Branch) else changed
            return dataclasses.replace(makeup, parts=(*makeup.parts[:i], new, *makeup.parts[i + 1 :]))
    return None


def replace(**fields):
    return lambda s: dataclasses.replace(s, **{k: v(s) for k, v in fields.items()})


def weaker(s):
    i = CHAIN.index(s.jacket) + 1 if s.jacket in CHAIN else len(CHAIN)
    return dataclasses.replace(s, jacket=CHAIN[i]) if i < len(CHAIN) else None


def fewer_pairs(makeup):
    return None if not makeup.good_pairs else dataclasses.replace(makeup, good_pairs=makeup.good_pairs - 1)


WORSE = {
    "longer": lambda m, r: with_one(m, r, replace(length_m=lambda s: more(s.length_m, r.uniform(0, 20)))),
    "longer at most": lambda m, r: with_one(
        m, r, replace(length_m=lambda s: Interval(s.length_m.low, s.length_m.high + 5, "m"))
    ),
    "longer branch": lambda m, r: with_one(
        m, r, replace(length_m=lambda s: more(s.length_m, r.uniform(0, 9))), (Branch,)
    ),
    "hotter": lambda m, r: with_one(m, r, replace(temperature_c=lambda s: more(s.temperature_c, r.uniform(0, 25)))),
    "thinner": lambda m, r: with_one(
        m, r, lambda s: None if s.awg is None else dataclasses.replace(s, awg=more(s.awg, r.uniform(0, 2)))
    ),
    "weaker jacket": lambda m, r: with_one(m, r, weaker),
    "more untwisted": lambda m, r: with_one(
        m, r, replace(untwisted_m=lambda s: more(s.untwisted_m, r.uniform(0, 0.5)))
    ),
    "stranded": lambda m, r: with_one(m, r, replace(cord=lambda s: True)),
    "no screen": lambda m, r: with_one(m, r, replace(screened=lambda s: False)),
    "one more tap": lambda m, r: dataclasses.replace(m, parts=(*m.parts, Branch(some_stretch(r, 30), None))),
    "one more splice": lambda m, r: dataclasses.replace(m, parts=(*m.parts, Splice(r.choice(("splice", "jack 5e"))))),
    "fewer pairs": lambda m, r: fewer_pairs(m),
}


def figures(got: RateMargin):
    if got.margins is None:
        return (-math.inf,) * 6
    of = (got.margins.typical, got.margins.worst, got.margin)
    return tuple(end for interval in of for end in (interval.low, interval.high))


def test_worse__never_raises_a_margin_over_a_thousand_random_runs():
    """Each of 1,000 runs is made worse in two ways drawn from twelve; no end of any margin may rise."""
    rng = random.Random(20260704)
    tried = dict.fromkeys(WORSE, 0)
    for _ in range(1000):
        makeup = some_run(rng)
        before = margins(makeup)
        for name in rng.sample(sorted(WORSE), 2):
            worse = WORSE[name](makeup, rng)
            if worse is None:
                continue
            tried[name] += 1
            for old, new in zip(before, margins(worse), strict=True):
                assert all(n <= o + 1e-6 for o, n in zip(figures(old), figures(new), strict=True)), (
                    name,
                    makeup,
                    worse,
                )
                assert not (new.category_says is True and old.category_says is not True), (name, makeup, worse)
    assert min(tried.values()) > 60


def test_cascade__is_not_monotone_which_is_why_branches_are_judged_by_an_envelope():
    """At 31.25 MHz a tap of 3.2 m (near half a wave) takes less than one of 1.6 m (a quarter); the margin does not say so."""
    assert tapped_minus_plain_db(31.25 * MHZ, 20, 3.2, 20) < 3 < tapped_minus_plain_db(31.25 * MHZ, 20, 1.6, 20)
    short, long_ = (
        rate(run(stretch("cat5e", 40), Branch(stretch("cat5e", m), None)), "100BASE-TX") for m in (1.6, 3.2)
    )
    assert long_.margin.low <= short.margin.low and long_.margin.high <= short.margin.high


def test_speed__forty_runs_in_a_tenth_of_a_second():
    rng = random.Random(7)
    runs = [some_run(rng) for _ in range(40)]
    margins(run(stretch("unknown", 1), Splice("splice"), Branch(stretch("quad", 1), None)))  # tables read
    margins.cache_clear()
    began = time.perf_counter()
    for made in runs:
        margins(made)
    assert time.perf_counter() - began < 0.5  # a tenth on a quiet machine; a shared one is given five times that
