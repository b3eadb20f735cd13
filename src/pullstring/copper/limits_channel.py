"""What standards allow a whole channel and a fixed link, put together from cable and connections.

A channel is 100 m with up to four connections. The fixed link is 90 m with three (permanent link), or in the
edition `tsb67` 90 m with two and 4 m of test cords (basic link). Which one is meant belongs to every limit.

Editions: `tsb67` (field tests of 1995, Category 3 and 5), `568c` (TIA-568-C.2 and -D.2), `11801` (ISO/IEC, by class).
TIA and ISO differ: Category 6 has 21.3 dB at 100 MHz, class E 21.7 dB.
"""

from __future__ import annotations

import enum
import math

from pullstring.copper.limits_table import Curve, Piece, borrowed, category_key, curve, in_mhz
from pullstring.model.answers import Limit

SI = {"dB": (1.0, "dB"), "ns": (1e-9, "s"), "ohm": (1.0, "ohm"), "|R1-R2|/(R1+R2)": (1.0, "|R1-R2|/(R1+R2)")}


class What(enum.StrEnum):
    """Quantities that a channel or link is limited in."""

    LOSS = "loss"
    NEXT = "next"
    POWER_SUM_NEXT = "power-sum next"
    ACRF = "acrf"
    RETURN_LOSS = "return loss"
    DELAY = "delay"
    SKEW = "skew"
    LOOP = "loop resistance"
    UNBALANCE = "unbalance"


def channel_limit(*, category: str, what: What | str, frequency_hz: float | None, edition: str | None = None) -> Limit:
    r"""A standard's limit of a channel: 100 m, four connections, 20 C.

    Loss: :math:`k \cdot cable + 4 \cdot connection` (:math:`+\,0.0003 f^{1.5}` for Category 6), with the cords at 1.2
    of the cable, k = (90 + 10 x 1.2) / 100 = 1.02. Crosstalk: voltages added,
    :math:`-20\log(10^{-cable/20} + n \cdot 10^{-connection/20})`, n = 2 near and 4 far.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6, 6A, or the class C, D, E, EA.
    what : What or str
        The quantity.
    frequency_hz : float or None
        Within the range of the category; None for what has no frequency. [Hz]
    edition : str or None
        `tsb67`, `568c` or `11801`; None is the newest that is held.

    Returns
    -------
    Limit
        In dB, s or ohm, with standard and provenance. ValueError where none is held.

    References
    ----------
    TIA TSB-67 (30 loss and 24 NEXT entries read in a published text, all reproduced); TIA-568-C.2 and ISO/IEC 11801
    (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    return _limit("channel", category, what, frequency_hz, edition)


def link_limit(*, category: str, what: What | str, frequency_hz: float | None, edition: str | None = None) -> Limit:
    """A standard's limit of the fixed link: 90 m and three connections, or the basic link of `tsb67`.

    As `channel_limit`, with 0.9 of the cable, three connections and half of the allowance of Category 6; the basic
    link has 0.948 of the cable and two connections. Near-end crosstalk counts one connection.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A.
    what : What or str
        The quantity.
    frequency_hz : float or None
        Within the range of the category; None for what has no frequency. [Hz]
    edition : str or None
        `tsb67` or `568c`; None is the newest that is held.

    Returns
    -------
    Limit
        In dB, s or ohm, with standard and provenance. ValueError where none is held.

    References
    ----------
    As `channel_limit`. Checked in ``tests/published/test_check_rows.py``.
    """
    return _limit("link", category, what, frequency_hz, edition)


def channel_line_db(*, category: str, what: What | str, frequency_hz: float, edition: str | None = None) -> float:
    """The formula of `channel_limit` without the cap that the printed table puts on it.

    Parameters
    ----------
    category : str
        As in `channel_limit`.
    what : What or str
        A quantity in decibels.
    frequency_hz : float
        Within the range of the category. [Hz]
    edition : str or None
        As in `channel_limit`.

    Returns
    -------
    float
        Value of the formula. [dB]

    References
    ----------
    As `channel_limit`; TSB-67 caps its NEXT tables at 60 dB, later editions at 65 dB.
    Checked in ``tests/published/test_check_rows.py``.
    """
    f = in_mhz(frequency_hz=frequency_hz)
    key = category_key(category)
    return _line(curve(part="channel", category=key, quantity=What(what), edition=edition).at(f), f, key)


def _limit(part: str, category: str, what: What | str, frequency_hz: float | None, edition: str | None) -> Limit:
    key = category_key(category)
    held = curve(part=part, category=key, quantity=What(what), edition=edition)
    piece = _piece(held, frequency_hz)
    f = 1.0 if frequency_hz is None else in_mhz(frequency_hz=frequency_hz)
    factor, unit = SI[piece.unit]
    return piece.limit(value=piece.bounded(_line(piece, f, key)) * factor, unit=unit)


def _piece(held: Curve, frequency_hz: float | None) -> Piece:
    first = held.pieces[0]
    if frequency_hz is not None:
        return held.at(in_mhz(frequency_hz=frequency_hz))
    if first.over:
        raise ValueError(
            f"{first.part} of {first.category}: its {first.quantity} goes with frequency; give one in hertz"
        )
    return first


def _line(piece: Piece, f: float, category: str) -> float:
    if piece.form not in ("sum", "voltages"):
        return piece.line(f)
    parts = {
        part: borrowed(part=part, category=category, quantity=piece.quantity, edition=piece.edition)
        for part in ("cable", "connector")
    }
    cable = parts["cable"].at(f).line(f)
    if piece.form == "sum":
        return piece.a * cable + piece.b * parts["connector"].at(f).line(f) + piece.c * math.pow(f, 1.5)
    # Crosstalk of a connection goes on its first line throughout: its second slope belongs to the part alone.
    connection = parts["connector"].pieces[0].line(f)
    return -20 * math.log10(math.pow(10, -cable / 20) + piece.b * math.pow(10, -connection / 20))
