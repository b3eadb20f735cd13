"""Values between the points by which rooms are judged: exact where they lie in a plane, and never more than is known."""

from __future__ import annotations

import numpy as np
import pytest

from pullstring.papers.signal_fitted import fitted


def lattice(wide: int, high: int) -> np.ndarray:
    return np.array([(x, y) for y in range(high) for x in range(wide)], float)


def test_fitted__a_plane_stays_a_plane() -> None:
    """Level falls by 3 dB a metre to the right and 1 dB a metre up: any local plane is that plane."""
    points, spots = lattice(6, 5), np.array([(2.5, 2.5), (1.2, 3.7), (4.0, 0.0)])
    values = (-50 - 3 * points[:, 0] - points[:, 1])[None]
    assert fitted(points, values, spots)[0] == pytest.approx([-60.0, -57.3, -62.0], abs=0.1)


def test_fitted__never_outside_what_is_known() -> None:
    points, spots = lattice(4, 4), np.array([(-2.0, -2.0), (6.0, 6.0)])
    values = (-50 - 3 * points[:, 0] - points[:, 1])[None]
    assert fitted(points, values, spots)[0].tolist() == [values.max(), values.min()]


def test_fitted__one_point_and_points_in_a_line() -> None:
    assert fitted(np.array([(1.0, 1.0)]), np.array([[-60.0]]), np.array([(3.0, 3.0)])).tolist() == [[-60.0]]
    line = np.array([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)])
    across = fitted(line, np.array([[-50.0, -60.0, -70.0]]), np.array([(1.0, 0.0), (1.0, 0.8)]))
    assert across[0] == pytest.approx([-60.0, -60.0], abs=1e-6)  # nothing is known of the way across


def test_fitted__bands_do_not_mix_and_a_step_stays_near_its_place() -> None:
    points, spots = lattice(8, 3), np.array([(1.0, 1.0), (6.0, 1.0)])
    step = np.where(points[:, 0] < 3.5, -50.0, -80.0)
    found = fitted(points, np.stack([step, np.full(len(points), -40.0)]), spots)
    assert found[0] == pytest.approx([-50.0, -80.0], abs=0.5)
    assert found[1].tolist() == [-40.0, -40.0]
