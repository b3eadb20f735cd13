"""Whole scenarios of the bench: nobody beats the optimum, odds are worth what they claim in worlds as believed and in others."""

import dataclasses
import itertools
import math
import pathlib
import subprocess
import sys

import numpy as np
import pytest

from bench.tracing_world import frozen, numbers, practice, runs, tiny, under_test
from bench.tracing_world.rounds import FixedRounds
from pullstring.trace import assumed
from tests.tiers import slow

ROOT = pathlib.Path(__file__).resolve().parents[2]
TINY = {case["id"]: case for case in frozen.cases("identify_small")}


def rows(kit, world, count, size=(20, 30), seed=21):
    return [runs.run(runs.Case(*size, kit, world, seed, number)) for number in range(count)]


def mean(some, field):
    return float(np.mean([getattr(row, field) for row in some]))


@pytest.mark.parametrize("name", ["J0", "J1", "J2", "J3", "J4", pytest.param("J5", marks=slow("4 s, 41000 states"))])
def test_tiny__practice_is_right_without_noise_and_never_below_the_optimum(name):
    """Below it only a wrong clock can be; fixed rounds clip ends that cannot matter, so they are above it."""
    case = TINY[name]
    found = tiny.judged(name, frozen.site_of(case), case["remotes"], lambda site, bag: FixedRounds(site, bag.remotes))
    assert found.right == pytest.approx(1.0)
    assert found.optimum_s == pytest.approx(case["optimal_expected_s"], abs=0.01)
    assert found.ratio > 1.0


def test_tiny__each_assignment_weighs_as_likely_as_it_is():
    """Two outlets, one remote, three ends; weights by the plain product.

    Three clips for the first outlet; two for the second when the first tagged an end, and then a third when the second has no
    cable or is on that same end.
    """
    case = TINY["J0"]
    site = frozen.site_of(case)
    first, second = practice.tour_of(site)
    total = expected = 0.0
    for own in itertools.product([0, 1, 2, None], repeat=2):
        counts = [own.count(end) for end in range(3)]
        weight = 0.08 ** own.count(None) * math.prod((0.18, 1.0, 0.20)[c] for c in counts)
        tagged = own[first] is not None
        again = tagged and own[second] in (None, own[first])
        total += weight
        expected += weight * 9 * (3 + 3 - tagged + again)
    t = site.travel_s
    way_s = 2 * t[2, first] + t[2, first] + t[first, second] + t[second, 2] + t[2, second] + 4 * 10
    found = tiny.judged("J0", site, 1, lambda place, bag: FixedRounds(place, bag.remotes))
    assert found.expected_s == pytest.approx(way_s + 2 * (15 + 6 + 6) + expected / total)


def test_scenario__same_for_every_kit_and_other_for_another_number():
    one, other = (runs.scenario(runs.Case(8, 12, kit, "as believed", 5, 3)) for kit in ("8 remotes", "one tone"))
    assert one[1] == other[1] and (one[0].travel_s == other[0].travel_s).all()
    assert runs.scenario(runs.Case(8, 12, "8 remotes", "as believed", 5, 4))[1] != one[1]


def test_run__the_same_twice():
    case = runs.Case(8, 12, "fixed 8 remotes", "as believed", 5, 3)
    first, again = (dataclasses.replace(runs.run(case), cpu_s=0.0, slowest_s=0.0) for _ in range(2))
    assert first == again


def test_run__a_frozen_building_is_held_against_its_own_mean():
    case = runs.Case(8, 12, "fixed tone", "as believed", 5, 0, "8x12-9000")
    known = next(c for c in frozen.cases("scenarios") if c["id"] == "8x12-9000")["naive"]
    expected = known["probe_all"]["seconds"] / known["until_found"]["mean_seconds"]
    assert runs.run(case).ratio == pytest.approx(expected, abs=1e-4)


WORLDS = [
    ("fixed tone", "as believed"),
    ("fixed tone", "crosstalk"),
    ("fixed tone", "flat battery"),
    ("fixed tone", "wrong label"),
    ("fixed 8 remotes", "as believed"),
    ("fixed 8 remotes", "stuck nowhere"),
    ("fixed 8 remotes", "stuck everywhere"),
    ("fixed 8 remotes", "wrong label"),
]


def hold(kit, world, count, size, apart):
    """The odds over what present practice read. They know nothing of the world but the readings."""
    some = rows(kit, world, count, size)
    assert mean(some, "doubted_claimed") == pytest.approx(mean(some, "doubted_right"), abs=apart)
    named = [row.named for row in some if row.named is not None]
    assert bool(named) == (world != "as believed")
    assert np.mean(named or [1.0]) > 0.9
    assert mean(some, "falsely") < 0.6


@pytest.mark.parametrize(("kit", "world"), WORLDS)
def test_odds__claims_hold_in_every_world_and_what_is_bad_is_named(kit, world):
    """24 scenarios, 480 answers, up to a third of them wrong (a flat battery): three standard errors are 0.06."""
    hold(kit, world, 24, (20, 30) if world == "flat battery" else (12, 18), 0.06)


@slow("18 s, 60 larger scenarios in each world")
@pytest.mark.parametrize(("kit", "world"), WORLDS)
def test_odds__claims_hold_to_two_hundredths(kit, world):
    """60 scenarios of 48 outlets: 2880 answers; the target is 0.02, which is more than two standard errors here."""
    hold(kit, world, 60, (48, 60), 0.02)


def test_odds__are_better_than_what_practice_says():
    """Every loud end as an answer takes many neighbours for the end itself; odds over the same readings do not."""
    some = rows("fixed tone", "as believed", 20)
    assert mean(some, "doubted_right") > mean(some, "right") + 0.1


@pytest.mark.parametrize(
    ("kit", "bag"),
    [
        ("one tone", (0, 0, 0, True)),
        ("8 remotes", (8, 0, 0, True)),
        ("15 plugs", (0, 0, 60, True)),
        ("15 plugs + 8 remotes", (8, 0, 60, True)),
        ("81 marks + 8 remotes", (8, 60, 0, True)),
        ("ids", (0, 60, 0, True)),
        ("fixed 16 remotes", (16, 0, 0, False)),
    ],
)
def test_kit__by_its_words(kit, bag):
    assert dataclasses.astuple(runs.bag_of(kit, 60)) == bag


@pytest.mark.parametrize("kit", ["remotes", "8 cats", "", "8 remotes and a tone"])
def test_kit__unknown_words_are_told(kit):
    with pytest.raises(runs.NotAsked, match="one of: one tone"):
        runs.bag_of(kit, 60)


def test_numbers__both_tables_say_the_same_today():
    """The world keeps its own numbers; published figures hold for these, so the program's must not have moved unseen."""
    assert under_test.prior_of(numbers.habits()) == assumed.assumed_prior()
    assert under_test.noise_of(numbers.instruments()) == assumed.assumed_noise()
    assert under_test.costs_of(numbers.times()) == assumed.assumed_costs()
    assert under_test.sure() == assumed.assumed_sure()


def test_world__reads_no_number_of_the_program():
    """Only the hand-over names the program's assumptions."""
    folder = ROOT / "bench" / "tracing_world"
    texts = {file.name: file.read_text("utf-8") for file in folder.glob("*.py")}
    using = sorted(name for name, text in texts.items() if "trace import assumed" in text or "trace.assumed" in text)
    assert using == ["under_test.py"]
    assert "assumed_" not in texts["under_test.py"] and "constants" not in texts["under_test.py"]


def command(*words):
    line = [sys.executable, "bench/tracing.py", *words]
    return subprocess.run(line, cwd=ROOT, env={"PYTHONPATH": "."}, capture_output=True, text=True)


def test_command__a_row_for_each_kit():
    ran = command("--size", "8x12", "--kit", "fixed 8 remotes", "--kit", "fixed tone", "--scenarios", "4")
    assert ran.returncode == 0, ran.stderr
    assert [line[:25].split() for line in ran.stdout.splitlines()[2:]] == [
        ["8x12", "fixed", "8", "remotes"],
        ["8x12", "fixed", "tone"],
    ]


def test_command__a_size_that_is_none():
    ran = command("--size", "48")
    assert ran.returncode != 0
    assert ran.stderr == "bench/tracing.py: size '48' is none; outlets x ends, like 48x60\n"


def test_command__unknown_world():
    ran = command("--size", "8x12", "--world", "heaven")
    assert ran.returncode != 0
    assert ran.stderr.startswith("bench/tracing.py: world 'heaven' is none; one of: as believed, crosstalk")
