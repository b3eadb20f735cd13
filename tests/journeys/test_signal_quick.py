"""What is kept and what is asked anew: a reading traces nothing, a look at what if traces one access point to few points."""

from __future__ import annotations

import time

import numpy as np
import pytest

from pullstring import api
from pullstring.api import signal_moving, signal_tables
from pullstring.api.signal_worked import NOT_SHOWN, WORLDS, answered_rooms, based, drawn, shared_draws
from pullstring.model.refs import Ref
from pullstring.radio.learning_levels import Ground
from pullstring.radio.rooms_assumed import assumed_rules
from pullstring.radio.traced import made_ready
from tests.journeys.sites import ASKED, HAND
from tests.journeys.tarn_house import FOOT_M, rows, tarn_house


@pytest.fixture
def house(tmp_path):
    return tarn_house(tmp_path)


@pytest.fixture
def traced(monkeypatch):
    """How many points each tracing went to."""
    asked, counts = signal_tables.trace_scene, []

    def counted(scene, points, **options):
        counts.append(len(points))
        return asked(scene, points, **options)

    monkeypatch.setattr(signal_tables, "trace_scene", counted)
    signal_tables._kept.clear()
    return counts


def read(path, key, **cells):
    row = {"subject": "room:PARL", "quantity": "level 5 GHz", "value": "-70 dBm", "grade": "metered", **cells}
    api.add_rows(path, ASKED, rows=[api.Row("measurements", row, False)], key=key * 16, **HAND)


def test_reading__in_a_room_traces_nothing_anew(house, traced):
    before = api.signal(house, ASKED).answer
    assert len(traced) == 1
    read(house, "a", conditions="heard from A1", instrument="phone")
    after = api.signal(house, ASKED).answer
    assert len(traced) == 1
    assert len(after["readings"]) == len(before["readings"]) + 1


def test_reading__at_a_new_spot_traces_that_spot_alone(house, traced):
    api.signal(house, ASKED)
    read(house, "b", conditions="heard from A1; at 5.03 2.21", instrument="phone")
    (added,) = [
        r for r in api.signal(house, ASKED).answer["readings"] if r["key"] not in ("", *map("K{}".format, range(20)))
    ]
    assert traced[1:] == [1]
    assert (added["x_m"], added["y_m"]) == pytest.approx((5.03, 2.21))
    assert -90 < added["predicted_dbm"] < -30  # what was traced to that spot and to no other place


def test_wall__moved_is_another_plan(house, traced):
    api.signal(house, ASKED)
    row = {**next(w for w in rows()["walls"] if w["wall"] == "i1"), "wall_type": "LATH", "at": "2026-03-09"}
    api.add_rows(house, ASKED, rows=[api.Row("walls", row, False)], key="c" * 16, **HAND)
    api.signal(house, ASKED)
    assert len(traced) == 2 and traced[1] == traced[0]


def test_moved__the_quick_answer_is_within_two_decibels_of_the_whole_one(house):
    """All points and worlds against few: the change is up to twenty decibels, the difference a tenth of that."""
    site, at, floor = api.load(house, ASKED), (21 * FOOT_M, 5 * FOOT_M), Ref("floor", "T0")
    base = based(site, doors="usual", even=False, shown=NOT_SHOWN)
    other = signal_moving._put(site, base, base.made.scene.senders[0], *at, floor)
    held = base.held.traced
    ready = made_ready(base.made.scene, held.points, bands=base.bands, kinds=base.kinds)
    ground = Ground.of(signal_moving.with_other(held, 0, other, ready)).moved_to(base.checked.learned)
    worlds = shared_draws(site, doors="usual", even=False, seed=ASKED.seed, count=WORLDS)
    names = [s.name for s in base.made.scene.senders]
    whole = answered_rooms(drawn(base, worlds, ground, base.held.rooms, names, seed=ASKED.seed), assumed_rules())
    quick = signal_moving.moved(site, ASKED, sender="A1", x_m=at[0], y_m=at[1], floor=floor).answers
    off = [
        quick[room].bands[band].level_dbm - of.level_dbm
        for room, answer in whole.items()
        for band, of in answer.bands.items()
        if of.level_dbm > -95
    ]
    assert len(off) >= 8
    assert np.max(np.abs(off)) < 2.0
    assert np.median(np.abs(off)) < 0.7


def test_moved__answers_while_it_is_dragged(house):
    api.signal_moved(house, ASKED, sender="A1", x_m=3.0, y_m=3.0, floor="T0")  # what all moves share
    took = []
    for x in (3.5, 4.0, 4.5):
        began = time.process_time()
        api.signal_moved(house, ASKED, sender="A1", x_m=x, y_m=3.0, floor="T0")
        took.append(time.process_time() - began)
    assert min(took) < 0.3
