"""Which published models stand for which jacket and which joint, read from `line_jackets.csv` and `line_joints.csv`.

House rules
-----------
1. A jacket has a typical and a worst loss, and a typical and a worst crosstalk; the truth is somewhere between.
2. The worst loss is the greatest of several curves, or the least where a better category cannot be worse than a lesser one.
3. From jacket to weaker jacket no curve gets better: cat6a, cat6, cat5e, cat5, cat3, quad, flat cord.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import math
from collections.abc import Mapping

import numpy as np

from pullstring.copper.crosstalk import cable_curve_next_db
from pullstring.copper.line_models import Reals, attenuation_db

UNKNOWN = "unknown"
MIDDLE = "cat3"
"""What an unknown jacket is taken for half way between its ends; assumed by us."""

Parts = tuple[tuple[str, float], ...]
Bound = tuple[str, Parts]
"""Several models with their factors, and whether the `least` or the `most` of them counts."""


@dataclasses.dataclass(frozen=True)
class LineJacket:
    """One jacket: models with their factors, and crosstalk relative to the limit of a category.

    `ends` is empty but for the unknown jacket, which lies between its two. Without `loss_typical` there is no model.
    """

    name: str
    category: str
    loss_typical: Bound
    loss_worst: Bound
    awg_of_models: float
    warms_as: str
    next_curve: str
    next_typical_db: float
    next_worst_db: float
    next_most_db: float
    ends: tuple[str, ...]
    provenance: str

    @property
    def modelled(self) -> bool:
        """Whether a loss can be estimated for it."""
        return bool(self.loss_typical[1] or self.ends)


@dataclasses.dataclass(frozen=True)
class LineJoint:
    """One kind of joint: the connecting hardware it is at worst and as usual."""

    name: str
    worst: str
    typical: str
    provenance: str


def line_jacket(name: str) -> LineJacket:
    """The jacket of that name, compared without case and outer spaces; any other is `unknown`."""
    held = line_jackets()
    return held.get(" ".join(name.casefold().split()), held[UNKNOWN])


def line_joint(name: str) -> LineJoint:
    """The kind of joint of that name; any other is taken as a splice."""
    held = line_joints()
    return held.get(" ".join(name.casefold().split()), held["splice"])


@functools.cache
def line_jackets() -> Mapping[str, LineJacket]:
    """All jackets by name, in the order of the table."""
    return {row["jacket"]: _jacket(row) for row in _rows("line_jackets.csv")}


@functools.cache
def line_joints() -> Mapping[str, LineJoint]:
    """All kinds of joint by name, in the order of the table."""
    return {
        row["kind"]: LineJoint(row["kind"], row["worst"], row["typical"], row["provenance"])
        for row in _rows("line_joints.csv")
    }


def jacket_loss_db(*, jacket: str, worst: bool, frequency_hz: Reals) -> Reals:
    """Loss of one metre at 20 C in the gauge of its models.

    Parameters
    ----------
    jacket : str
        Name of a jacket with models.
    worst : bool
        The worst loss, else the typical one.
    frequency_hz : array
        Above zero, up to 500 MHz. [Hz]

    Returns
    -------
    array
        Loss of a metre; the worst is never under the typical. [dB]

    References
    ----------
    Row by row in ``line_jackets.csv``. Checked in ``tests/copper/test_line_models.py``.
    """
    held = line_jacket(jacket)
    typical = _curve(held.loss_typical, frequency_hz)
    return np.maximum(_curve(held.loss_worst, frequency_hz), typical) if worst else typical


def jacket_next_db(*, jacket: str, worst: bool, frequency_hz: Reals) -> Reals:
    """NEXT loss between two pairs, taken as that of 100 m however short the cable is.

    Parameters
    ----------
    jacket : str
        Name of a jacket with models.
    worst : bool
        The worst crosstalk, else the typical one.
    frequency_hz : array
        Above zero. [Hz]

    Returns
    -------
    array
        Loss. [dB]

    References
    ----------
    Row by row in ``line_jackets.csv``. Checked in ``tests/copper/test_crosstalk.py``.
    """
    held = line_jacket(jacket)
    over = held.next_worst_db if worst else held.next_typical_db
    loss = np.asarray(cable_curve_next_db(category=held.next_curve, frequency_hz=frequency_hz), dtype=np.float64) + over
    return np.asarray(np.minimum(loss, held.next_most_db), dtype=np.float64)


def _curve(bound: Bound, frequency_hz: Reals) -> Reals:
    which, parts = bound
    curves = [k * np.asarray(attenuation_db(model=m, frequency_hz=frequency_hz, length_m=1.0)) for m, k in parts]
    return np.asarray((np.min if which == "least" else np.max)(np.stack(curves), axis=0), dtype=np.float64)


def _rows(name: str) -> tuple[Mapping[str, str], ...]:
    text = importlib.resources.files("pullstring.copper").joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _jacket(row: Mapping[str, str]) -> LineJacket:
    def number(column: str, blank: float) -> float:
        return float(row[column]) if row[column] else blank

    is_span = row["jacket"] == UNKNOWN
    return LineJacket(
        name=row["jacket"],
        category=row["category"],
        loss_typical=_bound("" if is_span else row["loss_typical"]),
        loss_worst=_bound("" if is_span else row["loss_worst"]),
        awg_of_models=number("awg_of_models", 24),
        warms_as=row["warms_as"],
        next_curve=row["next_curve"],
        next_typical_db=number("next_typical_db", 0),
        next_worst_db=number("next_worst_db", 0),
        next_most_db=number("next_most_db", math.inf),
        ends=(row["loss_typical"], row["loss_worst"]) if is_span else (),
        provenance=row["provenance"],
    )


def _bound(cell: str) -> Bound:
    words = cell.split()
    which = words.pop(0) if words and words[0] in ("least", "most") else "most"

    def part(word: str) -> tuple[str, float]:
        name, _, factor = word.partition("*")
        return name, float(factor or 1)

    return which, tuple(part(word) for word in words)
