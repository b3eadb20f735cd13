"""What a run is made of, for the estimate of what it carries: stretches of cable, branches, joints, whole pairs."""

from __future__ import annotations

import dataclasses
import enum
import math

from pullstring.model.answers import Interval

LONGEST_M = 10_000.0


@dataclasses.dataclass(frozen=True)
class Stretch:
    """A piece of cable of one kind.

    Parameters
    ----------
    jacket : str
        Kind of cable, as in ``line_jackets.csv``; any other word is an unknown jacket.
    length_m : Interval
        Length. [m]
    temperature_c : Interval
        Hottest along its way. [C] Under 20 C counts as 20, over 90 C as 90.
    untwisted_m : Interval
        How far its pairs are untwisted, both ends together. [m]
    awg : Interval or None
        Gauge of its wires; None where only the kind is known. [AWG]
    cord : bool
        Stranded wire: loses a fifth more.
    screened : bool
        A metal screen under the jacket: it warms less.
    """

    jacket: str
    length_m: Interval
    temperature_c: Interval
    untwisted_m: Interval
    awg: Interval | None
    cord: bool
    screened: bool

    def __post_init__(self) -> None:
        _within("length_m", self.length_m, "m", 0, LONGEST_M)
        _within("temperature_c", self.temperature_c, "C", -90, 200)
        _within("untwisted_m", self.untwisted_m, "m", 0, LONGEST_M)
        if self.awg is not None:
            _within("awg", self.awg, "AWG", 0, 40)


@dataclasses.dataclass(frozen=True)
class Branch:
    """A stretch that hangs on the run and goes on to nothing: a bridged tap. `after_m` is where, None if not known."""

    stretch: Stretch
    after_m: float | None

    def __post_init__(self) -> None:
        if self.after_m is not None and not 0 <= self.after_m <= LONGEST_M:
            raise ValueError(f"after_m: a branch hangs 0 m to {LONGEST_M:g} m along its run, not at {self.after_m:g} m")


@dataclasses.dataclass(frozen=True)
class Splice:
    """A joint in the way: a kind of ``line_joints.csv``; any other word is taken as `splice`."""

    kind: str


@dataclasses.dataclass(frozen=True)
class Makeup:
    """A run: its parts in order, and how many of its pairs are whole from end to end, None if nobody has looked."""

    parts: tuple[Stretch | Branch | Splice, ...]
    good_pairs: int | None

    def __post_init__(self) -> None:
        if self.good_pairs is not None and self.good_pairs < 0:
            raise ValueError(f"good_pairs: {self.good_pairs} is no number of pairs; give 0 or more, or None")

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """The cable from end to end, branches left out."""
        return tuple(part for part in self.parts if isinstance(part, Stretch))

    @property
    def branches(self) -> tuple[Branch, ...]:
        """What hangs on it."""
        return tuple(part for part in self.parts if isinstance(part, Branch))

    @property
    def splices(self) -> tuple[Splice, ...]:
        """Joints in the way."""
        return tuple(part for part in self.parts if isinstance(part, Splice))


class Part(enum.StrEnum):
    """What decides a margin."""

    LOSS = "loss"
    NOTCH = "notch"
    CROSSTALK = "crosstalk"
    DELAY = "delay"
    PAIRS = "pairs"
    NO_MODEL = "no model"


@dataclasses.dataclass(frozen=True)
class Notch:
    """Where the branch that bites deepest shorts the pair inside a band, and what it takes there.

    `frequency` [Hz] and `depth` [dB] are ranges over the length of the branch and the velocity factor.
    """

    frequency: Interval
    depth: Interval
    branch: int


@dataclasses.dataclass(frozen=True)
class Bracket:
    """A figure by the typical models and by the worst, each with the range that the inputs leave."""

    typical: Interval
    worst: Interval


@dataclasses.dataclass(frozen=True)
class RateMargin:
    """What one kind of Ethernet has to spare over a run.

    `margin` runs from the worst models at the worst inputs to the typical models at the best; None where pairs are
    missing (`pairs`) or nothing can be said (`no model`). `loss` (cable and joints, without branches) and `next` are
    at `frequency_hz`. `spare_loss` is what the standard's own limit of loss leaves, where the receiver has to keep to it.
    `category_says` is the rule of categories for rates without a model: True, False, or None when the jacket is unknown.
    """

    name: str
    mbps: int
    part: Part
    margin: Interval | None
    margins: Bracket | None
    frequency_hz: float
    loss: Bracket | None
    notch: Notch | None
    next: Bracket | None
    salz: Bracket | None
    spare_loss: Bracket | None
    required_db: float | None
    implementation_db: float
    delay: Interval
    skew: Interval
    category_says: bool | None
    assumed: tuple[str, ...]


def _within(name: str, given: Interval, unit: str, low: float, high: float) -> None:
    if given.unit != unit:
        raise ValueError(f"{name}: the range is in {given.unit!r}; give it in {unit!r}")
    if not (math.isfinite(given.low) and math.isfinite(given.high) and low <= given.low and given.high <= high):
        raise ValueError(f"{name}: {given.low:g} to {given.high:g} {unit} is out of reason; give {low:g} to {high:g}")
