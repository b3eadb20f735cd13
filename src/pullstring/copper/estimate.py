r"""What a run may carry by published models of old cable: margins with their brackets, and what decides them.

Margin = signal to noise of the best decision-feedback receiver - what the line code needs - 6 dB for real receivers.
10BASE-T and 10BASE-T1L are held to their own limit of loss besides. From 2.5 Gb/s up there is no model: the rule of
categories only.

Every rule is such that more length, heat, untwist, branches, joints, a thinner wire or a weaker jacket never raises a margin:

- A real chain with branches is not so: its nulls move, and a longer branch may do less at one frequency. So branches are judged
  by envelopes. The worst one gives no credit for anything above the first null (`tap_envelope_db`), the typical one takes the
  greatest mean over the band (`tap_mean_db`). What the chain really does is in `cascade`.
- Crosstalk is that of the worst jacket in the run, as if near and long. Cold and thick wire get no credit beyond the limit curves.
- Skew of 45 ns for 100 m is told and never decides: the delay limits are reached first.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.copper.cascade import tap_null_hz
from pullstring.copper.delay import cable_skew_s
from pullstring.copper.estimate_curves import BRANCH_MODEL, Slot, grid
from pullstring.copper.estimate_rows import (
    BEST,
    COLDEST_C,
    HOTTEST_C,
    INPUTS,
    MIDDLE_OF,
    MODELS,
    WORST,
    Rows,
    Worked,
    branch_loss_db,
    delay_s,
    line_loss_db,
    next_db,
    spread_inputs,
    work,
)
from pullstring.copper.limits_table import curve
from pullstring.copper.line_jackets import line_jacket, line_joints
from pullstring.copper.line_models import DB_PER_NEPER, QUICK, SLOW, Reals, attenuation_db
from pullstring.copper.makeup import Bracket, Branch, Makeup, Notch, Part, RateMargin, Splice, Stretch
from pullstring.copper.phy_limits import PhyNeeds, phys
from pullstring.copper.receiver import IMPLEMENTATION_DB
from pullstring.model.answers import Interval

__all__ = ["Branch", "Makeup", "Part", "RateMargin", "Splice", "Stretch", "margins"]

CATEGORIES = ("3", "5", "5e", "6", "6A")
"""From the least to the best."""

SAME = 1e-12
"""Smaller differences are the last bits of a float."""

LEAST_NOTCH_DB = 3.0
"""A branch whose nulls lie outside the band counts only if it takes half of the power there on the mean. Assumed by us. [dB]"""

TABLE_C = 60.0
"""Where the standard's factor of heat ends. [C] TIA-568-C.2 clause 6.4.7 (read in a published text)."""


@functools.lru_cache(maxsize=4096)
def margins(makeup: Makeup) -> tuple[RateMargin, ...]:
    """What each kind of Ethernet has to spare over a run: 10BASE-T, 100BASE-TX, 1000BASE-T, 10BASE-T1L, then those without
    a model.

    Parameters
    ----------
    makeup : Makeup
        The run. Pairs that nobody counted are taken as whole, and `assumed` says so.

    Returns
    -------
    tuple of RateMargin
        Margins [dB] as intervals that name the inputs and models whose spread made them; never NaN or infinite.

    References
    ----------
    Models, limits and receivers row by row in ``line_models.csv``, ``line_jackets.csv``, ``line_joints.csv``, ``limits.csv``
    and ``phys.csv``. Checked in ``tests/copper/test_estimate.py``.
    """
    plan = _Plan(makeup)
    judged = [plan.judge(slot) for slot in grid().slots]
    beyond = [_category_rule(makeup, needs, plan) for needs in phys().values() if not needs.model and needs.pairs == 4]
    return (*judged, *beyond)


class _Plan:
    """The rows of one run: all inputs at their best and worst under typical and worst models, then one fixed at a time."""

    def __init__(self, makeup: Makeup) -> None:
        self.makeup = makeup
        self.open = spread_inputs(makeup)
        corners = [(BEST, BEST), (WORST, BEST), (BEST, WORST), (WORST, WORST)]
        settings = [_setting(inputs, models, "") for inputs, models in corners]
        for name in self.open:
            settings += [_setting(inputs, models, name) for inputs, models in corners]
        self.first_model = len(settings)
        for name in MODELS:
            settings += [_setting(BEST, BEST, name), _setting(WORST, WORST, name)]
        self.rows = Rows({name: np.array([s[name] for s in settings]) for name in (*INPUTS, *MODELS)})
        self.delay_s = delay_s(makeup, self.rows)
        self.delay = self._between(self.delay_s.tolist(), 0, "s")
        self.skew = self._skew()
        self.modelled = bool(makeup.stretches) and all(
            line_jacket(s.jacket).modelled for s in (*makeup.stretches, *(b.stretch for b in makeup.branches))
        )
        if self.modelled:
            self.loss = line_loss_db(makeup, self.rows)
            self.branch = branch_loss_db(makeup, self.rows)
            self.near = next_db(makeup, self.rows)

    def judge(self, slot: Slot) -> RateMargin:
        """One receiver over this run."""
        needs = phys()[slot.receiver.name]
        good = self.makeup.good_pairs
        if good is not None and good < needs.pairs:
            return self.silent(needs, Part.PAIRS, None)
        if not self.modelled:
            return self.silent(needs, Part.NO_MODEL, None)
        most = needs.delay.value if needs.delay else None
        got = work(slot, loss=self.loss, branch=self.branch, near=self.near, delay=self.delay_s, most_delay_s=most)
        notch = _notch(self.makeup, needs)
        return RateMargin(
            name=needs.name,
            mbps=needs.mbps,
            part=_part(got, notch),
            margin=self.whole(got.margin, "dB"),
            margins=self.bracket(got.margin),
            frequency_hz=needs.signal_hz,
            loss=self.bracket(got.loss),
            notch=notch,
            next=None if got.next is None else self.bracket(got.next),
            salz=self.bracket(got.salz),
            spare_loss=None if got.spare is None else self.bracket(got.spare),
            required_db=slot.receiver.required_db,
            implementation_db=IMPLEMENTATION_DB,
            delay=self.delay,
            skew=self.skew,
            category_says=None,
            assumed=_assumed(self.makeup, slot),
        )

    def silent(self, needs: PhyNeeds, part: Part, category_says: bool | None) -> RateMargin:
        """A kind of Ethernet without a margin."""
        return RateMargin(
            name=needs.name,
            mbps=needs.mbps,
            part=part,
            margin=None,
            margins=None,
            frequency_hz=needs.signal_hz,
            loss=None,
            notch=None,
            next=None,
            salz=None,
            spare_loss=None,
            required_db=None,
            implementation_db=IMPLEMENTATION_DB,
            delay=self.delay,
            skew=self.skew,
            category_says=category_says,
            assumed=("pairs_taken_as_whole",) if self.makeup.good_pairs is None else (),
        )

    def bracket(self, values: Reals) -> Bracket:
        """A figure by the typical and by the worst models."""
        held = values.tolist()
        return Bracket(self._between(held, 0, "dB"), self._between(held, 2, "dB"))

    def whole(self, values: Reals, unit: str) -> Interval:
        """From the worst models at the worst inputs to the typical at the best."""
        held = values.tolist()
        width = abs(held[3] - held[0]) - SAME
        at = self.first_model
        fixed = [(name, 4 + 4 * i, 7 + 4 * i) for i, name in enumerate(self.open)]
        fixed += [(name, at + 2 * i, at + 2 * i + 1) for i, name in enumerate(MODELS)]
        return _interval(held[0], held[3], unit, [n for n, a, b in fixed if abs(held[b] - held[a]) < width])

    def _between(self, held: Sequence[float], first: int, unit: str) -> Interval:
        """Between the best and the worst inputs under one set of models: `first` is 0 for the typical, 2 for the worst."""
        width = abs(held[first + 1] - held[first]) - SAME
        at = [4 + 4 * i + first for i in range(len(self.open))]
        names = [n for n, a in zip(self.open, at, strict=True) if abs(held[a + 1] - held[a]) < width]
        return _interval(held[first], held[first + 1], unit, names)

    def _skew(self) -> Interval:
        """From none to the limit of the category, which an old cable may exceed."""
        longest = sum(s.length_m.high for s in self.makeup.stretches)
        return Interval(0.0, cable_skew_s(length_m=longest), "s", ("pair", "length_m")[: 1 + ("length_m" in self.open)])


def _setting(inputs: int, models: int, fixed: str) -> dict[str, int]:
    held = {**dict.fromkeys(INPUTS, inputs), **dict.fromkeys(MODELS, models)}
    return {**held, fixed: MIDDLE_OF} if fixed else held


def _interval(one: float, other: float, unit: str, names: Sequence[str]) -> Interval:
    return Interval(float(min(one, other)), float(max(one, other)), unit, tuple(names))


def _notch(makeup: Makeup, needs: PhyNeeds) -> Notch | None:
    """The deepest null of a branch that may lie between the low end of the band and the highest frequency of the signal."""
    found = [
        notch
        for i, branch in enumerate(makeup.branches)
        if (notch := _null_in_band(branch, i, low_hz=needs.band.low, high_hz=needs.signal_hz))
    ]
    return max(found, key=lambda notch: notch.depth.high, default=None)


def _null_in_band(branch: Branch, index: int, *, low_hz: float, high_hz: float) -> Notch | None:
    """The lowest null inside the band, over all lengths and velocities that put it there."""
    short, long_ = branch.stretch.length_m.low, branch.stretch.length_m.high
    if not long_ > 0:
        return None
    order = 1
    while (lowest := tap_null_hz(length_m=long_, velocity_factor=SLOW, order=order)) < low_hz:
        order += 1
    if lowest > high_hz:
        return None
    short = max(short, long_ * lowest / high_hz)
    corners = [
        (m, tap_null_hz(length_m=m, velocity_factor=v, order=order)) for m in (short, long_) for v in (SLOW, QUICK)
    ]
    inside = [(m, min(f, high_hz)) for m, f in corners]
    depths = [_depth_db(length_m=m, frequency_hz=f) for m, f in inside]
    names = ("branch_m", "velocity_factor") if long_ > branch.stretch.length_m.low else ("velocity_factor",)
    return Notch(
        Interval(min(f for _, f in inside), max(f for _, f in inside), "Hz", names),
        Interval(min(depths), max(depths), "dB", names),
        index,
    )


def _depth_db(*, length_m: float, frequency_hz: float) -> float:
    r"""At a null :math:`\tanh\gamma l=\coth\alpha l`: :math:`20\log_{10}(1+\coth(\alpha l)/2)` on a matched line."""
    nepers = float(attenuation_db(model=BRANCH_MODEL, frequency_hz=frequency_hz, length_m=length_m)) / DB_PER_NEPER
    return 20 * math.log10(1 + 1 / (2 * math.tanh(nepers)))


def _part(got: Worked, notch: Notch | None) -> Part:
    """What decides: a limit of delay alone, else a notch inside the band of a run that may fail (it must go before anything
    else can be judged), else what is worst against the cable the receiver was made for."""
    worst = 3
    if got.margin[worst] < 0 <= got.by_signal[worst]:
        return Part.DELAY
    if notch is not None and got.margin[worst] < 0:
        return Part.NOTCH
    over = {Part.LOSS: got.over_loss[worst], Part.NOTCH: got.over_branch[worst]}
    keeps_to_limit = got.spare is not None and got.spare[worst] <= got.by_signal[worst]
    if got.over_next is not None and not keeps_to_limit:
        over[Part.CROSSTALK] = got.over_next[worst]
    if notch is None and got.over_branch[worst] < LEAST_NOTCH_DB:
        del over[Part.NOTCH]
    return max(over, key=lambda part: over[part])


def _category_rule(makeup: Makeup, needs: PhyNeeds, plan: _Plan) -> RateMargin:
    """Rates without a model: all cable of the category or better, within reach, whole pairs, no branch and no splice."""
    good = makeup.good_pairs
    if good is not None and good < needs.pairs:
        return plan.silent(needs, Part.PAIRS, False)
    jackets = [line_jacket(s.jacket) for s in makeup.stretches]
    ranks = [CATEGORIES.index(j.category) if j.category else -1 for j in jackets if not j.ends]
    known = len(ranks) == len(jackets) > 0
    enough = all(rank >= CATEGORIES.index(needs.least_category) for rank in ranks)
    short = sum(s.length_m.high for s in makeup.stretches) <= needs.reach.value
    clean = not makeup.branches and all(splice.kind.startswith("jack") for splice in makeup.splices)
    says = None if not known and enough and short and clean else known and enough and short and clean
    return plan.silent(needs, Part.NO_MODEL, says)


def _assumed(makeup: Makeup, slot: Slot) -> tuple[str, ...]:
    """Codes of what a margin takes for granted; the sentences live with the words of the pages."""
    everything = (*makeup.stretches, *(b.stretch for b in makeup.branches))
    jackets = [line_jacket(s.jacket) for s in everything]
    tops = _tops_mhz()
    top = min((tops[j.next_curve] for j in jackets if j.next_curve), default=tops["3"])
    codes = {
        "limits_beyond_top": slot.receiver.disturbers > 0 and slot.receiver.top_hz / 1e6 > top,
        "no_table_for_jacket": any(not j.category for j in jackets),
        "jacket_unknown": any(j.ends for j in jackets),
        "gauge_of_kind": any(s.awg is None for s in everything),
        "cold_as_20": any(s.temperature_c.low < COLDEST_C for s in everything),
        "heat_beyond_60": any(s.temperature_c.high > TABLE_C for s in everything),
        "heat_as_90": any(s.temperature_c.high > HOTTEST_C for s in everything),
        "branch_envelope": bool(makeup.branches),
        "untwist_by_connection": any(s.untwisted_m.high > 0 for s in everything),
        "joint_as_splice": any(splice.kind not in line_joints() for splice in makeup.splices),
        "nothing_on_other_pairs": slot.receiver.disturbers == 0,
        "pairs_taken_as_whole": makeup.good_pairs is None,
    }
    return tuple(code for code, holds in codes.items() if holds)


@functools.cache
def _tops_mhz() -> Mapping[str, float]:
    """Where the limits of each category end."""
    held = {c: curve(part="cable", category=c, quantity="next", edition=None).pieces for c in CATEGORIES}
    return {category: max(piece.high for piece in pieces) for category, pieces in held.items()}
