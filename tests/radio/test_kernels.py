"""The compiled kernels with the cut as delivered: what is passed over costs little, in both directions, in any company."""

from __future__ import annotations

import dataclasses
import importlib.util

import numpy as np
import pytest

from pullstring.radio.antennas import gain_db
from pullstring.radio.gates import bend, gates_of, knife_db, taut
from pullstring.radio.paths import House
from pullstring.radio.scene import BANDS
from pullstring.radio.surfaces import surfaces_of
from pullstring.radio.traced import BUNDLES, CUT, LEAST_SHARE
from tests.radio import reference_house
from tests.radio.by_hand import BEST, EDGES, house_of, sender, spots, thrown, traced

pytestmark = pytest.mark.skipif(importlib.util.find_spec("numba") is None, reason="no compiler here")
EVEN = np.ones((8, 5))
USABLE_DBM = -100.0  # with 0 dBm radiated: 100 dB between antennas; less is of no use to anyone


def powers(house, spot, points, kinds, *, cut, least):
    """Shares of the power radiated that arrive [bands, points]."""
    from pullstring.radio.compiled import tracer

    bands, skins = house.made.through.shape[:2]
    share = np.zeros((bands, 1, len(points), BUNDLES), np.float32)
    crossed = np.zeros((1, len(points), BUNDLES, skins), np.uint8)
    trace = tracer(house, np.asarray(points, float), kinds, cut=cut, least=least, bundles=BUNDLES)
    assert list(trace([(np.asarray(spot, float), EVEN)], share, crossed)) == [0]
    return share[:, 0].sum(2)


def powers_db(house, spot, points, *, cut, least=LEAST_SHARE):
    return 10 * np.log10(powers(house, spot, points, BEST, cut=cut, least=least))


@pytest.mark.parametrize("frequency_hz", [2.45e9, 5.5e9])
@pytest.mark.parametrize("variant", ["brick", "lath"])
def test_passed_over__costs_little_in_the_reference_house(variant, frequency_hz):
    """Our own promise: 0.05 dB at the median and 0.15 dB at the worst of its 60 points, and never more than everything."""
    surfaces, told = surfaces_of(reference_house.scene(variant)), reference_house.told()
    house = House(surfaces, reference_house.made(variant, frequency_hz), gates_of(surfaces))
    spot, points = [told["tx"][axis] for axis in "xyz"], np.array([[r[a] for a in "xyz"] for r in told["receivers"]])
    whole = powers_db(house, spot, points, cut=0.0, least=1e-40)
    lost = whole - powers_db(house, spot, points, cut=CUT)
    assert np.median(lost) < 0.05
    assert lost.max() < 0.15
    assert lost.min() > -1e-4
    assert lost.max() > 1e-4  # something was passed over


@pytest.mark.parametrize("seed", range(30, 34))
def test_swapping_the_ends__moves_little_with_the_cut(seed):
    house = thrown(seed, turn_deg=31.0 * seed, antennas=("isotropic",))
    points = spots(seed, house, count=8)
    there = traced(house, points, BEST, bands=BANDS, use_compiler=True).level_dbm()[:, 0]
    other = dataclasses.replace(house, senders=tuple(sender(*p, name=f"P{n}") for n, p in enumerate(points)))
    back = traced(other, [house.senders[0].spot], BEST, bands=BANDS, use_compiler=True).level_dbm()[:, :, 0]
    usable = there > USABLE_DBM
    assert usable.sum() >= 10
    assert np.abs(there - back)[usable].max() < 0.1


@pytest.mark.parametrize("seed", [0, 3])
def test_points__the_same_alone_and_in_company(seed):
    """Cells and their lists are only a way to work: a point's level must not depend on which points stand beside it."""
    house = thrown(seed, storeys=2)
    points = np.asarray(spots(seed, house, count=40))
    together = traced(house, points, BEST, bands=BANDS, use_compiler=True).level_dbm()
    backwards = traced(house, points[::-1], BEST, bands=BANDS, use_compiler=True).level_dbm()
    alone = [traced(house, [p], BEST, bands=BANDS, use_compiler=True).level_dbm() for p in points[:10]]
    assert np.abs(together - backwards[..., ::-1]).max() < 1e-4
    assert np.abs(together[..., :10] - np.concatenate(alone, 2))[together[..., :10] > USABLE_DBM].max() < 0.1


@pytest.mark.parametrize("seed", [0, 1, 4])
def test_sight_from_afar__is_no_darker_than_the_leg_itself(seed):
    """What a straight path has kept of free space can be no more than what sight from afar says of the same leg."""
    from pullstring.radio import compiled, kernels_sight

    house = house_of(thrown(seed, storeys=2, turn_deg=17.0))
    spot, points = np.array(thrown(seed, storeys=2, turn_deg=17.0).senders[0].spot), spots(seed, thrown(seed), count=40)
    made = compiled._made(house, np.asarray(points, float), EDGES)
    straight, work = dataclasses.replace(EDGES, openings=0), compiled._work(house)
    power = powers(house, spot, points, straight, cut=0.0, least=1e-40)
    far = np.maximum(np.sqrt(((np.asarray(points) - spot) ** 2).sum(1)), 0.5)
    kept = power * (4 * np.pi * far / house.wavelength_m[:, None]) ** 2
    for n, point in enumerate(points):
        kernels_sight.clear(made.flat, *spot, *point, work)
        assert (kept[:, n] <= work.room[8, : len(kept)] * (1 + 1e-5)).all()
    assert (kept < 0.5).any()


def test_house_for_the_kernels__holds_no_infinity():
    """They are compiled to know none: what comes of one then is not said."""
    from pullstring.radio.compiled import flat_of

    flat = flat_of(house_of(thrown(3, storeys=2)))
    assert len(flat.hulls) and all(np.isfinite(of).all() for of in flat[1:])


def test_antenna__is_looked_up_in_the_direction_the_path_leaves_in():
    """A table of another antenna than the even one: straight level lower by its gain there, as `antennas` says."""
    house = thrown(5, antennas=("panel",))
    points = np.asarray(spots(5, house, count=20))
    kinds = dataclasses.replace(EDGES, openings=0)
    even = dataclasses.replace(house, senders=(dataclasses.replace(house.senders[0], antenna="isotropic"),))
    one, other = (traced(h, points, kinds, use_compiler=True).level_dbm()[0, 0] for h in (house, even))
    hung = house.senders[0]
    ways = points - np.asarray(hung.spot)
    gain = gain_db("panel", azimuth_deg=hung.azimuth_deg, tilt_deg=hung.tilt_deg, directions=ways)
    assert np.abs(one - other - gain).max() < 0.1


def _over_the_way(stops, wave_m):
    """Share left by distance and by a knife edge at every stop between, over that at a metre."""
    size = np.sqrt((np.diff(stops, axis=0) ** 2).sum(1))
    beside = np.array([np.sqrt(((a - b) ** 2).sum()) for a, b in zip(stops, stops[2:], strict=False)])
    lost_db = knife_db(detour_m=size[:-1] + size[1:] - beside, wavelength_m=np.array([wave_m]))
    return 10 ** (-lost_db.sum() / 10) / size.sum() ** 2


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("off", [1.001, 0.999])
def test_weighed_eight_at_a_time__as_by_gates(seed, off):
    """What is passed over before it is followed: edges, and strings through two openings, just above and just below the limit."""
    from pullstring.radio import compiled, kernels_strings, kernels_ways

    house = house_of(thrown(seed + 40, storeys=2, turn_deg=31.0 * seed))
    aids, dice, wave_m = compiled._aids(house), np.random.default_rng(seed), 0.06
    D, E = np.zeros((1, kernels_strings.ROWS, 8)), np.zeros((1, 13, 8))
    edges = [e for g in house.gates for e in g.edges]
    for _ in range(30):
        A, B = dice.uniform(-2, 12, (2, 3))
        g, h = dice.integers(len(house.gates), size=2)
        e, lane = int(dice.integers(len(edges))), int(dice.integers(8))
        P, Q = (p[0] for p in taut(house.gates[g], house.gates[h], A, B[None]))
        two, one = (
            _over_the_way(np.stack([A, P, Q, B]), wave_m),
            _over_the_way(np.stack([A, bend(edges[e], A, B), B]), wave_m),
        )
        D[:], E[:] = 0, 0
        kernels_strings._set(aids, D, lane, g, h, 1.0, 0)
        kernels_ways.set_way(aids, E, lane, (0.0, 0.0, 0.0), 0.0, e, 1.0, 0)
        assert kernels_strings._matter(D, 0, *A, *B, wave_m, two * off) == (0 if off > 1 else 1 << lane)
        assert kernels_ways.matter(E, 0, *A, *B, wave_m, one * off) == (0 if off > 1 else 1 << lane)
