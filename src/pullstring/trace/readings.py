"""What was read while tracing: one small class for each kind of reading, with the entries it stands in.

Every reading has a `key`: the same class and key is the same physical reading (same placement, same point) and counts once.
`opened` holds the numbers of the blocks that had been opened when it was taken: for those an outlet was on its own end alone.
`source` names the instrument, so that a flat battery or a stuck remote can be judged; `when` orders readings of one instrument.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from pullstring.trace.scene import Net


@dataclasses.dataclass(frozen=True, kw_only=True)
class Reading:
    """What all readings share."""

    key: str
    opened: Net = frozenset()
    because: tuple[str, ...] = ()
    source: str = ""
    when: float = 0.0


@dataclasses.dataclass(frozen=True, kw_only=True)
class Tone(Reading):
    """A tone between an outlet and one end, whichever way it was sent: level 0 nothing, 1 faint, 2 loud."""

    outlet: int
    end: int
    level: int


@dataclasses.dataclass(frozen=True, kw_only=True)
class Bundle(Reading):
    """The loudest tone of an outlet over a set of ends touched together."""

    outlet: int
    ends: Net
    level: int


@dataclasses.dataclass(frozen=True, kw_only=True)
class Remote(Reading):
    """Whether the number of a remote at the one was read at the other."""

    outlet: int
    end: int
    hit: bool


@dataclasses.dataclass(frozen=True, kw_only=True)
class Plugs(Reading):
    """Pairs read closed at an outlet while coded plugs sit on ends; a word has bit k set when its pair k is shorted."""

    outlet: int
    words: Mapping[int, int]
    pairs: int
    bits: int


@dataclasses.dataclass(frozen=True, kw_only=True)
class Short(Reading):
    """Whether a pair reads closed at an end while plain shorts sit on some outlets."""

    outlets: Net
    end: int
    closed: bool


@dataclasses.dataclass(frozen=True, kw_only=True)
class Ohms(Reading):
    """Ohms read at an end (None: open, more than the meter shows) while resistors sit on outlets.

    `baseline` is what the end read before anything was clipped on (None: open or not read). `off` is the relative error of
    part and meter together as one standard deviation, `line_ohm` the loop of the wire as a range.
    """

    end: int
    ohm: float | None
    placed: Mapping[int, float]
    off: float
    line_ohm: tuple[float, float]
    baseline: float | None = None


@dataclasses.dataclass(frozen=True, kw_only=True)
class Leaning(Reading):
    """Soft evidence on where an outlet belongs: natural logs of weights by end, and for 'no cable here'.

    Old labels, hearsay, jackets, lengths. What is not named weighs 0. `by_net` where it is said of all that touches an end (a
    claim that the end goes there) and not of the cable of that end alone.
    """

    outlet: int
    log_weight: Mapping[int, float]
    log_none: float = 0.0
    by_net: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True)
class EndLeaning(Reading):
    """Soft evidence on an end alone: natural logs of weights for 0, 1, 2 ... outlets on it (cut, seen to go elsewhere ...).

    More outlets than are named weigh as the last one named.
    """

    end: int
    log_weight: tuple[float, ...]


@dataclasses.dataclass(frozen=True, kw_only=True)
class JoinLeaning(Reading):
    """Soft evidence on whether two ends of one block are joined: natural log of the odds it adds for 'joined'."""

    a: int
    b: int
    log_odds: float


@dataclasses.dataclass(frozen=True, kw_only=True)
class Checked(Reading):
    """An instrument was tried on itself or on a known run at `when`: it worked or it was silent. Says nothing of an outlet."""

    works: bool


OfOutlet = Tone | Bundle | Remote | Plugs | Leaning
"""Readings that speak of one outlet."""
Any = OfOutlet | Short | Ohms | EndLeaning | JoinLeaning | Checked
