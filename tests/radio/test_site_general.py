"""Published laws without a plan: what their own tables and ranges say. Printed values stand in the check rows."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.radio.site_general import (
    cost_floors_db,
    cost_multi_wall_db,
    facade_loss_db,
    office_los_loss_db,
    office_nlos_loss_db,
    power_law_loss_db,
    power_laws,
    site_general_loss_db,
    site_generals,
)


def test_power_law__floors_by_place():
    """ITU-R P.1238: residential 4 n, office 15 + 4 (n - 1), commercial 6 + 3 (n - 1)."""
    rows = power_laws()
    found = {
        place: [rows[place, "1.8 GHz"].floors_db(floors_count=n) for n in (0, 1, 2, 3)]
        for place in ("residential", "office", "commercial")
    }
    assert found == {"residential": [0, 4, 8, 12], "office": [0, 15, 19, 23], "commercial": [0, 6, 9, 12]}


def test_power_law__no_second_floor_where_the_table_has_none():
    assert math.isnan(power_laws()["house", "2.4 GHz"].floors_db(floors_count=2))


def test_power_law__exponent_is_a_tenth_of_the_coefficient():
    """N = 28 is 28 dB a decade."""
    near, far = power_law_loss_db(exponent=2.8, floor_db=0, distance_m=np.array([3.0, 30.0]), frequency_hz=2.45e9)
    assert far - near == pytest.approx(28)


def test_power_law__of_exponent_2_is_free_space_within_its_rounded_constant():
    """32.45 - 60 + 20 log 1 m = -27.55, printed as -28."""
    law = power_law_loss_db(exponent=2.0, floor_db=0, distance_m=10.0, frequency_hz=2.45e9)
    assert law == pytest.approx(60.23 - 0.45, abs=0.01)


def test_site_general__megahertz_would_be_seen():
    """The unit is the trap of this form: 2.45 put in as 2450 lies 61 dB off."""
    good = site_general_loss_db(place="office LoS", distance_m=10.0, frequency_hz=2.45e9)
    assert good == pytest.approx(10 * 1.46 + 34.62 + 20.3 * math.log10(2.45))


@pytest.mark.parametrize(("place", "outside_m"), [("office LoS", 1.9), ("office LoS", 27.1), ("corridor NLoS", 95)])
def test_site_general__outside_its_distances_no_number(place, outside_m):
    assert math.isnan(site_general_loss_db(place=place, distance_m=outside_m, frequency_hz=5e9))


def test_site_general__no_row_for_homes():
    assert not [place for place in site_generals() if "resid" in place or "home" in place]
    with pytest.raises(ValueError, match="office NLoS"):
        site_general_loss_db(place="residential", distance_m=5, frequency_hz=5e9)


@given(st.floats(1, 150), st.sampled_from([2.45e9, 5.5e9, 6.5e9]))
def test_office__without_sight_is_never_better(d, f):
    assert office_nlos_loss_db(distance_m=d, frequency_hz=f) >= office_los_loss_db(distance_m=d, frequency_hz=f)


def test_office__holds_from_1_to_150_m():
    found = office_los_loss_db(distance_m=np.array([0.9, 1.0, 150.0, 151.0]), frequency_hz=1e9)
    assert np.isnan(found).tolist() == [True, False, False, True]
    assert found[1] == 32.4


def test_facade__by_hand_at_5_ghz():
    found = {
        name: float(facade_loss_db(material=name, frequency_hz=5e9)) for name in ("glass", "coated glass", "concrete")
    }
    assert found == pytest.approx({"glass": 3.0, "coated glass": 25.95, "concrete": 25.0})
    assert facade_loss_db(material="wood", frequency_hz=5e9) == pytest.approx(5.45)
    assert facade_loss_db(material="plywood", frequency_hz=5e9) == pytest.approx(1.88)


def test_facade__older_edition_of_coated_glass_is_within_2_db():
    both = [
        float(facade_loss_db(material=name, frequency_hz=5e9))
        for name in ("coated glass", "coated glass, older edition")
    ]
    assert both[1] == pytest.approx(24.5) and abs(both[0] - both[1]) < 2


def test_cost_floors__each_further_one_counts_less():
    steps = np.diff([cost_floors_db(floors_count=n, floor_db=18.3) for n in range(4)])
    assert steps[0] == pytest.approx(18.3) and np.all(np.diff(steps) < 0)


def test_cost__no_wall_no_floor_is_free_space():
    found = cost_multi_wall_db(
        distance_m=10, frequency_hz=2.45e9, constant_db=0, walls_db=0, floors_count=0, floor_db=18.3
    )
    assert found == pytest.approx(60.23, abs=0.01)
