"""Near-end crosstalk: slopes, sums, and the assumptions that close on printed connecting hardware."""

import math

import numpy as np
import pytest

from pullstring.copper.crosstalk import (
    SPLIT_PAIR_DB,
    UNTWISTED_TYPICAL,
    UNTWISTED_WORST,
    binder_next_db,
    cable_curve_next_db,
    joint_next_db,
    next_scaled_db,
    untwisted_next_db,
    voltage_sum_db,
)
from pullstring.copper.limits import cable_next_db, connector_next_db
from pullstring.copper.line_jackets import jacket_next_db

MHZ = 1e6


def test_scaled__15_db_a_decade_and_6_db_for_ten_pairs():
    assert next_scaled_db(next_db=50, at_hz=1e6, frequency_hz=10e6, disturbers=1) == pytest.approx(35)
    assert next_scaled_db(next_db=50, at_hz=1e6, frequency_hz=1e6, disturbers=10) == pytest.approx(44)


def test_binder__57_db_at_80_khz_with_49_disturbers():
    """ANSI T1.413 as remembered; one disturber less a decade up: 10 dB for 49 to the 0.6."""
    assert binder_next_db(frequency_hz=80e3, disturbers=49) == pytest.approx(57, abs=0.1)
    one, all_ = (binder_next_db(frequency_hz=1e6, disturbers=n) for n in (1, 49))
    assert one - all_ == pytest.approx(6 * math.log10(49))


def test_binder__one_disturber_is_ten_db_over_the_category_3_limit():
    """Why typical old telephone cable is taken 10 dB over that limit: two sources that know nothing of each other."""
    over = binder_next_db(frequency_hz=1e6, disturbers=1) - cable_curve_next_db(category="3", frequency_hz=1e6)
    assert over == pytest.approx(10, abs=1)


@pytest.mark.parametrize("category", ["3", "5", "5e", "6", "6A"])
def test_curves__are_the_limits_inside_their_ranges(category):
    for mhz in (1, 4, 10, 16):
        assert cable_curve_next_db(category=category, frequency_hz=mhz * MHZ) == pytest.approx(
            cable_next_db(category=category, frequency_hz=mhz * MHZ)
        )
    assert joint_next_db(category=category, frequency_hz=16 * MHZ) == pytest.approx(
        connector_next_db(category=category, frequency_hz=16 * MHZ)
    )


def test_joint__category_6a_falls_twice_as_fast_above_250_mhz():
    assert joint_next_db(category="6A", frequency_hz=500 * MHZ) == pytest.approx(46.04 - 40 * math.log10(2))


def test_untwisted__of_the_allowed_length_is_the_connection_of_its_category():
    """75 mm are allowed in Category 3, whose connection has 58 - 20 log f; 13 mm in 5e, with 83 - 20 log f."""
    for (at_1_mhz_db, reference_m), printed in ((UNTWISTED_WORST, 58 - 20), (UNTWISTED_TYPICAL, 83 - 20)):
        got = untwisted_next_db(
            length_m=reference_m, frequency_hz=10 * MHZ, at_1_mhz_db=at_1_mhz_db, reference_m=reference_m
        )
        assert got == pytest.approx(printed)


def test_untwisted__as_usual_is_9_8_db_better_at_equal_lengths():
    """Equal at 13 mm to 83 dB, at 75 mm 20 log(75/13) = 15.2 less: 67.8 against 58."""
    usual, worst = (
        untwisted_next_db(length_m=0.075, frequency_hz=1 * MHZ, at_1_mhz_db=k, reference_m=d)
        for k, d in (UNTWISTED_TYPICAL, UNTWISTED_WORST)
    )
    assert (usual, worst) == (pytest.approx(67.8, abs=0.05), pytest.approx(58))


def test_untwisted__20_db_for_ten_times_the_length_down_to_a_split_pair():
    def loss(length_m):
        return untwisted_next_db(length_m=length_m, frequency_hz=1 * MHZ, at_1_mhz_db=58, reference_m=0.075)

    assert loss(0.075) - loss(0.75) == pytest.approx(20)
    assert loss(1000) == SPLIT_PAIR_DB == 22
    assert loss(0) == pytest.approx(240, abs=100) and math.isfinite(loss(0))


def test_sum__two_equal_couplings_are_6_db_worse():
    assert voltage_sum_db(losses_db=(40.0, 40.0)) == pytest.approx(40 - 20 * math.log10(2))
    assert voltage_sum_db(losses_db=(40.0,)) == pytest.approx(40)
    with pytest.raises(ValueError, match="losses_db"):
        voltage_sum_db(losses_db=())


def test_jackets__cat3_typical_is_ten_over_and_quad_worst_ten_under_the_limit():
    """The rows of the calibration: 10 dB better than the Category 3 limit as usual, 10 dB worse where there is no twist."""
    f = np.array([10 * MHZ])
    limit = 43 - 15 * math.log10(10 / 0.772)
    assert jacket_next_db(jacket="cat3", worst=False, frequency_hz=f)[0] == pytest.approx(limit + 10)
    assert jacket_next_db(jacket="cat3", worst=True, frequency_hz=f)[0] == pytest.approx(limit)
    assert jacket_next_db(jacket="quad", worst=False, frequency_hz=f)[0] == pytest.approx(limit)
    assert jacket_next_db(jacket="quad", worst=True, frequency_hz=f)[0] == pytest.approx(limit - 10)
    assert jacket_next_db(jacket="flat cord", worst=False, frequency_hz=f)[0] == SPLIT_PAIR_DB


@pytest.mark.parametrize("frequency_hz", [0.0, -5.0, math.nan])
def test_frequency__that_is_none_is_refused(frequency_hz):
    for law in (
        lambda f: next_scaled_db(next_db=1, at_hz=1, frequency_hz=f, disturbers=1),
        lambda f: binder_next_db(frequency_hz=f, disturbers=1),
        lambda f: cable_curve_next_db(category="3", frequency_hz=f),
        lambda f: untwisted_next_db(length_m=1, frequency_hz=f, at_1_mhz_db=58, reference_m=0.075),
    ):
        with pytest.raises(ValueError, match="frequency_hz"):
            law(frequency_hz)
