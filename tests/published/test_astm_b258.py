"""Wire gauges of ASTM B258 and the copper wire table at 20 C.

Sources: ASTM B258 (ratio 92^(1/39) read in a published text; the diameters from memory); a printed copper
wire table at 20 C (read in a published text); TIA-568 conductor and channel limits (from
memory, arithmetic ours).
"""

import pytest

from pullstring.copper.line import (
    conductor_ohm_per_m,
    gauge_diameter_m,
    length_from_loop_m,
    loop_ohm,
    powered_loop_ohm,
)


@pytest.mark.parametrize(("awg", "d_mm"), [(22, 0.6438), (23, 0.5733), (24, 0.5106), (26, 0.4049)])
def test_gauge_diameter__astm_b258(awg, d_mm):
    assert gauge_diameter_m(awg=awg) * 1e3 == pytest.approx(d_mm, abs=1e-4)


def test_gauge_diameter__the_two_sizes_that_define_the_series():
    """No. 36 is 0.005 in and No. 0000 (three steps below 0) is 0.46 in, by definition."""
    assert gauge_diameter_m(awg=36) == pytest.approx(0.005 * 0.0254, rel=1e-12)
    assert gauge_diameter_m(awg=-3) == pytest.approx(0.46 * 0.0254, rel=1e-12)


@pytest.mark.parametrize(("awg", "ohm_per_100m"), [(22, 5.294), (23, 6.678), (24, 8.420), (26, 13.386)])
def test_conductor__wire_table_at_20_c(awg, ohm_per_100m):
    assert conductor_ohm_per_m(awg=awg, temperature_c=20) * 100 == pytest.approx(ohm_per_100m, abs=0.02)


@pytest.mark.parametrize(("awg", "ohm_per_kft"), [(22, 16.14), (24, 25.67), (26, 40.81)])
def test_conductor__wire_table_in_feet(awg, ohm_per_kft):
    assert conductor_ohm_per_m(awg=awg, temperature_c=20) * 304.8 == pytest.approx(ohm_per_kft, rel=1e-3)


def test_loop__sixty_metres_of_24_awg():
    """25.67 ohm per 1000 ft, 60 m, out and back: 10.10 ohm."""
    assert loop_ohm(length_m=60, awg=24, temperature_c=20) == pytest.approx(10.10, abs=0.01)


def test_powered_loop__two_pairs_halve_and_four_pairs_quarter_the_loop():
    """Each pole has two, then four conductors in parallel: 8.42 and 4.21 ohm for 100 m of 24 AWG."""
    assert powered_loop_ohm(length_m=100, awg=24, temperature_c=20, pairs=2) == pytest.approx(8.42, abs=0.005)
    assert powered_loop_ohm(length_m=100, awg=24, temperature_c=20, pairs=4) == pytest.approx(4.21, abs=0.005)


def test_powered_loop__only_two_or_four_pairs():
    with pytest.raises(ValueError, match="give 2 or 4"):
        powered_loop_ohm(length_m=100, awg=24, temperature_c=20, pairs=1)


def test_powered_loop__longest_26_awg_for_the_12_5_ohm_limit():
    """12.5 ohm over 0.1339 ohm per metre is 93.4 m."""
    per_m = powered_loop_ohm(length_m=1, awg=26, temperature_c=20, pairs=2)
    assert 12.5 / per_m == pytest.approx(93.4, abs=0.05)


def test_conductor__tia_limit_passes_24_and_refuses_26_awg():
    """9.38 ohm per 100 m, so 18.76 ohm for a pair of 100 m."""
    assert loop_ohm(length_m=100, awg=24, temperature_c=20) < 18.76
    assert loop_ohm(length_m=100, awg=26, temperature_c=20) > 18.76


def test_length_from_loop__8_42_ohm_is_fifty_metres_of_24_awg():
    assert length_from_loop_m(loop_ohm=8.42, awg=24, temperature_c=20) == pytest.approx(50.0, abs=0.02)


def test_length_from_loop__taking_26_for_24_awg_moves_it_by_59_percent():
    thin = length_from_loop_m(loop_ohm=8.42, awg=26, temperature_c=20)
    thick = length_from_loop_m(loop_ohm=8.42, awg=24, temperature_c=20)
    assert thick / thin - 1 == pytest.approx(0.59, abs=0.005)
