"""What is traced: outlets and cable ends by number, who lies beside whom, and which ends may be joined.

House rules: outlets and ends are numbered from 0. An outlet is *on* a net: the group of joined ends to which its own cable
leads, or none when it has no cable here. A block is any set of ends that may be joined in the closet; each end stands in one
block at most. A bundle lists ends in the order in which they lie side by side.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator, Sequence

Net = frozenset[int]
NO_NET: Net = frozenset()
"""The net of an outlet without a cable here."""


class BadScene(ValueError):
    """The numbers of a scene or of a reading do not fit together; all faults, one sentence each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))


@dataclasses.dataclass(frozen=True)
class Scene:
    """How many outlets and ends there are, which ends lie beside each other, and which may be joined.

    Parameters
    ----------
    outlets, ends : int
        Their counts; zero is allowed.
    bundles : tuple of tuples of int
        Ends side by side, in order; each end at most once.
    blocks : tuple of tuples of int
        Ends that may be joined to each other; each end in one block at most, at most `MOST_IN_BLOCK` ends in a block.

    Raises
    ------
    BadScene
        An unknown or repeated end, a count below zero, or a block that is too large.
    """

    outlets: int
    ends: int
    bundles: tuple[tuple[int, ...], ...] = ()
    blocks: tuple[tuple[int, ...], ...] = ()

    def __post_init__(self) -> None:
        faults = [f"{what} {count} is below zero" for what, count in _counts(self) if count < 0]
        for what, groups in (("bundle", self.bundles), ("block", self.blocks)):
            seen: set[int] = set()
            for end in (e for group in groups for e in group):
                if not 0 <= end < self.ends:
                    faults.append(f"{what}: end {end} is not one of the {self.ends} ends")
                elif end in seen:
                    faults.append(f"{what}: end {end} stands twice; leave one out")
                seen.add(end)
        faults += [
            f"block of {len(b)} ends is too large; at most {MOST_IN_BLOCK}"
            for b in self.blocks
            if len(b) > MOST_IN_BLOCK
        ]
        if faults:
            raise BadScene(faults)

    @functools.cached_property
    def beside(self) -> tuple[Net, ...]:
        """For each end the ends next to it in its bundle."""
        found: list[set[int]] = [set() for _ in range(self.ends)]
        for bundle in self.bundles:
            for a, b in zip(bundle, bundle[1:], strict=False):
                found[a].add(b)
                found[b].add(a)
        return tuple(frozenset(f) for f in found)

    @functools.cached_property
    def block_of(self) -> tuple[int | None, ...]:
        """For each end the number of its block; None outside."""
        found: list[int | None] = [None] * self.ends
        for number, block in enumerate(self.blocks):
            for end in block:
                found[end] = number
        return tuple(found)

    def neighbours(self, net: Net) -> Net:
        """Ends beside any end of a net, without the net itself."""
        return frozenset(e for end in net for e in self.beside[end]) - net

    @functools.cached_property
    def hypotheses(self) -> tuple[tuple[int, Net], ...]:
        """Each own end with each net it may be part of, by end; 'no cable here' is not among them."""
        return tuple((end, net) for end in range(self.ends) for net in self.nets_with(end))

    def nets_with(self, end: int) -> tuple[Net, ...]:
        """All nets of which an end may be part, the end alone first."""
        number = self.block_of[end]
        if number is None:
            return (frozenset((end,)),)
        others = [e for e in self.blocks[number] if e != end]
        nets = [
            frozenset((end, *(e for bit, e in enumerate(others) if mask >> bit & 1)))
            for mask in range(1 << len(others))
        ]
        return tuple(sorted(nets, key=lambda n: (len(n), sorted(n))))


MOST_IN_BLOCK = 6
"""Ours: 6 ends have 203 partitions, 8 would have 4140; larger blocks are cut into groups by what is known of the clips."""


def partitions(ends: Sequence[int]) -> Iterator[tuple[Net, ...]]:
    """All ways to part ends into groups, each once."""
    if not ends:
        yield ()
        return
    first, *rest = ends
    for parted in partitions(rest):
        yield (frozenset((first,)), *parted)
        for n, group in enumerate(parted):
            yield (*parted[:n], group | {first}, *parted[n + 1 :])


def _counts(scene: Scene) -> tuple[tuple[str, int], ...]:
    return ("count of outlets", scene.outlets), ("count of ends", scene.ends)
