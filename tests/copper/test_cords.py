"""Cords, heat, delay and direct current by the standards' own figures, each worked by hand."""

import pytest

from pullstring.copper import cords, dc_limits, delay
from pullstring.copper.limits_channel import channel_limit


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
