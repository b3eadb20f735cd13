"""Conductor resistance at 75 C: NEC chapter 9 table 8, solid uncoated copper, and its note.

Source: two copies of the table and of the note (read in a published text); 6.39 ohm/kft for 18 AWG at 20 C
from a separate wire table (read in a published text). 1000 ft are 304.8 m.
"""

import pytest

from pullstring.copper.line import conductor_ohm_per_m, nec_ohm

KFT_M = 304.8


@pytest.mark.parametrize(("awg", "ohm_per_kft"), [(18, 7.77), (16, 4.89), (14, 3.07)])
def test_conductor__table_8_at_75_c(awg, ohm_per_kft):
    assert conductor_ohm_per_m(awg=awg, temperature_c=75) * KFT_M == pytest.approx(ohm_per_kft, abs=0.01)


def test_nec__18_awg_taken_down_to_20_c():
    assert nec_ohm(ohm_at_75c=7.77, temperature_c=20) == pytest.approx(6.39, abs=0.01)


def test_nec__at_75_c_the_printed_value_stays():
    assert nec_ohm(ohm_at_75c=7.77, temperature_c=75) == 7.77


@pytest.mark.parametrize("temperature_c", [-20, 0, 20, 40, 60, 75])
def test_nec__both_temperature_forms_agree_within_half_a_percent(temperature_c):
    """Two published forms of one metal: referred to 20 C and to 75 C."""
    ours = conductor_ohm_per_m(awg=18, temperature_c=temperature_c) * KFT_M
    assert nec_ohm(ohm_at_75c=7.77, temperature_c=temperature_c) == pytest.approx(ours, rel=0.005)
