"""How long it takes to walk from place to place: by the plan where there is one, by what touches where not, else by guesses.

Times are a metric: the same both ways, zero on the same place, and no way round is shorter. Doors that are shut cost time;
whether a door is locked, or a room let, is shown beside and decides nothing here. Walls inside a room's outline are not
seen, nor are slopes, and stairs are climbed where the two rooms lie above each other.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pullstring.model.asbuilt import Site, once_a_site
from pullstring.model.refs import Ref
from pullstring.reach.walking_guessed import net_of
from pullstring.reach.walking_net import Net, Pace
from pullstring.reach.walking_ways import HOW, SAME_S, Closed, Floats, Guesses, Whole, closed, inside_m
from pullstring.reach.walking_where import Spot, spot_of


@dataclasses.dataclass(frozen=True, order=True)
class Taken:
    """Something taken for granted on a way that is used: a code, and the things it was taken of."""

    code: str
    of: tuple[Ref, ...]


@dataclasses.dataclass(frozen=True, eq=False)
class Walking:
    """Seconds from each place to each other, how each is known ('plan', 'boxes', 'guessed'), and what was assumed."""

    places: tuple[Ref, ...]
    seconds: Floats
    how: npt.NDArray[np.str_]
    assumed: tuple[Taken, ...]


@functools.cache
def constants() -> dict[str, float]:
    """Every assumed constant of walking by its name."""
    text = (importlib.resources.files("pullstring.reach") / "walking_assumed.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


def assumed_guesses() -> Guesses:
    """What is assumed where no way is noted; ours."""
    c = constants()
    return Guesses(c["room_m"], c["outdoors_m"], c["unknown_m"], c["detour"], c["ladder_s"])


def walk_times(
    site: Site,
    places: Sequence[Ref],
    *,
    walk_m_per_s: float,
    stairs_s: float,
    door_s: float,
    guesses: Guesses | None = None,
) -> Walking:
    """Walking times between places: outlets, rooms, ends, units, blocks. [s]

    Parameters
    ----------
    places : sequence of Ref
        In any order; one may stand twice.
    walk_m_per_s : float
        Walking speed. [m/s]
    stairs_s : float
        One floor up or down. [s]
    door_s : float
        A shut door opened and passed. [s]
    guesses : Guesses or None
        What is assumed where no way is noted; `assumed_guesses()` if None.
    """
    pace = Pace(walk_m_per_s, stairs_s, door_s, guesses or assumed_guesses())
    net, between = _net(site, pace=pace)
    spots = [spot_of(net, ref) for ref in places]
    to_nodes, tiers = _to_nodes(net, spots, between, walk_m_per_s)
    seconds, known = _among(net, spots, to_nodes, tiers, walk_m_per_s)
    for number, spot in enumerate(spots):
        known[number, :] = np.maximum(known[number, :], spot.tier)
        known[:, number] = np.maximum(known[:, number], spot.tier)
    same = np.array([[a == b for b in places] for a in places], dtype=bool).reshape(len(places), len(places))
    seconds, known = np.where(same, 0.0, seconds), np.where(same, 0, known)
    taken = {Taken(s.code, (ref,)) for s, ref in zip(spots, places, strict=True) if s.code}
    return Walking(
        tuple(places), seconds, np.array(HOW)[known], tuple(sorted(taken | _used(net, to_nodes, seconds, walk_m_per_s)))
    )


@once_a_site
def _net(site: Site, *, pace: Pace) -> tuple[Net, Closed]:
    net = net_of(site, pace=pace)
    return net, closed(net.ways, walk_m_per_s=pace.walk_m_per_s)


def way_up(site: Site, *, walk_m_per_s: float, stairs_s: float, door_s: float, guesses: Guesses) -> dict[Ref, str]:
    """For each room how one gets up there: 'stairs' (or level ground), 'hatch', or 'not noted'."""
    net, _ = _net(site, pace=Pace(walk_m_per_s, stairs_s, door_s, guesses))
    return {
        ref: "stairs" if r in net.by_stairs else "hatch" if r in net.by_hatch else "not noted"
        for ref, r in net.rooms.items()
    }


def _to_nodes(net: Net, spots: list[Spot], between: Closed, walk_m_per_s: float) -> tuple[Floats, Whole]:
    """From each place to each node of the net. [s]"""
    count = len(net.ways.nodes)
    seconds = np.full((len(spots), count), np.inf)
    tiers = np.zeros((len(spots), count), dtype=np.int64)
    for region, mine in _by_region(spots).items():
        doors = between.of_region[region]
        if not doors:
            continue
        points = [*[spots[n].at for n in mine], *[net.ways.nodes[d][1] for d in doors]]
        first = inside_m(net.ways.regions[region], points)[: len(mine), len(mine) :] / walk_m_per_s
        for row, number in enumerate(mine):
            for column, door in enumerate(doors):
                by = first[row, column] + between.seconds[door]
                seconds[number], tiers[number] = _less(seconds[number], tiers[number], by, between.tiers[door])
    return seconds, tiers


def _among(net: Net, spots: list[Spot], to_nodes: Floats, tiers: Whole, walk_m_per_s: float) -> tuple[Floats, Whole]:
    """Between all places: inside one region, or by the last door before the other. [s]"""
    count = len(spots)
    seconds = np.full((count, count), np.inf)
    known = np.zeros((count, count), dtype=np.int64)
    by_node: dict[int, list[int]] = {}
    for node, (region, _) in enumerate(net.ways.nodes):
        by_node.setdefault(region, []).append(node)
    for region, mine in _by_region(spots).items():
        doors = by_node.get(region, [])
        points = [*[spots[n].at for n in mine], *[net.ways.nodes[d][1] for d in doors]]
        inside = inside_m(net.ways.regions[region], points) / walk_m_per_s
        seconds[np.ix_(mine, mine)] = inside[: len(mine), : len(mine)]
        for row, number in enumerate(mine):
            for column, door in enumerate(doors, len(mine)):
                by = to_nodes[:, door] + inside[row, column]
                seconds[:, number], known[:, number] = _less(seconds[:, number], known[:, number], by, tiers[:, door])
    known = np.where(seconds < seconds.T, known, np.where(seconds > seconds.T, known.T, np.minimum(known, known.T)))
    return np.minimum(seconds, seconds.T), known


def _less(seconds: Floats, tiers: Whole, by: Floats, tier: Whole) -> tuple[Floats, Whole]:
    better = (by < seconds - SAME_S) | ((by <= seconds + SAME_S) & (tier < tiers))
    return np.where(better, by, seconds), np.where(better, tier, tiers)


def _by_region(spots: list[Spot]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for number, spot in enumerate(spots):
        found.setdefault(spot.region, []).append(number)
    return found


def _used(net: Net, to_nodes: Floats, seconds: Floats, walk_m_per_s: float) -> set[Taken]:
    """What was taken for granted on edges that lie on a shortest way between two of the places."""
    found = set()
    for edge in net.ways.edges:
        if not edge.code or Taken(edge.code, edge.of) in found:
            continue
        cost = edge.seconds + edge.metres / walk_m_per_s
        by = to_nodes[:, edge.a, None] + cost + to_nodes[None, :, edge.b]
        if np.any(np.isfinite(by) & (by <= seconds + 1e-6)):
            found.add(Taken(edge.code, edge.of))
    return found
