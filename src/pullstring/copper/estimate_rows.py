r"""A run worked out at many settings of its inputs at once: one row for each setting, one column for each frequency.

Every input has three positions: its best end, its middle, its worst end. So have the three models that are only known as
a bracket: `loss_model`, `crosstalk` and `branch_model` go from typical to worst, half way in decibels.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

from pullstring.copper.cascade import tap_envelope_db, tap_mean_db
from pullstring.copper.cords import cord_derating, loss_temperature_factor_extrapolated
from pullstring.copper.crosstalk import UNTWISTED_TYPICAL, UNTWISTED_WORST, untwisted_next_db
from pullstring.copper.delay import LIGHT_M_PER_S
from pullstring.copper.estimate_curves import Slot, disturbers_db, grid, jacket_curves, joint_curves
from pullstring.copper.line import gauge_diameter_m
from pullstring.copper.line_jackets import MIDDLE, line_jacket
from pullstring.copper.line_models import QUICK, SLOW, Reals
from pullstring.copper.makeup import Makeup, Stretch
from pullstring.copper.receiver import IMPLEMENTATION_DB, snr_db, weighted_salz_db
from pullstring.model.answers import Interval

Positions = npt.NDArray[np.int_]

BEST, MIDDLE_OF, WORST = 0, 1, 2

INPUTS = ("length_m", "temperature_c", "awg", "untwisted_m", "branch_m", "jacket", "velocity_factor")
MODELS = ("loss_model", "crosstalk", "branch_model")

CORD_AWG = Interval(24, 26, "AWG")
"""Gauge of a cord that nobody has read: TIA-568 has these two. [AWG]"""

COLDEST_C, HOTTEST_C = 20.0, 90.0
"""Colder counts as 20 C: no credit for cold, which the standard does not give either. Hotter counts as 90 C."""


@dataclasses.dataclass(frozen=True)
class Rows:
    """The position of every input and model in every row."""

    position: Mapping[str, Positions]

    def pick(self, name: str, three: Reals) -> Reals:
        """Of a value at the three positions, the one of each row."""
        return np.asarray(three[self.position[name]], dtype=np.float64)

    def share(self, name: str) -> Reals:
        """How far each row goes to the worst end, 0 to 1, as a column."""
        return np.asarray(self.position[name] / 2, dtype=np.float64)[:, None]

    @property
    def count(self) -> int:
        """Number of rows."""
        return int(self.position["length_m"].size)


@dataclasses.dataclass(frozen=True)
class Worked:
    """One receiver over all rows: loss and NEXT at its main frequency, margin with all its steps. [dB]

    `over_loss`, `over_next` and `over_branch` tell by how much each is worse, on the mean, than on the cable the
    receiver was made for.
    """

    loss: Reals
    next: Reals | None
    salz: Reals
    spare: Reals | None
    margin: Reals
    by_signal: Reals
    over_loss: Reals
    over_next: Reals | None
    over_branch: Reals


def spread_inputs(makeup: Makeup) -> tuple[str, ...]:
    """Inputs that are not one value in this run."""
    everything = (*makeup.stretches, *(b.stretch for b in makeup.branches))
    open_ = {
        "length_m": any(_wide(s.length_m) for s in makeup.stretches),
        "temperature_c": any(s.temperature_c.high > max(s.temperature_c.low, COLDEST_C) for s in makeup.stretches),
        "awg": any(_wide(gauge) for s in makeup.stretches if (gauge := _gauge(s))),
        "untwisted_m": any(_wide(s.untwisted_m) for s in everything),
        "branch_m": any(_wide(b.stretch.length_m) for b in makeup.branches),
        "jacket": any(line_jacket(s.jacket).ends for s in everything),
        "velocity_factor": True,
    }
    return tuple(name for name in INPUTS if open_[name])


def line_loss_db(makeup: Makeup, rows: Rows) -> Reals:
    """Loss of cable and joints, without branches: rows by frequencies. [dB]

    Steps of impedance between unlike cables are left out: they cost 0.2 dB at most, and ripple is no credit.
    """
    worse = rows.share("loss_model")
    total = np.zeros((rows.count, grid().frequency_hz.size))
    for stretch in makeup.stretches:
        length = rows.pick("length_m", _three(stretch.length_m))
        warm = _by_jacket(rows, stretch, "temperature_c", _warm)
        thin = _by_jacket(rows, stretch, "awg", _thin)
        typical, worst = _curves(rows, stretch, 0), _curves(rows, stretch, 1)
        once = (length * warm * (1 + cord_derating(awg=24) if stretch.cord else 1.0))[:, None]
        thin = thin[:, None]
        total += once * (thin * (1 - worse) * typical + np.maximum(thin, 1) * worse * worst)
    for splice in makeup.splices:
        typical, worst, _, _ = joint_curves(splice.kind)
        total += (1 - worse) * typical + worse * worst
    return total


def branch_loss_db(makeup: Makeup, rows: Rows) -> Reals:
    """What the branches take, added up: as usual the mean over a receiver's band, at worst the envelope above it. [dB]

    Always that of a 24 AWG pair at 20 C: a lossier branch would ring less, and that is no credit.
    """
    held = grid()
    f = held.frequency_hz
    worse = rows.share("branch_model")
    slow = QUICK + rows.share("velocity_factor") * (SLOW - QUICK)
    total = np.zeros((rows.count, f.size))
    for branch in makeup.branches:
        length = rows.pick("branch_m", _three(branch.stretch.length_m))[:, None]
        deep = tap_envelope_db(alpha_per_m=held.branch_alpha, frequency_hz=f, length_m=length, velocity_factor=slow)
        mean = np.empty_like(total)
        for slot in held.slots:
            top = slot.receiver.top_hz
            mean[:, slot.nodes.start : slot.main + 1] = tap_mean_db(top_hz=top, length_m=length, velocity_factor=slow)
        total += (1 - worse) * mean + worse * np.maximum(deep, mean)
    return total


def next_db(makeup: Makeup, rows: Rows) -> Reals:
    """NEXT loss of the run from one disturber: the worst jacket, what is untwisted and every joint, as voltages. [dB]

    A joint far away is heard less by the length before it; that is no credit here, and neither is a short cable.
    """
    worse = rows.share("crosstalk")
    everything = (*makeup.stretches, *(b.stretch for b in makeup.branches))
    cable = functools.reduce(
        np.minimum,
        ((1 - worse) * _curves(rows, s, 2) + worse * _curves(rows, s, 3) for s in everything),
    )
    amplitude = np.power(10.0, -cable / 20)
    untwisted = sum(rows.pick("untwisted_m", _three(s.untwisted_m)) for s in everything)
    if np.any(np.asarray(untwisted) > 0):
        usual, bad = (
            untwisted_next_db(
                length_m=np.asarray(untwisted)[:, None],
                frequency_hz=grid().frequency_hz,
                at_1_mhz_db=at_1_mhz_db,
                reference_m=reference_m,
            )
            for at_1_mhz_db, reference_m in (UNTWISTED_TYPICAL, UNTWISTED_WORST)
        )
        amplitude += np.power(10.0, -((1 - worse) * usual + worse * bad) / 20)
    for splice in makeup.splices:
        _, _, usual, bad = joint_curves(splice.kind)
        amplitude += np.power(10.0, -((1 - worse) * usual + worse * bad) / 20)
    return np.asarray(-20 * np.log10(amplitude), dtype=np.float64)


def delay_s(makeup: Makeup, rows: Rows) -> Reals:
    """Time from end to end in every row, branches left out. [s]"""
    slow = (QUICK + rows.share("velocity_factor") * (SLOW - QUICK))[:, 0]
    length = np.zeros(rows.count)
    for stretch in makeup.stretches:
        length += rows.pick("length_m", _three(stretch.length_m))
    return np.asarray(length / (slow * LIGHT_M_PER_S), dtype=np.float64)


def work(slot: Slot, *, loss: Reals, branch: Reals, near: Reals, delay: Reals, most_delay_s: float | None) -> Worked:
    """One receiver: margin = signal to noise of the best receiver - what it needs - 6 dB, and not over what is to spare
    of its own limit of loss. Where the delay is over its limit, it is under zero by 10 log of the ratio at least.

    Parameters
    ----------
    slot : Slot
        The receiver and its place on the grid.
    loss, branch, near : array
        Loss of cable and joints, of the branches, and NEXT loss: rows by frequencies. [dB]
    delay : array
        Time from end to end, one for each row. [s]
    most_delay_s : float or None
        Its limit of delay. [s]

    Returns
    -------
    Worked
        All steps, one value for each row.

    References
    ----------
    Salz 1973 as in `pullstring.copper.receiver`; the limits row by row in ``limits.csv`` and ``phys.csv``.
    Checked in ``tests/copper/test_estimate.py``.
    """
    receiver = slot.receiver
    more = disturbers_db(disturbers=receiver.disturbers)
    heard = near - more if receiver.disturbers else None
    taken = loss + branch
    at = slot.nodes
    snr = snr_db(loss_db=taken[:, at], next_db=None if heard is None else heard[:, at])
    salz = weighted_salz_db(snr_db=snr, weight=slot.weight)
    spare = np.min(slot.limit_db - taken[:, slot.held], axis=1) if receiver.keeps_limit else None
    margin = salz - receiver.required_db - IMPLEMENTATION_DB
    by_signal = margin if spare is None else np.minimum(margin, spare)
    late = by_signal
    if most_delay_s is not None:
        over = 10 * np.log10(most_delay_s / np.maximum(delay, most_delay_s))
        late = np.where(delay > most_delay_s, np.minimum(by_signal, over), by_signal)
    return Worked(
        loss=loss[:, slot.main],
        next=None if heard is None else heard[:, slot.main],
        salz=salz,
        spare=spare,
        margin=np.asarray(late, dtype=np.float64),
        by_signal=by_signal,
        over_loss=(loss[:, at] - slot.reference_loss_db) @ slot.weight,
        over_next=None if heard is None else (slot.reference_next_db - heard[:, at]) @ slot.weight,
        over_branch=branch[:, at] @ slot.weight,
    )


def _wide(given: Interval) -> bool:
    return given.high > given.low


def _three(given: Interval) -> Reals:
    return np.array([given.low, given.middle, given.high])


def _gauge(stretch: Stretch) -> Interval | None:
    """Its gauge; that of a cord nobody has read begins at what its models are made for, so that stranding never helps."""
    if stretch.awg is not None or not stretch.cord:
        return stretch.awg
    models = line_jacket(stretch.jacket).awg_of_models
    return Interval(max(CORD_AWG.low, models), max(CORD_AWG.high, models), "AWG")


def _names(stretch: Stretch) -> tuple[str, ...]:
    """The jackets that a stretch may have at its best, in the middle and at its worst: one where it is known."""
    jacket = line_jacket(stretch.jacket)
    return (jacket.ends[0], MIDDLE, jacket.ends[1]) if jacket.ends else (jacket.name,)


def _curves(rows: Rows, stretch: Stretch, which: int) -> Reals:
    held = [jacket_curves(name)[which] for name in _names(stretch)]
    return held[0] if len(held) == 1 else np.stack(held)[rows.position["jacket"]]


def _by_jacket(rows: Rows, stretch: Stretch, name: str, law: Callable[[Stretch, str], Reals]) -> Reals:
    held = [law(stretch, jacket) for jacket in _names(stretch)]
    if len(held) == 1:
        return rows.pick(name, held[0])
    return np.asarray(np.stack(held)[rows.position["jacket"], rows.position[name]], dtype=np.float64)


def _warm(stretch: Stretch, jacket: str) -> Reals:
    kind = "screened" if stretch.screened else line_jacket(jacket).warms_as
    return np.array([_warm_factor(kind, float(t)) for t in _three(stretch.temperature_c)])


@functools.lru_cache(maxsize=1024)
def _warm_factor(kind: str, temperature_c: float) -> float:
    held = min(max(temperature_c, COLDEST_C), HOTTEST_C)
    return loss_temperature_factor_extrapolated(kind=kind, temperature_c=held)


def _thin(stretch: Stretch, jacket: str) -> Reals:
    r"""Loss against that of the models' gauge: as 1/diameter, for at these frequencies current runs in the skin."""
    gauge = _gauge(stretch)
    if gauge is None:
        return np.ones(3)
    models = gauge_diameter_m(awg=line_jacket(jacket).awg_of_models)
    return np.array([models / gauge_diameter_m(awg=float(awg)) for awg in _three(gauge)])
