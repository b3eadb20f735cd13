"""Small phrases of signal: a level, a range, a rate, who serves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers import figures

Facts = Mapping[str, Any]
SILENT_DBM = -100
"""Ours: what is weaker is not heard by any receiver of a phone or a laptop."""


def dbm(value: float | None) -> str:
    """A level in whole dBm, without its unit; what no receiver hears in words."""
    if value is None:
        return "–"
    return "not heard" if value < SILENT_DBM else f"{round(value):d}"


def decibels(value: float) -> str:
    """A difference of levels with one decimal, without its unit."""
    text = f"{value:.1f}"
    return "0" if text in ("0.0", "-0.0") else text.removesuffix(".0")


def between(low: float | None, high: float | None, *, bare: bool = False) -> str:
    """An interval of four chances in five: `4 in 5 between -71 and -61`; `bare` for a column: `-71 to -61`."""
    if low is None or high is None:
        return "–"
    a, b = dbm(low), dbm(high)
    if bare:
        return a if a == b else f"up to {b}" if low < SILENT_DBM else f"{a} to {b}"
    return f"4 in 5 at {a}" if a == b else f"4 in 5 between {a} and {b}"


def level(value: float, low: float, high: float) -> str:
    """A level with its interval for a column: `-66 (-71 to -61)`; one word where all of it is the same."""
    told = between(low, high, bare=True)
    return told if told == dbm(value) else f"{dbm(value)} ({told})"


def share(low: float, high: float) -> str:
    """A range of decibels."""
    return f"{decibels(low)} to {decibels(high)}"


def rate(mbps: Sequence[float] | None, *, unit: bool = False) -> str:
    """A range of rates, given in Mb/s; empty where there is none."""
    if not mbps or mbps[1] <= 0:
        return ""
    low, high = (figures.number(float(v)) for v in mbps)
    return f"{low if low == high else f'{low} to {high}'}{' Mb/s' if unit else ''}"


def served(at: Facts) -> str:
    """Who serves a room in one band, and who could take over."""
    if not at["server"]:
        return ""
    second = f", {at['second']} could take over at {dbm(at['second_dbm'])} dBm" if at["second"] else ""
    return f"served by {at['server']}{second}"


def named(room: Facts) -> str:
    """A room as people name it: its tag and its name."""
    return f"room {room['room']} {room['name']}".rstrip()


def minutes(value: float) -> str:
    """How long walking there and reading takes."""
    if value < 1:
        return "less than a minute"
    return "1 minute" if round(value, 1) == 1 else f"{decibels(value)} minutes"


def listed(words: Sequence[str], *, last: str) -> str:
    """`a, b and c`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
