"""Graphs and costs for the tests of channels, and the plainest way to solve them: try everything."""

import itertools
import json
import pathlib

import numpy as np

from pullstring.plan.channels_blocks import NEVER, Costs, blocks_of

FROZEN = json.loads((pathlib.Path(__file__).parents[1] / "authorities" / "plan" / "channels.json").read_text("utf-8"))[
    "cases"
]
SIXTEEN = blocks_of([frozenset(range(i, i + many)) for many in (1, 2, 4) for i in range(0, 16, many)])


def matrix(n, listed):
    pairs = np.zeros((n, n), dtype=np.int64)
    for one, other, weight in listed:
        pairs[one, other] = pairs[other, one] = weight
    return pairs


def apart(count):
    return blocks_of([frozenset([i]) for i in range(count)])


def plain(pairs, channels):
    """So many channels apart, no costs but overlap."""
    return Costs(apart(channels), pairs, np.zeros((len(pairs), channels), dtype=np.int64), 1)


def free(pairs, least, blocks=SIXTEEN, most=4):
    """Blocks of several widths: `least` channels for each radio; width gone without counts 1 for each channel."""
    alone = [[most - len(p) if len(p) >= few else NEVER for p in blocks.parts] for few in least]
    return Costs(blocks, pairs, np.array(alone, dtype=np.int64), 1 << 14)


def drawn(rng, n, crowd):
    """Weights of 1 to 49 dB for a share of the pairs."""
    pairs = np.triu(rng.integers(1, 50, (n, n)) * (rng.random((n, n)) < crowd), 1)
    return (pairs + pairs.T).astype(np.int64)


def drawn_alone(rng, costs):
    """The same with strangers drawn on the air."""
    heard = rng.integers(0, 3, costs.alone.shape) * rng.integers(0, 9, costs.alone.shape) * costs.step
    return Costs(costs.blocks, costs.pairs, np.where(costs.alone < NEVER, costs.alone + heard, NEVER), costs.step)


def by_trying(costs):
    """Least cost over all choices, each priced pair by pair."""
    parts = costs.blocks.parts
    best = NEVER
    for picked in itertools.product(range(len(parts)), repeat=costs.radios):
        cost = sum(int(costs.alone[r, b]) for r, b in enumerate(picked))
        for one, other in itertools.combinations(range(costs.radios), 2):
            if parts[picked[one]] & parts[picked[other]]:
                cost += int(costs.pairs[one, other]) * costs.step
        best = min(best, cost)
    return best


def queen(size):
    """Squares of a board, joined where a queen moves from one to the other."""
    squares = list(itertools.product(range(size), repeat=2))
    return matrix(
        len(squares),
        [
            (a, b, 1)
            for a, b in itertools.combinations(range(len(squares)), 2)
            for (x, y), (u, v) in [(squares[a], squares[b])]
            if x == u or y == v or abs(x - u) == abs(y - v)
        ],
    )


def mycielski(order):
    """Order 2 is the ring of five; each further one doubles the nodes and adds one, without a triangle."""
    edges, n = [(i, (i + 1) % 5) for i in range(5)], 5
    for _ in range(order - 2):
        edges = [
            *edges,
            *((a, n + b) for a, b in edges),
            *((b, n + a) for a, b in edges),
            *((n + i, 2 * n) for i in range(n)),
        ]
        n = 2 * n + 1
    return matrix(n, [(a, b, 1) for a, b in edges])
