"""What the estimate computes once: the receivers, the frequencies they are asked at, and the curves over those.

One grid serves all receivers, so that a run is worked out in a single pass. Each receiver has its own stretch of it:
nodes of a Gauss-Legendre integration over its band, then the frequencies of its own limit of loss, then its main one.
"""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np

from pullstring.copper.crosstalk import cable_curve_next_db, joint_next_db
from pullstring.copper.limits_table import curve
from pullstring.copper.line_jackets import jacket_loss_db, jacket_next_db, line_joint
from pullstring.copper.line_models import Reals, attenuation_db, secondary
from pullstring.copper.phy_limits import phys
from pullstring.copper.receiver import pam_snr_required_db

NODES = 24
"""Frequencies of one integration; the result is right to a hundredth of a decibel."""

BRANCH_MODEL = "awg24"
"""Line that a branch is taken for: of the models the one that rings longest among old pairs."""


@dataclasses.dataclass(frozen=True)
class Receiver:
    """How one kind of Ethernet is judged.

    `error_rate` and `coding_db` set the signal to noise it needs, `disturbers` are the other pairs it hears,
    `reference` is the cable it was made for. `keeps_limit` tells that it is held to its standard's limit of loss
    as well: 10BASE-T has no decision feedback, and of 10BASE-T1L hardly more than the limit is known.
    """

    name: str
    low_hz: float
    top_hz: float
    error_rate: float
    coding_db: float
    disturbers: int
    reference: str
    keeps_limit: bool

    @property
    def required_db(self) -> float:
        """Signal to noise it needs. [dB]"""
        levels = phys()[self.name].levels
        return pam_snr_required_db(levels=levels, error_rate=self.error_rate) - self.coding_db


RECEIVERS = (
    Receiver("10BASE-T", 1e6, 10e6, 1e-8, 0.0, 1, "3", True),
    Receiver("100BASE-TX", 1e6, 62.5e6, 1e-8, 0.0, 1, "5", False),
    Receiver("1000BASE-T", 1e6, 62.5e6, 1e-10, 4.75, 3, "5e", False),
    Receiver("10BASE-T1L", 0.1e6, 3.75e6, 1e-10, 0.0, 0, "", True),
)
"""Error rates of IEEE 802.3 (from memory; 10BASE-T1L taken as 1000BASE-T); 4.75 dB of coding as an industry talk on
2.5GBASE-T gives it (read in a published text). Bands end at half the symbol rate, for 10BASE-T at its highest tone."""


@dataclasses.dataclass(frozen=True)
class Slot:
    """Where one receiver stands on the grid, with the weights of its nodes and its own limit of loss. [dB]"""

    receiver: Receiver
    nodes: slice
    held: slice
    main: int
    weight: Reals
    limit_db: Reals
    reference_loss_db: Reals
    reference_next_db: Reals


@dataclasses.dataclass(frozen=True)
class Grid:
    """All frequencies [Hz], the receivers on them, and the loss of a branch [Np/m]."""

    frequency_hz: Reals
    slots: tuple[Slot, ...]
    branch_alpha: Reals


@functools.cache
def grid() -> Grid:
    """The one grid of all receivers."""
    parts: list[Reals] = []
    slots: list[Slot] = []
    start = 0
    for receiver in RECEIVERS:
        node, share = np.polynomial.legendre.leggauss(NODES)
        f = receiver.low_hz + (receiver.top_hz - receiver.low_hz) * (node + 1) / 2
        held, limit = _own_limit(receiver)
        slots.append(_slot(receiver, start, f, held, np.asarray(share / 2), limit))
        parts += [f, held, np.array([phys()[receiver.name].signal_hz])]
        start += f.size + held.size + 1
    f_all = np.concatenate(parts)
    gamma, _ = secondary(model=BRANCH_MODEL, frequency_hz=f_all)
    return Grid(f_all, tuple(slots), np.asarray(gamma.real, dtype=np.float64))


def _slot(receiver: Receiver, start: int, f: Reals, held: Reals, weight: Reals, limit: Reals) -> Slot:
    if receiver.reference:
        model = f"cat{receiver.reference}_limit"
        loss = np.asarray(attenuation_db(model=model, frequency_hz=f, length_m=100.0), dtype=np.float64)
        near = np.asarray(cable_curve_next_db(category=receiver.reference, frequency_hz=f), dtype=np.float64)
        near = near - disturbers_db(disturbers=receiver.disturbers)
    else:
        loss, near = _phy_curve(receiver.name, f), np.zeros_like(f)
    middle = start + f.size
    end = middle + held.size
    return Slot(receiver, slice(start, middle), slice(middle, end), end, weight, limit, loss, near)


def _own_limit(receiver: Receiver) -> tuple[Reals, Reals]:
    """Frequencies at which a receiver is held to its own limit of loss, and the limit there."""
    if not receiver.keeps_limit:
        return np.zeros(0), np.zeros(0)
    band = phys()[receiver.name].band
    f = np.geomspace(band.low, band.high, 12)
    return f, _phy_curve(receiver.name, f)


def _phy_curve(name: str, f: Reals) -> Reals:
    row = curve(part="phy", category=name, quantity="loss", edition=None).pieces[0]
    if row.form == "flat":
        return np.full_like(f, row.a)
    mhz = f / 1e6
    return np.asarray(row.a * np.sqrt(mhz) + row.b * mhz + row.c / np.sqrt(mhz), dtype=np.float64)


def disturbers_db(*, disturbers: int) -> float:
    """What more than one disturber takes from the NEXT loss: 6 log n.

    Parameters
    ----------
    disturbers : int
        Pairs that disturb; none take nothing. [count]

    Returns
    -------
    float
        What is lost. [dB]

    References
    ----------
    As `pullstring.copper.crosstalk.next_scaled_db`. Checked in ``tests/copper/test_estimate.py``.
    """
    return 6 * math.log10(disturbers) if disturbers else 0.0


@functools.cache
def jacket_curves(jacket: str) -> tuple[Reals, Reals, Reals, Reals]:
    """Typical and worst loss of a metre, typical and worst NEXT of a jacket, over the grid. [dB]"""
    f = grid().frequency_hz
    loss = [jacket_loss_db(jacket=jacket, worst=worst, frequency_hz=f) for worst in (False, True)]
    near = [jacket_next_db(jacket=jacket, worst=worst, frequency_hz=f) for worst in (False, True)]
    return loss[0], loss[1], near[0], near[1]


@functools.cache
def joint_curves(kind: str) -> tuple[Reals, Reals, Reals, Reals]:
    """Typical and worst loss, typical and worst NEXT of a joint, over the grid. [dB]"""
    f = grid().frequency_hz
    joint = line_joint(kind)
    categories = (joint.typical, joint.worst)
    roots = [curve(part="connector", category=c, quantity="loss", edition="568c").pieces[0].a for c in categories]
    loss = [np.asarray(root * np.sqrt(f / 1e6), dtype=np.float64) for root in roots]
    near = [np.asarray(joint_next_db(category=c, frequency_hz=f), dtype=np.float64) for c in categories]
    return loss[0], loss[1], near[0], near[1]
