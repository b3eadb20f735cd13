"""Bending of waves over or round edges: ITU-R P.526.

House rules
-----------
1. Heights and clearances are counted across the straight line; above zero = the edge reaches into the line, below = it stays clear.
2. One edge: the Recommendation's own approximation, everywhere. It ends at nu = -0.78, where 0.005 dB are left.
3. Several edges: `deygout_loss_db` for walls and roofs, without the terms that were fitted to hills many kilometres apart;
   `bullington_loss_db` with them, as the rival.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.free_space import wavelength_m

Floats = NDArray[np.float64]
EdgePoint = tuple[float, float]
"""Distance along the line and height across it, above zero where the edge reaches into the line. [m, m]"""

FREE_FACTOR = -0.78
"""Below this nu an edge costs nothing. [1] ITU-R P.526 section 4.1 (read in public code)."""


def fresnel_radius_m(
    *, order: int, before_m: Floats | float, after_m: Floats | float, frequency_hz: Floats | float
) -> Floats:
    r"""Radius of a Fresnel zone, :math:`F_n = \sqrt{n \lambda d_1 d_2 / (d_1 + d_2)}`.

    Valid where both distances are much longer than the radius.

    Parameters
    ----------
    order : int
        1 for the first zone. [1]
    before_m, after_m : float or array
        From one end to the place, and from the place to the other end; zero or more, one above zero. [m]
    frequency_hz : float or array
        [Hz]

    Returns
    -------
    array
        Radius. [m]

    References
    ----------
    ITU-R P.526 section 2 (read in public code). Checked in ``tests/published/test_radio_check_rows.py``.
    """
    d_1, d_2 = np.asarray(before_m, float), np.asarray(after_m, float)
    return np.asarray(np.sqrt(order * wavelength_m(frequency_hz=frequency_hz) * d_1 * d_2 / (d_1 + d_2)))


def height_factor(
    *, height_m: Floats | float, before_m: Floats | float, after_m: Floats | float, frequency_hz: Floats | float
) -> Floats:
    r"""The parameter nu of an edge from its height across the line, :math:`\nu = h \sqrt{\frac{2}{\lambda} (1/d_1 + 1/d_2)}`.

    Valid where the height is much smaller than both distances. Half of it, squared, is the detour in half wavelengths.

    Parameters
    ----------
    height_m : float or array
        Above zero where the edge reaches into the line, below where it stays clear. [m]
    before_m, after_m : float or array
        From one end to the edge, and from the edge to the other end, above zero. [m]
    frequency_hz : float or array
        [Hz]

    Returns
    -------
    array
        nu. [1]

    References
    ----------
    ITU-R P.526 section 4.1 (read in public code). Checked in ``tests/published/test_radio_check_rows.py``.
    """
    h, d_1, d_2 = np.asarray(height_m, float), np.asarray(before_m, float), np.asarray(after_m, float)
    return np.asarray(h * np.sqrt(2 / wavelength_m(frequency_hz=frequency_hz) * (1 / d_1 + 1 / d_2)))


def detour_factor(*, detour_m: Floats | float, frequency_hz: Floats | float) -> Floats:
    r"""The parameter nu of an edge from the detour that it forces, :math:`\nu = 2 \sqrt{\Delta / \lambda}`.

    Agrees with `height_factor` for small angles, and holds for wide ones, such as round a door jamb.

    Parameters
    ----------
    detour_m : float or array
        How much longer the way by the edge is than the straight one; below zero where the edge stays clear of the line. [m]
    frequency_hz : float or array
        [Hz]

    Returns
    -------
    array
        nu, with the sign of the detour. [1]

    References
    ----------
    ITU-R P.526 section 4.1, nu by the difference of paths (read in public code). Checked in ``tests/radio/test_knife_edge.py``.
    """
    Delta = np.asarray(detour_m, float)
    return np.asarray(np.sign(Delta) * 2 * np.sqrt(np.abs(Delta) / wavelength_m(frequency_hz=frequency_hz)))


def knife_edge_loss_db(*, edge_factor: Floats | float) -> Floats:
    r"""Loss over one sharp edge, :math:`J(\nu) = 6.9 + 20 \log_{10}(\sqrt{(\nu - 0.1)^2 + 1} + \nu - 0.1)`.

    Valid for nu above -0.78; below, nothing is lost. Of the exact Fresnel integral it is within 0.2 dB or so for nu above 0.

    Parameters
    ----------
    edge_factor : float or array
        nu of `height_factor` or `detour_factor`. [1]

    Returns
    -------
    array
        Loss beyond free space. [dB]

    References
    ----------
    ITU-R P.526 section 4.1 (read in public code). Checked in ``tests/published/test_radio_check_rows.py``.
    """
    nu = np.asarray(edge_factor, float)
    J = 6.9 + 20 * np.log10(np.sqrt((nu - 0.1) ** 2 + 1) + nu - 0.1)
    return np.where(nu > FREE_FACTOR, np.maximum(J, 0.0), np.where(np.isnan(nu), np.nan, 0.0))


def deygout_loss_db(edges: Sequence[EdgePoint], *, length_m: float, frequency_hz: float) -> float:
    """Loss over several sharp edges: the main one over the whole line, then the main one on either side of it.

    The main edge is that with the greatest nu; on either side the line goes from the end to its top. Three edges count.
    The Recommendation's terms T and C for the shape of hills are left out, so that one edge costs what one edge costs.
    Two edges near each other come out too high, which errs to "raise the mast". Of edges with equal nu the worse choice
    holds, so that both ways cost the same.

    Parameters
    ----------
    edges : sequence of (float, float)
        Distance along the line and height across it. [m, m]
    length_m : float
        From one end to the other. [m]
    frequency_hz : float
        [Hz]

    Returns
    -------
    float
        Loss beyond free space. [dB]

    References
    ----------
    Deygout's construction in the form of ITU-R P.526 to edition -12, cascaded knife edges (from memory), C = 0 and T = 1 ours.
    Checked against the Recommendation's two edges in ``tests/radio/test_knife_edge.py``.
    """
    ends = (0.0, 0.0), (length_m, 0.0)
    inside = [edge for edge in edges if 0 < edge[0] < length_m]
    factors = [_factor(edge, *ends, frequency_hz) for edge in inside]
    if not factors or max(factors) <= FREE_FACTOR:
        return 0.0
    greatest = max(factors)
    mains = [edge for edge, nu in zip(inside, factors, strict=True) if nu >= greatest - 1e-9]
    return max(_with_main(main, inside, *ends, frequency_hz) for main in mains)


def bullington_loss_db(edges: Sequence[EdgePoint], *, length_m: float, frequency_hz: float) -> float:
    r"""Loss over several edges as over the one where the rays that just clear them from both ends cross. For comparing.

    :math:`L = L_{uc} + (1 - e^{-L_{uc}/6}) (10 + 0.02 d)`, d in km; the second term stands for what else hills of many
    kilometres do, and adds up to 10 dB to a single wall. Where the line is clear, the edge with the greatest nu counts.

    Parameters
    ----------
    edges : sequence of (float, float)
        Distance along the line and height across it. [m, m]
    length_m : float
        From one end to the other. [m]
    frequency_hz : float
        [Hz]

    Returns
    -------
    float
        Loss beyond free space. [dB]

    References
    ----------
    ITU-R P.526-15 section 4.5.1 (from memory), on a line between the ends instead of sea level.
    Checked in ``tests/radio/test_knife_edge.py``.
    """
    inside = [(d, h) for d, h in edges if 0 < d < length_m]
    if not inside:
        return 0.0
    rise, fall = max(h / d for d, h in inside), max(h / (length_m - d) for d, h in inside)
    if rise > 0:
        cross_m = length_m * fall / (rise + fall)
        nu = _factor((cross_m, rise * cross_m), (0.0, 0.0), (length_m, 0.0), frequency_hz)
    else:
        nu = max(_factor(edge, (0.0, 0.0), (length_m, 0.0), frequency_hz) for edge in inside)
    L_uc = float(knife_edge_loss_db(edge_factor=nu))
    return L_uc + float(-np.expm1(-L_uc / 6)) * (10 + 0.02 * length_m / 1e3)


def _factor(edge: EdgePoint, start: EdgePoint, end: EdgePoint, frequency_hz: float) -> float:
    """nu of an edge above the straight line between two points."""
    before, after = edge[0] - start[0], end[0] - edge[0]
    height = edge[1] - (start[1] * after + end[1] * before) / (before + after)
    return float(height_factor(height_m=height, before_m=before, after_m=after, frequency_hz=frequency_hz))


def _with_main(
    main: EdgePoint, edges: Sequence[EdgePoint], start: EdgePoint, end: EdgePoint, frequency_hz: float
) -> float:
    """The main edge over the whole line and the greatest edge on either side of it."""
    total = float(knife_edge_loss_db(edge_factor=_factor(main, start, end, frequency_hz)))
    for a, b in ((start, main), (main, end)):
        between = [_factor(edge, a, b, frequency_hz) for edge in edges if a[0] < edge[0] < b[0]]
        if between:
            total += float(knife_edge_loss_db(edge_factor=max(between)))
    return total
