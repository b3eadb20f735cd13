"""All paths from a sender to points, by numpy: the reference that says what the compiled kernels must give.

Power sum of the straight path, of paths round the edges of openings in which nothing stands (one, or two in a row), and
of reflections found by images, first and second order; also of one edge and one reflection. Every leg loses what its
walls take at its angle in both polarisations. Phases between paths are left out: what is added up is the mean over
about a metre.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.radio import gates as gate
from pullstring.radio import legs
from pullstring.radio.legs import Floats, Rays
from pullstring.radio.materials import LIGHT_M_PER_S
from pullstring.radio.skins import Responses
from pullstring.radio.surfaces import Place, Surfaces, Whole

NEAREST_M = 0.5  # ours: nearer than this the far field of an antenna does not hold


@dataclasses.dataclass(frozen=True)
class Kinds:
    """Which paths are followed: reflections in a row, edges of openings in a row, each 0 to 2."""

    reflections: int
    openings: int

    @property
    def mixed(self) -> bool:
        """Whether one edge and one reflection in a row are followed too: with the second order of reflections."""
        return self.reflections > 1 and self.openings > 0


@dataclasses.dataclass(frozen=True)
class House:
    """Everything made once for a scene: surfaces, tables of its skins, openings in which nothing stands."""

    surfaces: Surfaces
    made: Responses
    gates: tuple[gate.Gate, ...]

    @property
    def wavelength_m(self) -> Floats:
        """By band. [m]"""
        return LIGHT_M_PER_S / self.made.frequencies_hz


@dataclasses.dataclass(frozen=True)
class Arrived:
    """Paths of one kind that reach some of the points."""

    kind: str
    which: Whole
    share: Floats
    """Power that arrives over power radiated, with antennas of no gain [bands, m]. [1]"""
    crossings: NDArray[np.uint8]
    leaves: Floats
    """Unit vector in which the path leaves the sender [m, 3], for its antenna."""
    touched: tuple[int, ...] = ()
    """Patches (openings) by whose edges the path goes."""


@dataclasses.dataclass(frozen=True)
class _Turn:
    """Where a path leaves its line: at a surface that throws it back (with its skins), or at an edge of a wall."""

    surface: int
    skin: Whole | None


def all_paths(house: House, sender: Floats, points: Floats, kinds: Kinds) -> Iterator[Arrived]:
    """Paths of every kind asked for from a sender [3] to points [m, 3]."""
    yield straight(house, sender, points)
    if kinds.openings:
        yield from by_one_gate(house, sender, points)
    if kinds.openings > 1:
        yield from by_two_gates(house, sender, points)
    for order in range(1, kinds.reflections + 1):
        for mirrors in itertools.permutations(range(house.surfaces.total), order):
            yield from by_mirrors(house, sender, points, mirrors)
    if kinds.mixed:
        yield from by_edge_and_mirror(house, sender, points)


def straight(house: House, sender: Floats, points: Floats) -> Arrived:
    """The straight path to every point."""
    A = np.broadcast_to(sender, points.shape)
    return _follow(house, "straight", np.arange(len(points)), [A, points], [])


def by_one_gate(house: House, sender: Floats, points: Floats) -> Iterator[Arrived]:
    """Round each edge of each opening to points on the other side of its wall."""
    for one in house.gates:
        which = np.flatnonzero(_parts(house, one.wall, sender[None], points))
        A, B = np.broadcast_to(sender, (len(which), 3)), points[which]
        for edge in one.edges if len(which) else ():
            found = _follow(house, "opening", which, [A, gate.bend(edge, A, B), B], [_Turn(one.wall, None)])
            yield dataclasses.replace(found, touched=(one.patch,))


def by_two_gates(house: House, sender: Floats, points: Floats) -> Iterator[Arrived]:
    """By two openings in walls of their own, on the shortest string through both, where it bends at both."""
    for one, two in itertools.permutations(house.gates, 2):
        if one.wall == two.wall:
            continue
        A = np.broadcast_to(sender, points.shape)
        P, Q = gate.taut(one, two, A, points)
        bent = gate.at_edge(one, P) & gate.at_edge(two, Q)
        bent &= _parts(house, one.wall, sender[None], Q) & _parts(house, two.wall, P, points)
        which = np.flatnonzero(bent)
        if len(which):
            stops = [A[which], P[which], Q[which], points[which]]
            found = _follow(house, "two openings", which, stops, [_Turn(one.wall, None), _Turn(two.wall, None)])
            yield dataclasses.replace(found, touched=(one.patch, two.patch))


def by_mirrors(house: House, sender: Floats, points: Floats, mirrors: Sequence[Place]) -> Iterator[Arrived]:
    """Thrown back by surfaces one after the other, found by the images of the sender."""
    images = [sender]
    for m in mirrors:
        images.append(_image(house, m, images[-1]))
    which, stops = np.arange(len(points)), [points]
    turns: list[_Turn] = []
    for m, image in zip(reversed(mirrors), reversed(images[1:]), strict=True):
        P, skin = _hit(house, m, np.broadcast_to(image, stops[0].shape), stops[0])
        keep = skin >= 0
        which, stops = which[keep], [P[keep], *(s[keep] for s in stops)]
        turns = [_Turn(m, skin[keep]), *(_Turn(t.surface, _kept(t.skin, keep)) for t in turns)]
    if len(which):
        yield _follow(house, "reflections", which, [np.broadcast_to(sender, stops[0].shape), *stops], turns)


def by_edge_and_mirror(house: House, sender: Floats, points: Floats) -> Iterator[Arrived]:
    """One reflection and one edge of an opening, in either order."""
    for one, m in itertools.product(house.gates, range(house.surfaces.total)):
        if one.wall == m:
            continue
        for edge in one.edges:
            yield from _mirror_first(house, sender, points, one, edge, m)
            yield from _edge_first(house, sender, points, one, edge, m)


def _mirror_first(
    house: House, sender: Floats, points: Floats, one: gate.Gate, edge: gate.Edge, m: int
) -> Iterator[Arrived]:
    image = np.broadcast_to(_image(house, m, sender), points.shape)
    Q = gate.bend(edge, image, points)
    P, skin = _hit(house, m, image, Q)
    which = np.flatnonzero((skin >= 0) & _parts(house, one.wall, P, points))
    if len(which):
        stops = [np.broadcast_to(sender, (len(which), 3)), P[which], Q[which], points[which]]
        found = _follow(house, "edge and reflection", which, stops, [_Turn(m, skin[which]), _Turn(one.wall, None)])
        yield dataclasses.replace(found, touched=(one.patch,))


def _edge_first(
    house: House, sender: Floats, points: Floats, one: gate.Gate, edge: gate.Edge, m: int
) -> Iterator[Arrived]:
    A, images = np.broadcast_to(sender, points.shape), _image(house, m, points)
    Q = gate.bend(edge, A, images)
    P, skin = _hit(house, m, images, Q)
    which = np.flatnonzero((skin >= 0) & _parts(house, one.wall, sender[None], P))
    if len(which):
        stops = [A[which], Q[which], P[which], points[which]]
        found = _follow(house, "edge and reflection", which, stops, [_Turn(one.wall, None), _Turn(m, skin[which])])
        yield dataclasses.replace(found, touched=(one.patch,))


def _parts(house: House, surface: int, A: Floats, B: Floats) -> NDArray[np.bool_]:
    """Whether A and B lie on two sides of a surface's plane, neither of them on it."""
    n, at = legs.normal_of(house.surfaces, surface), legs.offset_of(house.surfaces, surface)
    a, b = A @ n - at, B @ n - at
    parts: NDArray[np.bool_] = (a * b < 0) & (np.abs(a) > legs.TOUCH_M) & (np.abs(b) > legs.TOUCH_M)
    return parts


def _image(house: House, surface: int, P: Floats) -> Floats:
    """Points [..., 3] mirrored in the plane of a surface."""
    n, at = legs.normal_of(house.surfaces, surface), legs.offset_of(house.surfaces, surface)
    image: Floats = P - 2 * (P @ n - at)[..., None] * n
    return image


def _hit(house: House, surface: int, image: Floats, target: Floats) -> tuple[Floats, Whole]:
    """Where the line from an image to its target meets the surface, and the skin there; -1 where it does not."""
    n, at = legs.normal_of(house.surfaces, surface), legs.offset_of(house.surfaces, surface)
    before, after = image @ n - at, target @ n - at
    good = _parts(house, surface, image, target)
    P = image + (target - image) * np.where(good, before / np.where(good, before - after, 1), 0)[:, None]
    return P, np.where(good, legs.met(house.surfaces, surface, P), -1)


def _kept(skin: Whole | None, keep: NDArray[np.bool_]) -> Whole | None:
    return None if skin is None else skin[keep]


def _follow(house: House, kind: str, which: Whole, stops: Sequence[Floats], turns: Sequence[_Turn]) -> Arrived:
    """Go along the stops: losses of every leg, what each turn takes, and the spreading of the power over the way.

    An upright rod sends and takes. Spreading is (wavelength / 4 pi d)^2, ITU-R P.525; an edge costs its knife edge by
    the detour, with mirrors unfolded.
    """
    k = [legs.directions(a, b)[0] for a, b in itertools.pairwise(stops)]
    far = [legs.directions(a, b)[1] for a, b in itertools.pairwise(stops)]
    bands = len(house.made.frequencies_hz)
    field = np.broadcast_to(legs.upright(k[0]).astype(complex), (bands, *k[0].shape)).copy()
    rays = Rays(field, np.zeros((len(which), len(house.made.names)), np.uint8))
    lost_db = np.zeros((bands, len(which)))
    for i, (a, b) in enumerate(itertools.pairwise(stops)):
        near = tuple(t.surface for t in turns[max(i - 1, 0) : i + 1])
        legs.carry(house.surfaces, house.made, a, b, rays, near)
        if i < len(turns):
            skin = turns[i].skin
            if skin is None:
                legs.turn(rays, k[i], k[i + 1])
                lost_db += gate.knife_db(detour_m=_detour(house, stops, turns, i), wavelength_m=house.wavelength_m)
            else:
                n = legs.normal_of(house.surfaces, turns[i].surface)
                legs.bounce(house.made, rays, skin, k[i], n)
    taken = np.abs((rays.field * legs.upright(k[-1])).sum(2)) ** 2
    free = (house.wavelength_m[:, None] / (4 * np.pi * np.maximum(sum(far), NEAREST_M))) ** 2
    return Arrived(kind, which, taken * free * 10 ** (-lost_db / 10), rays.crossings, k[0])


def _detour(house: House, stops: Sequence[Floats], turns: Sequence[_Turn], i: int) -> Floats:
    """Metres by which the way round the edge at stop i + 1 is longer than the straight one between its neighbours.

    A neighbour at which the way is thrown back counts as its image of the stop behind it.
    """
    before, edge, after = stops[i], stops[i + 1], stops[i + 2]
    if i > 0 and turns[i - 1].skin is not None:
        before = _image(house, turns[i - 1].surface, stops[i - 1])
    if i + 1 < len(turns) and turns[i + 1].skin is not None:
        after = _image(house, turns[i + 1].surface, stops[i + 3])
    return _far(before, edge) + _far(edge, after) - _far(before, after)


def _far(a: Floats, b: Floats) -> Floats:
    far: Floats = np.sqrt(((a - b) ** 2).sum(-1))
    return far
