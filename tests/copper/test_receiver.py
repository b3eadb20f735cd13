"""Best receivers: identities, and the published table of 100BASE-TX on old cable, entry by entry."""

import math

import numpy as np
import pytest

from pullstring.copper.crosstalk import cable_curve_next_db
from pullstring.copper.line_models import attenuation_db
from pullstring.copper.receiver import (
    bits_per_hz,
    capacity_bps,
    pam_snr_required_db,
    salz_snr_db,
    shannon_gap_db,
    snr_db,
    weighted_salz_db,
    worst_link_snr_db,
)

F = np.linspace(1e6, 62.5e6, 3001)

# Published calibration of 100BASE-TX on old cable, signal to noise in dB, by metres of run
WORST = {10: 18.5, 30: 14.7, 50: 11.3, 75: 7.9, 90: 6.4}
TEN_BETTER = {10: 29.2, 30: 26.6, 50: 24.1, 75: 21.0, 90: 19.1}
TWENTY_BETTER = {10: 39.1, 30: 36.6, 50: 34.0, 75: 30.8, 90: 28.9}


def on_cable(model, better_db, length_m, top_hz=62.5e6):
    f = np.linspace(1e6, top_hz, 3001)
    near = cable_curve_next_db(category="3", frequency_hz=f) + better_db
    loss = attenuation_db(model=model, frequency_hz=f, length_m=length_m)
    return salz_snr_db(frequency_hz=f, snr_db=snr_db(loss_db=loss, next_db=near))


@pytest.mark.parametrize("length_m", WORST)
def test_table__100base_tx_on_worst_category_3(length_m):
    got = worst_link_snr_db(category="3", length_m=length_m, disturbers=1, top_hz=62.5e6)
    assert got == pytest.approx(WORST[length_m], abs=0.05)
    assert got == pytest.approx(on_cable("cat3_limit", 0, length_m), abs=0.01)


@pytest.mark.parametrize("length_m", TEN_BETTER)
def test_table__100base_tx_on_typical_cable_ten_and_twenty_db_better(length_m):
    assert on_cable("T05h", 10, length_m) == pytest.approx(TEN_BETTER[length_m], abs=0.05)
    assert on_cable("T05h", 20, length_m) == pytest.approx(TWENTY_BETTER[length_m], abs=0.05)


def test_calibration__1000base_t_on_5e_and_10base_t_on_category_3():
    """30.3 dB, 9.9 over the 20.4 it needs, where an industry talk states 10.5 dB; 24.6 dB, 9.6 over 15.0."""
    gigabit = worst_link_snr_db(category="5e", length_m=100, disturbers=3, top_hz=62.5e6)
    assert gigabit == pytest.approx(30.3, abs=0.06)
    assert gigabit - (pam_snr_required_db(levels=5, error_rate=1e-10) - 4.75) == pytest.approx(9.9, abs=0.06)
    ten = worst_link_snr_db(category="3", length_m=100, disturbers=1, top_hz=10e6)
    assert ten == pytest.approx(24.6, abs=0.05)
    assert ten - pam_snr_required_db(levels=2, error_rate=1e-8) == pytest.approx(9.6, abs=0.05)


def test_calibration__no_twist_fails_100_at_10_m_and_10_is_marginal_at_60_m():
    assert on_cable("cat3_limit", -10, 10) < pam_snr_required_db(levels=3, error_rate=1e-8)
    assert on_cable("cat3_limit", -10, 60, top_hz=10e6) == pytest.approx(17.3, abs=0.05)
    assert on_cable("cat3_limit", -20, 1, top_hz=10e6) < pam_snr_required_db(levels=2, error_rate=1e-8)


@pytest.mark.parametrize(
    "levels, error_rate, printed", [(2, 1e-8, 15.0), (3, 1e-8, 19.2), (5, 1e-10, 25.1), (16, 1e-12, 36.24)]
)
def test_required__as_printed(levels, error_rate, printed):
    assert pam_snr_required_db(levels=levels, error_rate=error_rate) == pytest.approx(printed, abs=0.05)


def test_required__two_levels_by_the_tail_of_the_normal_law():
    """Q(x) = erfc(x/sqrt 2)/2: the signal to noise found must give back the error rate."""
    x = math.sqrt(10 ** (pam_snr_required_db(levels=2, error_rate=1e-6) / 10))
    assert math.erfc(x / math.sqrt(2)) / 2 == pytest.approx(1e-6, rel=1e-6)


def test_gap__9_8_db_at_1e_7():
    assert shannon_gap_db(error_rate=1e-7) == pytest.approx(9.8, abs=0.1)


def test_salz__flat_is_itself_and_a_ramp_is_its_mean():
    assert salz_snr_db(frequency_hz=F, snr_db=np.full_like(F, 20.0)) == pytest.approx(20, abs=1e-9)
    assert salz_snr_db(frequency_hz=F, snr_db=np.linspace(40, 10, F.size)) == pytest.approx(25.05, abs=0.02)


def test_salz__uneven_steps_count_by_their_width():
    """20 dB over nine tenths of the band, and 0 dB over one tenth: ln 101 x 0.9 + ln 2 x 0.1."""
    f = np.array([0.0, 0.9, 0.9000001, 1.0])
    wanted = 10 * math.log10(math.exp(0.9 * math.log(101) + 0.1 * math.log(2)) - 1)
    assert salz_snr_db(frequency_hz=f, snr_db=np.array([20.0, 20, 0, 0])) == pytest.approx(wanted, abs=1e-4)


def test_salz__no_signal_and_endless_signal_stay_finite():
    assert salz_snr_db(frequency_hz=F, snr_db=np.full_like(F, -1e6)) == -100
    assert math.isfinite(salz_snr_db(frequency_hz=F, snr_db=np.full_like(F, 1e6)))
    assert np.all(np.isfinite(weighted_salz_db(snr_db=np.full((3, 2), -1e9), weight=np.array([0.5, 0.5]))))


def test_salz__frequencies_out_of_order_are_refused():
    for wrong in ([1.0], [2.0, 1.0], [1.0, 1.0]):
        with pytest.raises(ValueError, match="rising"):
            salz_snr_db(frequency_hz=np.array(wrong), snr_db=np.zeros(len(wrong)))


def test_snr__without_crosstalk_only_the_noise_counts():
    """-76 + 140 = 64 dB less the loss; with a NEXT of 64 dB noise and crosstalk are equal: 3.01 dB less."""
    assert float(snr_db(loss_db=10.0, next_db=None)) == pytest.approx(54)
    assert float(snr_db(loss_db=10.0, next_db=64.0)) == pytest.approx(54 - 3.0103, abs=1e-4)


def test_capacity__as_shannon_and_over_parts_of_a_band():
    assert capacity_bps(band_hz=62.5e6, snr_db=20) == pytest.approx(416.1e6, abs=0.1e6)
    parts = capacity_bps(band_hz=62.5e6, snr_db=np.array([20.0, 10.0]))
    assert parts == pytest.approx(62.5e6 * (math.log2(101) + math.log2(11)) / 2)


def test_density__of_two_gigabit_kinds():
    """6.25 against 4 bit/s/Hz are 6.75 dB at 3 dB for each bit: published for 2.5GBASE-T."""
    fast = bits_per_hz(rate_bps=2.5e9, pairs=4, nyquist_hz=100e6)
    slow = bits_per_hz(rate_bps=1e9, pairs=4, nyquist_hz=62.5e6)
    assert (fast, slow) == (6.25, 4.0)
    assert (fast - slow) * 3 == pytest.approx(6.75)


@pytest.mark.parametrize("error_rate", [0, 0.5, 1, math.nan])
def test_error_rate__that_is_none_is_refused(error_rate):
    with pytest.raises(ValueError, match="error_rate"):
        pam_snr_required_db(levels=2, error_rate=error_rate)
