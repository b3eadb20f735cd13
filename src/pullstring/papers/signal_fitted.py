"""Values between scattered points, for lines of equal level that are drawn before every spot is worked out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
BELL = 0.7  # ours: width of the weight, by how far the points lie apart
STIFF = 0.01  # ours: what keeps a plane flat where its points lie in one line


def fitted(points: Numbers, values: Numbers, spots: Numbers) -> Numbers:
    """Values at spots, from values at points near them: locally weighted planes.

    Parameters
    ----------
    points, spots : array [n, 2], [m, 2]
        Where values are known, and where they are wanted. [m]
    values : array [bands, n]
        What is known. [dBm]

    Returns
    -------
    array [bands, m]
        Never outside the values known. [dBm]

    References
    ----------
    W. S. Cleveland, "Robust locally weighted regression and smoothing scatterplots", J. Am. Stat. Assoc. 74 (1979),
    without the robust steps; the weight is a bell as wide as points lie apart. Checked in ``tests/papers/test_signal_fitted.py``.
    """
    apart = np.sqrt(((points[:, None] - points[None]) ** 2).sum(-1)) + 1e9 * np.eye(len(points))
    wide = max(float(np.median(apart.min(1))), 0.1) if len(points) > 1 else 1.0
    off = points[None] - spots[:, None]
    far2 = (off**2).sum(-1)
    weight = np.exp(-(far2 - far2.min(1, keepdims=True)) / (2 * (BELL * wide) ** 2))
    terms = np.concatenate([np.ones((*off.shape[:2], 1)), off], -1)
    square = np.einsum("mn,mni,mnj->mij", weight, terms, terms)
    square += np.diag([0.0, STIFF, STIFF]) * weight.sum(1)[:, None, None]  # flat where points lie in one line
    right = np.einsum("mn,mni,bn->mib", weight, terms, values)
    made = np.linalg.solve(square, right)[:, 0].T
    return np.asarray(np.clip(made, values.min(1)[:, None], values.max(1)[:, None]))
