"""Least overlap and greatest width proven, on frozen graphs and drawn crowded ones: seconds, and the ratio to trying everything.

From the repository's folder: `python -m bench.channels [SEEDS]`. Seconds are CPU seconds of one process. Aims: 13 radios in
1 s, 15 in 10 s, each proven. "alike": blocks that cost everybody the same; "strangers": each radio hears others on each channel.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence

import numpy as np

from pullstring.plan.channels import Radio, Stranger, channel_plan, least_width_mhz
from pullstring.plan.channels_air import airs_of
from pullstring.plan.channels_blocks import Costs
from pullstring.plan.channels_search import TABLE_WORK, cheapest
from tests.plan.channel_graphs import FROZEN, by_trying, drawn, drawn_alone, free, matrix, plain

AIMS = {13: 1.0, 15: 10.0}
STEPS = 20_000


def seconds(costs: Costs) -> float:
    """CPU time to a proven answer. [s]"""
    start = time.process_time()
    found = cheapest(costs, step_limit=STEPS, table_work=TABLE_WORK)
    took = time.process_time() - start
    if not found.proven or found.cost != costs.of(found.picked):
        raise SystemExit("bench/channels.py: an answer is not proven; it must be.")
    return took


def shown(what: str, took: Sequence[float], aim: float | None = None) -> None:
    """One line: middle and worst of several times."""
    verdict = "" if aim is None else f"   aim {aim:.0f} s: {'held' if max(took) <= aim else 'MISSED'}"
    print(f"  {what:<46} middle {np.median(took):7.3f} s   worst {max(took):7.3f} s{verdict}")


def frozen() -> None:
    """The frozen graphs, all three questions each."""
    print("frozen graphs, three channels, two blocks, free widths:")
    for case in FROZEN:
        n, w24, w5 = case["radios"], *(matrix(case["radios"], case[name]) for name in ("w24", "w5"))
        least = [least_width_mhz(rate_mbps=rate) // 20 for rate in case["rates"]]
        shown(f"{n} radios", [seconds(one) for one in (plain(w24, 3), plain(w5, 2), free(w5, least))], AIMS[13])


def crowded(seeds: int) -> None:
    """Drawn graphs in which nearly everybody hears everybody."""
    makers: dict[str, Callable[[np.random.Generator, int], Costs]] = {
        "three channels, alike": lambda rng, n: plain(drawn(rng, n, 0.95), 3),
        "three channels, strangers": lambda rng, n: drawn_alone(rng, plain(drawn(rng, n, 0.95), 3)),
        "sixteen channels and wider, alike": lambda rng, n: free(
            drawn(rng, n, 0.95), rng.choice([1, 2, 4], n).tolist()
        ),
        "sixteen channels and wider, strangers": lambda rng, n: drawn_alone(
            rng, free(drawn(rng, n, 0.95), rng.choice([1, 2, 4], n).tolist())
        ),
    }
    for n, aim in AIMS.items():
        print(f"{n} crowded radios, {seeds} drawn graphs:")
        for what, make in makers.items():
            shown(what, [seconds(make(np.random.default_rng(seed), n)) for seed in range(seeds)], aim)


def by_the_rules(seeds: int) -> None:
    """Whole plans by a rule set, with strangers on every channel."""
    for band, rules in (
        ("2.4 GHz", "example-B"),
        ("5 GHz", "example-B"),
        ("6 GHz", "example-B"),
        ("6 GHz", "example-A"),
    ):
        airs = airs_of(
            rules=rules, band=band, radar=True, low_power=False, outdoors=False, without=(), only=(), most_mhz=160
        )
        for n, aim in AIMS.items():
            took = []
            for seed in range(seeds):
                rng = np.random.default_rng(seed)
                names = [f"R{number}" for number in range(n)]
                pairs = drawn(rng, n, 0.95)
                weights = {(names[a], names[b]): int(pairs[a, b]) for a in range(n) for b in range(a)}
                singles = [one.channel for one in airs[0] if one.channel.width_mhz == 20]
                strangers = [
                    Stranger(str(channel.name), channel, {name: int(rng.integers(0, 20)) for name in names})
                    for channel in singles
                ]
                radios = [Radio(name, 20, 160) for name in names]
                start = time.process_time()
                plan = channel_plan(radios, weights, strangers, airs, step_limit=STEPS)
                took.append(time.process_time() - start)
                if not plan.proven:
                    raise SystemExit("bench/channels.py: a plan is not proven; it must be.")
            shown(f"{n} radios, {band}, {rules}, strangers everywhere", took, aim)


def beyond(seeds: int) -> None:
    """More than the tables hold: radios on a plane, heard as far as a building reaches; how much is proven."""
    print("more radios than the tables hold, on a plane, three channels:")
    for n in (20, 25, 40):
        took, gaps = [], []
        for seed in range(seeds):
            rng = np.random.default_rng(seed)
            spot = rng.uniform(0, 6 * np.sqrt(n), (n, 2))
            far = np.linalg.norm(spot[:, None] - spot[None], axis=2)
            pairs = np.maximum(0, 45 - 3 * far).round().astype(np.int64)
            np.fill_diagonal(pairs, 0)
            costs = plain(pairs, 3)
            start = time.process_time()
            found = cheapest(costs, step_limit=STEPS, table_work=TABLE_WORK)
            took.append(time.process_time() - start)
            gaps.append(f"{found.cost}/{found.bound}")
        shown(f"{n} radios, overlap/least possible {' '.join(gaps)}", took)


def against_trying() -> None:
    """The ratio to pricing every choice, both in this run."""
    costs = plain(drawn(np.random.default_rng(1), 10, 0.9), 3)
    start = time.process_time()
    best = by_trying(costs)
    slow_s = time.process_time() - start
    fast_s = min(seconds(costs) for _ in range(5))
    if best != cheapest(costs, step_limit=STEPS, table_work=TABLE_WORK).cost:
        raise SystemExit("bench/channels.py: the tables and trying everything differ; they must be equal.")
    print(
        f"10 radios on three channels: trying everything {slow_s:.2f} s, tables {fast_s:.5f} s, ratio {slow_s / fast_s:.0f}"
    )


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    frozen()
    crowded(many)
    by_the_rules(min(many, 3))
    beyond(min(many, 3))
    against_trying()
