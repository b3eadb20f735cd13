"""Carries acts of a way of working out in the world and tells it what was read. It sees no truth, only readings and places."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Sequence
from typing import Any, Protocol

from bench.tracing_world.truth import Ends
from bench.tracing_world.world import NotPossible, World

MOST_STEPS = 20_000


class Act(Protocol):
    """One act: its kind, at which place or end, and with what."""

    @property
    def kind(self) -> str: ...
    @property
    def at(self) -> int: ...
    @property
    def what(self) -> Any: ...


class Way(Protocol):
    """A way of working: acts until there are none, then an answer for each outlet."""

    def next_acts(self) -> Sequence[Act]: ...
    def told(self, readings: Sequence[Any], *, position: int, seconds: float) -> None: ...
    def answer(self) -> Sequence[Ends]: ...
    def claimed(self) -> Sequence[float]: ...


@dataclasses.dataclass(frozen=True)
class Finished:
    """One job done: seconds on site, acts, what is said of each outlet and how surely, processor time all told and at worst."""

    seconds: float
    acts: int
    answer: tuple[Ends, ...]
    claimed: tuple[float, ...]
    cpu_s: float
    slowest_s: float
    readings: tuple[Any, ...]


def drive(way: Way, world: World) -> Finished:
    """Do what is next until nothing is."""
    readings: list[Any] = []
    cpu_s = slowest_s = 0.0
    if before := world.said_before():
        readings += before
        way.told(before, position=world.position, seconds=world.clock_s)
    for _ in range(MOST_STEPS):
        start = time.process_time()
        acts = way.next_acts()
        took = time.process_time() - start
        fresh = [reading for act in acts for reading in carry_out(world, act)]
        readings += fresh
        if acts:
            start = time.process_time()
            way.told(tuple(fresh), position=world.position, seconds=world.clock_s)
            took += time.process_time() - start
        cpu_s, slowest_s = cpu_s + took, max(slowest_s, took)
        if not acts:
            world.close()
            said, sure = tuple(way.answer()), tuple(way.claimed())
            return Finished(world.clock_s, world.acts, said, sure, cpu_s, slowest_s, tuple(readings))
    raise NotPossible(f"after {MOST_STEPS} steps there is still something to do")


def carry_out(world: World, act: Act) -> tuple[Any, ...]:
    """One act, walking to its place first."""
    if act.kind not in ACTS:
        raise NotPossible(f"nobody knows how to {act.kind}")
    where, do = ACTS[act.kind]
    if where == OUTLET:
        world.walk(act.at)
    elif where == CLOSET:
        world.walk(world.site.closet)
    found = do(world, act)
    return found if isinstance(found, tuple) else () if found is None else (found,)


def put_on_end(world: World, act: Act) -> None:
    """A mark is named by its number, a plug by the set of pairs that it shorts, or by its word when the bag has no marks."""
    if isinstance(act.what, frozenset):
        world.plug(act.at, sum(1 << pair for pair in act.what))
    elif world.bag.marks:
        world.mark(act.at, act.what)
    else:
        world.plug(act.at, act.what)


OUTLET, CLOSET, ANYWHERE = "outlet", "closet", "anywhere"
ACTS: dict[str, tuple[str, Callable[[World, Act], Any]]] = {
    "walk": (ANYWHERE, lambda world, act: world.walk(act.at)),
    "place tone": (OUTLET, lambda world, act: world.place_tone(act.at)),
    "take off tone": (OUTLET, lambda world, act: world.take_off_tone(act.at)),
    "place remote": (OUTLET, lambda world, act: world.place_remote(act.at, act.what)),
    "take off remote": (OUTLET, lambda world, act: world.take_off_remote(act.at)),
    "touch": (CLOSET, lambda world, act: world.touch(act.at)),
    "touch set": (CLOSET, lambda world, act: world.touch_set(frozenset(act.what))),
    "clip": (CLOSET, lambda world, act: world.clip(act.at)),
    "mark": (CLOSET, put_on_end),
    "read": (OUTLET, lambda world, act: world.read_outlet(act.at)),
    "tag": (ANYWHERE, lambda world, act: world.tag(act.at)),
}
