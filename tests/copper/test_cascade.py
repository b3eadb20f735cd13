"""Chains of two-ports, against circuits worked another way, and the envelopes that judge branches."""

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.cascade import (
    insertion_loss_db,
    line_two_port,
    long_tap_loss_db,
    matched_tap_loss_db,
    mismatch_loss_db,
    notches,
    series_two_port,
    shunt_two_port,
    tap_envelope_db,
    tap_mean_db,
    tap_null_hz,
    tap_two_port,
)
from pullstring.copper.line_models import attenuation_db, secondary

MHZ = 1e6
LIGHT = 299_792_458.0


def line(model, length_m, f):
    gamma, impedance = secondary(model=model, frequency_hz=f)
    return line_two_port(gamma_per_m=gamma, impedance_ohm=impedance, length_m=length_m)


def tap(model, length_m, f):
    gamma, impedance = secondary(model=model, frequency_hz=f)
    return tap_two_port(gamma_per_m=gamma, impedance_ohm=impedance, length_m=length_m)


def voltage_walk(parts, *, f, source_ohm, load_ohm):
    """Insertion loss without matrices: walk back from 1 V at the load, keeping voltage and current. Parts are tuples."""
    volt, amp = 1 + 0j, 1 / load_ohm + 0j
    for kind, model, size in reversed(parts):
        if kind == "ohm":
            volt += amp * size
            continue
        gamma, z = (complex(x) for x in secondary(model=model, frequency_hz=f))
        if kind == "line":  # the wave that goes and the wave that came back, each along by itself
            goes, back = (volt + z * amp) / 2, (volt - z * amp) / 2
            goes, back = goes * cmath.exp(gamma * size), back * cmath.exp(-gamma * size)
            volt, amp = goes + back, (goes - back) / z
        if kind == "tap":  # an open end sends everything back
            echo = cmath.exp(-2 * gamma * size)
            amp += volt * (1 - echo) / (1 + echo) / z
    sent = volt + amp * source_ohm
    return 20 * math.log10(abs(sent) * load_ohm / (source_ohm + load_ohm))


@pytest.mark.parametrize("mhz", [0.5, 3.75, 10, 16.2, 31.25, 62.5])
def test_chain__two_taps_a_splice_and_two_kinds_of_cable_against_waves_by_hand(mhz):
    f = np.array([mhz * MHZ])
    ours = insertion_loss_db(
        chain=[
            line("T05h", 22, f),
            tap("awg24", 3, f),
            series_two_port(impedance_ohm=np.array([4 + 0j])),
            line("awg26", 17, f),
            tap("T05u", 8.5, f),
            line("cat5", 6, f),
        ],
        source_ohm=100,
        load_ohm=120,
    )
    parts = [
        ("line", "T05h", 22),
        ("tap", "awg24", 3),
        ("ohm", "", 4),
        ("line", "awg26", 17),
        ("tap", "T05u", 8.5),
        ("line", "cat5", 6),
    ]
    assert ours[0] == pytest.approx(voltage_walk(parts, f=mhz * MHZ, source_ohm=100, load_ohm=120), abs=1e-6)


def test_chain__a_matched_line_loses_what_its_model_says():
    """98 ohm cable between 98 ohm ends at 31.25 MHz: the loss of the model, for its impedance is real to 1 %."""
    f = np.array([31.25 * MHZ])
    got = insertion_loss_db(chain=[line("cat5", 90, f)], source_ohm=99, load_ohm=99)[0]
    assert got == pytest.approx(attenuation_db(model="cat5", frequency_hz=31.25 * MHZ, length_m=90), abs=0.02)


def test_chain__series_and_shunt_are_a_voltage_divider():
    """100 ohm in series between 100 ohm ends: 200/300, 3.52 dB. 100 ohm across the pair: the same by duality."""
    one = np.array([1 + 0j])
    for part in (series_two_port(impedance_ohm=100 * one), shunt_two_port(admittance_s=one / 100)):
        assert insertion_loss_db(chain=[part], source_ohm=100, load_ohm=100)[0] == pytest.approx(20 * math.log10(1.5))


def test_chain__a_very_long_line_stays_finite():
    f = np.array([100 * MHZ])
    assert np.all(np.isfinite(insertion_loss_db(chain=[line("T05h", 1e5, f)], source_ohm=100, load_ohm=100)))


def test_notches__two_taps_make_two_notches_where_their_lengths_say():
    """3 m and 8 m of 24 AWG on a matched line: nulls near 0.68 c/4l, at 17.0 and 6.3 MHz, and the third of the long one
    at 19 MHz beside the first. Depth from the printed 24.9 dB (3 m); ripple moves it by 2 dB."""
    f = np.linspace(2, 18, 8001) * MHZ
    plain = insertion_loss_db(chain=[line("awg24", 60, f)], source_ohm=100, load_ohm=100)
    chain = [line("awg24", 20, f), tap("awg24", 3, f), line("awg24", 30, f), tap("awg24", 8, f), line("awg24", 10, f)]
    tapped = insertion_loss_db(chain=chain, source_ohm=100, load_ohm=100)
    found = notches(frequency_hz=f, tapped_db=tapped, plain_db=plain, least_db=12)
    assert [n.frequency_hz / MHZ for n in found] == [pytest.approx(6.33, abs=0.1), pytest.approx(16.98, abs=0.2)]
    assert found[0].depth_db == pytest.approx(21, abs=2.5)
    assert found[1].depth_db == pytest.approx(24.9, abs=3.5)


@pytest.mark.parametrize("length_m, deep_db", [(3, 24.9), (10, 20.2), (20, 17.6), (50, 14.6)])
def test_tap__as_deep_at_its_null_as_printed(length_m, deep_db):
    f = np.linspace(0.5, 20, 200_001) * MHZ
    assert np.max(matched_tap_loss_db(model="awg24", length_m=length_m, frequency_hz=f)) == pytest.approx(
        deep_db, abs=0.05
    )


@pytest.mark.parametrize("length_m, mhz", [(3, 16.2), (10, 4.87), (20, 2.44), (50, 0.974)])
def test_tap_null__of_a_quarter_wave_at_065(length_m, mhz):
    got = tap_null_hz(length_m=length_m, velocity_factor=0.65, order=1)
    assert got == pytest.approx(mhz * MHZ, rel=0.003)
    assert tap_null_hz(length_m=length_m, velocity_factor=0.65, order=3) == pytest.approx(5 * got)


def test_tap__over_a_metre_and_a_half_notches_100_and_over_5_m_notches_10():
    """The published consequence: below 31.25 MHz from 1.5 m, below 10 MHz from 5 m, by slow cable (0.61)."""
    assert tap_null_hz(length_m=1.5, velocity_factor=0.61, order=1) < 31.25 * MHZ
    assert tap_null_hz(length_m=1.4, velocity_factor=0.61, order=1) > 31.25 * MHZ
    assert tap_null_hz(length_m=5, velocity_factor=0.61, order=1) < 10 * MHZ
    assert tap_null_hz(length_m=1, velocity_factor=0.65, order=1) > 48 * MHZ


def test_long_tap__is_half_again_the_voltage():
    assert long_tap_loss_db() == pytest.approx(3.52, abs=0.005)
    assert matched_tap_loss_db(model="awg26", length_m=3000, frequency_hz=20 * MHZ) == pytest.approx(3.52, abs=0.005)


def test_mismatch__100_to_150_ohm_both_ways():
    assert mismatch_loss_db(first_ohm=100, second_ohm=150) == pytest.approx(0.177, abs=0.001)
    assert mismatch_loss_db(first_ohm=150, second_ohm=100) == pytest.approx(0.177, abs=0.001)
    assert mismatch_loss_db(first_ohm=100, second_ohm=100) == 0


@pytest.mark.parametrize("wrong", [(0, 0.65, 1), (3, 0, 1), (3, 1.1, 1), (3, 0.65, 0)])
def test_tap_null__of_nothing_is_refused(wrong):
    length_m, velocity_factor, order = wrong
    with pytest.raises(ValueError, match="null"):
        tap_null_hz(length_m=length_m, velocity_factor=velocity_factor, order=order)


def exact_db(alpha, f, length_m, velocity):
    gamma = complex(alpha, 2 * math.pi * f / (velocity * LIGHT))
    return 20 * math.log10(abs(1 + cmath.tanh(gamma * length_m) / 2))


ALPHA = st.floats(1e-4, 0.02)
LENGTH = st.floats(0.01, 60)
FREQUENCY = st.floats(0.5e6, 62.5e6)
VELOCITY = st.floats(0.61, 0.69)


@given(ALPHA, FREQUENCY, LENGTH, VELOCITY)
def test_envelope__never_under_what_the_branch_does(alpha, f, length_m, velocity):
    ours = tap_envelope_db(alpha_per_m=alpha, frequency_hz=f, length_m=length_m, velocity_factor=velocity)
    assert ours >= exact_db(alpha, f, length_m, velocity) - 1e-4


@given(ALPHA, FREQUENCY, st.floats(0, 1), VELOCITY)
def test_envelope__is_what_the_branch_does_until_its_null(alpha, f, share, velocity):
    """Up to nine tenths of a quarter wave it is no bound but the loss itself."""
    length_m = 0.9 * share * velocity * LIGHT / 4 / f
    ours = tap_envelope_db(alpha_per_m=alpha, frequency_hz=f, length_m=length_m, velocity_factor=velocity)
    if alpha * velocity * LIGHT / 4 / f < 0.2:
        assert ours == pytest.approx(exact_db(alpha, f, length_m, velocity), abs=1e-6)


@given(ALPHA, FREQUENCY, LENGTH, st.floats(0, 30), VELOCITY, st.floats(0, 0.05))
def test_envelope__rises_with_length_and_slower_cable(alpha, f, length_m, more, velocity, slower):
    def ours(metres, v):
        return tap_envelope_db(alpha_per_m=alpha, frequency_hz=f, length_m=metres, velocity_factor=v)

    assert ours(length_m + more, velocity) >= ours(length_m, velocity) - 1e-6
    assert ours(length_m, velocity - slower) >= ours(length_m, velocity) - 1e-6


@pytest.mark.parametrize("length_m", [3, 10, 20, 50])
def test_envelope__is_the_branch_at_its_null_and_nothing_without_length(length_m):
    alpha, velocity = 0.002, 0.65
    null = velocity * LIGHT / 4 / length_m
    ours = tap_envelope_db(alpha_per_m=alpha, frequency_hz=null, length_m=length_m, velocity_factor=velocity)
    assert ours == pytest.approx(exact_db(alpha, null, length_m, velocity), abs=0.05)
    assert tap_envelope_db(
        alpha_per_m=alpha, frequency_hz=null, length_m=0.0, velocity_factor=velocity
    ) == pytest.approx(0)


def test_tap_mean__of_a_long_lossless_branch_over_many_nulls_is_that_of_a_very_long_one():
    """Mean of 20 log|1 + j tan/2| over whole cycles is 20 log 1.5: an identity, here by plain summation. The greatest mean is
    reached past the first null, and it is what counts from there on."""
    theta = (np.arange(200_000) + 0.5) * math.pi / 200_000
    loss = 20 * np.log10(np.abs(1 + 0.5j * np.tan(theta)))
    assert loss.mean() == pytest.approx(20 * math.log10(1.5), abs=1e-3)
    greatest = max(loss[:n].mean() for n in range(100, 200_000, 100))
    assert tap_mean_db(top_hz=62.5e6, length_m=30.0, velocity_factor=0.65) == pytest.approx(greatest, abs=0.01)
    half = tap_mean_db(top_hz=62.5e6, length_m=0.65 * LIGHT / 4 / 125e6, velocity_factor=0.65)
    assert half == pytest.approx(loss[:50_000].mean(), abs=0.01)  # a branch whose null lies an octave above the band
