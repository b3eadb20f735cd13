"""What the ends of cables turned out to be, in words: where they go, rings, clips, hidden splices, cuts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers.phrases import interval_of
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_trace import END_STANDS
from pullstring.papers.words_trace_said import bare, listed, tags

Facts = Mapping[str, Any]
STRANGE = (
    ("ring", "{0} are two ends of one ring"),
    ("clip", "{0} are joined by a clip"),
    ("splice", "{0} {hides} a splice"),
    ("cut", "{0} {ends} inside the wall"),
)
"""What a person would not expect of a cable, worst for the work first."""


def end_stands(end: Facts) -> str:
    """Everything that was found of one end, what it goes to first."""
    parts = [_one(found) for found in end["stands"]]
    return "; ".join(parts) or "nobody knows yet"


def _one(found: Facts) -> str:
    words = sentence(END_STANDS, found["what"])
    return words.format(_about(found))


def _about(found: Facts) -> str:
    if found["length"]:
        return interval_of(found["length"])
    if found["about"]:
        return tags(found["about"])
    return found["says"] or "not known yet"


def structure(ends: Sequence[Facts]) -> str:
    """One line of what is strange in the wires; empty when nothing is."""
    parts = []
    for what, words in STRANGE:
        groups = _groups(ends, what)
        if not groups:
            continue
        if what in ("ring", "clip"):
            parts += [words.format(listed(group)) for group in groups]
        else:
            named = [tag for group in groups for tag in group]
            many = len(named) > 1
            parts.append(words.format(listed(named), hides="hide" if many else "hides", ends="end" if many else "ends"))
    return "; ".join(parts) + "." if parts else ""


def _groups(ends: Sequence[Facts], what: str) -> list[tuple[str, ...]]:
    """Tags of ends that are of one kind together, each group once; single ends each alone."""
    found: dict[tuple[str, ...], None] = {}
    for end in ends:
        for one in end["stands"]:
            if one["what"] == what:
                others = one["about"] if what in ("ring", "clip") else ()
                found[tuple(sorted({bare([e]) for e in (end["end"], *others) if e.startswith("end:")}))] = None
    return list(found)
