"""Every number that a person reads is formatted here, once, so that terminal, page and paper show the same figures.

Values come in SI; they leave with three significant digits, a decimal point and no thousands sign, zeros at the end
left out. An interval is rounded outwards, so that the printed range still holds the value.
"""

from __future__ import annotations

import decimal
import fractions
import math
from decimal import Decimal

from pullstring.model.answers import Band, Estimate, Interval, Limit, Money, Odds
from pullstring.model.when import When, parse_when

DIGITS = 3
_NOISE_DIGITS = 9  # what differs only behind the ninth digit is one value
_UNITS: dict[str, tuple[str, str]] = {  # unit of the value -> (factor, unit shown); the factor keeps decimals exact
    "F": ("1e9", "nF"),
    "b/s": ("1e-6", "Mb/s"),
    "Hz": ("1e-6", "MHz"),
    "s": ("1e9", "ns"),  # the only times in seconds are those of a signal on its way
    "C": ("1", "°C"),
    "m2": ("1", "m²"),
    "deg": ("1", "°"),
}
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_BANDS = {Band.LIKELY: "likely", Band.POSSIBLE: "possible", Band.UNLIKELY: "unlikely", Band.NO: "no"}
_PARTS = (2, 3, 4, 5, 10, 20, 100)


def number(value: float, *, rounding: str = decimal.ROUND_HALF_UP) -> str:
    """A bare number to three significant digits, never in powers of ten."""
    return _digits(_exact(value), rounding)


def _exact(value: float) -> Decimal:
    if not math.isfinite(value):
        raise ValueError("a figure is a finite number; say the reason instead of a number")
    with decimal.localcontext() as context:
        context.prec, context.rounding = _NOISE_DIGITS, decimal.ROUND_HALF_EVEN
        return +Decimal(repr(float(value)))


def _digits(exact: Decimal, rounding: str) -> str:
    if exact == 0:
        return "0"
    place = Decimal(1).scaleb(exact.adjusted() - DIGITS + 1)
    rounded = exact.quantize(place, rounding=rounding)
    text = f"{rounded:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(value: float, unit: str, *, rounding: str = decimal.ROUND_HALF_UP) -> str:
    """A number with its unit as people write it: farads as nF, bits per second as Mb/s."""
    return _with_unit(_shown(value, unit, rounding), unit)


def _shown(value: float, unit: str, rounding: str) -> str:
    factor = Decimal(_UNITS.get(unit, ("1", ""))[0])
    return _digits(_exact(value) * factor, rounding)


def _with_unit(text: str, unit: str) -> str:
    name = _UNITS.get(unit, ("1", unit))[1]
    return f"{text}°" if unit == "deg" else f"{text} {name}".rstrip()


def ohms(value: float) -> str:
    """Resistance given in ohm."""
    return quantity(value, "ohm")


def nanofarads(value: float) -> str:
    """Capacitance given in farad, shown in nF."""
    return quantity(value, "F")


def metres(value: float) -> str:
    """Length given in metres."""
    return quantity(value, "m")


def square_metres(value: float) -> str:
    """Area given in square metres; always one decimal, so that a column of rooms lines up."""
    return f"{Decimal(repr(float(value))).quantize(Decimal('0.1'), rounding=decimal.ROUND_HALF_UP)} m²"


def volts(value: float) -> str:
    """Voltage given in volt."""
    return quantity(value, "V")


def watts(value: float) -> str:
    """Power given in watt."""
    return quantity(value, "W")


def amperes(value: float) -> str:
    """Current given in ampere."""
    return quantity(value, "A")


def megabits(value: float) -> str:
    """Rate given in bits per second, shown in Mb/s."""
    return quantity(value, "b/s")


def decibels(value: float) -> str:
    """Ratio given in decibel."""
    return quantity(value, "dB")


def interval(value: Interval) -> str:
    """`3.3 to 3.7 ohm`, rounded outwards; one number where both ends print alike."""
    if math.isclose(value.low, value.high, rel_tol=10.0**-_NOISE_DIGITS):
        return quantity(value.middle, value.unit)
    low = _shown(value.low, value.unit, decimal.ROUND_FLOOR)
    high = _shown(value.high, value.unit, decimal.ROUND_CEILING)
    return _with_unit(low if low == high else f"{low} to {high}", value.unit)


def estimate(value: Estimate) -> str:
    """Our own number: its range."""
    return interval(value.interval)


def limit(value: Limit) -> str:
    """A standard's number, with the standard's name."""
    return f"{quantity(value.value, value.unit)} ({value.standard})"


def odds(value: Odds) -> str:
    """`4 in 5`: the fewest parts that come within one in a hundred."""
    chance = fractions.Fraction(value.chance).limit_denominator(1000)
    if chance in (0, 1):
        return "0 in 100" if chance == 0 else "100 in 100"
    if chance > fractions.Fraction(99, 100):
        return "more than 99 in 100"
    if chance < fractions.Fraction(1, 100):
        return "less than 1 in 100"
    close = fractions.Fraction(1, 100)
    for parts in _PARTS:
        count = round(chance * parts)
        if 0 < count < parts and abs(fractions.Fraction(count, parts) - chance) < close:
            return f"{count} in {parts}"
    raise AssertionError("every chance lies within one in a hundred of a hundredth")


def band(value: Band) -> str:
    """The word of a band."""
    return _BANDS[value]


def money(value: Money) -> str:
    """`1234.50 EUR`: two decimals, half a cent rounded up, no thousands sign."""
    return f"{value.amount.quantize(Decimal('0.01'), rounding=decimal.ROUND_HALF_UP):f} {value.currency}"


def date(value: str | When) -> str:
    """`3 November 2026`, `November 2026`; a vague date stays as it was written; a moment keeps its offset."""
    text = value.text if isinstance(value, When) else parse_when(value).text
    if "T" in text:
        moment = parse_when(text)
        day, _, clock = moment.text.partition("T")
        return f"{date(day)} {clock[:5]} ({_offset(clock)})"
    parts = text.split("-")
    if len(parts) == 1 or not parts[0].isdigit():
        return text
    day = f"{int(parts[2])} " if len(parts) == 3 else ""
    return f"{day}{_MONTHS[int(parts[1]) - 1]} {parts[0]}"


def _offset(clock: str) -> str:
    if clock.endswith("Z"):
        return "UTC"
    sign = max(clock.rfind("+"), clock.rfind("-"))
    return clock[sign:]


def on_drawing(text: str) -> str:
    """The same figure with the true minus sign (U+2212) that drawings use."""
    return text.replace("-", "−")
