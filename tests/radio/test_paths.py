"""Paths by hand: what a pencil says of one wall, two mirrors, a doorway, a stair hole; and what must always hold."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from pullstring.radio import slab
from pullstring.radio.gates import knife_db
from pullstring.radio.paths import Kinds
from pullstring.radio.scene import BANDS, MIDDLE_HZ, Scene, Slab
from tests.radio.by_hand import (
    BEST,
    EDGES,
    MIRRORS,
    STRAIGHT,
    added,
    arrived,
    free_dbm,
    hole,
    layered,
    level,
    plain,
    rect,
    scene,
    sender,
    wall,
)

NOTHING_DBM = -149.9  # ways that lose 150 dB and more are not followed, and these senders radiate 0 dBm

HERE = (0.0, 0.0, 1.5)
TEN = plain("ten", loss_db=10.0)
DARK = plain("dark", loss_db=200.0)
MIRROR = plain("mirror", loss_db=200.0, mirror_db=0.0)
HALF = plain("half", loss_db=10.0, mirror_db=3.0)


def of(*walls, slabs=(), skins=(TEN, DARK, MIRROR, HALF), at=HERE, **how) -> Scene:
    return scene(walls=walls, slabs=slabs, skins=skins, senders=[sender(*at, **how)])


def wave_m(band="5 GHz") -> float:
    return 299_792_458.0 / MIDDLE_HZ[band]


def edge_db(*stops, band="5 GHz") -> float:
    """What the detour by the middle stops costs at one edge, by the knife edge of ITU-R P.526 (its values: test_gates)."""
    detour = sum(math.dist(a, b) for a, b in itertools.pairwise(stops)) - math.dist(stops[0], stops[-1])
    return float(knife_db(detour_m=np.array([detour]), wavelength_m=np.array([wave_m(band)]))[0, 0])


@pytest.mark.parametrize("band", BANDS)
@pytest.mark.parametrize("far_m", [0.6, 1.0, 7.3, 400.0])
def test_nothing_between__is_free_space_in_every_band(band, far_m):
    """ITU-R P.525: 20 log10 (4 pi d f / c); all kinds of paths add nothing where nothing stands."""
    assert level(of(), (far_m, 0, 1.5), BEST, band=band) == pytest.approx(free_dbm(far_m, band=band), abs=1e-4)


def test_nothing_between__the_figure_everybody_knows():
    """At 1 m: 40.2 dB at 2.437 GHz, 47.3 dB at 5.5 GHz (20 log f in MHz + 20 log d in km + 32.45)."""
    found = [-level(of(), (1, 0, 1.5), STRAIGHT, band=b) for b in BANDS]
    assert found == pytest.approx([20 * math.log10(MIDDLE_HZ[b] / 1e6) - 60 + 32.45 for b in BANDS], abs=0.01)


def test_nothing_between__a_wave_that_climbs_loses_nothing_by_climbing():
    """Senders and takers without antenna are even in all directions; straight up as well."""
    assert level(of(), (0, 0, 6.5), STRAIGHT) == pytest.approx(free_dbm(5), abs=1e-5)
    assert level(of(), (3, 0, 5.5), STRAIGHT) == pytest.approx(free_dbm(5), abs=1e-5)


def test_one_wall__free_space_and_its_loss():
    with_wall = of(wall("w", 2, -5, 2, 5, skin="ten"))
    assert level(with_wall, (4, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(4) - 10, abs=1e-4)
    assert level(with_wall, (1, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(1), abs=1e-5), "not yet behind it"
    assert level(with_wall, (4, 0, 3.5), STRAIGHT) == pytest.approx(free_dbm(math.sqrt(20)) - 10, abs=1e-4)


def test_wall_lower_than_the_ray__is_not_in_the_way():
    low = of(wall("w", 2, -5, 2, 5, skin="ten", z1_m=1.4))
    assert level(low, (4, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(4), abs=1e-5)
    assert level(low, (4, 0, 1.2), STRAIGHT) == pytest.approx(free_dbm(math.hypot(4, 0.3)) - 10, abs=1e-4), (
        "1.35 m at the wall"
    )


def test_walls__one_after_the_other_add_up():
    three = of(*(wall(f"w{x}", x, -5, x, 5, skin="ten") for x in (1, 2, 3)))
    assert level(three, (4, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(4) - 30, abs=1e-3)


def test_layers__by_their_angle():
    """Level leg, upright wall: TE. Through 100 mm of brick at 60 degrees more is lost than straight on, as P.2040 says."""
    brick = layered("brick", ("brick", 0.1))
    with_wall = of(wall("w", 2, -20, 2, 20, skin="brick"), skins=(brick,))
    for point, cos in (((4, 0, 1.5), 1.0), ((4, 4 * math.sqrt(3), 1.5), 0.5)):
        stack = slab.sheets(brick.layers, frequency_hz=MIDDLE_HZ["5 GHz"])
        through, _ = slab.mean_powers(stack, frequency_hz=MIDDLE_HZ["5 GHz"], cos_incidence=cos, polarisation="TE")
        expected = free_dbm(4 / cos) + 10 * math.log10(through[0])
        assert level(with_wall, point, STRAIGHT) == pytest.approx(expected, abs=0.01)


def test_layers__an_upright_taker_hears_the_upright_part_alone():
    """A leg that climbs past an upright wall at a slant has its field in both polarisations; they come out unlike, so the field
    is turned, and the part that no longer stands upright is not heard: |te a + tm (1 - a)|^2 with a the share across."""
    concrete = layered("concrete", ("concrete", 0.15))
    with_wall = of(wall("w", 2, -20, 2, 20, skin="concrete", z1_m=20), skins=(concrete,))
    way = np.array([3.0, 5.0, 5.0])
    k = way / np.linalg.norm(way)
    across = np.cross(k, [1.0, 0, 0]) / np.linalg.norm(np.cross(k, [1.0, 0, 0]))
    up = np.array([0, 0, 1.0]) - k[2] * k
    a = float(across @ up / np.linalg.norm(up)) ** 2
    stack = slab.sheets(concrete.layers, frequency_hz=MIDDLE_HZ["5 GHz"])
    te, tm = (
        math.sqrt(slab.mean_powers(stack, frequency_hz=5.5e9, cos_incidence=float(k[0]), polarisation=p)[0][0])
        for p in slab.POLARISATIONS
    )
    expected = free_dbm(float(np.linalg.norm(way))) + 20 * math.log10(te * a + tm * (1 - a))
    assert level(with_wall, np.array(HERE) + way, STRAIGHT) == pytest.approx(expected, abs=0.01)
    turned_db = 10 * math.log10((te**2 * a + tm**2 * (1 - a)) / (te * a + tm * (1 - a)) ** 2)
    assert turned_db > 0.1, "enough for the ear of this test"


def test_one_mirror__free_space_over_the_way_to_the_image():
    """A wall 3 m to the north throws back all: the image lies 6 m to the north."""
    one = of(wall("m", -50, 3, 50, 3, skin="mirror"))
    assert level(one, (4, 0, 1.5), MIRRORS) == pytest.approx(added(free_dbm(4), free_dbm(math.hypot(4, 6))), abs=1e-4)
    assert level(one, (4, 4, 1.5), MIRRORS) < NOTHING_DBM, "behind it"


def test_one_mirror__only_where_it_stands():
    """The bounce would lie 2 m along the wall: a wall that begins at 2.5 m does not have it, nor does one with a pane there."""
    short = of(wall("m", 2.5, 3, 50, 3, skin="mirror"))
    assert level(short, (4, 0, 1.5), MIRRORS) == pytest.approx(free_dbm(4), abs=1e-5)
    gap = of(wall("m", 0, 3, 50, 3, skin="mirror", openings=[hole("g", 1.5, 2.5, 1, 2)]))
    assert level(gap, (4, 0, 1.5), MIRRORS) == pytest.approx(free_dbm(4), abs=1e-5)
    pane = of(wall("m", 0, 3, 50, 3, skin="mirror", openings=[hole("g", 1.5, 2.5, 1, 2, skin="half")]))
    assert level(pane, (4, 0, 1.5), MIRRORS) == pytest.approx(
        added(free_dbm(4), free_dbm(math.hypot(4, 6)) - 3), abs=1e-4
    )


def test_mirror__legs_lose_what_stands_in_their_way():
    """A screen from the line to the mirror: the way by the mirror crosses it, the straight way does not."""
    screened = of(wall("m", -50, 3, 50, 3, skin="mirror"), wall("s", 1.5, 1, 1.5, 2.9, skin="ten"))
    expected = added(free_dbm(4), free_dbm(math.hypot(4, 6)) - 10)
    assert level(screened, (4, 0, 1.5), MIRRORS) == pytest.approx(expected, abs=1e-4)


def corridor_dbm(images) -> float:
    return added(*(free_dbm(math.hypot(4, y)) for y in images))


def test_corridor__two_mirrors_and_their_images():
    """Walls at y = 3 and y = -2; images to the first order at 6 and -4, to the second at 6 + 4 = 10 and -4 - 6 = -10."""
    walls = (wall("n", -500, 3, 500, 3, skin="mirror"), wall("s", -500, -2, 500, -2, skin="mirror"))
    assert level(of(*walls), (4, 0, 1.5), MIRRORS) == pytest.approx(corridor_dbm([0, 6, -4]), abs=1e-4)
    second = Kinds(reflections=2, openings=0)
    assert level(of(*walls), (4, 0, 1.5), second) == pytest.approx(corridor_dbm([0, 6, -4, 10, -10]), abs=1e-4)


def test_corner__two_mirrors_at_a_right_angle_have_one_image_behind_the_corner():
    """Walls at x = 6 and y = 3 that go on without end: images (12, 0), (0, 6), and both orders give (12, 6) once each, but
    only one of the two ways exists."""
    walls = (wall("n", -500, 3, 500, 3, skin="mirror"), wall("e", 6, -500, 6, 500, skin="mirror"))
    expected = added(free_dbm(4), free_dbm(8), free_dbm(math.hypot(4, 6)), free_dbm(math.hypot(8, 6)))
    second = Kinds(reflections=2, openings=0)
    assert level(of(*walls), (4, 0, 1.5), second) == pytest.approx(expected, abs=1e-4)


def test_floor_and_ceiling__are_mirrors_as_well():
    """Metal below at 0 and above at 3: images at heights -1.5 and 4.5, each 5 m away; nothing is lost at either."""
    slabs = [
        Slab("g", 0.0, (rect(-50, -50, 50, 50),), (), "mirror"),
        Slab("c", 3.0, (rect(-50, -50, 50, 50),), (), "mirror"),
    ]
    found = level(of(slabs=slabs), (4, 0, 1.5), MIRRORS)
    assert found == pytest.approx(added(free_dbm(4), free_dbm(5), free_dbm(5)), abs=1e-4)


def test_floor__takes_its_loss_and_a_hole_in_it_does_not():
    floor = Slab("f", 3.0, (rect(-5, -5, 5, 5),), (rect(1, -1, 3, 1),), "ten")
    assert level(of(slabs=[floor]), (0, 0, 4.5), STRAIGHT) == pytest.approx(free_dbm(3) - 10, abs=1e-4)
    assert level(of(slabs=[floor]), (4, 0, 4.5), STRAIGHT) == pytest.approx(free_dbm(5), abs=1e-5), (
        "2 m out at the floor"
    )
    assert level(of(slabs=[floor]), (9, 0, 4.5), STRAIGHT) == pytest.approx(free_dbm(math.hypot(9, 3)) - 10, abs=1e-4)
    assert level(of(slabs=[floor]), (12, 0, 4.5), STRAIGHT) == pytest.approx(free_dbm(math.hypot(12, 3)), abs=1e-4), (
        "beside it"
    )


def test_open_window__nothing_stands_in_it():
    line = wall("w", 2, -5, 2, 5, skin="dark", openings=[hole("window", 4.5, 5.5, 1, 2)])
    assert level(of(line), (4, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(4), abs=1e-5)
    assert level(of(line), (4, 3, 1.5), STRAIGHT) < NOTHING_DBM


def test_doorway__the_dark_wall_is_passed_round_its_jamb():
    """A door from y = 1 to y = 2, as high as the wall: two jambs. By hand: taut string by each, J of its detour."""
    line = wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("door", 51, 52, 0, 3)])
    found = level(of(line), (4, 0, 1.5), EDGES)
    by_jamb = []
    for y in (1.0, 2.0):
        stops = (HERE, (2, y, 1.5), (4, 0, 1.5))
        by_jamb.append(free_dbm(2 * math.hypot(2, y)) - edge_db(*stops))
    assert found == pytest.approx(added(*by_jamb), abs=1e-4)


def test_doorway__a_lintel_is_an_edge_too():
    """A door 2 m high seen from below towards an upper place: round each jamb and under the lintel, by the shortest string
    found by trying."""
    line = wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("door", 51, 52, 0, 2)])
    end = (4, 3, 2.9)
    tries = np.linspace(0, 1, 2001)
    edges = [[(2, y, 2 * t) for t in tries] for y in (1.0, 2.0)] + [[(2, 1 + t, 2.0) for t in tries]]
    expected = []
    for edge in edges:
        bent = min(edge, key=lambda p: math.dist(HERE, p) + math.dist(p, end))
        way = math.dist(HERE, bent) + math.dist(bent, end)
        expected.append(free_dbm(way) - edge_db(HERE, bent, end))
    assert level(of(line), end, EDGES) == pytest.approx(added(*expected), abs=0.01)


def test_doorway__legs_to_and_from_it_lose_what_stands_there():
    line = wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("door", 51, 52, 0, 3)])
    screen = wall("s", 3, -50, 3, 50, skin="ten")
    assert level(of(line, screen), (4, 0, 1.5), EDGES) == pytest.approx(
        level(of(line), (4, 0, 1.5), EDGES) - 10, abs=1e-3
    )


def test_two_doorways__the_string_bends_at_both():
    """Two dark walls, a door in each off to one side: the string goes by the near jambs, two knife edges. By one door alone
    there is no way."""
    walls = (
        wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("d", 52, 53, 0, 3)]),
        wall("v", 4, -50, 4, 50, skin="dark", openings=[hole("e", 52, 53, 0, 3)]),
    )
    p, q, end = (2, 2, 1.5), (4, 2, 1.5), (6, 0, 1.5)
    way = math.dist(HERE, p) + math.dist(p, q) + math.dist(q, end)
    expected = free_dbm(way) - edge_db(HERE, p, q) - edge_db(p, q, end)
    assert level(of(*walls), end, Kinds(reflections=0, openings=2)) == pytest.approx(expected, abs=0.01)
    assert level(of(*walls), end, EDGES) < -150


def test_two_doorways__a_string_that_bends_at_one_of_them_counts_once():
    """The straight line to the far jamb goes through the open middle of the first door: one way, by one door."""
    walls = (
        wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("d", 51, 52, 0, 3)]),
        wall("v", 4, -50, 4, 50, skin="dark", openings=[hole("e", 53, 54, 0, 3)]),
    )
    one, two = (level(of(*walls), (6, 0, 1.5), Kinds(reflections=0, openings=n)) for n in (1, 2))
    assert one == pytest.approx(two, abs=1e-5) and one > -110


def test_two_doorways__no_way_goes_out_and_back():
    """A point on the sender's side of both walls, or between them: nothing is gained by going through both doors."""
    walls = (
        wall("w", 2, -50, 2, 50, skin="ten", openings=[hole("d", 52, 53, 0, 3)]),
        wall("v", 4, -50, 4, 50, skin="ten", openings=[hole("e", 54, 55, 0, 3)]),
    )
    for point in ((1.0, 0.5, 1.5), (3.0, 0.5, 1.5)):
        found = arrived(of(*walls), HERE, [point], Kinds(reflections=0, openings=2))
        assert [p.kind for p in found if p.kind == "two openings"] == []
    assert any(p.kind == "two openings" for p in arrived(of(*walls), HERE, [(6.0, 2.0, 1.5)], BEST))


@pytest.mark.parametrize("beside", ["the sender", "the point"])
def test_edge_and_mirror__by_hand(beside):
    """A mirror 4 m to the south on one side of the dark wall: round each jamb, from the sender or its image to the point or
    its image, with the detour of that unfolded way."""
    stretch = (-50, -4, 1.9, -4) if beside == "the sender" else (2.1, -4, 50, -4)
    walls = (
        wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("d", 51, 52, 0, 3)]),
        wall("m", *stretch, skin="mirror"),
    )
    end, image = (4.0, 0.0, 1.5), (0.0, -8.0, 1.5)
    expected = []
    for jamb in ((2, 1, 1.5), (2, 2, 1.5)):
        pairs = [(HERE, end), (image, end) if beside == "the sender" else (HERE, (4.0, -8.0, 1.5))]
        for a, b in pairs:
            expected.append(free_dbm(math.dist(a, jamb) + math.dist(jamb, b)) - edge_db(a, jamb, b))
    assert level(of(*walls), end, BEST) == pytest.approx(added(*expected), abs=1e-3)


def test_edge_and_mirror__a_bounce_feeds_what_lies_round_the_corner():
    """With the second order one edge and one bounce are followed: more arrives behind a dark wall with a door than by its edges."""
    walls = (
        wall("w", 2, -50, 2, 50, skin="dark", openings=[hole("d", 51, 52, 0, 3)]),
        wall("m", -50, 6, 50, 6, skin="mirror"),
    )
    mixed = [p for p in arrived(of(*walls), HERE, [(4, -3, 1.5)], BEST) if p.kind == "edge and reflection"]
    assert mixed and all(p.touched == (0,) for p in mixed)
    assert (
        level(of(*walls), (4, -3, 1.5), BEST) > level(of(*walls), (4, -3, 1.5), Kinds(reflections=1, openings=2)) + 0.1
    )


@pytest.mark.parametrize("ends", [((0, 0, 1.5), (4, 0, 1.5)), ((4, 0, 1.5), (0, 0, 1.5))], ids=["there", "back"])
def test_edge_and_mirror__no_way_bends_at_a_wall_it_does_not_pass(ends):
    """A mirror behind the point. Straight and by the mirror through the wall; round each jamb straight and on to the mirror.
    No way comes back from the mirror to the jamb and on to the point: it stays on one side of the wall."""
    walls = (
        wall("w", 2, -50, 2, 50, skin="ten", openings=[hole("d", 51, 52, 0, 3)]),
        wall("m", 6, -50, 6, 50, skin="mirror"),
    )
    expected = [free_dbm(4) - 10, free_dbm(8) - 10]
    for jamb in ((2, 1, 1.5), (2, 2, 1.5)):
        for far in ((4.0, 0.0, 1.5), (8.0, 0.0, 1.5)):
            expected.append(free_dbm(math.dist(HERE, jamb) + math.dist(jamb, far)) - edge_db(HERE, jamb, far))
    mixed = [p for p in arrived(of(*walls), *ends[:1], [ends[1]], BEST) if p.kind == "edge and reflection"]
    assert len(mixed) == 2, "one by each jamb"
    assert level(of(*walls, at=ends[0]), ends[1], BEST) == pytest.approx(added(*expected), abs=1e-3)


def test_half_open_house__points_outside_and_inside_answer():
    """Three sides of a box and a floor without a ceiling."""
    walls = (
        wall("s", -5, -5, 5, -5, skin="half"),
        wall("e", 5, -5, 5, 5, skin="half"),
        wall("w", -5, 5, -5, -5, skin="half"),
    )
    ground = Slab("g", 0.0, (rect(-5, -5, 5, 5),), (), "half")
    found = [level(of(*walls, slabs=[ground]), p, BEST) for p in ((0, 20, 1.5), (0, -20, 1.5), (3, 3, 1.5))]
    assert found[0] > free_dbm(20) and found[0] > found[1] and found[2] > free_dbm(math.hypot(3, 3))
    assert found[1] > free_dbm(20) - 10 - 0.01


@pytest.mark.parametrize("kinds", [STRAIGHT, BEST])
@pytest.mark.parametrize(
    ("at", "point"),
    [
        ((2.0, 0, 1.5), (4, 1, 1.5)),  # sender in the plane of a wall
        ((0, 0, 1.5), (2.0, 1, 1.5)),  # point in the plane of a wall
        ((2.0, 0, 1.5), (2.0, 3, 1.5)),  # both, along it
        ((0, 0, 1.5), (0, 0, 1.5)),  # point at the sender
        ((0, 0, 0), (3, 1, 0)),  # both on the floor
        ((0, 0, 1.5), (4, 10, 1.5)),  # exactly through the corner of two walls
        ((0, 0, 1.5), (4, 1, 3.0)),  # point in the plane of the ceiling and the top of the walls
        ((0, 0, 1.5), (0, 0, 2.9)),  # straight up
    ],
)
def test_awkward_places__have_a_level(at, point, kinds):
    walls = (wall("a", 2, -5, 2, 5, skin="half", openings=[hole("d", 5, 6, 0, 2)]), wall("b", 2, 5, -5, 5, skin="half"))
    slabs = [Slab("g", 0.0, (rect(-9, -9, 9, 9),), (), "half"), Slab("c", 3.0, (rect(-9, -9, 9, 9),), (), "half")]
    found = level(of(*walls, slabs=slabs, at=at), point, kinds)
    far = max(math.dist(at, point), 0.5)
    assert free_dbm(far) - 40 < found < free_dbm(far) + 12


def test_near__no_nearer_than_half_a_metre():
    """Nearer than half a metre the far field does not hold: the level stops there."""
    assert level(of(), HERE, STRAIGHT) == pytest.approx(free_dbm(0.5), abs=1e-5)
    assert level(of(), (0.3, 0, 1.5), STRAIGHT) == pytest.approx(free_dbm(0.5), abs=1e-5)


@pytest.mark.parametrize("y", [4.999999, 5.0, 5.000001])
def test_corner__each_wall_counts_at_most_once(y):
    """A ray through the corner of two walls that meet there: once through each at most, and never through both and one anew."""
    walls = (wall("a", 2, -5, 2, 5, skin="ten"), wall("b", 2, 5, 8, 5, skin="ten"))
    (path,) = arrived(of(*walls), HERE, [(4, 2 * y, 1.5)], STRAIGHT)
    assert path.crossings.sum() <= 2


def test_walls_in_one_line__a_ray_through_their_joint_crosses_one():
    """Drawn as one wall or as two in one line: the same loss, at the joint too."""
    two = of(wall("a", 2, -5, 2, 0, skin="ten"), wall("b", 2, 0, 2, 5, skin="ten"))
    for y in (-0.1, 0.0, 0.1):
        assert level(two, (4, 2 * y, 1.5), STRAIGHT) == pytest.approx(free_dbm(math.hypot(4, 2 * y)) - 10, abs=1e-3)


def test_wall_drawn_the_other_way__the_same():
    """A wall from its far end: openings counted from there."""
    one = wall("w", 2, -5, 2, 5, skin="half", openings=[hole("d", 6, 7, 0, 2)])
    other = wall("w", 2, 5, 2, -5, skin="half", openings=[hole("d", 3, 4, 0, 2)])
    for point in ((4, 0, 1.5), (4, 2.9, 1.2), (1, -3, 1.5)):
        assert level(of(one), point, BEST) == pytest.approx(level(of(other), point, BEST), abs=1e-4)


def test_thickness__five_millimetres_more_move_no_level():
    """Walls as people draw them, 5 mm off: under 0.3 dB. As even as a pane of glass, the same error moves a level by more."""
    moved = {}
    for interference in (False, True):
        found = []
        for thickness in np.arange(0.1, 0.131, 0.005):
            brick = layered("brick", ("brick", float(thickness)))
            house = of(wall("w", 2, -5, 2, 5, skin="brick"), wall("v", -5, 3, 9, 3, skin="brick"), skins=(brick,))
            found.append(level(house, (4, 0.5, 1.5), BEST, interference=interference))
        moved[interference] = max(abs(a - b) for a, b in itertools.pairwise(found))
    assert moved[False] < 0.3 < moved[True]


def test_leaves__the_direction_a_path_starts_in():
    """By the mirror 3 m to the north, the path to (4, 0) starts along (4, 6)."""
    paths = arrived(of(wall("m", -50, 3, 50, 3, skin="mirror")), HERE, [(4, 0, 1.5)], MIRRORS)
    by_kind = {p.kind: p.leaves[0] for p in paths}
    assert by_kind["straight"] == pytest.approx([1, 0, 0])
    assert by_kind["reflections"] == pytest.approx(np.array([4, 6, 0]) / math.hypot(4, 6))
