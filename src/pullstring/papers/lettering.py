"""Words in lines of whole words."""

from __future__ import annotations

import textwrap


def wrapped(words: str, letters: int) -> list[str]:
    """A name in lines of at most so many letters, whole words only."""
    return textwrap.wrap(words, max(letters, 1), break_long_words=False, break_on_hyphens=False) or [""]
