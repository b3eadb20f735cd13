"""Links between buildings: worked by hand, put back into themselves, and turned round."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pullstring.radio.foliage import foliage_loss, foliage_loss_db
from pullstring.radio.link_profile import (
    Line,
    Obstacle,
    edges,
    ground_obstacles,
    inside_m,
    nearest_place,
    obstacles_between,
)
from pullstring.radio.links import Air, LinkEnd, height_needed, leaves_loss, link_between
from pullstring.radio.scene import Opening, Scene, Slab, Wall

F = 5.5e9
AIR = Air(width_mhz=40, streams=2, standard="HE", least_dbm=-70.0)
LEVEL = ((0.0, 0.0), (100.0, 0.0))


def end(name, x, z, eirp=30.0, gain=16.0) -> LinkEnd:
    return LinkEnd(name, (x, 0.0, z), eirp, gain)


def link(near, far, obstacles=(), ground=LEVEL, longest=10.0):
    return link_between(near, far, obstacles, ground, AIR, frequency_hz=F, longest_rise_m=longest)


def test_link__clear_way_by_hand():
    """100 m at 5.5 GHz: 87.255 dB, so 30 + 16 - 87.255 = -41.255 dBm each way, 3 dB either side for aim and power."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6))
    assert (found.level_dbm.low, found.level_dbm.high) == pytest.approx((-44.255, -38.255), abs=0.001)
    assert found.back_dbm == found.level_dbm
    assert (found.edges_db, found.leaves_db.high, found.length_m) == (0, 0, 100)
    assert found.to_spare_db.low == pytest.approx(25.745, abs=0.001)
    assert found.rise.near_m == found.rise.far_m == found.rise.both_m == 0
    assert found.sound and found.assumed == ()


def test_link__a_wall_half_way_1_m_above_the_line_costs_15_2_db():
    """nu = sqrt(2 / 0.0545 (1/50 + 1/50)) = 1.211; J = 15.22 dB."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), [Obstacle("W", "wall", 50, 50, 7.0)])
    assert found.edges_db == pytest.approx(15.221, abs=0.01)
    assert found.level_dbm.middle == pytest.approx(-41.255 - 15.221, abs=0.01)
    assert found.clear_ratio == pytest.approx(-1 / 1.1673, abs=1e-3)
    assert not found.sound


def test_height_needed__by_hand():
    """Half way F1 is 1.1673 m: 0.7004 m above the top at 7 m is 7.7004 m. Both masts rise 1.7004 m, one alone twice as much."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), [Obstacle("W", "wall", 50, 50, 7.0)]).rise
    assert found.both_m == pytest.approx(1.7004, abs=0.002)
    assert found.near_m == found.far_m == pytest.approx(3.4, abs=0.01)


def test_height_needed__not_within_the_limit_is_none():
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), [Obstacle("W", "wall", 95, 95, 12.0)], longest=8.0).rise
    assert found.far_m == pytest.approx(6.65, abs=0.25)
    assert found.near_m is None
    assert found.both_m == pytest.approx(6.3, abs=0.1)


OBSTACLES = st.lists(
    st.builds(
        lambda place, wide, top, kind: Obstacle("O", kind, place, place + wide, top),
        st.floats(2, 90),
        st.floats(0, 8),
        st.floats(0, 9),
        st.sampled_from(["wall", "roof", "tree"]),
    ),
    max_size=4,
)


@given(OBSTACLES, st.floats(1, 8), st.floats(1, 8))
def test_height_needed__put_back_clears_the_zone_and_a_centimetre_less_does_not(obstacles, near_z, far_z):
    near, far = (0.0, 0.0, near_z), (100.0, 0.0, far_z)
    everything = [*obstacles, *ground_obstacles(LEVEL)]
    rise = height_needed(Line(near, far), everything, frequency_hz=F, longest_rise_m=15)

    def worst(near_m, far_m):
        line = Line(near, far).raised(near_m=near_m, far_m=far_m)
        return min(nearest_place(line, one, frequency_hz=F).clear_ratio for one in everything)

    for rise_m, ends in ((rise.near_m, (1, 0)), (rise.far_m, (0, 1)), (rise.both_m, (1, 1))):
        if rise_m is not None:
            assert worst(*(rise_m * one for one in ends)) >= 0.6 - 1e-9
            if rise_m > 0:
                assert worst(*((rise_m - 0.01) * one for one in ends)) < 0.6


@given(OBSTACLES, st.floats(1, 8), st.floats(1, 8))
def test_link__seen_from_the_other_end_is_the_same_link(obstacles, near_z, far_z):
    mirrored = [Obstacle(o.name, o.kind, 100 - o.to_m, 100 - o.from_m, o.top_m) for o in obstacles]
    there = link(end("A", 0, near_z, eirp=23), end("B", 100, far_z, eirp=20), obstacles)
    back = link(end("B", 0, far_z, eirp=20), end("A", 100, near_z, eirp=23), mirrored)
    assert back.back_dbm.low == pytest.approx(there.level_dbm.low, abs=0.05)
    assert back.level_dbm.high == pytest.approx(there.back_dbm.high, abs=0.05)
    assert back.to_spare_db.low == pytest.approx(there.to_spare_db.low, abs=0.05)


def test_link__the_weaker_direction_decides():
    """The house radiates 30, the phone-like far end 14 dBm: what counts is the level that arrives back."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6, eirp=14))
    assert found.level_dbm.middle - found.back_dbm.middle == pytest.approx(16)
    assert found.to_spare_db.middle == pytest.approx(found.back_dbm.middle + 70)
    stronger = link(end("HOUSE", 0, 6), end("BARN", 100, 6))
    assert found.rate_mbps.low < stronger.rate_mbps.low


def test_link__each_end_gains_what_its_own_antenna_gains():
    """30 + 16 - 87.255 there, 30 + 2 - 87.255 back."""
    found = link(end("HOUSE", 0, 6, gain=2), end("BARN", 100, 6, gain=16))
    assert (found.level_dbm.middle, found.back_dbm.middle) == pytest.approx((-41.255, -55.255), abs=0.001)


def test_link__wet_leaves_make_the_low_end_and_bare_ones_the_high_end():
    """4 m of leaves, 2.92 dB when dry: half of it off the high end, half as much again off the low end."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), [Obstacle("T", "tree", 48, 52, 9.0)])
    assert (found.level_dbm.low, found.level_dbm.high) == pytest.approx((-44.255 - 4.38, -38.255 - 1.46), abs=0.01)
    assert found.level_dbm.inputs == ("aim and power", "leaves")


def test_link__clear_but_faint_is_not_sound():
    """-44.3 dBm at worst leaves 5.7 dB above a radio that needs -50: less than the 10 dB wanted."""
    deaf = Air(width_mhz=40, streams=2, standard="HE", least_dbm=-50.0)
    near, far = end("HOUSE", 0, 6), end("BARN", 100, 6)
    found = link_between(near, far, (), LEVEL, deaf, frequency_hz=F, longest_rise_m=5.0)
    assert found.clear_share == 1 and found.in_the_way == ()
    assert not found.sound


def test_link__cut_but_strong_is_not_sound():
    """40 dBm over a wall 0.2 m below the line: plenty left, 0.17 of the zone clear."""
    found = link(end("HOUSE", 0, 6, eirp=40), end("BARN", 100, 6, eirp=40), [Obstacle("W", "wall", 50, 50, 5.8)])
    assert found.to_spare_db.low > 10 and not found.sound
    assert found.in_the_way == ("wall",)
    assert found.clear_share == pytest.approx(0.2 / (0.6 * 1.1673), abs=1e-3)


def test_clearance__is_measured_across_a_steep_line():
    """Down 10 m over 20 m: half way the line is at 5 m, 2 m above a top at 3, 2 x 20 / sqrt(500) = 1.789 m across."""
    line = Line((0, 0, 10), (20, 0, 0))
    found = nearest_place(line, Obstacle("W", "wall", 10, 10, 3.0), frequency_hz=F)
    assert found.clearance_m == pytest.approx(2 * 20 / math.sqrt(500))
    assert found.fresnel_m == pytest.approx(math.sqrt(299_792_458 / F * math.sqrt(500) / 4))


def test_link__rate_by_the_published_table():
    """-44 dBm in 40 MHz is above the -49 dBm of the highest step: 2 x 286.8 Mbit/s on the air."""
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6))
    assert found.rate_mbps.low == pytest.approx(573.5, abs=0.2)


def test_link__ground_that_nobody_knows_is_said():
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), ground=())
    assert found.assumed == ("ground_unknown",) and found.clear_ratio is None


def test_ground__a_hump_between_its_points_is_looked_at():
    """Level ground takes most of the zone half way, not at its two points: (3 - 0) / 1.167."""
    found = link(end("HOUSE", 0, 3), end("BARN", 100, 3))
    assert found.places[0].distance_m == pytest.approx(50, abs=1.3)
    assert found.clear_ratio == pytest.approx(3 / 1.1673, rel=2e-3)


def test_ground__slopes_between_its_points():
    (slope,) = ground_obstacles([(0.0, 1.0), (100.0, 3.0)])
    assert slope.top_at(50.0) == 2.0
    with pytest.raises(ValueError, match="from the near mast"):
        ground_obstacles([(10.0, 0.0), (5.0, 0.0)])


def test_leaves__by_hand():
    """10 m at 5.5 GHz: 0.45 x 5.5^0.284 x 10 = 7.3 dB dry; half when bare, half more when wet."""
    found = foliage_loss(depth_m=10.0, frequency_hz=F)
    assert (found.low, found.high) == pytest.approx((3.65, 10.95), abs=0.02)


@given(st.floats(0, 200), st.floats(0, 200))
def test_leaves__more_of_them_never_cost_less(depth, more):
    both = foliage_loss_db(depth_m=np.array([depth, depth + more]), frequency_hz=F)
    assert both[0] <= both[1] * 1.005  # the published pieces meet within half a percent


def test_leaves__outside_the_law_no_number():
    assert np.isnan(foliage_loss_db(depth_m=np.array([-1.0, 401.0]), frequency_hz=F)).all()


def test_tree__half_in_the_way_counts_half():
    """The line falls from 10 to 0 m over 100 m: in a tree of 5 m from 40 to 60 m it runs 10 m below the top."""
    line = Line((0, 0, 10), (100, 0, 0))
    assert inside_m(line, Obstacle("T", "tree", 40, 60, 5.0)) == pytest.approx(10 * math.hypot(100, 10) / 100)
    assert inside_m(line, Obstacle("T", "tree", 0, 40, 5.0)) == 0
    assert inside_m(line, Obstacle("T", "tree", 60, 80, 5.0)) == pytest.approx(20 * math.hypot(100, 10) / 100)


def test_tree__never_costs_more_than_the_way_over_its_top():
    """60 m of wet leaves would be 36 dB; its top, 0.5 m above the line at 20 m, has nu 0.757 and J 12.26 dB."""
    line = Line((0, 0, 6), (100, 0, 6))
    found = leaves_loss(line, [Obstacle("T", "tree", 20, 80, 6.5)], frequency_hz=F)
    thin = leaves_loss(line, [Obstacle("T", "tree", 48, 52, 9.0)], frequency_hz=F)
    assert found.low == pytest.approx(24 / 2, abs=0.1)
    assert found.high == pytest.approx(12.26, abs=0.01)
    assert (thin.low, thin.high) == pytest.approx((1.46, 4.38), abs=0.02)


def test_tree__is_no_edge_but_wants_its_share_of_the_zone():
    line = Line((0, 0, 6), (100, 0, 6))
    assert edges(line, [Obstacle("T", "tree", 40, 60, 9.0)]) == []
    found = link(end("HOUSE", 0, 6), end("BARN", 100, 6), [Obstacle("T", "tree", 40, 60, 6.0)])
    assert found.clear_ratio == 0 and found.rise.both_m > 0.65
    assert "trees_grow" in found.cautions
    assert "trees_grow" not in link(end("HOUSE", 0, 6), end("BARN", 100, 6)).cautions


@given(OBSTACLES, st.floats(1, 8), st.floats(0, 3))
def test_link__a_taller_obstacle_never_helps_a_single_one(obstacles, z, more):
    assume(len(obstacles) == 1)
    (one,) = obstacles
    taller = Obstacle(one.name, one.kind, one.from_m, one.to_m, one.top_m + more)
    low, high = (link(end("A", 0, z), end("B", 100, z), [o]) for o in (one, taller))
    if one.kind == "wall" and one.from_m == one.to_m:
        assert high.edges_db >= low.edges_db
    assert high.clear_ratio <= low.clear_ratio
    assert high.leaves_db.high >= low.leaves_db.high - 1e-9


WINDOW = Opening("WI", 1.0, 2.0, 1.0, 2.0, None)
SHED = Scene(
    walls=(
        Wall("N", (40.0, 3.0), (46.0, 3.0), 0.0, 3.0, "brick"),
        Wall("W0", (40.0, -3.0), (40.0, 3.0), 0.0, 2.5, "brick", (WINDOW,)),
        Wall("W1", (40.0, -3.0), (40.0, 3.0), 2.5, 5.0, "brick"),
        Wall("E", (46.0, -3.0), (46.0, 3.0), 0.0, 5.0, "brick"),
    ),
    slabs=(
        Slab("FLOOR", 2.5, (((40, -3), (46, -3), (46, 3), (40, 3)),), (), "wood"),
        Slab("ROOF", 5.0, (((39.5, -3), (46.5, -3), (46.5, 3), (39.5, 3)),), (), "tiles"),
    ),
    rooms=(),
    senders=(),
    skins={},
)


def test_scene__walls_and_roof_along_the_line_the_hidden_ones_left_out():
    """Under the roof, which hangs half a metre over, lie walls and floor: none of them can be higher than it."""
    found = obstacles_between(SHED, (0, 0, 8), (100, 0, 8))
    assert [(o.name, o.kind, o.from_m, o.to_m, o.top_m) for o in found] == [("ROOF", "roof", 39.5, 46.5, 5.0)]


def test_scene__a_line_that_passes_by_meets_nothing():
    assert obstacles_between(SHED, (0, 3.5, 8), (100, 3.5, 8)) == ()


def test_scene__without_a_roof_its_tallest_walls():
    bare = Scene(SHED.walls, (), (), (), {})
    found = obstacles_between(bare, (0, 0, 8), (100, 0, 8))
    assert [(o.name, o.from_m, o.top_m) for o in found] == [("W1", 40.0, 5.0), ("E", 46.0, 5.0)]


def test_scene__from_the_other_side_the_same_at_mirrored_places():
    there, back = obstacles_between(SHED, (0, 0, 8), (100, 0, 8)), obstacles_between(SHED, (100, 0, 8), (0, 0, 8))
    assert [(o.name, 100 - o.to_m, 100 - o.from_m) for o in reversed(back)] == [
        (o.name, o.from_m, o.to_m) for o in there
    ]


def test_scene__over_the_shed_in_a_link():
    """Masts at 5.2 m pass 0.2 m over the roof: 0.17 of the zone."""
    shed = obstacles_between(SHED, (0, 0, 5.2), (100, 0, 5.2))
    found = link(end("HOUSE", 0, 5.2), end("BARN", 100, 5.2), shed)
    assert found.places[0].name == "ROOF" and 0.1 < found.clear_ratio < 0.2
    assert 0 < found.edges_db < 12


def test_edges__two_faces_of_a_thick_wall_are_one():
    line = Line((0, 0, 6), (100, 0, 6))
    thick = [Obstacle("A", "wall", 50, 50, 7.0), Obstacle("B", "wall", 50.5, 50.5, 7.2)]
    assert edges(line, thick) == [(50.5, pytest.approx(1.2))]


def test_line__what_holds_the_mast_is_no_obstacle():
    line = Line((0, 0, 6), (100, 0, 6))
    assert nearest_place(line, Obstacle("OWN", "wall", 0.2, 0.2, 9.0), frequency_hz=F) is None


def test_line__masts_at_one_place_are_refused():
    with pytest.raises(ValueError, match="check both places"):
        Line((0, 0, 3), (0.1, 0, 9))


def test_obstacle__turned_round_is_refused():
    with pytest.raises(ValueError, match="nearer place first"):
        Obstacle("W", "wall", 60, 50, 3)
