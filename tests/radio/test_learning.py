"""What is learned, against plain linear algebra; what is foretold, against drawn worlds; and readings of every kind."""

import csv
import dataclasses
import importlib.resources

import numpy as np
import pytest

from pullstring.radio.learning import learn
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_draws import Worlds
from pullstring.radio.learning_levels import Foretold, Ground, foretell
from pullstring.radio.learning_readings import Reading, spots_of
from pullstring.radio.learning_rows import kernel
from pullstring.radio.paths import Kinds
from pullstring.radio.traced import trace_scene
from tests.radio.learning_by_hand import conditioned, one_scale
from tests.radio.learning_world import BOTH, LATH, cut, drawn_scene, sender, traced, truth, world

SPOTS = truth("brick")[1]


def two_senders(variant="lath"):
    scene = drawn_scene(variant, senders=(sender(), sender("B", (9.0, 6.0, 5.0))))
    return scene, trace_scene(scene, np.array(SPOTS), bands=BOTH, kinds=Kinds(reflections=0, openings=1))


def taught(scene, tables, readings, **more):
    spots = spots_of(readings) or SPOTS[:1]
    return learn(readings, cut(tables, spots), skins=scene.skins, senders=scene.senders, **more)


def plain(key, point, level, *, sender="AP", band=BOTH[0], device="phone", **more):
    return Reading(key, (SPOTS[point],), sender, device, band, level, -92.0, 5, True, "day", **more)


def level_at(tables, reading):
    return tables.level_dbm()[BOTH.index(reading.band), 0, SPOTS.index(reading.spots[0])]


# Nothing read, one read


def test_prior__no_readings_still_answer_with_spread():
    scene, tables = two_senders()
    learned = taught(scene, tables, [])
    found = foretell(learned, Ground.of(tables))
    assert np.array_equal(found.level_dbm, tables.level_dbm())
    assert learned.exponent.value == 2.0
    assert learned.offsets == ()
    assert (found.spread_db > 1.5).all()  # what the access point radiates is not known better than that


def test_prior__spread_grows_behind_walls():
    """Point 0 sees the access point; to point 23 at the far corner two or more walls stand."""
    scene, tables = two_senders()
    found = foretell(taught(scene, tables, []), Ground.of(tables))
    assert found.spread_db[0, 0, 23] > 1.2 * found.spread_db[0, 0, 0]


def test_one_reading__moves_offset_and_level_as_their_spreads_divide_it():
    """Under one scale and with no walls in between, by hand: what is read is shared out by the variances."""
    drawn = traced("brick")
    one = plain("a", 0, None)
    one = dataclasses.replace(one, level_dbm=level_at(drawn.tables, one) - 4 + 6)
    learned = drawn.learn([one])
    for k, scale in enumerate(learned.solved.scales):
        a = assumed()
        log = np.log10(np.linalg.norm(np.subtract(SPOTS[0], drawn.scene.senders[0].spot)))
        wall = learned.solved.prior_rows[k][0, 0] - 16 - 1 - 1.5**2
        field, exponent = (scale.field_factor * 4) ** 2, (10 * log * a["exponent_spread"]) ** 2
        assert wall >= field + exponent  # the rest are walls that reflections cross
        offset = (16 + 1) / (16 + 1 + 1.5**2 + wall + one.noise_db**2) * 6
        assert learned.offset_rows("phone", BOTH[0]) @ learned.solved.pull[k] == pytest.approx(offset, rel=0.02)


def test_one_reading__is_foretold_anew_nearer_to_itself():
    drawn = traced("brick")
    one = plain("a", 20, None)
    one = dataclasses.replace(one, level_dbm=level_at(drawn.tables, one) - 4 + 12)
    before = drawn.foretell(drawn.learn([]), like=one)
    after = drawn.foretell(drawn.learn([one]), like=one)
    assert 8 < after.level_dbm[0, 0, 20] - before.level_dbm[0, 0, 20] < 12
    assert after.spread_db[0, 0, 20] < 0.7 * before.spread_db[0, 0, 20]


# Against plain linear algebra


def test_foretold__equals_conditioning_by_hand_under_one_scale():
    """Joint prior of readings and one point written out, conditioned, mixed over scales; the program never builds it."""
    scene, tables = two_senders("brick")
    rng = np.random.default_rng(2)
    readings = [
        plain(f"{point} {band} {name}", point, float(rng.normal(-50, 5)), sender=name, band=band)
        for point in (3, 17, 40)
        for band in BOTH
        for name in ("AP", "B")
    ]
    learned = taught(scene, tables, readings)
    ground = Ground.of(tables).moved_to(learned)
    found = foretell(learned, ground)
    target = [plain("t", 30, -1.0, sender="B", band=BOTH[1]), plain("u", 8, -1.0)]
    for one, at in zip(target, ((1, 1, 30), (0, 0, 8)), strict=True):
        assert by_hand(learned, ground, readings, one, at) == pytest.approx(
            (found.level_dbm[at], found.spread_db[at]), rel=2e-3
        )


def by_hand(learned, ground, readings, target, at):
    """Mean and 80 % spread of one level from the covariances as the model is described."""
    means, spreads = [], []
    for k in range(len(learned.solved.scales)):
        mean, cov = conditioned(learned, ground, readings, [target], k, device=False)
        means.append(mean[0])
        spreads.append(np.sqrt(cov[0, 0]))
    middle = learned.solved.weight @ means
    wide = np.sqrt(np.square(spreads) + (means - middle) ** 2)
    draws = np.random.default_rng(0).normal(size=400_000)
    which = np.random.default_rng(1).choice(len(wide), size=len(draws), p=learned.solved.weight)
    return middle, np.quantile(np.abs(draws * wide[which]), 0.8) / 1.2816


@pytest.mark.parametrize("name", ["AP", "B"])
def test_foretell__what_a_device_would_read_by_hand_for_a_sender_read_and_one_not(name):
    """Offset and level pull against each other once something was read; B was never read, but its walls are the same."""
    scene, tables = two_senders("brick")
    readings = [plain(f"{p} {band}", p, -45.0 - p / 3, band=band) for p in (3, 17, 30, 40) for band in BOTH]
    learned = one_scale(taught(scene, tables, readings))
    ground = Ground.of(tables).moved_to(learned)
    target = plain("t", 34, -1.0, sender=name)
    mean, cov = conditioned(learned, ground, readings, [target], 0, device=True)
    found = foretell(learned, ground, like=target)
    at = 0, ("AP", "B").index(name), 34
    assert found.level_dbm[at] == pytest.approx(mean[0], abs=0.02)
    assert found.spread_db[at] == pytest.approx(np.sqrt(cov[0, 0] + target.noise_db**2), rel=2e-3)


def test_room_reading__knows_one_spot_of_the_room_and_not_its_mean():
    """Two spots 20 m apart: whichever was read varies by a whole field, while their mean would by half of that."""
    scene, tables = two_senders("brick")
    far = dataclasses.replace(plain("a", 0, -50.0), spots=(SPOTS[0], SPOTS[59]))
    rows = taught(scene, tables, [far]).solved.rows
    assert rows.fields[0, 0] == pytest.approx((rows.item_field_db**2).mean())


def test_draws__have_the_mean_and_spread_that_is_foretold():
    scene, tables = two_senders()
    house = world(*truth("lath")[:2], 3, power_db=1.5)
    readings = [*house.read([2, 14, 33, 47]), dataclasses.replace(house.reading(20, BOTH[1]), level_dbm=None)]
    learned = taught(scene, tables, readings)
    ground = Ground.of(tables).moved_to(learned)
    found, points = foretell(learned, ground), [0, 14, 25, 58]
    drawn = Worlds(learned, ground, points).draw(20_000, np.random.default_rng(1))
    assert drawn.shape == (20_000, 2, 2, 4)
    assert drawn.mean(axis=0) == pytest.approx(found.level_dbm[:, :, points], abs=0.25)
    low, high = np.quantile(drawn, [0.1, 0.9], axis=0)
    assert (high - low) / 2 == pytest.approx(1.2816 * found.spread_db[:, :, points], rel=0.06)


def test_draws__same_seed_same_worlds_and_only_the_named_senders():
    scene, tables = two_senders()
    learned = taught(scene, tables, [plain("a", 3, -40.0)])
    ground = Ground.of(tables).moved_to(learned)
    once, again = (Worlds(learned, ground, [1, 2], ["B"]).draw(5, np.random.default_rng(9)) for _ in range(2))
    assert once.shape == (5, 2, 1, 2)
    assert np.array_equal(once, again)


def test_draws__near_points_go_together_far_ones_less():
    scene, tables = two_senders("brick")
    learned = taught(scene, tables, [])
    drawn = Worlds(learned, Ground.of(tables), [0, 1, 59]).draw(4000, np.random.default_rng(2))[:, 0, 0]
    together = np.corrcoef(drawn.T)
    assert together[0, 1] > together[0, 2] + 0.1


# Learning the numbers


@pytest.mark.parametrize("more_db", [-4.0, 5.0])
def test_walls__a_loss_that_differs_is_found(more_db):
    """Exact levels of a house whose thin brick loses more: twelve points, hardly any noise left by averaging."""
    drawn = traced("brick")
    skin = drawn.tables.skins.index("brick 100")
    change = np.zeros((2, len(drawn.tables.skins)))
    change[:, skin] = more_db if more_db > 0 else -2.5
    house = world(drawn.tables.level_dbm(change)[:, 0], SPOTS, 1, power_db=0.1)
    learned = drawn.learn(house.read(range(0, 60, 4)))
    for one in learned.walls:
        if one.name == "brick 100":
            assert one.low <= change[0, skin] <= one.high
            assert one.high - one.low < 2 * 1.2816 * 3.0 * np.sqrt(0.7)


def test_offsets__one_for_each_device():
    """The same places with two devices, one 9 dB deafer: the difference is known much better than either."""
    drawn = traced("brick")
    house = world(*truth("brick")[:2], 8, power_db=1.5)
    phone = house.read(range(5, 60, 12))
    other = [
        dataclasses.replace(one, key=f"t{one.key}", device="tablet", level_dbm=one.level_dbm - 9)
        for one in phone
        if one.heard
    ]
    found = {(one.name, one.band): one.value for one in drawn.learn([*phone, *other]).offsets}
    for band in BOTH:
        assert found["phone", band] - found["tablet", band] == pytest.approx(9, abs=0.6)


def test_exponent__stays_near_two_without_cause():
    drawn = traced("brick")
    house = world(drawn.tables.level_dbm()[:, 0], SPOTS, 5, power_db=1.5)
    found = drawn.learn(house.read(range(0, 60, 5))).exponent
    assert found.low < 2 < found.high
    assert found.high - found.low < 2 * 1.2816 * 0.2


def test_exponent__a_steeper_world_is_noticed():
    drawn = traced("brick")
    steeper = drawn.tables.level_dbm()[:, 0] - 0.5 * 10 * drawn.tables.log_distance()
    house = world(steeper, SPOTS, 5, power_db=1.5)
    assert drawn.learn(house.read(range(0, 60, 3))).exponent.value > 2.15


# Readings of every kind


def test_room_reading__moves_its_room_and_less_than_one_at_a_known_spot():
    drawn = traced("lath")
    rooms = truth("lath")[2]
    inside = tuple(i for i, room in enumerate(rooms) if room == "U2")
    known = plain("a", inside[3], None)
    known = dataclasses.replace(known, level_dbm=level_at(drawn.tables, known) - 4 + 15)
    mean = np.mean([drawn.tables.level_dbm()[0, 0, i] for i in inside])
    only_room = dataclasses.replace(known, spots=tuple(SPOTS[i] for i in inside), level_dbm=float(mean) - 4 + 15)
    start = drawn.foretell(drawn.learn([])).level_dbm[0, 0, list(inside)]
    by_spot = drawn.foretell(drawn.learn([known])).level_dbm[0, 0, list(inside)] - start
    by_room = drawn.foretell(drawn.learn([only_room])).level_dbm[0, 0, list(inside)] - start
    assert by_room.mean() > 1
    assert by_spot[3] > by_room[3]
    assert by_room.std() < by_spot.std()


def test_room_reading__many_points_are_thinned_to_a_dozen():
    one = plain("a", 0, -50.0)
    many = dataclasses.replace(one, spots=tuple((float(i), 0.0, 1.2) for i in range(100)))
    assert len(many.standing) == 12
    assert (many.standing[0], many.standing[-1]) == (many.spots[0], many.spots[-1])


def test_unnamed_sender__the_one_that_fits_is_taken():
    """Beside the access point: nobody else could be as loud there."""
    scene, tables = two_senders()
    learned = taught(scene, tables, [plain("a", 1, -30.0, sender=None)])
    assert [one.sender for one in learned.solved.rows.readings] == ["AP"]


def test_unnamed_sender__left_out_where_two_would_fit():
    scene = drawn_scene("brick", senders=(sender(), sender("B", (2.1, 2.5, 2.3))))
    tables = trace_scene(scene, np.array(SPOTS), bands=BOTH, kinds=Kinds(reflections=0, openings=0))
    learned = taught(scene, tables, [plain("a", 5, -40.0, sender=None)])
    assert [(one.key, one.why) for one in learned.unused] == [("a", "unclear")]


def test_none_heard__from_nobody_speaks_of_every_sender_that_might_be():
    scene, tables = two_senders()
    learned = taught(scene, tables, [plain("a", 30, None, sender=None)])
    assert {one.sender for one in learned.solved.rows.readings} <= {"AP", "B"}
    before = foretell(taught(scene, tables, []), Ground.of(tables))
    after = foretell(learned, Ground.of(tables).moved_to(learned))
    for one in learned.solved.rows.readings:
        s = ("AP", "B").index(one.sender)
        assert after.level_dbm[0, s, 30] < before.level_dbm[0, s, 30]


def test_none_heard__a_planned_one_was_not_there_to_be_heard():
    scene = drawn_scene("brick", senders=(sender(), sender("N", (8.0, 2.0, 2.3), planned=True)))
    tables = trace_scene(scene, np.array(SPOTS), bands=BOTH, kinds=Kinds(reflections=0, openings=0))
    learned = taught(scene, tables, [plain("a", 17, None, sender=None)])
    assert "N" not in [one.sender for one in learned.solved.rows.readings]


@pytest.mark.parametrize(
    ("changed", "why"), [({"sender": "X9"}, "no_sender"), ({"band": "6 GHz"}, "not_sent"), ({}, None)]
)
def test_unused__said_with_its_reason(changed, why):
    scene, tables = two_senders()
    learned = taught(scene, tables, [plain("a", 3, -40.0, **changed)])
    assert [one.why for one in learned.unused] == ([why] if why else [])


def test_unused__a_band_that_one_does_not_send():
    quiet = dataclasses.replace(sender("B", (9.0, 6.0, 5.0)), eirp_dbm={BOTH[0]: 20.0})
    scene = drawn_scene("brick", senders=(sender(), quiet))
    tables = trace_scene(scene, np.array(SPOTS), bands=BOTH, kinds=Kinds(reflections=0, openings=0))
    learned = taught(scene, tables, [plain("a", 3, -40.0, sender="B", band=BOTH[1])])
    assert [one.why for one in learned.unused] == ["not_sent"]
    assert np.isnan(foretell(learned, Ground.of(tables)).spread_db[1, 1]).all()


@pytest.mark.parametrize("given", [{"spots": ()}, {"band": "60 GHz"}, {"count": 0}])
def test_reading__that_cannot_be_is_refused(given):
    with pytest.raises(ValueError, match="reading a: "):
        dataclasses.replace(plain("a", 0, -40.0), **given)


def test_reading__turning_and_averaging_leave_less_noise():
    one = plain("a", 0, -40.0)
    standing, single = dataclasses.replace(one, turned=False), dataclasses.replace(one, count=1)
    assert one.noise_db < single.noise_db < standing.noise_db
    assert standing.noise_db == pytest.approx(np.sqrt(3.3**2 + 1.2**2 / 5 + 0.3**2))


# Do not know, again, and faster


def test_unknown__where_nobody_sends_or_spread_is_too_big():
    level = np.array([[[-60.0, -60.0, -150.0, np.nan], [-80.0, -80.0, -170.0, np.nan]]])
    spread = np.array([[[4.0, 9.5, 12.0, np.nan], [20.0, 4.0, 12.0, np.nan]]])
    assert Foretold(level, spread).unknown.tolist() == [[False, True, False, True]]


def test_order__of_the_readings_does_not_matter():
    drawn = traced("lath")
    readings = world(*truth("lath")[:2], 6, power_db=1.5).read([1, 18, 30, 44, 59])
    there, back = (drawn.foretell(drawn.learn(one)).level_dbm for one in (readings, readings[::-1]))
    assert there == pytest.approx(back, abs=1e-4)


@pytest.mark.parametrize("variant", ["brick", "lath"])
def test_start__three_readings_more_give_nearly_what_learning_anew_gives(variant):
    drawn = traced(variant)
    readings = world(*truth(variant)[:2], 6, power_db=1.5).read([1, 9, 18, 30, 44, 59, 25])
    first = drawn.learn(readings[:-3])
    anew = drawn.learn(readings)
    tables = cut(drawn.tables, spots_of(readings))
    more = learn(readings, tables, skins=drawn.scene.skins, senders=drawn.scene.senders, start=first)
    for one, other in ((drawn.foretell(more), drawn.foretell(anew)),):
        assert one.level_dbm == pytest.approx(other.level_dbm, abs=1.0)
        assert one.spread_db == pytest.approx(other.spread_db, rel=0.15)


def test_rounds__losses_that_swing_to_and_fro_are_settled():
    """A day on which whole steps leave the loss of a wall type 15 dB from where it should be, after five rounds."""
    drawn, (levels, spots, _) = traced("lath", named=((LATH, "brick 100"),)), truth("lath")
    house = world(levels, spots, 36, power_db=1.5, furniture_db=3.0)
    learned = drawn.learn(house.read(house.rng.choice(60, 10, replace=False)))
    wanted = learned.solved.mixed_mean[1:].reshape(learned.change_db.shape)
    free = learned.change_db > -0.5  # what is not held at "no wall makes a signal stronger"
    assert np.abs(wanted - learned.change_db)[free].max() < 4


def test_kernel__a_metre_up_counts_as_two():
    one = np.array([[0.0, 0.0, 0.0]])
    assert kernel(one_m=one, other_m=np.array([[3.0, 0.0, 0.0]]))[0, 0] == pytest.approx(np.exp(-1))
    assert kernel(one_m=one, other_m=np.array([[0.0, 0.0, 1.5]]))[0, 0] == pytest.approx(np.exp(-1))


def test_assumed__every_number_says_where_it_is_from():
    file = importlib.resources.files("pullstring.radio") / "data" / "assumed_learning.csv"
    rows = list(csv.DictReader(file.read_text("utf-8").splitlines()))
    assert len({row["name"] for row in rows}) == len(rows) == len(assumed())
    kinds = ("ours", "assumed", "common practice", "found with", "computed", "free space")
    assert all(row["provenance"].startswith(kinds) and row["unit"] for row in rows)
