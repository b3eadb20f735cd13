"""One scenario: a site, its truth, present practice and one way of working, counted."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from bench.tracing_world import frozen, practice, under_test
from bench.tracing_world import numbers as own
from bench.tracing_world.drive import Finished, drive
from bench.tracing_world.rounds import FixedRounds, FixedTone
from bench.tracing_world.site import Site, drawn_site, visit_bound_s
from bench.tracing_world.trouble import EVERYWHERE, NO_TROUBLE, NOWHERE, Trouble, old_labels
from bench.tracing_world.truth import Truth, drawn_truth
from bench.tracing_world.world import Bag, World

WORLDS = ("as believed", "crosstalk", "flat battery", "stuck everywhere", "stuck nowhere", "wrong label", "quiet")
KITS = "one tone | K remotes | K plugs | K plugs + K remotes | K marks | K marks + K remotes | ids | fixed K remotes | fixed tone"
PUBLISHED = ((8, 12), (20, 30), (48, 60), (80, 120))


class NotAsked(ValueError):
    """A kit or a world that the bench does not know; says which it does."""


@dataclasses.dataclass(frozen=True)
class Case:
    """What is run: sizes, kit by its words, the world, and which scenario of which seed. `source` is drawn or a frozen case."""

    outlets: int
    ends: int
    kit: str
    world: str
    seed: int
    number: int
    source: str = ""


@dataclasses.dataclass(frozen=True)
class Row:
    """One scenario counted; `named` says whether the trouble was named, where there was any."""

    ratio: float
    right: float
    any_end: float
    claimed: float
    over_bound: float
    cpu_s: float
    slowest_s: float
    acts: int
    named: float | None = None
    doubted_right: float | None = None
    doubted_claimed: float | None = None
    falsely: int = 0


def bag_of(kit: str, ends: int) -> Bag:
    """What a kit of the table holds. Every kit with remotes or marks may also use one tone."""
    words = kit.removeprefix("fixed ").strip()
    if words in ("one tone", "tone"):
        return Bag(tone=True)
    if words == "ids":
        return Bag(marks=ends, tone=True)
    counts = {"remotes": 0, "plugs": 0, "marks": 0}
    for part in words.split("+"):
        found = re.fullmatch(r"\s*(\d+) (remotes|plugs|marks)\s*", part)
        if found is None:
            raise NotAsked(f"kit {kit!r} is none; one of: {KITS}")
        counts[found[2]] = int(found[1])
    tone = not kit.startswith("fixed")
    # Words are few, plugs are not: as many plugs as there are ends.
    return Bag(counts["remotes"], min(counts["marks"], ends), ends if counts["plugs"] else 0, tone)


def scenario(case: Case) -> tuple[Site, Truth, np.random.Generator]:
    """Site and truth of a case, and the stream for everything that is drawn later."""
    rng = np.random.default_rng([case.seed, case.outlets, case.ends, case.number])
    if case.source:
        one = next(c for c in frozen.cases("scenarios") if c["id"] == case.source)
        return frozen.site_of(one), frozen.truth_of(one), rng
    site = drawn_site(case.outlets, case.ends, times=own.times(), rng=rng)
    return site, drawn_truth(site, habits=own.habits(), rng=rng), rng


def naive_s(case: Case, site: Site, truth: Truth, instruments: own.Instruments, rng: np.random.Generator) -> float:
    """Seconds of present practice in the same scenario; of a frozen one the mean that came with it."""
    if case.source:
        one = next(c for c in frozen.cases("scenarios") if c["id"] == case.source)
        return float(one["naive"]["until_found"]["mean_seconds"])
    levels = practice.drawn_levels(site, truth, instruments, rng)
    return practice.until_found(site, levels, own.times(), practice.tour_of(site)).seconds


def trouble_of(case: Case, site: Site, truth: Truth, usual_s: float, bag: Bag, rng: np.random.Generator) -> Trouble:
    """What is wrong in this world, scaled to what the job would usually take."""
    t = own.table()
    if case.world == "flat battery":
        return Trouble(flat_s=(t["flat_from"] * usual_s, t["flat_until"] * usual_s))
    if case.world.startswith("stuck"):
        number = int(rng.integers(max(1, bag.remotes or bag.marks)))
        return Trouble(stuck=((number, EVERYWHERE if case.world.endswith("everywhere") else NOWHERE),))
    if case.world == "wrong label":
        count = round(t["labelled"] * site.outlets)
        labels = old_labels(truth, site.ends, count=count, wrong=1, rng=rng)
        return Trouble(labels=labels, label_right=t["label_right"])
    return NO_TROUBLE


def instruments_of(world: str) -> tuple[own.Instruments, own.Instruments]:
    """Those of the world, and those the program believes in."""
    if world not in WORLDS:
        raise NotAsked(f"world {world!r} is none; one of: {', '.join(WORLDS)}")
    if world == "quiet":
        return own.instruments("quiet_"), own.instruments("quiet_")
    usual = own.instruments()
    return (usual.crosstalk_doubled() if world == "crosstalk" else usual), usual


def run(case: Case) -> Row:
    """One scenario from the draw to the count."""
    site, truth, rng = scenario(case)
    real, believed = instruments_of(case.world)
    bag = bag_of(case.kit, site.ends)
    times, habits = own.times(), own.habits()
    usual_s = naive_s(case, site, truth, real, rng)
    # The length of the job of this kit is not known beforehand; one try without trouble tells it.
    length_s = usual_s
    if case.world == "flat battery":
        quiet = World(site, truth, bag=bag, instruments=real, times=times, rng=np.random.default_rng(case.number))
        length_s = drive(way_of(case, site, bag, believed), quiet).seconds
    trouble = trouble_of(case, site, truth, length_s, bag, rng)
    world = World(site, truth, bag=bag, instruments=real, times=times, rng=rng, trouble=trouble)
    done = drive(way_of(case, site, bag, believed), world)
    told = practice.Done(done.seconds, done.answer, done.acts)
    row = Row(
        ratio=done.seconds / usual_s,
        right=told.right(truth) / site.outlets,
        any_end=told.any_end(truth) / site.outlets,
        claimed=float(np.mean(done.claimed)),
        over_bound=done.seconds / visit_bound_s(site, times),
        cpu_s=done.cpu_s,
        slowest_s=done.slowest_s,
        acts=done.acts,
    )
    return dataclasses.replace(row, **doubted(site, truth, done, trouble, case.world, believed, habits))


def way_of(case: Case, site: Site, bag: Bag, believed: own.Instruments) -> Any:
    if case.kit == "fixed tone":
        return FixedTone(site)
    if case.kit.startswith("fixed"):
        return FixedRounds(site, bag.remotes)
    return under_test.job(site, bag, believed=believed, habits=own.habits(), times=own.times())


def doubted(
    site: Site,
    truth: Truth,
    done: Finished,
    trouble: Trouble,
    world: str,
    believed: own.Instruments,
    habits: own.Habits,
) -> dict[str, Any]:
    """The same readings weighed once more with every instrument doubted: what is right, what is claimed, what is named."""
    from pullstring.trace import doubts, explain

    scene, prior = under_test.scene_of(site), under_test.prior_of(habits)
    found = doubts.doubted(scene, done.readings, prior=prior, noise=under_test.noise_of(believed))
    likeliest = [max(nets.items(), key=lambda item: item[1]) for nets in found.posterior.nets]
    right = np.mean([net == known for (net, _), known in zip(likeliest, truth.nets, strict=True)])
    claimed = np.mean([chance for _, chance in likeliest])
    named = {doubt.source for doubt in found.doubts}
    # A label is no instrument: it is named as a reading to repeat.
    repeat = explain.to_repeat(found.table, found.posterior, found.doubts)
    named |= {one.reading.source for one in repeat if one.reading.source.startswith("label")}
    wanted = bad_sources(done, trouble, world)
    hit = None if wanted is None else float(not named.isdisjoint(wanted))
    falsely = len(named - (wanted or set()))
    return {"doubted_right": float(right), "doubted_claimed": float(claimed), "named": hit, "falsely": falsely}


def bad_sources(done: Finished, trouble: Trouble, world: str) -> set[str] | None:
    """Instruments that did go wrong while they were used; None when none did."""
    used = {(r.source, r.when) for r in done.readings}
    if world == "crosstalk":
        return {""} if any(source == "tone" for source, _ in used) else None
    if trouble.flat_s is not None:
        flat = any(source == "tone" and trouble.is_flat(when) for source, when in used)
        return {"tone"} if flat else None
    if trouble.stuck:
        bad = {f"{what} {number}" for number, _ in trouble.stuck for what in ("remote", "mark")}
        return bad & {source for source, _ in used} or None
    if trouble.labels:
        return {f"label {trouble.labels[0].outlet}"}
    return None


def mean_and_error(values: Sequence[float]) -> tuple[float, float]:
    """Mean over scenarios and its standard error."""
    some = np.asarray(values, dtype=float)
    return float(some.mean()), float(some.std(ddof=1) / np.sqrt(len(some))) if len(some) > 1 else float("nan")
