"""Dates as people know them: a day, a month, a year, "before 2006", "about 1994", or a moment with its offset.

A vague date is a span with an earliest and a latest moment; both may be open. Two questions are asked of it: was it
surely so by then (its latest moment), and how old may it be (its earliest).
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import functools
import re

UTC = dt.UTC
FIRST = dt.datetime(1, 1, 1, tzinfo=UTC)
LAST = dt.datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)
ABOUT_YEARS = 3  # ours, assumed: "about 1994" is taken as 1991 to 1997

_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT")
_FORM = re.compile(r"(?:(before|after|about)\s+)?(\d{4})(?:-(\d\d)(?:-(\d\d))?)?(s?)")


class BadDate(ValueError):
    """A date is not written in a form that is understood."""


@dataclasses.dataclass(frozen=True, slots=True)
class When:
    """A date as written, with the span it can mean."""

    text: str
    earliest: dt.datetime = dataclasses.field(compare=False)
    latest: dt.datetime = dataclasses.field(compare=False)


@functools.lru_cache(maxsize=65536)
def parse_when(text: str) -> When:
    """Read a date: `2026-11-03`, `2026-11`, `1994`, `1990s`, `about 1994`, `before 2006`, `after 1999`,
    `2026-11-03T16:10+01:00`. A moment without offset is refused, for a site and a laptop may differ in zone.
    """
    written = " ".join(text.split())
    if _MOMENT.match(written):
        return _moment(written)
    found = _FORM.fullmatch(written)
    if not found:
        raise BadDate(
            f"{text!r} is no date; write 2026-11-03, 2026-11, 1994, 1990s, about 1994, before 2006 or "
            "2026-11-03T16:10+01:00"
        )
    word, year, month, day, decade = found.groups()
    if decade and (month or word or not year.endswith("0")):
        raise BadDate(f"{text!r} is no date; a decade is written 1990s")
    try:
        start, end = _span(int(year), month, day, bool(decade))
    except ValueError as error:
        raise BadDate(f"{text!r} is no day of the calendar") from error
    if word == "before":
        start = FIRST
    elif word == "after":
        end = LAST
    elif word == "about":
        start = start.replace(year=max(1, start.year - ABOUT_YEARS), day=min(start.day, 28))
        end = end.replace(year=min(9999, end.year + ABOUT_YEARS), day=min(end.day, 28))
    return When(written, start, end)


def _span(year: int, month: str | None, day: str | None, decade: bool) -> tuple[dt.datetime, dt.datetime]:
    if decade:
        return dt.datetime(year, 1, 1, tzinfo=UTC), dt.datetime(year + 9, 12, 31, 23, 59, 59, tzinfo=UTC)
    start = dt.datetime(year, int(month or 1), int(day or 1), tzinfo=UTC)
    if day:
        return start, start.replace(hour=23, minute=59, second=59)
    if month:
        following = start.replace(year=year + start.month // 12, month=start.month % 12 + 1)
        return start, following - dt.timedelta(seconds=1)
    return start, dt.datetime(year, 12, 31, 23, 59, 59, tzinfo=UTC)


def _moment(written: str) -> When:
    try:
        moment = dt.datetime.fromisoformat(written)
    except ValueError as error:
        raise BadDate(f"{written!r} is no moment; write it as 2026-11-03T16:10+01:00") from error
    if moment.tzinfo is None:
        raise BadDate(f"{written!r} lacks its offset; write it as {written}+01:00 or with the offset of the site")
    try:
        return When(written, moment.astimezone(UTC), moment.astimezone(UTC))
    except OverflowError as error:
        raise BadDate(f"{written!r} lies at the edge of the calendar; write the day alone") from error
