"""What somebody expects who had not seen the rules: told where a veteran tells it, silent where it only looks like it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.answers import Problem
from pullstring.model.problems import catalogue
from pullstring.radio.scene_faults import CODES
from tests.journeys.sites import ASKED, HAND, Rows, make, write
from tests.notice.cases_by_another import BOAT, HURT, Case
from tests.notice.cases_by_another_gear import GEAR_OUTAGE
from tests.notice.cases_by_another_money import MONEY
from tests.notice.cases_by_another_outage import OUTAGE
from tests.notice.cases_by_another_tidy import MORE_MONEY, TIDY

ALL = (*HURT, *OUTAGE, *GEAR_OUTAGE, *MONEY, *MORE_MONEY, *TIDY)
USUAL = {"grade": "seen", "by": "TEC", "at": "2026-03-01"}
BY_TWO_HANDS = {"one_or_two", "two_accounts"}
FIRES = "fires"
DISAGREE: dict[tuple[str, str, str], str] = {}
"""By code, a word of the case and its name: why the program is thought wrong. All 29 that stood here are mended."""
"""Where the program says otherwise: code, a word found in that case alone, which of its sites; why the program is wrong."""


def rows_of(text: str) -> Rows:
    """Rows by table; every row of a table gets all columns of the table."""
    rows: Rows = {}
    for line in filter(None, map(str.strip, text.splitlines())):
        table, _, cells = line.partition(": ")
        pairs = [c.partition("=") for c in re.split(r",\s+(?=\w+=)", cells)]
        rows.setdefault(table, []).append({**USUAL, **{name: value for name, _, value in pairs}})
    for content in rows.values():
        names = dict.fromkeys(n for row in content for n in row)
        content[:] = [{n: row.get(n, "") for n in names} for row in content]
    return rows


def told(folder: Path, text: str) -> list[Problem]:
    rows = rows_of(text)
    path = make(folder, rows, code=rows["property"][0]["property"])
    return list(api.site(path, ASKED).problems)


def near(case: Case, name: str) -> str:
    """The text of a near miss."""
    given = case.silent[name]
    if isinstance(given, str):
        return given
    text = case.fires
    for old, new in zip(given[::2], given[1::2], strict=True):
        assert old in text, old
        text = text.replace(old, new)
    return text


LATER = {"kept_unplaced", "loop", "service_on_dead"}
"""Added after these cases were written."""


def disagreement(case: Case, name: str) -> str | None:
    for (code, word, which), reason in DISAGREE.items():
        if code == case.code and which == name and (word == case.where or re.search(rf"\b{word}\b", case.fires)):
            return reason
    return None


def param(number: int, name: str):
    case = ALL[number]
    reason = disagreement(case, name)
    marks = [pytest.mark.xfail(strict=True, reason=reason)] if reason else []
    return pytest.param(case, name, id=f"{case.code} {number}: {name}", marks=marks)


def test_every_problem_has_a_case() -> None:
    assert {case.code for case in ALL} | BY_TWO_HANDS | LATER == set(catalogue()) - set(CODES)


@pytest.mark.parametrize(("case", "name"), [param(n, FIRES) for n in range(len(ALL))])
def test_told__where_a_veteran_would(case: Case, name: str, tmp_path: Path) -> None:
    found = told(tmp_path, case.fires)
    assert [p for p in found if p.code == case.code and re.search(rf"(?<![\w.-]){case.where}(?![\w.-])", p.where)], (
        found
    )


@pytest.mark.parametrize(("case", "name"), [param(n, name) for n in range(len(ALL)) for name in ALL[n].silent])
def test_silent__where_it_only_looks_like_it(case: Case, name: str, tmp_path: Path) -> None:
    assert [p for p in told(tmp_path, near(case, name)) if p.code == case.code] == []


@pytest.mark.parametrize("number", range(len(ALL)))
def test_nothing_else_is_told(number: int, tmp_path: Path) -> None:
    """What else is told was looked at: `also` holds what is right, and `DISAGREE` speaks of the rest."""
    case = ALL[number]
    right = {case.code, *case.also.split()}
    sites = {FIRES: case.fires, **{name: near(case, name) for name in case.silent}}
    wolves = [
        (name, p.code, p.where)
        for k, (name, text) in enumerate(sites.items())
        if disagreement(case, name) is None
        for p in told(tmp_path / str(k), text)
        if p.code not in right
    ]
    assert wolves == []


HALL = BOAT + "cables: cable=CS9, jacket=cat5e"
SECOND = {**HAND, "author": "HLP", "device": "phone"}
"""Who works apart from the first."""


def apart(folder: Path, first: str, second: str) -> list[Problem]:
    """A site known to both, what each of two wrote alone, and both together."""
    mine = make(folder, rows_of(HALL), code="BHS")
    theirs = folder / "theirs.site"
    shutil.copyfile(mine, theirs)
    for path, text, hand in ((mine, first, HAND), (theirs, second, SECOND)):
        api.import_(path, ASKED, folder=write(folder / path.stem, rows_of(text)), **hand)
    api.import_record(mine, ASKED, source=theirs, rescue=False, dry=False, **HAND)
    return list(api.site(mine, ASKED).problems)


def codes(found: list[Problem], code: str) -> list[str]:
    return [p.where for p in found if p.code == code]


def test_one_or_two__both_tag_an_end_s31_while_apart(tmp_path: Path) -> None:
    """Two people in two rooms wrote S31 on whatever they held."""
    found = apart(tmp_path, "ends: end=S31, room=DOCK", "ends: end=S31, room=SAIL")
    assert any("S31" in where for where in codes(found, "one_or_two"))


def test_one_or_two__silent_when_each_has_tags_of_their_own(tmp_path: Path) -> None:
    assert codes(apart(tmp_path, "ends: end=S31, room=DOCK", "ends: end=S32, room=SAIL"), "one_or_two") == []


def test_one_or_two__silent_when_the_thing_was_known_to_both(tmp_path: Path) -> None:
    assert codes(apart(tmp_path, "cables: cable=CS9, pairs=4", "cables: cable=CS9, look=grey"), "one_or_two") == []


def test_two_accounts__two_lengths_of_one_cable(tmp_path: Path) -> None:
    """One paced it, one read the marks; neither knew of the other."""
    found = apart(tmp_path, "cables: cable=CS9, length_m=90 ft", "cables: cable=CS9, length_m=41 m")
    assert any("CS9" in where for where in codes(found, "two_accounts"))


def test_two_accounts__silent_when_both_say_the_same_in_other_units(tmp_path: Path) -> None:
    """100 ft are 30.48 m by definition of the foot."""
    found = apart(tmp_path, "cables: cable=CS9, length_m=100 ft", "cables: cable=CS9, length_m=30.48 m")
    assert codes(found, "two_accounts") == []


def test_two_accounts__silent_when_one_hand_corrects_itself(tmp_path: Path) -> None:
    path = make(tmp_path, rows_of(HALL), code="BHS")
    for n, text in enumerate(("cables: cable=CS9, length_m=90 ft", "cables: cable=CS9, length_m=41 m, at=2026-03-05")):
        api.import_(path, ASKED, folder=write(tmp_path / str(n), rows_of(text)), **HAND)
    assert codes(list(api.site(path, ASKED).problems), "two_accounts") == []
