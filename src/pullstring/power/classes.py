"""The power classes of IEEE 802.3, read from `classes.csv`: a standard's limits, never our estimates."""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping

from pullstring.model.answers import Limit

GREATEST_PSE_V = Limit(57.0, "V", "IEEE 802.3 clauses 33 and 145", "from memory")
"""No standard port gives more than this."""


_PAIR_CURRENTS = {1: (0.35, "read in a published text"), 2: (0.6, "read in a published text")}
_PAIR_CURRENTS |= {3: (0.6, "from memory"), 4: (0.96, "from memory")}


def pair_current(*, type_number: int) -> Limit:
    """Greatest current of one pair: 350 mA in type 1, 600 mA in types 2 and 3, 960 mA in type 4.

    Parameters
    ----------
    type_number : int
        1 to 4. [type]

    Returns
    -------
    Limit
        Current of both wires of a pair together. [A]

    References
    ----------
    IEEE 802.3 clauses 33 and 145 (350 and 600 mA read in a published text). Checked in ``tests/published/test_ieee8023_power.py``.
    """
    if type_number not in _PAIR_CURRENTS:
        raise ValueError(f"type {type_number}: there are types 1 to 4; give one of them")
    value, provenance = _PAIR_CURRENTS[type_number]
    return Limit(value, "A", "IEEE 802.3 clauses 33 and 145, current of a pair", provenance)


@dataclasses.dataclass(frozen=True)
class PowerClass:
    """One class: what the port must be able to give, and what the device may take, over which loop.

    Parameters
    ----------
    pse_power, pd_power : Limit
        Power at the port, and at the device. [W]
    pse_voltage : Limit
        Least voltage at the port. [V]
    loop_resistance : Limit
        Greatest loop over all pairs in use. [ohm]
    pd_voltage : Limit or None
        Least voltage at the device; None where we hold no figure. [V]
    """

    number: int
    type_number: int
    pairs: int
    pse_power: Limit
    pd_power: Limit
    pse_voltage: Limit
    loop_resistance: Limit
    pd_voltage: Limit | None


def power_class(*, class_number: int) -> PowerClass:
    """The class of that number.

    Parameters
    ----------
    class_number : int
        0 to 8. [class]

    Returns
    -------
    PowerClass
        Its limits, each with standard and provenance.

    References
    ----------
    IEEE 802.3 clauses 33 and 145. Checked in ``tests/published/test_ieee8023_power.py``.
    """
    found = power_classes().get(class_number)
    if found is None:
        raise ValueError(f"power class {class_number}: there are classes 0 to 8; give one of them")
    return found


@functools.cache
def power_classes() -> Mapping[int, PowerClass]:
    """All classes by number."""
    text = importlib.resources.files("pullstring.power").joinpath("classes.csv").read_text(encoding="utf-8")
    return {int(row["class"]): _class(row) for row in csv.DictReader(text.splitlines())}


def _class(row: Mapping[str, str]) -> PowerClass:
    standard = f"{row['standard']}, {row['edition']}"

    def limit(column: str, unit: str, provenance: str) -> Limit:
        return Limit(float(row[column]), unit, standard, row[provenance])

    return PowerClass(
        number=int(row["class"]),
        type_number=int(row["type"]),
        pairs=int(row["pairs"]),
        pse_power=limit("pse_w", "W", "provenance_w"),
        pd_power=limit("pd_w", "W", "provenance_w"),
        pse_voltage=limit("pse_v_min", "V", "provenance_v_ohm"),
        loop_resistance=limit("loop_ohm_max", "ohm", "provenance_v_ohm"),
        pd_voltage=limit("pd_v_min", "V", "provenance_v_ohm") if row["pd_v_min"] else None,
    )
