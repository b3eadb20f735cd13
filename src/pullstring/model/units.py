"""Quantities as people write them into cells: "12 ft", "24 AWG", "0,36 nF", "< 3 ohm"; SI inside.

Factors are exact by definition (international foot 0.3048 m, inch 25.4 mm, pound 0.45359237 kg,
ounce a sixteenth of it) or SI prefixes.
"""

from __future__ import annotations

import dataclasses
import math
import re

_FACTORS: dict[str, dict[str, float]] = {
    "length": {
        "m": 1,
        "cm": 0.01,
        "mm": 0.001,
        "km": 1000,
        "ft": 0.3048,
        "'": 0.3048,
        "in": 0.0254,
        '"': 0.0254,
        "yd": 0.9144,
    },
    "resistance": {
        "ohm": 1,
        "ohms": 1,
        "\u03a9": 1,
        "\u2126": 1,
        "kohm": 1e3,
        "kΩ": 1e3,
        "k": 1e3,
        "Mohm": 1e6,
        "mohm": 1e-3,
    },
    "capacitance": {"F": 1, "uF": 1e-6, "µF": 1e-6, "nF": 1e-9, "pF": 1e-12},
    "voltage": {"V": 1, "mV": 1e-3, "kV": 1e3},
    "power": {"W": 1, "mW": 1e-3, "kW": 1e3},
    "current": {"A": 1, "mA": 1e-3},
    "rate": {"Mb/s": 1e6, "Mbit/s": 1e6, "Gb/s": 1e9, "kb/s": 1e3, "b/s": 1},
    "time": {"min": 1, "h": 60, "s": 1 / 60},
    "rate_mbps": {"Mb/s": 1, "Mbit/s": 1, "Mbps": 1, "Gb/s": 1e3, "kb/s": 1e-3},
    "mass": {"kg": 1, "g": 1e-3, "lb": 0.45359237, "lbs": 0.45359237, "oz": 0.028349523125},
    "level": {"dBm": 1},
    "energy": {"Wh": 1, "kWh": 1e3},
    "charge": {"Ah": 1, "mAh": 1e-3},
    "hours": {"h": 1, "min": 1 / 60},
    "percentage": {"%": 1},
    "gauge": {"AWG": 1},
    "angle": {"deg": 1, "°": 1},
    "ratio": {"dB": 1},
    "bandwidth": {"MHz": 1, "GHz": 1000, "kHz": 0.001},
    "temperature": {"C": 1, "°C": 1, "F": 1, "°F": 1},
}
BASE_UNIT = {
    "length": "m",
    "resistance": "ohm",
    "capacitance": "F",
    "voltage": "V",
    "power": "W",
    "current": "A",
    "rate": "b/s",
    "time": "min",
    "rate_mbps": "Mb/s",
    "mass": "kg",
    "level": "dBm",
    "energy": "Wh",
    "charge": "Ah",
    "hours": "h",
    "percentage": "%",
    "gauge": "AWG",
    "angle": "deg",
    "ratio": "dB",
    "bandwidth": "MHz",
    "temperature": "C",
}
READINGS = {
    "loop resistance": "resistance",
    "wire resistance": "resistance",
    "resistance": "resistance",
    "resistor placed": "resistance",
    "capacitance": "capacitance",
    "volts DC": "voltage",
    "volts AC": "voltage",
    "length": "length",
    "ran at": "rate",
    "watts": "power",
    "down": "rate",
    "up": "rate",
    "level 2.4 GHz": "level",
    "level 5 GHz": "level",
    "level 6 GHz": "level",
    "temperature": "temperature",
}
_NUMBER = re.compile(r"([+\-−]?)\s*(\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE]([+\-]?\d+))?\s*(.*)")
_FEET = re.compile(r"(-?\d+)\s*(?:'|ft)\s*(\d+(?:[.,]\d+)?)\s*(?:\"|in)")


class BadQuantity(ValueError):
    """A cell holds no quantity of the kind that is wanted."""


_PART = re.compile(r"(\d+)([RkKM])(\d+)")
_PART_UNITS = {"r": "ohm", "k": "kohm", "m": "Mohm"}
"""Resistors as their bags are marked: 4R7, 1k2, 2M2 (IEC 60062, from memory)."""


@dataclasses.dataclass(frozen=True)
class Quantity:
    """A value in its base unit with the sign of a reading ('=', '<', '>')."""

    value: float
    unit: str
    sign: str = "="


def parse_quantity(text: str, quantity: str, *, unit: str | None = None) -> Quantity:
    """Read a number with or without its unit.

    Parameters
    ----------
    text : str
        The cell as written; a comma or a point parts the decimals, and no sign parts the thousands.
    quantity : str
        One of the known quantities, such as 'length'.
    unit : str or None
        Unit meant when the cell names none; the base unit if None.

    Raises
    ------
    BadQuantity
        With what was found and what would be right.
    """
    written = text.strip()
    sign = written[0] if written[:1] in "<>" and written else "="
    bare = written.lstrip("<> ") if sign != "=" else written
    if quantity == "length" and (feet := _FEET.fullmatch(bare)):
        whole, inches = float(feet[1]), float(feet[2].replace(",", "."))
        return Quantity(_tidy((whole + (inches if whole >= 0 else -inches) / 12) * 0.3048), "m", sign)
    if quantity == "resistance" and (part := _PART.fullmatch(bare)):
        bare = f"{part[1]}.{part[3]} {_PART_UNITS[part[2].casefold()]}"
    found = _NUMBER.fullmatch(bare)
    if not found:
        raise BadQuantity(
            f"{text!r} is no number; write a number like 3.5 or 3,5, with its unit if it is not in "
            f"{unit or BASE_UNIT[quantity]}"
        )
    minus, digits, power, named = found.groups()
    try:
        value = float(f"{digits.replace(',', '.')}e{int(power or 0)}") * (-1 if minus in ("-", "−") else 1)
    except (ValueError, OverflowError) as error:
        raise BadQuantity(f"{text!r} is no number that can be held") from error
    if not math.isfinite(value):
        raise BadQuantity(f"{text!r} is larger than any {quantity} can be")
    named = named.strip() or unit or BASE_UNIT[quantity]
    factors = _FACTORS[quantity]
    match = named if named in factors else {u.casefold(): u for u in factors}.get(named.casefold())
    if match is None:
        known = ", ".join(dict.fromkeys(factors))
        raise BadQuantity(f"{named!r} is no unit of {quantity}; known here are {known}")
    if quantity == "temperature" and match in ("F", "°F"):
        return Quantity(_tidy((value - 32) / 1.8), "C", sign)
    return Quantity(_tidy(value * factors[match]), BASE_UNIT[quantity], sign)


def _tidy(value: float) -> float:
    """Twelve digits: 12 ft and 3.6576 m are then one value, whichever way it was written."""
    return float(f"{value:.12g}")


def number_text(value: float) -> str:
    """A number for a cell: as short as it can be without changing."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)
