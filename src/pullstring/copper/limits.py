"""What standards allow cable and connecting hardware of twisted pair, read from `limits.csv`.

House rules
-----------
1. Every coefficient is a row of the table with its standard and how it is known; here are only the forms.
2. A formula holds from one frequency to another. Outside, the answer is an error that says so; whoever wants the
   curve carried on asks for it by name (`cable_loss_extrapolated_db`, `cable_next_extrapolated_db`).
3. The floor and the cap of a printed table bound the table's own value, never a part of a sum.
"""

from __future__ import annotations

from pullstring.copper.limits_table import Curve, category_key, curve, in_mhz
from pullstring.model.answers import Limit

LENGTH_OF_TABLES_M = 100.0
"""Cable limits are printed for this length. [m] TIA-568 (read in a published text)."""


def cable_loss_db(*, category: str, frequency_hz: float, length_m: float) -> float:
    r"""Greatest insertion loss of horizontal cable at 20 C.

    :math:`IL = (a\sqrt f + b f + c/\sqrt f) \cdot l / 100`, f in MHz, proportional to length.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6, 6A of TIA-568; C, D, E, EA of ISO/IEC 11801.
    frequency_hz : float
        Within the range of the category: 0.256 to 16, 0.772 to 100, 1 to 100, 1 to 250, 1 to 500 MHz. [Hz]
    length_m : float
        Length of the cable, zero or more. [m]

    Returns
    -------
    float
        Greatest loss allowed. [dB]

    References
    ----------
    TIA-568-C and -D.2 cable tables (3, 5, 5e read in a published text; 6 and 6A from memory); ISO/IEC 11801 (from
    memory). The published table prints 17.7 dB for Category 5 at 62.5 MHz; its formula gives 17.0.
    Checked in ``tests/published/test_check_rows.py``.
    """
    return _of_cable(category, "loss", frequency_hz) * length_m / LENGTH_OF_TABLES_M


def cable_loss_extrapolated_db(*, category: str, frequency_hz: float, length_m: float) -> float:
    """The curve of `cable_loss_db` carried beyond its range: no standard's limit any more.

    Valid as a guess of ours for what a worst cable does above the top of its category.

    Parameters
    ----------
    category : str
        As in `cable_loss_db`.
    frequency_hz : float
        Above zero. [Hz]
    length_m : float
        Length of the cable, zero or more. [m]

    Returns
    -------
    float
        Loss on the extended curve. [dB]

    References
    ----------
    Ours, on the coefficients of TIA-568. Checked in ``tests/copper/test_limits.py``.
    """
    return _beyond("cable", category, "loss", frequency_hz) * length_m / LENGTH_OF_TABLES_M


def cable_next_db(*, category: str, frequency_hz: float) -> float:
    r"""Least near-end crosstalk loss of cable, worst pair to pair, 100 m.

    :math:`NEXT = a - 15\log_{10}(f/f_0)`.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A.
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Least NEXT loss allowed. [dB]

    References
    ----------
    TIA-568-C cable table (3, 5, 5e read in a published text; 6 and 6A from memory). The published table prints
    26.8 dB for Category 3 at 10 MHz and 37.2 dB for 5e at 62.5 MHz; the formulas give 26.3 and 38.4.
    Checked in ``tests/published/test_check_rows.py``.
    """
    return _of_cable(category, "next", frequency_hz)


def cable_next_extrapolated_db(*, category: str, frequency_hz: float) -> float:
    """The curve of `cable_next_db` carried beyond its range: no standard's limit any more.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A.
    frequency_hz : float
        Above zero. [Hz]

    Returns
    -------
    float
        NEXT loss on the extended curve. [dB]

    References
    ----------
    Ours, on the coefficients of TIA-568. Checked in ``tests/copper/test_limits.py``.
    """
    return _beyond("cable", category, "next", frequency_hz)


def cable_power_sum_next_db(*, category: str, frequency_hz: float) -> float:
    """Least near-end crosstalk loss of cable from all other pairs together, 100 m.

    Parameters
    ----------
    category : str
        5e, 6 or 6A.
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Least power-sum NEXT loss allowed. [dB]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/copper/test_limits.py``.
    """
    return _of_cable(category, "power-sum next", frequency_hz)


def cable_acrf_db(*, category: str, frequency_hz: float) -> float:
    """Least far-end crosstalk of cable, related to the signal that arrives (once called ELFEXT), 100 m.

    Parameters
    ----------
    category : str
        5e, 6 or 6A.
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Least ACRF allowed. [dB]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/copper/test_limits.py``.
    """
    return _of_cable(category, "acrf", frequency_hz)


def cable_return_loss_db(*, category: str, frequency_hz: float) -> float:
    """Least return loss of solid cable, 100 m.

    Parameters
    ----------
    category : str
        5e, 6 or 6A: one curve, to the top of each category.
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Least return loss allowed. [dB]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    return _of_cable(category, "return loss", frequency_hz)


def connector_loss_db(*, category: str, frequency_hz: float) -> float:
    r"""Greatest loss of one mated connection, as the tables print it: :math:`k\sqrt f`, never under 0.1 dB.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A.
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Greatest loss allowed. [dB]

    References
    ----------
    TIA connecting-hardware table (3, 5e, 6 read in a published text; 6A from memory; 5 in steps, computed here
    from TSB-67). Checked in ``tests/published/test_check_rows.py``.
    """
    return _of_connector(category, "loss", frequency_hz)


def connector_next_db(*, category: str, frequency_hz: float) -> float:
    r"""Least NEXT loss of one mated connection, as the tables print it: :math:`a - 20\log_{10} f` under a cap.

    Parameters
    ----------
    category : str
        3, 5, 5e (cap 65 dB), 6 or 6A (cap 75 dB; twice the slope above 250 MHz).
    frequency_hz : float
        Within the range of the category. [Hz]

    Returns
    -------
    float
        Least NEXT loss allowed. [dB]

    References
    ----------
    TIA connecting-hardware table (3, 5e, 6 read in a published text; 5 and 6A from memory).
    Checked in ``tests/published/test_check_rows.py``.
    """
    return _of_connector(category, "next", frequency_hz)


def connector_line_db(*, category: str, quantity: str, frequency_hz: float) -> float:
    """One mated connection on the line of its formula, as sums over a link take it: no floor, no cap.

    Parameters
    ----------
    category : str
        As in `connector_loss_db`.
    quantity : str
        `loss`, `next`, `power-sum next` or `acrf`.
    frequency_hz : float
        Above zero; beyond the range the nearest piece is carried on. [Hz]

    Returns
    -------
    float
        Value of the formula. [dB]

    References
    ----------
    TIA-568-C.2, channel formulas (from memory). Checked in ``tests/copper/test_limits.py``.
    """
    return _beyond("connector", category, quantity, frequency_hz)


def untwisted_limit(*, category: str) -> Limit:
    """Greatest length over which a pair may be untwisted where it is terminated. [m]

    References
    ----------
    TIA-568 (from memory): 13 mm, 75 mm for Category 3. Checked in ``tests/copper/test_limits.py``.
    """
    (piece,) = _curve("termination", category, "untwisted").pieces
    return piece.limit(value=piece.a, unit=piece.unit)


def _of_cable(category: str, quantity: str, frequency_hz: float) -> float:
    f = in_mhz(frequency_hz=frequency_hz)
    return _curve("cable", category, quantity).at(f).line(f)


def _beyond(part: str, category: str, quantity: str, frequency_hz: float) -> float:
    f = in_mhz(frequency_hz=frequency_hz)
    return _curve(part, category, quantity).nearest(f).line(f)


def _of_connector(category: str, quantity: str, frequency_hz: float) -> float:
    f = in_mhz(frequency_hz=frequency_hz)
    piece = _curve("connector", category, quantity).at(f)
    return piece.bounded(piece.line(f))


def _curve(part: str, category: str, quantity: str) -> Curve:
    return curve(part=part, category=category_key(category), quantity=quantity, edition=None)
