"""Three readings more, for 50 access points at 6,000 points in two bands: numbers and map anew, nothing traced."""

import dataclasses
import time

import numpy as np

from pullstring.radio.learning import learn
from pullstring.radio.learning_levels import Ground, foretell
from pullstring.radio.learning_readings import Reading
from pullstring.radio.scene import Sender, Skin
from pullstring.radio.traced import Traced
from tests.radio.learning_world import BOTH

SENDERS, POINTS, SKINS = 50, 6000, 10


def site():
    """Tables of the size asked for, filled at random."""
    rng = np.random.default_rng(0)
    spots, points = rng.uniform(0, 40, (SENDERS, 3)), rng.uniform(0, 40, (POINTS, 3))
    names, skins = tuple(f"A{i}" for i in range(SENDERS)), tuple(f"k{i}" for i in range(SKINS))
    crossed = rng.integers(0, 2, (SENDERS, POINTS, 2, SKINS)).astype(np.uint8)
    share = (10 ** -rng.uniform(5, 9, (2, SENDERS, POINTS, 2))).astype(np.float32)
    tables = Traced(BOTH, names, skins, points, spots, np.full((2, SENDERS), 20.0), share, crossed)
    each = dict.fromkeys(BOTH, 3.0)
    power = dict.fromkeys(BOTH, 20.0)
    senders = [
        Sender(n, tuple(p), power, 1.5, "isotropic", 0.0, 0.0, "", False) for n, p in zip(names, spots, strict=True)
    ]
    return tables, {name: Skin(name, "class", (), each, each, each) for name in skins}, senders


def readings(tables, count):
    rng, level, made = np.random.default_rng(1), tables.level_dbm(), []
    for i in range(count):
        b, s = i % 2, i % 6
        blank = Reading(
            str(i), (tuple(map(float, tables.points[i])),), f"A{s}", "phone", BOTH[b], None, -92.0, 5, True, "day"
        )
        shown = float(level[b, s, i]) - 4 + rng.normal(0, blank.noise_db)
        made.append(blank if shown < -92 else dataclasses.replace(blank, level_dbm=shown))
    return made


def test_update__three_readings_more_on_a_large_site():
    """Numbers and map anew take less than weighing the tables does, which readings need not do again: half on an idle processor."""
    tables, skins, senders = site()
    given = readings(tables, 33)
    near = dataclasses.replace(
        tables, points=tables.points[:33], share=tables.share[:, :, :33], crossed=tables.crossed[:, :33]
    )
    before = learn(given[:30], near, skins=skins, senders=senders)
    ground = Ground.of(tables).moved_to(before)
    anew, weighing = [], []
    for _ in range(5):  # in turns, in this thread's own time: what else the machine does weighs on both
        start = time.thread_time()
        after = learn(given, near, skins=skins, senders=senders, start=before)
        found = foretell(after, ground)
        anew.append(time.thread_time() - start)
        start = time.thread_time()
        Ground.of(tables)
        weighing.append(time.thread_time() - start)
    assert found.level_dbm.shape == (2, SENDERS, POINTS)
    assert len(after.solved.rows.readings) == 33
    assert min(anew) < min(weighing), (anew, weighing)
