"""Every detection fires where it should and stays silent at the near miss; the order of telling; nothing on an empty site."""

from __future__ import annotations

import pytest

from pullstring.model.answers import Severity
from pullstring.model.checks import record_problems
from pullstring.model.problems import catalogue, worst_first
from pullstring.model.replay import replay
from pullstring.notice.noticed import noticed
from pullstring.radio.scene_faults import CODES
from tests.model.make import entry, noted
from tests.notice.cases import CASES, HOUSE, MORE
from tests.notice.lines import TODAY, entries, site

BY_TWO_HANDS = {"one_or_two", "two_accounts"}
"""Need two writers who did not know of each other; tested below."""


def problems(text: str):
    found = site(text)
    return worst_first((*record_problems(found), *noticed(found)))


def changed(text: str, change: str) -> str:
    lines = text.splitlines()
    for line in change.splitlines():
        if line.startswith("-"):
            lines.remove(line[1:])
        else:
            lines.append(line[1:])
    return "\n".join(lines)


def test_every_problem_has_a_case() -> None:
    assert set(catalogue()) - set(CODES) == set(CASES) | BY_TWO_HANDS


@pytest.mark.parametrize("code", CASES)
def test_fires__where_it_should_with_entries_that_exist(code: str) -> None:
    text, where, _ = CASES[code]
    found = [p for p in problems(HOUSE + text) if p.code == code]
    assert len(found) == 1 and where in found[0].where, [(p.code, p.where) for p in problems(HOUSE + text)]
    ids = {e.id for e in entries(HOUSE + text)}
    assert found[0].because and set(found[0].because) <= ids


@pytest.mark.parametrize("code", CASES)
def test_silent__at_the_near_miss(code: str) -> None:
    text, _, change = CASES[code]
    found = [p for p in problems(changed(HOUSE + text, change)) if p.code == code]
    assert found == [], found


@pytest.mark.parametrize(("code", "text", "where", "change"), MORE, ids=[f"{n}-{m[0]}" for n, m in enumerate(MORE)])
def test_other_ways__fire_and_stay_silent_at_their_near_miss(code: str, text: str, where: str, change: str) -> None:
    found = [p.where for p in problems(HOUSE + text) if p.code == code]
    assert len(found) == 1 and where in found[0]
    assert [p for p in problems(changed(HOUSE + text, change)) if p.code == code] == []


@pytest.mark.parametrize("code", CASES)
def test_because__without_its_entries_the_problem_is_gone_or_weaker(code: str) -> None:
    text, where, _ = CASES[code]
    record = entries(HOUSE + text)
    first = next(p for p in problems(HOUSE + text) if p.code == code)
    left = replay([e for e in record if e.id not in first.because], today=TODAY)
    after = [p for p in (*record_problems(left), *noticed(left)) if p.code == code and p.where == first.where]
    assert after == []


def test_empty_house__nothing_is_wrong() -> None:
    assert problems(HOUSE) == ()


def test_order__harm_first_and_the_same_whatever_the_order_of_entries() -> None:
    text = HOUSE + "\n".join(CASES[c][0] for c in ("mains_in_box", "feed_unlabelled", "bridged", "plate_blocked"))
    found = problems(text)
    assert [p.severity for p in found] == sorted(p.severity for p in found)
    assert found[0].severity is Severity.HURT
    again = replay(list(reversed(entries(text))), today=TODAY)
    assert worst_first((*record_problems(again), *noticed(again))) == found


def test_two_accounts_and_one_or_two__by_two_hands_apart() -> None:
    found = replay(
        [
            entry("a", noted("end:E1", {"label": "BAR"}, new=True), tick=1, device="a", n=1),
            entry("b", noted("end:E1", {"label": "GATE"}, new=True), tick=1, device="b", n=1),
        ],
        today=TODAY,
    )
    assert [(p.code, p.where) for p in record_problems(found)] == [
        ("one_or_two", "end:E1"),
        ("two_accounts", "end:E1 label"),
    ]


def test_tags_exchanged__one_act_repairs_it_and_the_day_before_still_shows_it() -> None:
    repair = "\nacts act='exchange tags' subject=end:E1 object=end:E2 from=2026-02-01 at=2026-03-20"
    record = entries(HOUSE + CASES["tags_exchanged"][0] + repair)
    assert [p for p in noticed(replay(record, today=TODAY)) if p.code == "tags_exchanged"] == []
    found = replay(record, today=TODAY)
    goes = {(c.subject.tag, c.object.tag) for c in found.about(relation="goes_to")}
    assert goes == {("E1", "O1"), ("E2", "O2")}, "both rounds now say the same of each cable"
    before = replay(record, today=TODAY, as_of="2026-03-10")
    assert [p.code for p in noticed(before) if p.code == "tags_exchanged"] == ["tags_exchanged"]
