"""Small phrases that every page uses: a thing as people name it, a range as they write it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullstring.model.answers import Interval
from pullstring.model.sealed import is_sealed
from pullstring.papers import figures


def thing(ref: str) -> str:
    """A reference as people say it: `end:E01` is end E01."""
    kind, _, tag = ref.partition(":")
    return f"{kind.replace('_', ' ')} {tag}" if tag else ref


def things(text: str) -> str:
    """A text in which every reference is said as people say it, and sealed values not at all."""
    return " ".join(_word(word) for word in text.split())


def _word(word: str) -> str:
    if is_sealed(word.rstrip(",;.")):
        return "sealed"
    return thing(word) if ":" in word and not word.endswith(":") else word


def interval_of(value: Mapping[str, Any] | None) -> str:
    """A range from an answer as words; a dash when there is none."""
    if not value:
        return "–"
    if value.get("type") == "estimate":
        value = value["interval"]
    return figures.interval(Interval(value["low"], value["high"], value["unit"], tuple(value["inputs"])))


def said(sentences: Mapping[str, str], code: str) -> str:
    """The sentence behind a code; the code itself where there is none."""
    return sentences.get(code, code)
