"""Hours in which somebody answers or something is used: `Mo-Fr 8-17`, `Mo-Sa 08:00-12:00, 13-18`, `always`, `11-23`."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re

DAYS = ("mo", "tu", "we", "th", "fr", "sa", "su")
_SPAN = re.compile(r"(\d{1,2})(?:[:.](\d\d))?\s*(?:h)?\s*-\s*(\d{1,2})(?:[:.](\d\d))?\s*(?:h)?")
_DAYS = re.compile(r"\b([a-z]{2})[a-z]*(?:\s*-\s*([a-z]{2})[a-z]*)?")


@dataclasses.dataclass(frozen=True)
class Hours:
    """Days of the week (0 is Monday) and spans of minutes since midnight; a span may run over midnight."""

    days: frozenset[int]
    spans: tuple[tuple[int, int], ...]

    def open_in(self, start: dt.datetime, end: dt.datetime) -> bool:
        """Whether any minute of a stretch of time, in local time, lies inside; looks at four weeks at most."""
        day = start.date() - dt.timedelta(days=1)
        for offset in range(min((end.date() - day).days, 28) + 1):
            midnight = dt.datetime.combine(day + dt.timedelta(days=offset), dt.time(), start.tzinfo)
            if midnight.weekday() not in self.days:
                continue
            for first, last in self.spans:
                until = last if last > first else last + 24 * 60
                opens, shuts = midnight + dt.timedelta(minutes=first), midnight + dt.timedelta(minutes=until)
                if opens < end and start < shuts:
                    return True
        return False


def parse_hours(text: str) -> Hours | None:
    """Read hours; None when they are not understood, for a note is never refused."""
    words = text.casefold().strip()
    if words in ("always", "day and night", "24 h", "24h"):
        return Hours(frozenset(range(7)), ((0, 24 * 60),))
    spans = [_minutes(found.groups()) for found in _SPAN.finditer(words)]
    if not spans or any(s is None for s in spans):
        return None
    days: set[int] = set()
    left = _SPAN.sub(" ", words)
    for first, last in _DAYS.findall(left):
        if first not in DAYS or (last and last not in DAYS):
            return None
        a, b = DAYS.index(first), DAYS.index(last or first)
        days |= {(a + k) % 7 for k in range((b - a) % 7 + 1)}
    return Hours(frozenset(days or range(7)), tuple(s for s in spans if s))


def _minutes(parts: tuple[str | None, ...]) -> tuple[int, int] | None:
    first = int(parts[0] or 0) * 60 + int(parts[1] or 0)
    last = int(parts[2] or 0) * 60 + int(parts[3] or 0)
    return (first, last) if first < 24 * 60 and 0 < last <= 24 * 60 and first != last else None
