"""The same reasoning in other houses: made from drawn truth, in feet, with other tags and shuffled rows."""

from __future__ import annotations

import numpy as np
import pytest

from pullstring.trace.evidence import traced
from pullstring.trace.findings import findings
from tests.trace.houses import house, odds, rows
from tests.trace.second_house import made

SEEDS = (1, 2, 3, 4, 5, 6)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_outlet__is_where_the_house_was_made(seed: int) -> None:
    truth = made(seed)
    given = traced(house(truth.text, seed=seed))
    found = odds(given)
    for o, ref in enumerate(given.outlets):
        right = truth.ends[ref.tag]
        chance = (
            sum(found.own[o, e] for e, end in enumerate(given.ends) if end.tag in right) if right else found.own[o, -1]
        )
        assert chance > 0.9, f"{ref} {right}"


@pytest.mark.parametrize("seed", SEEDS)
def test_every_end__is_named_for_what_it_is(seed: int) -> None:
    truth = made(seed)
    given = traced(house(truth.text, seed=seed))
    found = findings(given, odds(given))
    told = {f.thing.tag: {s.what for s in f.stands} for f in found.ends}
    for end, what in truth.is_what.items():
        assert what in told[end], f"{end} is {what}, told {told[end]}"
    for what in ("ring", "clip", "cut", "coil", "splice", "stub", "coax", "protected"):
        assert {e for e, whats in told.items() if what in whats} == {e for e, w in truth.is_what.items() if w == what}
    cut = next(s for f in found.ends for s in f.stands if s.what == "cut")
    assert cut.length is not None and cut.length.low <= truth.cut_m <= cut.length.high
    empty = [f.thing.tag for f in found.outlets if f.main.what == "no cable"]
    assert empty == [tag for tag, ends in truth.ends.items() if not ends]


def test_other_tags_and_shuffled_rows__give_the_same_odds() -> None:
    """Tags alike in order, so that outlets and ends keep their numbers; rows in any order."""
    here, there = made(3), made(3, head="Wire ", plate="Plate ")
    one = odds(traced(house(here.text)))
    for text, seed in ((here.text, 9), (there.text.replace("Wire ", "Wire-").replace("Plate ", "Plate-"), 4)):
        other = odds(traced(house(text, seed=seed)))
        assert np.allclose(one.own, other.own, atol=1e-9)
        assert other.log_evidence == pytest.approx(one.log_evidence, abs=1e-6)


def test_metres_and_feet__say_the_same() -> None:
    text = made(2).text
    metres = {
        table: [{c: _metres(v) for c, v in row.items()} for row in content] for table, content in rows(text).items()
    }
    assert np.allclose(odds(traced(house(text))).own, odds(traced(house(metres))).own, atol=1e-9)


def _metres(cell: str) -> str:
    return f"{float(cell[:-3]) * 0.3048:.6f}" if cell.endswith(" ft") else cell
