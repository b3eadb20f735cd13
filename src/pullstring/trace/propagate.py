"""Odds for large scenes: messages between outlets and units (an end, or a block of ends with all ways to part it).

Each unit is summed over exactly: its ends by elementary symmetric polynomials over the outlets, its partitions one by one.
Only the loops through several units are approximate [huang-jebara2009]. Readings over several outlets enter by what is
believed of the other outlets.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from pullstring.trace.exact import FLOOR
from pullstring.trace.relations import ON, BlockShape, Floats, layout, relations
from pullstring.trace.table import Shared, Table, subsets

ROUNDS, CLOSE, KEEP, SLOW = 150, 1e-6, 0.2, (50, 0.6)
"""Ours: at most so many rounds, until no belief moves by more; how much of its last log an answer keeps, and from when more."""
TINY, LARGE = 1e-300, 1e30
"""Ours: no chance below the one; no outlet counts as surer than the other to one."""
LIKELY = 1e-3
"""Ours: in a reading over several outlets only those believed on its net above this are counted among the others."""


Messages = tuple[Floats, Floats]
"""What ends say to outlets, and what blocks say to them on each hypothesis."""


@dataclasses.dataclass
class Spread:
    """Beliefs [outlets, hypotheses + 1], the last messages for a warm start, weights of partitions, log evidence by the method."""

    beliefs: Floats
    messages: Messages
    parts: dict[int, Floats]
    log_total: float
    rounds: int


def propagate(table: Table, start: Messages | None = None) -> Spread:
    """Beliefs of each outlet over its hypotheses and 'no cable here'; always finite, whatever the readings say."""
    if not table.scene.outlets or not table.scene.ends:
        return _without(table)
    spreading = _Spreading(table, start)
    beliefs, rounds = np.zeros_like(table.logs), 0
    for rounds in range(1, ROUNDS + 1):
        spreading.hear_shared(beliefs if rounds > 1 else None)
        keep = 0.0 if rounds == 1 and start is None else SLOW[1] if rounds > SLOW[0] else KEEP
        spreading.answer(keep)
        last, beliefs = beliefs, spreading.beliefs()
        if np.abs(beliefs - last).max() < CLOSE:
            break
    parts, evidence = spreading.parts_and_evidence()
    return Spread(beliefs, (spreading.ends, spreading.blocks), parts, evidence, rounds)


class _Spreading:
    """One run: outlets tell each end how likely they are on it, ends and blocks answer.

    A message on a hypothesis says by how much more likely the rest of the scene makes it than being elsewhere. It is the
    product of what the end says (its count of outlets) and what the block says (how it is parted).
    """

    def __init__(self, table: Table, start: Messages | None) -> None:
        self.table, self.lay = table, layout(table.scene)
        self.weights = table.end_weights()
        self.part_logs = [table.part_logs(shape) for shape in self.lay.shapes]
        self.none = max(table.prior.no_cable, TINY)
        self.by_end = np.zeros((len(self.lay.end), table.scene.ends))
        self.by_end[np.arange(len(self.lay.end)), self.lay.end] = 1.0
        outlets = table.scene.outlets
        self.ends, self.blocks = start or (np.ones((outlets, table.scene.ends)), np.ones((outlets, len(self.lay.end))))
        self.chance, self.shift = _chances(table.logs)

    @property
    def weighed(self) -> Floats:
        """Weight of each outlet on each hypothesis, by what was read of it and what ends and blocks say."""
        found: Floats = self.chance[:, :-1] * self.ends[:, self.lay.end] * self.blocks
        return found

    def hear_shared(self, beliefs: Floats | None) -> None:
        """Readings over several outlets, the others as they are believed now."""
        if self.table.shared:
            known = _alone(self.table.logs, self.none) if beliefs is None else beliefs
            self.chance, self.shift = _chances(self.table.logs + _shared(self.table, known))

    def beliefs(self) -> Floats:
        weighed = np.concatenate([self.weighed, self.chance[:, -1:] * self.none], axis=1)
        found: Floats = weighed / np.maximum(weighed.sum(axis=1, keepdims=True), TINY)
        return found

    def answer(self, keep: float) -> None:
        """What ends and blocks say to what the outlets told; `keep` is the part of the last answer that is kept, in its log."""
        weighed = self.weighed
        ratio, _, _ = self._to_ends(weighed)
        _, without, on_it = _counts(ratio, self.weights)
        blocks = np.ones_like(self.blocks)
        for shape, logs in zip(self.lay.shapes, self.part_logs, strict=True):
            log_sums = self._to_parts(weighed, shape)
            by_part = log_sums.sum(axis=0) + logs - log_sums
            odds = np.exp(by_part - by_part.max(axis=-1, keepdims=True))
            shares = odds / odds.sum(axis=-1, keepdims=True)
            blocks[:, shape.rows.ravel()] = (shares @ shape.inside).reshape(len(ratio), -1)
        self.ends = self.ends**keep * np.maximum(on_it / without, TINY) ** (1 - keep)
        self.blocks = self.blocks**keep * np.maximum(blocks, TINY) ** (1 - keep)

    def _to_ends(self, weighed: Floats) -> tuple[Floats, Floats, Floats]:
        """Weight of each outlet on each end against being elsewhere, the weight of elsewhere, and of all together."""
        none = self.chance[:, -1:] * self.none
        told = weighed @ self.by_end / np.maximum(self.ends, TINY)
        total = np.maximum(weighed.sum(axis=1) + none[:, 0], TINY)
        elsewhere = np.maximum(weighed @ (1.0 - self.by_end) + none, total[:, None] / LARGE)
        return told / elsewhere, elsewhere, total

    def _to_parts(self, weighed: Floats, shape: BlockShape) -> Floats:
        """Log of what each outlet gives each partition of each block of one size."""
        outside = np.ones((weighed.shape[1], len(shape.rows)))
        np.put_along_axis(outside, shape.rows.T, 0.0, axis=0)
        rest = weighed @ outside + self.chance[:, -1:] * self.none
        told = weighed[:, shape.rows] / np.maximum(self.blocks[:, shape.rows], TINY)
        found: Floats = np.log(np.maximum(rest[..., None] + told @ shape.inside.T, TINY))
        return found

    def parts_and_evidence(self) -> tuple[dict[int, Floats], float]:
        """Chance of each partition of each block, and the log of the sum over everything as the method has it."""
        weighed = self.weighed
        ratio, elsewhere, total = self._to_ends(weighed)
        whole, _, _ = _counts(ratio, self.weights)
        evidence = float(np.log(whole).sum() + np.log(elsewhere / total[:, None]).sum())
        evidence += float(np.log(total).sum() + self.shift.sum())
        parts: dict[int, Floats] = {}
        for shape, logs in zip(self.lay.shapes, self.part_logs, strict=True):
            log_sums = self._to_parts(weighed, shape) - np.log(total)[:, None, None]
            by_part = log_sums.sum(axis=0) + logs
            top = by_part.max(axis=1, keepdims=True)
            odds = np.exp(by_part - top)
            evidence += float((np.log(odds.sum(axis=1)) + top[:, 0]).sum())
            parts.update({b: o / o.sum() for b, o in zip(shape.blocks, odds, strict=True)})
        return parts, evidence


def _without(table: Table) -> Spread:
    """No outlets, or no ends: nothing to weigh but 'no cable here'."""
    beliefs = np.zeros_like(table.logs)
    beliefs[:, -1] = 1.0
    lay = layout(table.scene)
    parts: dict[int, Floats] = {}
    log_total = 0.0
    for shape in lay.shapes:
        logs = table.part_logs(shape)
        odds = np.exp(logs - logs.max(axis=1, keepdims=True))
        log_total += float(np.log(odds.sum(axis=1)).sum() + logs.max(axis=1).sum())
        parts.update({b: o / o.sum() for b, o in zip(shape.blocks, odds, strict=True)})
    log_total += float(np.log(np.maximum(table.end_weights()[:, 0], TINY)).sum())
    log_total += float(table.logs[:, -1].sum()) + len(beliefs) * float(np.log(max(table.prior.no_cable, TINY)))
    messages = np.ones((len(beliefs), table.scene.ends)), np.ones((len(beliefs), len(lay.end)))
    return Spread(beliefs, messages, parts, log_total, 0)


def _chances(logs: Floats) -> tuple[Floats, Floats]:
    shift = logs.max(axis=1, keepdims=True)
    return np.exp(np.maximum(logs - shift, FLOOR)), shift


def _alone(logs: Floats, none: float) -> Floats:
    chance, _ = _chances(logs)
    chance[:, -1] *= none
    found: Floats = chance / chance.sum(axis=1, keepdims=True)
    return found


def _symmetric(ratio: Floats, most: int) -> tuple[Floats, Floats]:
    """Elementary symmetric polynomials of each column up to a degree: of all rows, and without each row.

    The rows before and the rows after are multiplied up and joined: only sums of what is positive, so no digit is lost.
    """
    count, ends = ratio.shape
    both = np.stack([ratio, ratio[::-1]], axis=1)[:, :, None, :]
    sums = np.zeros((count + 1, 2, most + 1, ends))
    sums[0, :, 0] = 1.0
    for n in range(count):
        sums[n + 1] = sums[n]
        sums[n + 1, :, 1:] += sums[n, :, :-1] * both[n]
    before, after = sums[:-1, 0], sums[-2::-1, 1]
    without = np.stack([sum(before[:, j] * after[:, k - j] for j in range(k + 1)) for k in range(most + 1)], axis=1)
    return sums[-1, 0], without


def _counts(ratio: Floats, weights: Floats) -> tuple[Floats, Floats, Floats]:
    """For each end its sum over counts of outlets; the same without each outlet; and with that outlet on it."""
    sums, left = _symmetric(ratio, weights.shape[1] - 1)
    whole = (weights.T * sums).sum(axis=0)
    without = (left * weights.T).sum(axis=1)
    on_it = (left[:, :-1] * weights.T[1:]).sum(axis=1)
    return np.maximum(whole, TINY), np.maximum(without, TINY), np.maximum(on_it, TINY)


def _shared(table: Table, beliefs: Floats) -> Floats:
    """What readings over several outlets add for each of them, the others standing as they are believed."""
    found = np.zeros_like(beliefs)
    for one in table.shared.values():
        on = relations(table.scene, one.opened)[:, one.end] == ON
        chance = dict(zip(one.members, (beliefs[list(one.members)] * on).sum(axis=1), strict=True))
        for outlet in one.members:
            others = {o: c for o, c in chance.items() if o != outlet and c > LIKELY}
            there, away = _with_and_without(one, outlet, others, most=len(table.prior.by_count) - 1)
            found[outlet] += np.where(on, np.log(there), np.log(away))
    return found


def _with_and_without(one: Shared, outlet: int, others: dict[int, float], *, most: int) -> tuple[float, float]:
    """Chance of the reading with and without an outlet on its net, over who else is there."""
    likely = tuple(sorted(others, key=lambda o: (-others[o], o))[:10])
    there = away = weight = 0.0
    for present in subsets(likely, min(most, len(likely))):
        share = float(np.prod([others[o] if o in present else 1 - others[o] for o in likely])) if likely else 1.0
        there += share * one.chance(present | {outlet})
        away += share * one.chance(present)
        weight += share
    return (max(there, TINY) / max(weight, TINY), max(away, TINY) / max(weight, TINY))
