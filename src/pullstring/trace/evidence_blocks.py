"""Ends that may be joined in the closet or out of sight, since when they are parted, and whether an end was alone when it was read.

House rules
-----------
1. Rows are taken as not joined unless somebody noted a clip, a jumper, or two wires on one row; that is listed as assumed.
2. Ends may be joined out of sight (a ring comes back) when their cable is one, when a tone went from one to the other, or when
   one thing was heard or read alike on both.
3. An end was alone when its pair was taken off the block, or when all its clips were lifted by then. A ring has no clip: an end
   of a ring is never alone.
"""

from __future__ import annotations

import dataclasses
import enum
import functools
import math
from collections.abc import Iterable, Mapping, Sequence

from pullstring.model.grades import grade
from pullstring.model.refs import Ref
from pullstring.trace import readings as read
from pullstring.trace.assumed import constants
from pullstring.trace.assumed_evidence import logit, weights
from pullstring.trace.evidence_ground import Ground, ends_on_row, moment, odds_of
from pullstring.trace.scene import MOST_IN_BLOCK


class Joined(enum.StrEnum):
    """How two ends may be joined."""

    CLIP = "clip"
    ROW = "row"
    RING = "ring"
    HEARD = "heard"


BY_HAND = (Joined.CLIP, Joined.ROW)
"""What a person can lift in the closet."""


@dataclasses.dataclass(frozen=True)
class Touch:
    """Two ends that may be joined: how, with what chance by itself, since when parted (seconds; None: not), the entries."""

    a: Ref
    b: Ref
    how: Joined
    chance: float
    parted: float | None
    because: tuple[str, ...]

    @property
    def ends(self) -> frozenset[Ref]:
        """Both ends."""
        return frozenset((self.a, self.b))


@dataclasses.dataclass(frozen=True)
class Block:
    """Ends that may be joined to each other, and what may join them."""

    ends: tuple[Ref, ...]
    touches: tuple[Touch, ...]


@dataclasses.dataclass(frozen=True)
class Blocks:
    """All blocks of a scene, and touches that found no room in one."""

    all: tuple[Block, ...]
    left: tuple[Touch, ...] = ()

    @functools.cached_property
    def number(self) -> Mapping[Ref, int]:
        """The number of the block in which an end stands."""
        return {end: n for n, block in enumerate(self.all) for end in block.ends}

    def alone(self, end: Ref, *, at: float, lifted: bool) -> bool:
        """Whether an end stood by itself when it was read; `lifted`: somebody said so of the reading."""
        if (number := self.number.get(end)) is None:
            return False
        block = self.all[number]
        if any(t.how not in BY_HAND for t in block.touches):
            return False
        return lifted or all(t.parted is not None and t.parted <= at for t in block.touches if end in t.ends)

    def opened(self, ends: Iterable[Ref], *, at: float, lifted: bool) -> frozenset[int]:
        """Numbers of the blocks that count as opened for a reading at these ends."""
        found: dict[int, bool] = {}
        for end in ends:
            if (number := self.number.get(end)) is not None:
                found[number] = found.get(number, True) and self.alone(end, at=at, lifted=lifted)
        return frozenset(n for n, alone in found.items() if alone)


def noted(ground: Ground) -> tuple[Touch, ...]:
    """Touches that somebody noted: clips, jumpers, two wires on a row, two ends of one cable; lifted clips too."""
    return tuple([*_clips(ground), *_on_one_row(ground), *_rings(ground)])


def _clips(ground: Ground) -> Iterable[Touch]:
    site = ground.site
    said: dict[frozenset[Ref], tuple[float, list[str]]] = {}
    parted: dict[frozenset[Ref], float] = {}
    for claim in site.about(relation="joined"):
        if claim.subject.kind in _HOLDS and claim.object.kind in _HOLDS:
            _note(said, frozenset((claim.subject, claim.object)), odds_of(claim), claim.entries)
    for joint in site.of_kind("joint"):
        places = [r for r in joint.refs_of("ends") if r.kind in _HOLDS]
        if joint.text("style") != "clip" or len(places) < 2 or joint.text("state") == "planned":
            continue
        account = joint.fields["ends"].last
        for one, other in zip(places, places[1:], strict=False):
            pair = frozenset((one, other))
            _note(said, pair, grade(account.evidence.grade).odds, (account.entry,))
            if joint.text("state") == "removed":
                done = [d for d in site.done if d.subject == joint.ref and d.act == "take out"]
                parted[pair] = max((moment(d.at) for d in done), default=-math.inf)
    for act in sorted(site.done, key=lambda d: moment(d.at)):
        if act.object is None or act.act not in ("part", "join") or act.subject.kind not in _HOLDS:
            continue
        pair = frozenset((act.subject, act.object))
        _note(said, pair, grade("seen").odds, (act.entry,))
        if act.act == "part":
            parted[pair] = moment(act.at)
        else:
            parted.pop(pair, None)
    for pair, (chance, because) in said.items():
        for a, b in _between(ground, pair):
            yield Touch(a, b, Joined.CLIP, chance, parted.get(pair), tuple(dict.fromkeys(because)))


_HOLDS = ("row", "pair", "end")


def _note(
    said: dict[frozenset[Ref], tuple[float, list[str]]], pair: frozenset[Ref], chance: float, entries: Sequence[str]
) -> None:
    before, because = said.get(pair, (0.0, []))
    said[pair] = max(before, chance), [*because, *entries]


def _between(ground: Ground, pair: frozenset[Ref]) -> Iterable[tuple[Ref, Ref]]:
    """Ends that take part on either side of a clip; a pair on its own row joins nothing."""
    if len(pair) != 2:
        return
    one, other = (_ends_at(ground, ref) for ref in sorted(pair))
    for a in one:
        for b in other:
            if a != b and a in ground.end_number and b in ground.end_number:
                yield (a, b) if a < b else (b, a)


def _ends_at(ground: Ground, ref: Ref) -> tuple[Ref, ...]:
    if ref.kind == "row":
        return ends_on_row(ground.site).get(ref, ())
    if ref.kind == "pair":
        cable = Ref("cable", ref.parent_tag or "?")
        return tuple(e.ref for e in ground.site.ends_by_cable.get(cable, ()) if e.ref in ground.end_number)
    return (ref,)


def _on_one_row(ground: Ground) -> Iterable[Touch]:
    for row, ends in ends_on_row(ground.site).items():
        here = sorted(e for e in ends if e in ground.end_number)
        for n, a in enumerate(here):
            for b in here[n + 1 :]:
                claims = [c for e in (a, b) for c in ground.site.about(subject=e, object=row)]
                chance = min((odds_of(c) for c in claims), default=grade("seen").odds)
                yield Touch(a, b, Joined.ROW, chance, None, tuple(e for c in claims for e in c.entries))


def _rings(ground: Ground) -> Iterable[Touch]:
    """Two closet ends of one cable, by its tag or by a claim."""
    site = ground.site
    for ends in site.ends_by_cable.values():
        near = [e for e in ends if e.ref in ground.end_number]
        for n, a in enumerate(near):
            for b in near[n + 1 :]:
                accounts = [e.fields["cable"].last for e in (a, b)]
                chance = min(grade(x.evidence.grade).odds for x in accounts)
                yield Touch(a.ref, b.ref, Joined.RING, chance, None, tuple(x.entry for x in accounts))
    for claim in site.about(relation="other_end"):
        if claim.subject in ground.end_number and claim.object in ground.end_number:
            yield Touch(claim.subject, claim.object, Joined.RING, odds_of(claim), None, claim.entries)


def blocks_of(touches: Sequence[Touch]) -> Blocks:
    """Blocks from touches, the likeliest first; what would make a block too large is left."""
    member: dict[Ref, set[Ref]] = {}
    kept: list[Touch] = []
    left: list[Touch] = []
    for touch in sorted(touches, key=lambda t: (-t.chance, t.a, t.b, t.how)):
        together = member.get(touch.a, {touch.a}) | member.get(touch.b, {touch.b})
        if len(together) > MOST_IN_BLOCK:
            left.append(touch)
            continue
        kept.append(touch)
        member.update(dict.fromkeys(together, together))
    groups = sorted({tuple(sorted(ends)) for ends in member.values()})
    return Blocks(
        tuple(Block(ends, tuple(t for t in kept if t.a in ends)) for ends in groups),
        tuple(left),
    )


def leanings(ground: Ground, blocks: Blocks) -> Iterable[read.JoinLeaning]:
    """What is known of each touch by itself, against the chance that the engine takes for granted."""
    usual = math.log(constants()["prior_joined"])
    for block in blocks.all:
        best: dict[frozenset[Ref], Touch] = {}
        for touch in block.touches:
            if touch.ends not in best or best[touch.ends].chance < touch.chance:
                best[touch.ends] = touch
        for touch in best.values():
            yield read.JoinLeaning(
                key=f"{touch.how} {touch.a} {touch.b}",
                a=ground.end_number[touch.a],
                b=ground.end_number[touch.b],
                log_odds=logit(touch.chance) - usual,
                because=touch.because,
            )


def heard_alike(
    ground: Ground, found: Iterable[tuple[Ref, Ref, tuple[str, ...]]], known: Sequence[Touch]
) -> tuple[Touch, ...]:
    """Touches that nobody noted, for ends on which one thing was heard or read alike."""
    there = blocks_of(known).number
    out: dict[frozenset[Ref], Touch] = {}
    for a, b, because in found:
        if a == b or a not in ground.end_number or b not in ground.end_number:
            continue
        if a in there and there[a] == there.get(b):
            continue  # what is noted may join them already
        first, second = sorted((a, b))
        before = out.get(frozenset((a, b)))
        entries = tuple(dict.fromkeys((*(before.because if before else ()), *because)))
        jackets = {j for j in (ground.jacket(a), ground.jacket(b)) if j}
        chance = weights()["hidden_joined_unlike" if len(jackets) > 1 else "hidden_joined"]
        out[frozenset((a, b))] = Touch(first, second, Joined.HEARD, chance, None, entries)
    return tuple(out.values())


def bundles(ground: Ground) -> tuple[tuple[int, ...], ...]:
    """Ends that are claimed to lie beside each other, as rows of neighbours; an end has two neighbours at most."""
    beside: dict[int, list[int]] = {}
    for claim in ground.site.about(relation="beside"):
        a, b = (ground.end_number.get(ref) for ref in (claim.subject, claim.object))
        if a is None or b is None or a == b or b in beside.get(a, []):
            continue
        if len(beside.get(a, [])) < 2 and len(beside.get(b, [])) < 2 and b not in _row_from(beside, a):
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
    found: list[tuple[int, ...]] = []
    for end in sorted(beside):
        if len(beside[end]) == 1 and not any(end in row for row in found):
            found.append(_row_from(beside, end))
    return tuple(found)


def _row_from(beside: Mapping[int, Sequence[int]], end: int) -> tuple[int, ...]:
    """All ends reached from one, in order when it is the last of its row."""
    row, todo = [], [end]
    while todo:
        here = todo.pop()
        if here not in row:
            row.append(here)
            todo += [e for e in beside.get(here, ()) if e not in row]
    return tuple(row)
