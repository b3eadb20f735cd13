"""By which pathways a run can go: rooms that one pathway joins, and chains of them, floor by floor.

A way is known only where noted pathways lead from room to room; nothing is concluded from rooms lying side by side.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref


@dataclasses.dataclass(frozen=True)
class Step:
    """From one room to another through a pathway; no pathway within one room."""

    pathway: Ref | None
    start: Ref
    end: Ref


@dataclasses.dataclass(frozen=True)
class Gate:
    """Where a pathway leaves a floor: in which room, and to which rooms elsewhere."""

    pathway: Ref
    room: Ref


@dataclasses.dataclass(frozen=True)
class Leg:
    """The part of a way on one floor: from the run's own end (None) or a gate to its other end or a gate."""

    start: Gate | None
    end: Gate | None
    rooms: frozenset[Ref]


def joined_rooms(site: Site) -> Mapping[Ref, tuple[Ref, ...]]:
    """The rooms of each pathway that stands or is planned, in the order written."""
    return {p.ref: p.refs_of("rooms") for p in site.of_kind("pathway") if p.text("state") != "removed"}


def chain(pathways: Mapping[Ref, Sequence[Ref]], start: Ref, end: Ref) -> tuple[Step, ...] | None:
    """The shortest chain of pathways from room to room; None when the way is not known."""
    if start == end:
        return (Step(None, start, end),)
    came: dict[Ref, Step | None] = {start: None}
    waiting = collections.deque([start])
    while waiting:
        here = waiting.popleft()
        for pathway, rooms in sorted(pathways.items()):
            if here not in rooms:
                continue
            for room in rooms:
                if room not in came:
                    came[room] = Step(pathway, here, room)
                    waiting.append(room)
        if end in came:
            break
    if end not in came:
        return None
    steps: list[Step] = []
    while step := came[end]:
        steps.append(step)
        end = step.start
    return tuple(reversed(steps))


def legs(site: Site, pathways: Mapping[Ref, Sequence[Ref]], steps: Sequence[Step], floor: Ref) -> list[Leg]:
    """The parts of a way that lie on one floor."""
    found: list[Leg] = []
    start: Gate | None = None
    rooms: set[Ref] = set()
    here = floor_of(site, steps[0].start) == floor
    for step in steps:
        first, then = floor_of(site, step.start), floor_of(site, step.end)
        if first == then:
            if first == floor:
                rooms |= {r for r in (pathways[step.pathway] if step.pathway else (step.start,))}
            continue
        assert step.pathway is not None
        if first == floor and here:
            found.append(Leg(start, Gate(step.pathway, step.start), frozenset(rooms | {step.start})))
        here = then == floor
        start, rooms = Gate(step.pathway, step.end), {step.end} if here else set()
    if here:
        found.append(Leg(start, None, frozenset(rooms | {steps[-1].end})))
    return found


def floor_of(site: Site, room: Ref | None) -> Ref | None:
    """The floor of a room."""
    thing: Thing | None = site.get(room)
    return thing.ref_of("floor") if thing else None


def gates(site: Site, pathways: Mapping[Ref, Sequence[Ref]], floor: Ref, used: Sequence[Gate]) -> list[Gate]:
    """All places where a pathway leaves this floor: where runs use it, else in its first room here."""
    found = sorted(set(used), key=lambda g: (g.pathway, g.room))
    for pathway, rooms in sorted(pathways.items()):
        on = [r for r in rooms if floor_of(site, r) == floor]
        if on and len(on) < len(rooms) and not any(g.pathway == pathway for g in found):
            found.append(Gate(pathway, on[0]))
    return found
