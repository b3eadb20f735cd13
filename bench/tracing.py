"""Tracing with odds against present practice, over drawn buildings: seconds, right answers, claims, processor time.

From the repository's folder: `PYTHONPATH=. python bench/tracing.py [--size 48x60] [--kit "16 remotes"] [--scenarios 200] [--seed 1]
[--world crosstalk] [--processes 2] [--frozen] [--tiny]`. Without a size and a kit the rows that have a target are run.
Kits: one tone | K remotes | K plugs | K plugs + K remotes | K marks | ids (one mark per end); as present practice has it:
fixed K remotes | fixed tone.
Everything is assumed: noise, costs, priors, buildings. A ratio means nothing under other numbers.
"""

from __future__ import annotations

import argparse
import concurrent.futures
import dataclasses
import re
import sys
from collections.abc import Iterable, Iterator, Sequence

from bench.tracing_world import frozen, tiny
from bench.tracing_world.runs import KITS, PUBLISHED, WORLDS, Case, NotAsked, Row, bag_of, instruments_of, run
from bench.tracing_world.runs import mean_and_error as mean

TARGETS: dict[tuple[str, str], tuple[float, float]] = {
    ("48x60", "ids"): (0.26, 0.995),
    ("48x60", "16 remotes"): (0.50, 0.995),
    ("48x60", "8 remotes"): (0.60, 0.995),
    ("80x120", "16 remotes"): (0.45, 0.995),
    ("20x30", "8 remotes"): (0.70, 0.995),
    **{(f"{n}x{m}", "one tone"): (1.45, 0.99) for n, m in PUBLISHED},
}
"""Seconds over those of present practice at most, share right at least."""
APART = {"as believed": 0.004, "quiet": 0.004}
APART_IN_TROUBLE = 0.02
"""How far claims and right answers may lie apart."""


def main(argv: Sequence[str]) -> None:
    asked = arguments(argv)
    if asked.tiny:
        print(tiny.shown(asked.scenarios, asked.seed, progress))
        return
    rows = [(s, k) for s in asked.size for k in asked.kit] if asked.size or asked.kit else list(TARGETS)
    try:
        for size, kit in rows:
            outlets_and_ends(size)
            bag_of(kit, 1)
        instruments_of(asked.world)
    except NotAsked as fault:
        raise SystemExit(f"bench/tracing.py: {fault}") from None
    print(f"world: {asked.world}; {asked.scenarios} scenarios, seed {asked.seed}; all numbers assumed\n{HEAD}")
    for size, kit in rows:
        cases = list(cases_of(size, kit, asked))
        print(line(size, kit, asked.world, done(cases, asked.processes, f"{size}, {kit}")), flush=True)


def arguments(argv: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--size", action="append", help="outlets x ends, like 48x60; may be given several times")
    parser.add_argument("--kit", action="append", help=f"{KITS}; may be given several times")
    parser.add_argument("--scenarios", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--world", default=WORLDS[0], help=", ".join(WORLDS))
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--frozen", action="store_true", help="the frozen buildings of that size instead of drawn ones")
    parser.add_argument("--tiny", action="store_true", help="tiny jobs without noise against the exact optimum")
    asked = parser.parse_args(argv)
    if asked.size or asked.kit:
        asked.size = asked.size or [f"{n}x{m}" for n, m in PUBLISHED]
        asked.kit = asked.kit or list(dict.fromkeys(kit for _, kit in TARGETS))
    return asked


def outlets_and_ends(size: str) -> tuple[int, int]:
    found = re.fullmatch(r"([1-9]\d*)x([1-9]\d*)", size)
    if found is None:
        raise NotAsked(f"size {size!r} is none; outlets x ends, like 48x60")
    return int(found[1]), int(found[2])


def cases_of(size: str, kit: str, asked: argparse.Namespace) -> Iterator[Case]:
    outlets, ends = outlets_and_ends(size)
    sources = (
        [c["id"] for c in frozen.cases("scenarios") if (c["n"], c["m"]) == (outlets, ends)] if asked.frozen else []
    )
    for number in range(asked.scenarios):
        source = sources[number % len(sources)] if sources else ""
        yield Case(outlets, ends, kit, asked.world, asked.seed, number, source)


def done(cases: Sequence[Case], processes: int, name: str) -> list[Row]:
    """All scenarios, over some processes; how many are done is shown meanwhile."""
    if processes < 2:
        return list(counted(map(run, cases), len(cases), name))
    with concurrent.futures.ProcessPoolExecutor(processes) as pool:
        return list(counted(pool.map(run, cases, chunksize=2), len(cases), name))


def counted(rows: Iterable[Row], total: int, name: str) -> Iterator[Row]:
    for number, row in enumerate(rows, 1):
        progress(f"{name}: {number} of {total}")
        yield row
    progress("")


def progress(text: str) -> None:
    if sys.stderr.isatty():
        print(f"\r{text:60s}", end="\r" if not text else "", file=sys.stderr, flush=True)


HEAD = (
    "size    kit                 ratio  +/-    target  right   target  any end claimed  apart   most    over bound  "
    "acts   cpu s  worst act ms  doubted: right claimed apart  named false"
)


def line(size: str, kit: str, world: str, rows: Sequence[Row]) -> str:
    ratio, error = mean([r.ratio for r in rows])
    right, any_end, claimed = (mean([getattr(r, f) for r in rows])[0] for f in ("right", "any_end", "claimed"))
    most, least = TARGETS.get((size, kit), (None, None)) if world == WORLDS[0] else (None, None)
    apart = APART.get(world, APART_IN_TROUBLE)
    bound, acts, cpu = (mean([getattr(r, f) for r in rows])[0] for f in ("over_bound", "acts", "cpu_s"))
    text = f"{size:7s} {kit:18s} {ratio:6.3f} {error:5.3f} {target(most, ratio, most is None or ratio <= most)}"
    text += f" {right:7.4f} {target(least, right, least is None or right >= least)} {any_end:7.4f} {claimed:7.4f}"
    text += f" {abs(claimed - right):7.4f} {target(apart, 0, abs(claimed - right) <= apart)} {bound:7.2f} {acts:8.0f}"
    text += f" {cpu:8.2f} {1000 * max(r.slowest_s for r in rows):9.0f}"
    return text + in_doubt(rows)


def target(value: float | None, found: float, met: bool) -> str:
    return "   -    " if value is None else f"{value:6.3f}{' ' if met else '!'} "


def in_doubt(rows: Sequence[Row]) -> str:
    """Columns of the readings weighed again with instruments doubted; how often the bad one is named, and sound ones are."""
    some = [dataclasses.asdict(r) for r in rows if r.doubted_right is not None]
    if not some:
        return ""
    right, claimed, falsely = (mean([r[f] for r in some])[0] for f in ("doubted_right", "doubted_claimed", "falsely"))
    named = [r["named"] for r in some if r["named"] is not None]
    text = f"{right:20.4f} {claimed:7.4f} {abs(claimed - right):7.4f}"
    return text + (f" {mean(named)[0]:5.2f}" if named else "     -") + f" {falsely:5.2f}"


if __name__ == "__main__":
    main(sys.argv[1:])
