"""Hours as people write them, against days of a calendar: 2026-04-03 is a Friday."""

from __future__ import annotations

import datetime as dt

import pytest

from pullstring.model.hours import parse_hours


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("hours", "start", "end", "answers"),
    [
        ("Mo-Fr 8-17", "2026-04-03T08:00", "2026-04-03T08:01", True),
        ("Mo-Fr 8-17", "2026-04-03T07:00", "2026-04-03T08:00", False),
        ("Mo-Fr 8-17", "2026-04-03T16:59", "2026-04-03T18:00", True),
        ("Mo-Fr 8-17", "2026-04-03T17:00", "2026-04-06T08:00", False),
        ("Mo-Fr 8-17", "2026-04-04T00:00", "2026-04-05T23:59", False),
        ("Sa 10:30-12", "2026-04-04T10:00", "2026-04-04T10:30", False),
        ("Sa 10:30-12", "2026-04-04T10:00", "2026-04-04T10:31", True),
        ("Mo-Sa 08.00-12.00, 13-18", "2026-04-03T12:10", "2026-04-03T12:50", False),
        ("Mo-Sa 08.00-12.00, 13-18", "2026-04-03T12:10", "2026-04-03T13:10", True),
        ("Fr-Mo 9-10", "2026-04-05T09:30", "2026-04-05T09:40", True),
        ("Fr-Mo 9-10", "2026-04-07T09:30", "2026-04-07T09:40", False),
        ("11-23", "2026-04-05T12:00", "2026-04-05T12:30", True),
        ("22-6", "2026-04-05T03:00", "2026-04-05T04:00", True),
        ("22-6", "2026-04-05T07:00", "2026-04-05T21:00", False),
        ("Fr 22-6", "2026-04-04T05:00", "2026-04-04T05:30", True),
        ("Fr 22-6", "2026-04-05T05:00", "2026-04-05T05:30", False),
        ("always", "2026-04-05T03:00", "2026-04-05T03:01", True),
        ("Tuesday 9-10", "2026-04-07T09:00", "2026-04-07T09:30", True),
    ],
)
def test_hours__whether_anybody_answers(hours: str, start: str, end: str, answers: bool) -> None:
    found = parse_hours(hours)
    assert found is not None and found.open_in(at(start), at(end)) is answers


@pytest.mark.parametrize("text", ["", "in the morning", "Xx 8-17", "8-8", "25-26", "Mo-Zz 8-9"])
def test_hours__what_is_not_understood_is_none(text: str) -> None:
    assert parse_hours(text) is None
