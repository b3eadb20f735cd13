"""The program against a research ray tracer (`tests/authorities/radio`), nothing fitted: an invented house, two builds, two bands.

The reference follows eight turns and three reflections; ours two. A program that follows the straight path alone must fail.
"""

from __future__ import annotations

import csv
import functools

import numpy as np
import pytest

from pullstring.radio.paths import Kinds
from pullstring.radio.scene_of import made_scene
from pullstring.radio.traced import trace_scene
from tests.radio import told_house
from tests.radio.by_hand import turned_points
from tests.radio.reference_house import BEST, FILE, STRAIGHT, levels, scene, told

FIRST = Kinds(reflections=1, openings=2)
EDGES = Kinds(reflections=0, openings=2)
HZ = {"2p45": 2.45e9, "5p5": 5.5e9}
CASES = [("brick", "2p45"), ("brick", "5p5"), ("lath", "2p45"), ("lath", "5p5")]


@functools.cache
def reference(variant: str, ghz: str, column: str) -> dict[str, float]:
    text = (FILE.parent / f"rt_{variant}_{ghz}.csv").read_text("utf-8")
    return {row["id"]: float(row[column]) for row in csv.DictReader(text.splitlines()) if row[column]}


def errors(variant: str, ghz: str, kinds: Kinds, column: str = "power_sum_dbm") -> np.ndarray:
    """Ours minus the reference at every point of the file. [dB]"""
    ours, theirs = levels(variant, HZ[ghz], kinds), reference(variant, ghz, column)
    assert set(theirs) <= set(ours) and len(theirs) >= 55
    return np.array([ours[name] - level for name, level in theirs.items()])


def rms(values: np.ndarray) -> float:
    return float(np.sqrt((values**2).mean()))


@pytest.mark.parametrize(("variant", "ghz", "most_db"), [(*case, 0.5 if case[0] == "brick" else 1.5) for case in CASES])
def test_all_paths__agree_with_the_ray_tracer(variant, ghz, most_db):
    assert rms(errors(variant, ghz, BEST)) <= most_db


@pytest.mark.parametrize(("variant", "ghz"), CASES)
def test_all_paths__as_near_as_they_were_when_written(variant, ghz):
    """0.15, 0.12, 0.99 and 1.02 dB were reached; a slip that costs a quarter of that shows here before it breaks a promise."""
    reached = {("brick", "2p45"): 0.15, ("brick", "5p5"): 0.12, ("lath", "2p45"): 0.99, ("lath", "5p5"): 1.02}
    assert rms(errors(variant, ghz, BEST)) <= 1.25 * reached[variant, ghz]


@pytest.mark.parametrize("ghz", HZ)
def test_straight_path_alone__fails_where_metal_lath_stands(ghz):
    wrong = errors("lath", ghz, STRAIGHT)
    assert rms(wrong) > 5 and np.abs(wrong).max() > 20
    assert wrong.mean() < -3, "it calls rooms dead that a doorway feeds"


@pytest.mark.parametrize(("variant", "ghz"), CASES)
def test_more_paths__each_kind_brings_it_nearer(variant, ghz):
    """Straight, then openings, then first reflections, then second: the order of the table of simpler ways of reckoning."""
    wrong = [rms(errors(variant, ghz, kinds)) for kinds in (STRAIGHT, EDGES, FIRST, BEST)]
    assert wrong == sorted(wrong, reverse=True) and wrong[0] > 3 * wrong[-1]


@pytest.mark.parametrize(("variant", "ghz"), CASES)
def test_straight_path__is_the_ray_tracers(variant, ghz):
    """On brick to 0.1 dB; through reflective sheets its amplitudes of both polarisations are mixed otherwise, up to 1.5 dB."""
    assert np.abs(errors(variant, ghz, STRAIGHT, "direct_dbm")).max() <= (0.1 if variant == "brick" else 1.5)


@pytest.mark.parametrize(("variant", "ghz"), CASES)
def test_first_order__is_the_ray_tracers_first_order(variant, ghz):
    """Against the reference's own sum without what bounces more than once: far nearer than to the whole sum."""
    assert rms(errors(variant, ghz, FIRST, "refl1_power_sum_dbm")) <= (0.15 if variant == "brick" else 0.9)


@pytest.mark.parametrize(
    ("variant", "ghz", "reached_db"),
    [("brick", "2p45", 0.65), ("brick", "5p5", 0.59), ("lath", "2p45", 1.81), ("lath", "5p5", 2.53)],
)
def test_first_order__against_the_whole_sum_as_another_program_written_apart(variant, ghz, reached_db):
    """That program knows openings and first reflections at true angles; the two differ by 0.1 dB on lath."""
    assert rms(errors(variant, ghz, FIRST)) == pytest.approx(reached_db, abs=0.15)


def recorded(**where) -> np.ndarray:
    """Levels in both bands at the points of the file, from the record of the house. [bands, points] [dBm]"""
    made = made_scene(told_house.house(**where), doors="usual", step_m=2.0).scene
    turn = {"turn_deg": where.get("angle_deg", 0.0), "shift": tuple(where.get(f"{axis}_m", 0.0) for axis in "xyz")}
    points = np.array([[one["x"], one["y"], one["z"]] for one in told()["receivers"]])
    found = trace_scene(
        made,
        turned_points(points, **turn),
        bands=("2.4 GHz", "5 GHz"),
        kinds=FIRST,
        interference=True,
        use_compiler=False,
        frequencies_hz={"2.4 GHz": 2.45e9, "5 GHz": 5.5e9},
    )
    return found.level_dbm()[:, 0]


WHERE = [
    {},
    {"x_m": 31.7, "y_m": -12.4, "z_m": 5.5, "angle_deg": 37.0},
    {"feet": True},
    {"x_m": -250.0, "y_m": 96.0, "z_m": -3.0, "angle_deg": 200.0, "feet": True},
]


@pytest.mark.parametrize("where", WHERE, ids=["as drawn", "turned", "in feet", "turned, in feet"])
def test_record__gives_the_levels_of_the_scene_built_by_hand(where):
    """The same house from tables, wherever it stands: the same as from the file to 0.01 dB."""
    by_hand = np.array([list(levels("brick", hz, FIRST).values()) for hz in HZ.values()])
    assert np.abs(recorded(**where) - by_hand).max() < 0.01


def test_record__has_every_surface_of_the_file():
    made = made_scene(told_house.house(), doors="usual", step_m=2.0)
    assert len(made.scene.walls) == len(scene("brick").walls) and len(made.scene.slabs) == 3
    assert sum(len(w.openings) for w in made.scene.walls) == sum(len(w.openings) for w in scene("brick").walls)
    assert [t.code for t in made.taken if "roof" in t.code or "type" in t.code] == []


def test_record__a_house_in_feet_is_written_in_feet():
    assert told_house.LENGTHS.sub(told_house._in_feet, "z_m=<2.8>") == "z_m=9.186351706037ft"
