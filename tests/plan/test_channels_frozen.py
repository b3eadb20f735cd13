"""Channels against frozen graphs, colouring facts, trying everything, and the two ways of solving against each other."""

import hypothesis
import numpy as np
import pytest
from hypothesis import strategies as st

from pullstring.plan.channels import least_width_mhz
from pullstring.plan.channels_blocks import NEVER, Costs, blocks_of
from pullstring.plan.channels_exact import chosen, split, tables
from pullstring.plan.channels_search import TABLE_WORK, Search, cheapest, good_start, groups
from tests.plan.channel_graphs import (
    FROZEN,
    SIXTEEN,
    by_trying,
    drawn,
    drawn_alone,
    free,
    matrix,
    mycielski,
    plain,
    queen,
)
from tests.tiers import slow

TABLES, SEARCH = TABLE_WORK, 0
SMALL = blocks_of([frozenset(p) for p in ((1,), (2,), (3,), (4,), (1, 2), (3, 4), (1, 2, 3, 4), (7,))])


def solved(costs, table_work, step_limit=50_000):
    found = cheapest(costs, step_limit=step_limit, table_work=table_work)
    assert found.cost == costs.of(found.picked)
    return found


@pytest.mark.parametrize("way", [TABLES, SEARCH])
@pytest.mark.parametrize("case", FROZEN, ids=lambda case: case["name"])
@pytest.mark.parametrize(("weights", "channels", "answer"), [("w24", 3, "overlap24"), ("w5", 2, "overlap5_two_of_40")])
def test_frozen__channels_apart(case, weights, channels, answer, way):
    found = solved(plain(matrix(case["radios"], case[weights]), channels), way)
    assert found.proven and found.cost == case["answers"][answer]


@pytest.mark.parametrize("case", FROZEN, ids=lambda case: case["name"])
def test_frozen__free_widths(case):
    costs = free(matrix(case["radios"], case["w5"]), [least_width_mhz(rate_mbps=rate) // 20 for rate in case["rates"]])
    found = solved(costs, TABLES)
    overlap, narrow = divmod(found.cost, costs.step)
    width_mhz = 20 * (4 * case["radios"] - narrow)
    assert found.proven
    assert (overlap, width_mhz) == (case["answers"]["overlap5_free"], case["answers"]["width5_free"])


@pytest.mark.parametrize("case", FROZEN, ids=lambda case: case["name"])
def test_frozen__the_choices_printed_beside_cost_what_they_say(case):
    costs = plain(matrix(case["radios"], case["w24"]), 3)
    assert costs.of(case["channel24"]) == case["answers"]["overlap24"]
    costs = free(matrix(case["radios"], case["w5"]), [1] * case["radios"])
    picked = [SIXTEEN.parts.index(frozenset(range(a, a + mhz // 20))) for a, mhz in case["block_width5"]]
    assert costs.of(picked) // costs.step == case["answers"]["overlap5_free"]


@pytest.mark.parametrize("way", [TABLES, SEARCH])
@pytest.mark.parametrize(("graph", "colours"), [(queen(5), 5), (mycielski(3), 4), (mycielski(4), 5)])
def test_colouring__as_the_textbooks_say(graph, colours, way):
    """With as many channels as colours nobody overlaps; with one less somebody must."""
    enough = solved(plain(graph, colours), way)
    assert enough.proven and enough.cost == 0
    assert solved(plain(graph, colours - 1), way, step_limit=2000).bound > 0


def test_graphs__are_those_of_the_textbooks():
    """Queens on 5 x 5: 25 nodes and 160 moves either way; Mycielski 3 and 4: 11 and 23 nodes, 20 and 71 edges."""
    assert [(len(g), int(g.sum()) // 2) for g in (queen(5), mycielski(3), mycielski(4))] == [
        (25, 160),
        (11, 20),
        (23, 71),
    ]


@pytest.mark.parametrize("seed", range(12))
def test_tiny__equals_trying_everything(seed):
    """Four radios on eight blocks, one of them on its own, with and without strangers, both ways of solving."""
    rng = np.random.default_rng(seed)
    costs = free(drawn(rng, 4, 0.8), rng.choice([1, 1, 2, 4], 4).tolist(), SMALL)
    costs = drawn_alone(rng, costs) if seed % 2 else costs
    best = by_trying(costs)
    assert [(one.cost, one.proven) for one in (solved(costs, TABLES), solved(costs, SEARCH))] == [(best, True)] * 2


@pytest.mark.parametrize("seed", range(6))
def test_search__equals_the_tables_beyond_one_group(seed):
    """Thirteen radios lie in two groups, so the search must do more than read its first bound."""
    rng = np.random.default_rng(seed)
    costs = plain(drawn(rng, 13, 0.9), 3)
    costs = drawn_alone(rng, costs) if seed % 2 else costs
    found = solved(costs, SEARCH)
    assert found.proven and found.steps > 0
    assert found.cost == solved(costs, TABLES).cost


@pytest.mark.parametrize("seed", range(8))
def test_search__finds_the_best_from_a_bad_start(seed):
    """From everybody on one block, so that a cut too many or a block left out shows: the good start hides them."""
    rng = np.random.default_rng(seed)
    narrow = plain(drawn(rng, 12, 0.6), 3)
    wide = free(drawn(rng, 12, 0.3), rng.choice([1, 2, 4], 12).tolist(), SMALL)
    for costs in (narrow, drawn_alone(rng, narrow), wide, drawn_alone(rng, wide)):
        start = [int(np.argmax(costs.alone[radio] < NEVER)) for radio in range(costs.radios)]
        found = Search(costs, start, step_limit=50_000).run()
        assert found.proven and found.cost == costs.of(found.picked) == solved(costs, TABLES).cost


@pytest.mark.parametrize("seed", range(4))
def test_search__out_of_steps_never_claims_more_than_is_true(seed):
    rng = np.random.default_rng(seed)
    costs = plain(drawn(rng, 14, 1.0), 3)
    best = solved(costs, TABLES).cost
    for limit in (0, 1, 20, 300):
        found = solved(costs, SEARCH, step_limit=limit)
        assert found.steps <= limit
        assert found.bound <= best <= found.cost
    assert not solved(costs, SEARCH, step_limit=0).proven


@slow("1 s, many crowded graphs both ways")
@pytest.mark.parametrize("seed", range(20))
def test_search__equals_the_tables_on_wide_blocks(seed):
    rng = np.random.default_rng(1000 + seed)
    n = int(rng.integers(10, 14))
    costs = free(drawn(rng, n, rng.random()), rng.choice([1, 2, 4], n).tolist())
    costs = drawn_alone(rng, costs) if seed % 2 else costs
    found, best = solved(costs, SEARCH, step_limit=4000), solved(costs, TABLES).cost
    assert found.bound <= best <= found.cost and (not found.proven or found.cost == best)


@hypothesis.given(st.integers(0, 10_000), st.permutations(range(9)))
def test_renaming__does_not_change_the_least_overlap(seed, order):
    rng = np.random.default_rng(seed)
    costs = drawn_alone(rng, free(drawn(rng, 9, 0.7), rng.choice([1, 2, 4], 9).tolist()))
    assert solved(costs, TABLES).cost == solved(costs.part(order), TABLES).cost


@hypothesis.given(st.integers(0, 10_000))
def test_one_more_channel__never_costs_more(seed):
    pairs = drawn(np.random.default_rng(seed), 8, 0.8)
    found = [solved(plain(pairs, channels), TABLES).cost for channels in (1, 2, 3, 4)]
    assert found == sorted(found, reverse=True)
    assert found[0] == int(pairs.sum()) // 2  # all on one channel: everybody pays


def test_same_question__same_answer():
    rng = np.random.default_rng(5)
    costs = plain(drawn(rng, 20, 0.9), 3)
    assert solved(costs, SEARCH, 200).picked == solved(costs, SEARCH, 200).picked


def test_start__is_a_choice_and_no_better_than_the_best():
    rng = np.random.default_rng(3)
    costs = free(drawn(rng, 12, 1.0), [1] * 12)
    assert solved(costs, TABLES).cost <= costs.of(good_start(costs)) < NEVER


def test_split__by_trying_all_halves():
    """Over ten radios, beyond the one look-up, against plain loops at some sets."""
    rng = np.random.default_rng(1)
    left, right = (rng.integers(0, 1000, 1 << 10) for _ in range(2))
    found, same = split(left, right), split(left, left)
    for whole in (0, 1, 513, 700, 1023):
        halves = [half for half in range(1 << 10) if half & ~whole == 0]
        assert found[whole] == min(left[half] + right[whole ^ half] for half in halves)
        assert same[whole] == min(left[half] + left[whole ^ half] for half in halves)


def test_tables__nothing_fits_is_said():
    costs = Costs(SMALL, np.zeros((2, 2), dtype=np.int64), np.full((2, len(SMALL.parts)), NEVER), 1)
    assert chosen(tables(costs)) == [-1, -1]


def test_blocks__that_cross_are_refused():
    with pytest.raises(ValueError, match="cross"):
        blocks_of([frozenset([1, 2]), frozenset([2, 3])])


def test_groups__hold_every_radio_once():
    pairs = drawn(np.random.default_rng(2), 30, 0.5)
    found = groups(pairs, 11)
    assert sorted(radio for group in found for radio in group) == list(range(30)) and max(map(len, found)) == 11
