"""A tone as it was heard: how loud at the place, and from which end or jack it was sent.

Written `loud from end:E12`, `faint from end:E13`, `none from end:E19`; `isolated` when the sending pair was taken off the
block, `confirmed` when the tone stopped as the pair was shorted here. A tone that bleeds over is a reading and proves nothing.
"""

from __future__ import annotations

import dataclasses

from pullstring.model.refs import Ref, parse_ref

LEVELS = ("none", "faint", "loud")


class BadTone(ValueError):
    """A tone is not written as one."""


@dataclasses.dataclass(frozen=True)
class Tone:
    """How loud (0 none, 1 faint, 2 loud), from where, and under which care it was sent."""

    level: int
    source: Ref
    isolated: bool
    confirmed: bool


def parse_tone(text: str) -> Tone:
    """Read a tone; raises BadTone, or BadName when the source is no reference."""
    words = text.split()
    extra = {w.casefold() for w in words[3:]}
    if (
        len(words) < 3
        or words[0].casefold() not in LEVELS
        or words[1].casefold() != "from"
        or extra - {"isolated", "confirmed"}
    ):
        raise BadTone(f"{text!r} is no tone; write for example: loud from end:E12 isolated confirmed")
    return Tone(LEVELS.index(words[0].casefold()), parse_ref(words[2]), "isolated" in extra, "confirmed" in extra)
