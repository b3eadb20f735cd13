r"""A run as a chain of two-ports: lines, open branches (taps), series ohms, shunts.

Each two-port is an array of shape (..., 2, 2), one matrix [[A, B], [C, D]] for each frequency; a chain is their product.
A branch that nothing ends is an open stub: where it is a quarter of a wave long it shorts the pair.
The chain has ripple: with taps its loss at one frequency may fall when a length grows. It says what a run does, not what
may be promised; for promises see the envelopes at the end, which only rise.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Sequence

import numpy as np

from pullstring.copper.delay import LIGHT_M_PER_S
from pullstring.copper.line_models import Complexes, Reals, plain_number, secondary

MOST_NEPERS = 300.0
"""Beyond this a chain would overflow; 2600 dB is no signal anyway."""


def line_two_port(*, gamma_per_m: Complexes, impedance_ohm: Complexes, length_m: float) -> Complexes:
    r"""A piece of line: :math:`[[\cosh\gamma l, Z\sinh\gamma l],[\sinh\gamma l/Z, \cosh\gamma l]]`.

    Parameters
    ----------
    gamma_per_m : array
        Propagation constant, one for each frequency. [1/m]
    impedance_ohm : array
        Characteristic impedance. [ohm]
    length_m : float
        Length, zero or more. [m]

    Returns
    -------
    array
        Two-ports.

    References
    ----------
    Textbook identity. Checked in ``tests/copper/test_cascade.py``.
    """
    gl = _electrical(gamma_per_m, length_m)
    return _matrix(np.cosh(gl), impedance_ohm * np.sinh(gl), np.sinh(gl) / impedance_ohm, np.cosh(gl))


def tap_two_port(*, gamma_per_m: Complexes, impedance_ohm: Complexes, length_m: float) -> Complexes:
    r"""An open branch across the pair: shunt admittance :math:`\tanh(\gamma l)/Z`.

    Parameters
    ----------
    gamma_per_m : array
        Propagation constant of the branch. [1/m]
    impedance_ohm : array
        Its characteristic impedance. [ohm]
    length_m : float
        Length of the branch, zero or more. [m]

    Returns
    -------
    array
        Two-ports.

    References
    ----------
    Textbook identity. Checked in ``tests/copper/test_cascade.py``.
    """
    return shunt_two_port(admittance_s=np.tanh(_electrical(gamma_per_m, length_m)) / impedance_ohm)


def shunt_two_port(*, admittance_s: Complexes) -> Complexes:
    """Anything across the pair, such as a damp joint or a ringer.

    Parameters
    ----------
    admittance_s : array
        Its admittance, one for each frequency. [S]

    Returns
    -------
    array
        Two-ports.

    References
    ----------
    Textbook identity. Checked in ``tests/copper/test_cascade.py``.
    """
    one, none = np.ones_like(admittance_s), np.zeros_like(admittance_s)
    return _matrix(one, none, admittance_s, one)


def series_two_port(*, impedance_ohm: Complexes) -> Complexes:
    """Anything in the way of the pair, such as the ohms of a loose joint, both wires together.

    Parameters
    ----------
    impedance_ohm : array
        Its impedance, one for each frequency. [ohm]

    Returns
    -------
    array
        Two-ports.

    References
    ----------
    Textbook identity. Checked in ``tests/copper/test_cascade.py``.
    """
    one, none = np.ones_like(impedance_ohm), np.zeros_like(impedance_ohm)
    return _matrix(one, impedance_ohm, none, one)


def insertion_loss_db(*, chain: Sequence[Complexes], source_ohm: float, load_ohm: float) -> Reals:
    r"""What putting a chain between a source and a load takes from the load.

    :math:`IL = 20\log_{10}\left|\frac{A Z_r + B + C Z_s Z_r + D Z_s}{Z_s + Z_r}\right|`.

    Parameters
    ----------
    chain : sequence of arrays
        Two-ports in the order of the run.
    source_ohm, load_ohm : float
        Resistances at both ends, above zero. [ohm]

    Returns
    -------
    array
        Insertion loss; slightly negative where the chain happens to match the ends. [dB]

    References
    ----------
    Textbook identity. Checked in ``tests/copper/test_cascade.py``.
    """
    if not (source_ohm > 0 and load_ohm > 0):
        raise ValueError("source_ohm, load_ohm: both ends have a resistance above zero; give it in ohm")
    whole = functools.reduce(np.matmul, chain)
    A, B, C, D = whole[..., 0, 0], whole[..., 0, 1], whole[..., 1, 0], whole[..., 1, 1]
    Z_s, Z_r = source_ohm, load_ohm
    ratio = np.abs((A * Z_r + B + C * Z_s * Z_r + D * Z_s) / (Z_s + Z_r))
    return np.asarray(20 * np.log10(np.maximum(ratio, 1e-30)), dtype=np.float64)


@dataclasses.dataclass(frozen=True)
class FoundNotch:
    """Where the loss of a chain has a peak over that without taps, and how much over it."""

    frequency_hz: float
    depth_db: float


def notches(*, frequency_hz: Reals, tapped_db: Reals, plain_db: Reals, least_db: float) -> tuple[FoundNotch, ...]:
    """Peaks of what the taps add, low to high; two taps may merge into one.

    Parameters
    ----------
    frequency_hz : array
        Rising; the peaks are found to within its step. [Hz]
    tapped_db, plain_db : array
        Loss of the run with its taps and without. [dB]
    least_db : float
        Smaller peaks are ripple and left out. [dB]

    Returns
    -------
    tuple of FoundNotch
        Empty where there is none.

    References
    ----------
    By definition. Checked in ``tests/copper/test_cascade.py``.
    """
    added = np.asarray(tapped_db - plain_db)
    inner = np.arange(1, added.size - 1)
    peaks = inner[(added[inner] >= added[inner - 1]) & (added[inner] > added[inner + 1]) & (added[inner] >= least_db)]
    return tuple(FoundNotch(float(frequency_hz[i]), float(added[i])) for i in peaks)


def tap_null_hz(*, length_m: float, velocity_factor: float, order: int) -> float:
    r"""Where an open branch shorts the pair: :math:`f_n=(2n-1)\,v\,c/(4l)`.

    Parameters
    ----------
    length_m : float
        Length of the branch, above zero. [m]
    velocity_factor : float
        0.61 to 0.69 for old pairs. [ratio]
    order : int
        1 for the lowest null. [count]

    Returns
    -------
    float
        Frequency. [Hz]

    References
    ----------
    Quarter-wave stub. Checked in ``tests/published/test_check_rows.py``.
    """
    if not (length_m > 0 and 0 < velocity_factor <= 1 and order >= 1):
        raise ValueError("a null has a length above zero, a velocity factor up to 1 and an order from 1; give such")
    return (2 * order - 1) * velocity_factor * LIGHT_M_PER_S / (4 * length_m)


def matched_tap_loss_db(*, model: str, length_m: float, frequency_hz: float | Reals) -> float | Reals:
    r"""What an open branch takes from a matched line of the same kind: :math:`20\log_{10}|1+\tanh(\gamma l)/2|`.

    Parameters
    ----------
    model : str
        Name of a row of ``line_models.csv``, for the branch and the line.
    length_m : float
        Length of the branch, zero or more. [m]
    frequency_hz : float or array
        Above zero. [Hz]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    Textbook identity. Checked in ``tests/published/test_check_rows.py``.
    """
    gamma, _ = secondary(model=model, frequency_hz=frequency_hz)
    loss = 20 * np.log10(np.abs(1 + np.tanh(_electrical(gamma, length_m)) / 2))
    return plain_number(np.asarray(loss, dtype=np.float64))


def long_tap_loss_db() -> float:
    r"""What a branch takes that is so long that nothing comes back: :math:`20\log_{10}1.5` = 3.5 dB at all frequencies.

    It is also the mean, in dB over frequency, of what any lossless branch takes.

    References
    ----------
    Impedance of the line in shunt. Checked in ``tests/published/test_check_rows.py``.
    """
    return 20 * math.log10(1.5)


def mismatch_loss_db(*, first_ohm: float, second_ohm: float) -> float:
    r"""What one step of impedance takes: :math:`-10\log_{10}(1-\Gamma^2)`; 0.18 dB from 100 to 150 ohm.

    Steps matter through ripple and echo, not through loss.

    Parameters
    ----------
    first_ohm, second_ohm : float
        Impedances, above zero. [ohm]

    Returns
    -------
    float
        Loss. [dB]

    References
    ----------
    Textbook identity. Checked in ``tests/published/test_check_rows.py``.
    """
    if not (first_ohm > 0 and second_ohm > 0):
        raise ValueError("first_ohm, second_ohm: an impedance is above zero; give it in ohm")
    step = (second_ohm - first_ohm) / (second_ohm + first_ohm)
    return -10 * math.log10(1 - step**2)


def tap_envelope_db(*, alpha_per_m: Reals, frequency_hz: Reals, length_m: Reals, velocity_factor: Reals) -> Reals:
    r"""The most that a branch of at most this length takes: no credit for what lies between its nulls.

    With a quarter wave :math:`\lambda/4 = v c/4f`, its loss :math:`a=\alpha\lambda/4` and :math:`x=4l/\lambda`, a branch on a
    matched line takes :math:`10\log_{10}\left(1+\frac{\sinh 2ax}{D}+\frac{\cosh 2ax-\cos\pi x}{4D}\right)`,
    :math:`D=\cosh 2ax+\cos\pi x`, which is `matched_tap_loss_db` in real numbers. It is greatest just before :math:`x=1`;
    from there on it is held. So it rises with length and with slower cable, as the loss of one branch does not.

    Parameters
    ----------
    alpha_per_m : array
        Loss of the branch; less makes the null deeper. [Np/m]
    frequency_hz : array
        Above zero. [Hz]
    length_m : array
        Greatest length the branch may have. [m]
    velocity_factor : array
        Least it may have. [ratio]

    Returns
    -------
    array
        Loss, broadcast over all four. [dB]

    References
    ----------
    Ours, from `matched_tap_loss_db`. Checked in ``tests/copper/test_cascade.py``.
    """
    quarter_m = velocity_factor * LIGHT_M_PER_S / (4 * frequency_hz)
    a = alpha_per_m * quarter_m
    x = np.minimum(length_m / quarter_m, np.interp(a, *_deepest()))
    return _branch_db(x, a)


def tap_mean_db(*, top_hz: float, length_m: Reals, velocity_factor: Reals) -> Reals:
    r"""The most that a branch of at most this length takes on the mean, in dB over the band from 0 to its top.

    What a receiver loses that puts every frequency to its best use. Lossless branch:
    :math:`g(\theta)=10\log_{10}(1+\tan^2(\theta)/4)`, mean over :math:`0..\Theta`, :math:`\Theta=\pi f_{top}/2f_1`, and of that
    the greatest up to :math:`\Theta`. It rises with length and stays at 5.1 dB, where a very long branch has 3.5 dB.

    Parameters
    ----------
    top_hz : float
        Top of the band. [Hz]
    length_m : array
        Greatest length the branch may have. [m]
    velocity_factor : array
        Least it may have. [ratio]

    Returns
    -------
    array
        Loss. [dB]

    References
    ----------
    Ours, from `matched_tap_loss_db`. Checked in ``tests/copper/test_cascade.py``.
    """
    waves, mean = _running_mean()
    x = top_hz * 4 * np.asarray(length_m) / (np.asarray(velocity_factor) * LIGHT_M_PER_S)
    return np.asarray(np.interp(x, waves, mean), dtype=np.float64)


def _branch_db(x: Reals, a: Reals) -> Reals:
    """Loss of a branch of x quarter waves with a neper of loss each."""
    cosh, cos = np.cosh(2 * a * x), np.cos(math.pi * x)
    shorted = cosh + cos
    inside = 1 + np.sinh(2 * a * x) / shorted + (cosh - cos) / (4 * shorted)
    return np.asarray(10 * np.log10(inside), dtype=np.float64)


@functools.cache
def _deepest() -> tuple[Reals, Reals]:
    """Nepers of a quarter wave, and the length in quarter waves at which a branch takes most."""
    a = np.linspace(0.001, 1.0, 1000)
    x = np.linspace(0.5, 1.0, 2001)
    return a, x[np.argmax(_branch_db(x[None, :], a[:, None]), axis=1)]


@functools.cache
def _running_mean() -> tuple[Reals, Reals]:
    """Greatest running mean of the lossless branch over its length in quarter waves, 0 to 2."""
    steps = 20000
    x = (np.arange(steps) + 0.5) * 2 / steps
    loss = 10 * np.log10(1 + np.tan(math.pi * x / 2) ** 2 / 4)
    mean = np.maximum.accumulate(np.cumsum(loss) / np.arange(1, steps + 1))
    return np.concatenate(([0.0], x)), np.concatenate(([0.0], mean))


def _electrical(gamma_per_m: Complexes, length_m: float) -> Complexes:
    if not 0 <= length_m <= 1e5:
        raise ValueError(f"length_m: {length_m:g} m is no length of a line; give 0 m to 100 km")
    gl = np.asarray(gamma_per_m * length_m, dtype=np.complex128)
    return np.asarray(np.minimum(gl.real, MOST_NEPERS) + 1j * gl.imag, dtype=np.complex128)


def _matrix(a: Complexes, b: Complexes, c: Complexes, d: Complexes) -> Complexes:
    return np.stack([np.stack([a, b], axis=-1), np.stack([c, d], axis=-1)], axis=-2)
