"""From the record to what the engine weighs: outlets and ends by number, blocks, readings with their entries, who is left out.

Every reading of the record that speaks of where a cable goes becomes a reading of the engine or is listed as not used, with the
reason. What people noted, saw or said becomes soft readings. Nothing here is certain: a strong claim is a strong leaning with the
odds of its grade. Ends of several closets stand in one scene (see `evidence_ground`).
"""

from __future__ import annotations

import collections
import dataclasses
import math
from collections.abc import Iterable, Mapping, Sequence

from pullstring.model.asbuilt import Site, once_a_site
from pullstring.model.refs import Ref
from pullstring.trace import evidence_blocks as joining
from pullstring.trace import evidence_heard as hearing
from pullstring.trace import evidence_looks as looking
from pullstring.trace import evidence_said as saying
from pullstring.trace import readings as read
from pullstring.trace.assumed import assumed_noise
from pullstring.trace.evidence_blocks import Block, Blocks
from pullstring.trace.evidence_ground import Ground, LeftOut, ground
from pullstring.trace.evidence_heard import Listened, NotUsed, Placement, Sent, Sources
from pullstring.trace.evidence_lengths import fits, marks
from pullstring.trace.evidence_ohms import equal, of_resistors
from pullstring.trace.scene import Scene

STANDS_OUT = 0.6
"""Ours: share from which on one end stands out among all for an outlet."""


@dataclasses.dataclass(frozen=True)
class Traced:
    """What is traced, by number: outlets and ends in order of their tags; readings with the entries they stand in.

    `blocks` name the ends of each block of the scene and what may join them. `placed` is what still sits on outlets and ends.
    `sent` are tones that reached no outlet; `tails` the far ends from which the wire of an outlet may come. `assumed` are codes.
    """

    ground: Ground
    scene: Scene
    outlets: tuple[Ref, ...]
    ends: tuple[Ref, ...]
    readings: tuple[read.Any, ...]
    left_out: tuple[LeftOut, ...]
    blocks: tuple[Block, ...]
    placed: tuple[Placement, ...]
    sent: tuple[Sent, ...]
    tails: Mapping[int, tuple[Ref, ...]]
    assumed: tuple[str, ...]
    not_used: tuple[NotUsed, ...]


@once_a_site
def traced(site: Site) -> Traced:
    """All evidence of a site on which end belongs to which outlet; the same whatever the order of the entries."""
    here = ground(site)
    placed = hearing.placements(here)
    blocks, heard, ohms, unused = _heard(here, placed)
    soft = [*saying.claims(here), *saying.labels(here), *looking.looks(here), *marks(here), *fits(here)]
    ends = list(saying.of_ends(here, heard.sent))
    joins = [*joining.leanings(here, blocks), *hearing.joinings(heard.between, here, blocks)]
    strong = _strong(here, [*heard.readings, *soft])
    tails = list(looking.tails(here, strong))
    every = [*heard.readings, *ohms, *soft, *(r for r, _ in tails), *ends, *joins]
    numbers = tuple(tuple(here.end_number[e] for e in block.ends) for block in blocks.all)
    return Traced(
        here,
        Scene(len(here.outlets), len(here.ends), joining.bundles(here), numbers),
        here.outlets,
        here.ends,
        tuple(sorted(every, key=lambda r: (type(r).__name__, r.key))),
        here.left_out,
        blocks.all,
        tuple(p for p in placed if p.until == math.inf and p.spot.other is None),
        tuple(heard.sent),
        {r.outlet: ends for r, ends in tails},
        _assumed(here, every, placed, blocks),
        tuple(dict.fromkeys(sorted([*unused, *_unsorted(site)], key=lambda n: (n.why, n.entry)))),
    )


def _heard(here: Ground, placed: Sequence[Placement]) -> tuple[Blocks, Listened, list[read.Ohms], list[NotUsed]]:
    """What was heard and read, with the blocks that it shows: listened to once for the blocks, and again with them."""
    touches = joining.noted(here)
    blocks = joining.blocks_of(touches)
    first = hearing.Ear(here, blocks, placed, Sources(here)).listen()
    ohms, _, _ = of_resistors(here, blocks, placed)
    found = [*hearing.direct(first.between), *hearing.alike(first.readings, here), *equal(ohms, here)]
    touches = hearing.rings_heard(first.between, (*touches, *joining.heard_alike(here, found, touches)))
    blocks = joining.blocks_of(touches)
    heard = hearing.Ear(here, blocks, placed, Sources(here)).listen()
    ohms, unused, _ = of_resistors(here, blocks, placed)
    unused += [
        NotUsed(e, "no thing")
        for one in heard.between
        if blocks.number.get(one.a, -1) != blocks.number.get(one.b, -2)
        for e in one.because[:1]
    ]
    return blocks, heard, ohms, [*unused, *heard.not_used]


def _strong(here: Ground, readings: Iterable[read.Any]) -> dict[int, dict[int, float]]:
    """By outlet the ends that everything read or said of it alone speaks for, as shares; only where one of them stands out."""
    noise = assumed_noise()
    scores: dict[int, dict[int, float]] = collections.defaultdict(lambda: dict.fromkeys(range(len(here.ends)), 0.0))
    for one in readings:
        if isinstance(one, read.Tone):
            scores[one.outlet][one.end] += math.log(noise.on[one.level] / noise.far[one.level])
        elif isinstance(one, read.Remote) and one.hit:
            scores[one.outlet][one.end] += math.log(noise.remote_hit / noise.remote_false)
        elif isinstance(one, read.Short) and one.closed and len(one.outlets) == 1:
            [outlet] = one.outlets
            scores[outlet][one.end] += math.log(noise.pair_hit / noise.pair_false)
        elif isinstance(one, read.Leaning):
            for end, log in one.log_weight.items():
                scores[one.outlet][end] += log
    shares = {}
    for outlet, by_end in scores.items():
        top = max(by_end.values(), default=0.0)
        raw = {e: math.exp(s - top) for e, s in by_end.items()}
        total = sum(raw.values())
        if total and 1 / total > STANDS_OUT:
            shares[outlet] = {e: w / total for e, w in raw.items()}
    return shares


def _assumed(
    here: Ground, readings: Sequence[read.Any], placed: Sequence[Placement], blocks: Blocks
) -> tuple[str, ...]:
    """What was taken for granted, as codes."""
    found = []
    if here.site.about(relation="ends_at"):
        found.append("trace_no_clip_unless_noted")
    if placed:
        found.append("trace_placed_stays")
    if any(isinstance(r, read.Leaning) and r.key.startswith("length") for r in readings):
        found.append("trace_lengths")
    if any(isinstance(r, read.Leaning) and r.key.startswith(("jackets", "tail")) for r in readings):
        found.append("trace_jackets")
    if blocks.left:
        found.append("trace_block_too_large")
    return tuple(found)


def _unsorted(site: Site) -> Iterable[NotUsed]:
    """Jottings of tones and readings that nobody sorted yet."""
    for jotting in site.of_kind("jotting"):
        speaks = jotting.text("what") == "tone" or (jotting.text("what") == "reading" and jotting.text("value"))
        if speaks and not jotting.text("sorted"):
            yield NotUsed(jotting.entries[0], "unsorted")
