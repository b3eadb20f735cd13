"""Published lines: the forms worked a second way, what they give at the frequencies that texts print, and how jackets rank."""

import cmath
import itertools
import math

import numpy as np
import pytest

from pullstring.copper.cables import cable_kinds
from pullstring.copper.line_jackets import jacket_loss_db, line_jacket, line_jackets, line_joint, line_joints
from pullstring.copper.line_models import (
    attenuation_db,
    line_models,
    model_delay_s,
    model_velocity_factor,
    power_law_db,
    secondary,
)

MHZ = 1e6
GRID = np.geomspace(0.1e6, 62.5e6, 200)

# dB for 100 m, computed by an independent prototype from the parameters of the public model
HUNDRED_M = {
    "cat5": {1: 1.95, 10: 5.73, 16: 7.20, 31.25: 10.0},
    "T05u": {1: 1.56, 10: 5.10, 16: 6.53, 31.25: 9.34},
    "T05b": {1: 1.49, 10: 4.69, 16: 5.93, 31.25: 8.28},
    "T05h": {1: 2.04, 10: 7.11, 16: 9.18, 31.25: 13.3},
    "awg24": {1: 2.04, 10: 6.70, 16: 8.49, 31.25: 11.9},
    "awg26": {1: 2.53, 10: 8.47, 16: 10.8, 31.25: 15.1},
    "cat3_limit": {1: 2.6, 4: 5.6, 10: 9.7, 16: 13.1},  # TIA-568-C cable table
    "cat5e_limit": {1: 2.0, 10: 6.5, 31.25: 11.7, 100: 22.0},
}


@pytest.mark.parametrize("model", HUNDRED_M)
def test_attenuation__of_100_m_as_printed(model):
    for mhz, printed in HUNDRED_M[model].items():
        got = attenuation_db(model=model, frequency_hz=mhz * MHZ, length_m=100)
        assert got == pytest.approx(printed, abs=0.051)


def test_bt0__from_resistance_and_inductance_by_hand():
    """24 AWG at 1 MHz per km: R = (174.56^4 + 0.05307 x 1e12)^0.25, then gamma as the root of a complex product."""
    R = (174.55888**4 + 0.053073481 * 1e12) ** 0.25
    x = (1e6 / 553760.63) ** 1.1529766
    L = (617.29593e-6 + 478.97099e-6 * x) / (1 + x)
    omega = 2 * math.pi * 1e6
    gamma = cmath.sqrt(complex(R, omega * L) * complex(0, omega * 50e-9))
    ours, impedance = secondary(model="awg24", frequency_hz=1e6)
    assert complex(ours) == pytest.approx(gamma / 1000, rel=1e-9)
    assert complex(impedance) == pytest.approx(gamma / complex(0, omega * 50e-9), rel=1e-9)


def test_bt0__at_low_frequency_is_the_dc_resistance_of_the_gauge():
    """Loop of 24 AWG: 2 x 84.2 ohm/km (ASTM B258) is 168; the published r is 174.6, 4 % over. Re(gamma Z0) is R."""
    gamma, impedance = secondary(model="awg24", frequency_hz=1e3)
    assert complex(gamma * impedance).real * 1000 == pytest.approx(168.4, rel=0.05)


@pytest.mark.parametrize("model, ohm", [("cat5", 98), ("T05u", 125.64), ("T05b", 132.35), ("T05h", 98.37)])
def test_tno__at_high_frequency_comes_down_to_its_nominal_impedance(model, ohm):
    """Inductance inside the wires vanishes as the current takes to the skin: from above, and within 3 % at 100 MHz."""
    low, high = (abs(complex(secondary(model=model, frequency_hz=f * MHZ)[1])) for f in (10, 100))
    assert ohm * 0.97 < high < low
    assert high == pytest.approx(ohm, rel=0.03)


def test_power_law__of_half_a_millimetre_by_hand():
    """4.4 + 10.8 x 16^0.6 = 61.4 dB/km: 6.1 dB for 100 m, two thirds of T05h: the models disagree by design."""
    got = power_law_db(diameter_m=0.5e-3, frequency_hz=16 * MHZ, length_m=100)
    assert got == pytest.approx(6.1, abs=0.05)
    assert got < attenuation_db(model="T05h", frequency_hz=16 * MHZ, length_m=100) * 0.68
    with pytest.raises(ValueError, match="30 MHz"):
        power_law_db(diameter_m=0.5e-3, frequency_hz=31 * MHZ, length_m=100)
    with pytest.raises(ValueError, match="0.0004"):
        power_law_db(diameter_m=0.7e-3, frequency_hz=1 * MHZ, length_m=100)


def test_velocity__lies_where_the_limit_and_the_models_say():
    """0.69 of light for cat5 and T05h at high frequency; the TIA delay limit, 545.4 ns for 100 m at 10 MHz, is 0.61."""
    for model in ("cat5", "T05h"):
        assert 0.66 < model_velocity_factor(model=model, frequency_hz=20 * MHZ) < 0.70
    assert model_delay_s(model="cat5e_limit", frequency_hz=10 * MHZ, length_m=100) == pytest.approx(545.4e-9, rel=0.004)


@pytest.mark.parametrize("frequency_hz", [0.0, -1.0, math.nan, math.inf, 600e6])
def test_attenuation__outside_the_frequencies_is_refused(frequency_hz):
    with pytest.raises(ValueError, match="frequency_hz"):
        attenuation_db(model="cat5", frequency_hz=frequency_hz, length_m=1)


def test_attenuation__of_a_line_or_length_that_is_none_is_refused():
    with pytest.raises(ValueError, match="T05h"):
        attenuation_db(model="T99", frequency_hz=1e6, length_m=1)
    with pytest.raises(ValueError, match="length_m"):
        attenuation_db(model="cat5", frequency_hz=1e6, length_m=-1)


def test_table__every_row_has_source_and_provenance():
    for row in line_models().values():
        assert row.source and any(word in row.provenance for word in ("read in a published text", "from memory"))
    for row in (*line_jackets().values(), *line_joints().values()):
        assert row.provenance


def test_jackets__all_of_the_cable_table_are_held():
    assert set(cable_kinds()) <= set(line_jackets())
    assert [name for name, j in line_jackets().items() if not j.modelled] == ["coax", "fibre"]


def test_jackets__from_jacket_to_weaker_jacket_no_loss_gets_better():
    """Under 0.3 MHz the line of Category 5 lies above T05h; the typical Category 3 cable is then the worse of the two."""
    assert attenuation_db(model="cat5", frequency_hz=0.1e6, length_m=1) > attenuation_db(
        model="T05h", frequency_hz=0.1e6, length_m=1
    )
    chain = ("cat6a", "cat6", "cat5e", "cat5", "cat3", "quad", "flat cord")
    for better, weaker in itertools.pairwise(chain):
        for worst in (False, True):
            one, other = (jacket_loss_db(jacket=j, worst=worst, frequency_hz=GRID) for j in (better, weaker))
            assert np.all(other >= one), (better, weaker, worst)


def test_jackets__worst_is_never_under_typical():
    for name, jacket in line_jackets().items():
        if jacket.loss_typical[1]:
            typical, worst = (jacket_loss_db(jacket=name, worst=w, frequency_hz=GRID) for w in (False, True))
            assert np.all(worst >= typical), name


def test_jackets__quad_is_t05h_to_half_more_and_never_under_the_category_3_limit():
    """No table of quad was found: T05h x1.0 to x1.5 (assumed), and the worst quad is no better than the worst Category 3."""
    f = np.array([10 * MHZ])
    assert jacket_loss_db(jacket="quad", worst=False, frequency_hz=f)[0] * 100 == pytest.approx(7.11, abs=0.01)
    assert jacket_loss_db(jacket="quad", worst=True, frequency_hz=f)[0] * 100 == pytest.approx(10.66, abs=0.01)
    assert jacket_loss_db(jacket="quad", worst=True, frequency_hz=np.array([62.5 * MHZ]))[0] * 100 == pytest.approx(
        2.32 * math.sqrt(62.5) + 0.238 * 62.5, abs=0.01
    )


def test_jackets__flat_cord_is_26_awg_half_more():
    got = jacket_loss_db(jacket="flat cord", worst=False, frequency_hz=np.array([16 * MHZ]))[0] * 100
    assert got == pytest.approx(1.5 * 10.77, abs=0.02)


def test_jackets__a_better_category_is_never_worse_though_its_curve_is():
    """Under 1 MHz the curve of Category 6 lies above that of 5e: 0.2/sqrt(f) against 0.05/sqrt(f)."""
    low = np.array([0.1 * MHZ])
    assert attenuation_db(model="cat6_limit", frequency_hz=low, length_m=1) > attenuation_db(
        model="cat5e_limit", frequency_hz=low, length_m=1
    )
    assert jacket_loss_db(jacket="cat6", worst=True, frequency_hz=low) <= jacket_loss_db(
        jacket="cat5e", worst=True, frequency_hz=low
    )


def test_names__case_does_not_matter_and_the_rest_is_unknown():
    assert line_jacket("  Cat3 ").name == "cat3"
    assert line_jacket("string").name == "unknown"
    assert line_joint("a knot").name == "splice"
