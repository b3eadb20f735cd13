"""What an answer is made of: values that carry their uncertainty, and one envelope for every verb.

A standard's limit and our own estimate are different types, so that no page can mix them up.
All values are frozen; `plain` turns any of them into what JSON can hold, with sorted keys.
"""

from __future__ import annotations

import dataclasses
import enum
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

SCHEMA = 1


class Band(enum.StrEnum):
    """How likely a thing works, in the four words the pages use."""

    LIKELY = "likely"
    POSSIBLE = "possible"
    UNLIKELY = "unlikely"
    NO = "no"


class Severity(enum.IntEnum):
    """Worst first: somebody may be hurt, something goes dark, it costs money, it is untidy."""

    HURT = 0
    OUTAGE = 1
    MONEY = 2
    TIDY = 3


@dataclasses.dataclass(frozen=True)
class Interval:
    """A range that holds the value, with the names of the inputs whose spread made it."""

    low: float
    high: float
    unit: str
    inputs: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if math.isnan(self.low) or math.isnan(self.high) or self.low > self.high:
            raise ValueError(f"an interval runs from low to high; {self.low} to {self.high} does not")

    @property
    def middle(self) -> float:
        """Half way between both ends, in the interval's unit."""
        return (self.low + self.high) / 2

    @classmethod
    def exact(cls, value: float, unit: str) -> Interval:
        """A value without spread."""
        return cls(value, value, unit)


@dataclasses.dataclass(frozen=True)
class Odds:
    """A chance between 0 and 1; `assumed` when no count stands behind it."""

    chance: float
    assumed: bool = True

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise ValueError(f"odds lie between 0 and 1; {self.chance} does not")


@dataclasses.dataclass(frozen=True)
class Limit:
    """A number that a standard sets, with the standard's name and edition."""

    value: float
    unit: str
    standard: str
    provenance: str


@dataclasses.dataclass(frozen=True)
class Estimate:
    """A number that we computed: its range, the model used and what it takes for granted."""

    interval: Interval
    model: str
    assumed: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Money:
    """A decimal amount in a named currency; never a binary fraction."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal):
            raise TypeError("money is counted in decimals; give a Decimal")


@dataclasses.dataclass(frozen=True)
class Problem:
    """Something wrong or dangerous in the record: where, what, and what would mend it."""

    severity: Severity
    code: str
    where: str
    says: str
    remedy: str
    because: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Ask:
    """The one thing that would help most to know, and why."""

    about: str
    question: str
    why: str


USUAL_RULES = "example-A"
"""The set of local rules that is taken where none is named."""


@dataclasses.dataclass(frozen=True)
class Request:
    """What a verb is asked with: today, the seed, the rules and the limits are arguments, never looked up.

    Parameters
    ----------
    today : str
        The day on which the question is asked, as `YYYY-MM-DD`.
    tags : tuple of str
        The things asked about; empty means all.
    as_of : str or None
        The site as it was on that day.
    known_by : str or None
        Only what was known by then: a date, or the id of an entry.
    seed : int
        For everything that draws; the same seed gives the same answer.
    rules : str
        Name of the rule set of the place; empty takes the one that the property's row names.
    limits : mapping
        Named limits a verb may be given.
    """

    today: str
    tags: tuple[str, ...] = ()
    as_of: str | None = None
    known_by: str | None = None
    seed: int = 1
    rules: str = ""
    limits: Mapping[str, float] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass(frozen=True)
class Answer:
    """The one envelope in which every verb answers."""

    verb: str
    site: str
    answer: Mapping[str, Any]
    as_of: str | None = None
    known_by: str | None = None
    rules: str = USUAL_RULES
    because: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    cautions: tuple[str, ...] = ()
    ask: Ask | None = None
    schema: int = SCHEMA


class Stopped(Exception):
    """The person asked a long job to stop."""


Progress = Callable[[float, str], None]
"""Called with a fraction from 0 to 1 and a few words; it may raise `Stopped`."""


def silent(fraction: float, words: str) -> None:
    """A progress that says nothing."""


def spread(law: Callable[..., float], unit: str, **inputs: Interval) -> Interval:
    """Range of a law whose inputs have ranges, from all corners of the box.

    Valid for laws that are monotone in each input while the others stay (so the extremes lie in corners).
    The inputs named in the result are those whose own spread widens it.

    Parameters
    ----------
    law : callable
        Takes the inputs by name, each a float.
    unit : str
        Unit of the result.
    inputs : Interval
        Ranges by argument name; at most ten.

    Returns
    -------
    Interval
        Smallest and largest corner value. NaN corners raise ValueError.
    """

    def box(free: Mapping[str, Interval]) -> tuple[float, float]:
        ends = [sorted({i.low, i.high}) for i in free.values()]
        values = [law(**dict(zip(free, corner, strict=True))) for corner in itertools.product(*ends)]
        if any(math.isnan(v) for v in values):
            raise ValueError("the law has no value in a corner of the given ranges")
        return min(values), max(values)

    low, high = box(inputs)
    moved = []
    for name, given in inputs.items():
        if given.low == given.high:
            continue
        fixed_low, fixed_high = box({**inputs, name: Interval.exact(given.middle, given.unit)})
        if fixed_high - fixed_low < high - low:
            moved.append(name)
    return Interval(low, high, unit, tuple(moved))


def plain(value: Any) -> Any:
    """Any answer value as JSON can hold it: dataclasses become objects with a `type`, floats are kept short."""
    if value is None or type(value) in (str, int, bool):
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
        named = {} if isinstance(value, Answer | Problem | Ask) else {"type": type(value).__name__.lower()}
        return {**named, **fields}
    if isinstance(value, Severity):
        return value.name.lower()
    if isinstance(value, enum.Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, float):
        return _short(value)
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, str | int | bool) or value is None:
        return value
    if isinstance(value, set | frozenset):
        return sorted(plain(v) for v in value)
    if isinstance(value, Sequence):
        return [plain(v) for v in value]
    raise TypeError(f"an answer cannot hold a {type(value).__name__}")


def _short(value: float) -> float | int:
    if not math.isfinite(value):
        raise ValueError("an answer holds no NaN and no infinity; say the reason instead")
    rounded = float(f"{value:.9g}")
    return int(rounded) if rounded == int(rounded) and abs(rounded) < 1e15 else rounded
