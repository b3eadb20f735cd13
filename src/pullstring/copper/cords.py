"""Cords and heat: how much cord a run leaves room for, and how much length or loss a hot run costs."""

from __future__ import annotations

import enum

from pullstring.copper.limits_table import curve
from pullstring.model.answers import Limit

LONGEST_LINK_M = 90.0
"""Longest fixed run of a standard link. [m] TIA-568 permanent link (read in a published text)."""

CORD_EQUIVALENT_M = 102.0
"""Fixed run and de-rated cords together: 90 + 10 x 1.2. [m] TIA-568 open office rule (from memory)."""


class Jacket(enum.StrEnum):
    """Kinds of cable that heat acts on differently."""

    UTP = "utp"
    SCREENED = "screened"
    CAT3 = "cat3"


def total_cord_m(*, horizontal_m: float, derating_ratio: float) -> float:
    """Longest cords of a channel, both ends together: C = (102 - H) / (1 + D).

    Valid up to a fixed run of 90 m. The cap on the cord at the work place is another matter, see `work_area_cord`.

    Parameters
    ----------
    horizontal_m : float
        Length of the fixed run H, 0 to 90. [m]
    derating_ratio : float
        How much more a cord loses than solid cable, D: 0.2 for 24 AWG, 0.5 for 26 AWG. [ratio]

    Returns
    -------
    float
        Greatest total length of cords. [m]

    References
    ----------
    TIA-568 open office rule (formula from memory, 20 % and 50 % read in a published text).
    Checked in ``tests/published/test_check_rows.py``.
    """
    if not 0 <= horizontal_m <= LONGEST_LINK_M:
        raise ValueError(
            f"fixed run of {horizontal_m:g} m: the cord rule holds from 0 to {LONGEST_LINK_M:g} m; "
            "give a length between them"
        )
    return (CORD_EQUIVALENT_M - horizontal_m) / (1 + derating_ratio)


def cord_derating(*, awg: float) -> float:
    """How much more a stranded cord loses than solid cable of the category.

    Parameters
    ----------
    awg : float
        Gauge of the cord, 24 or 26; 0.2 holds for thicker, and for thinner than 26 nothing is printed. [AWG]

    Returns
    -------
    float
        0.2 up to 24 AWG, 0.5 from there to 26 AWG. [ratio]

    References
    ----------
    TIA-568 (read in a published text). Checked in ``tests/copper/test_cords.py``.
    """
    if awg > 26:
        raise ValueError(
            f"cord of {awg:g} AWG: the standard has cords of 24 and 26 AWG; treat this one by its own loss"
        )
    return curve(part="cord", category="24" if awg <= 24 else "26", quantity="derating", edition=None).pieces[0].a


def work_area_cord(*, edition: str) -> Limit:
    """Longest single cord at a work place: 22 m in TIA (`568c`), 20 m in ISO (`11801`).

    References
    ----------
    TIA-568 and ISO/IEC 11801 (read in a published text). Checked in ``tests/copper/test_cords.py``.
    """
    piece = curve(part="cord", category="any", quantity="work area", edition=edition).pieces[0]
    return Limit(piece.a, piece.unit, f"{piece.standard}, cord at the work place", piece.provenance)


def loss_temperature_factor(*, kind: Jacket | str, temperature_c: float) -> float:
    """By how much insertion loss is greater than at 20 C.

    Unscreened: 0.4 % per degree to 40 C, then 0.6 % of the loss at 20 C per degree to 60 C. Screened: 0.2 %.
    Category 3: 1.5 %. Outside 20 to 60 C the standard gives nothing: see `loss_temperature_factor_extrapolated`.

    Parameters
    ----------
    kind : Jacket or str
        `utp`, `screened` or `cat3`.
    temperature_c : float
        Temperature of the cable, 20 to 60. [C]

    Returns
    -------
    float
        Factor, 1 at 20 C. [ratio]

    References
    ----------
    TIA-568-C.2 clause 6.4.7 (read in a published text, quoted); Category 3 from memory.
    Checked in ``tests/published/test_check_rows.py``.
    """
    rows = curve(part="cable", category=_row_name(kind), quantity="temperature factor", edition=None)
    return rows.at(temperature_c).line(temperature_c)


def loss_temperature_factor_extrapolated(*, kind: Jacket | str, temperature_c: float) -> float:
    """`loss_temperature_factor` with its slopes carried on below 20 C and above 60 C: ours, not the standard's.

    Parameters
    ----------
    kind : Jacket or str
        `utp`, `screened` or `cat3`.
    temperature_c : float
        Temperature of the cable, -20 to 90. [C]

    Returns
    -------
    float
        Factor, rising with temperature. [ratio]

    References
    ----------
    Ours, on the coefficients of TIA-568-C.2. Checked in ``tests/copper/test_cords.py``.
    """
    if not -20 <= temperature_c <= 90:
        raise ValueError(f"cable at {temperature_c:g} C: cable lives between -20 and 90 C; give a value between them")
    rows = curve(part="cable", category=_row_name(kind), quantity="temperature factor", edition=None)
    return rows.nearest(temperature_c).line(temperature_c)


def derated_link_m(*, temperature_c: float) -> float:
    """Longest fixed run of unscreened cable at a temperature, by the standard's printed table of lengths.

    90 m at 20 C, 84 m at 40 C, 79.5 m at 50 C, 75 m at 60 C; straight between. It is up to 0.7 m more generous
    than the standard's own coefficient, see `derated_link_by_factor_m`; the shorter one is the safe one.

    Parameters
    ----------
    temperature_c : float
        Temperature of the cable, 20 to 60. [C]

    Returns
    -------
    float
        Greatest length. [m]

    References
    ----------
    TIA-568-C.2 annex G, informative (79.5 m read in a published text, the others from memory).
    Checked in ``tests/published/test_check_rows.py``.
    """
    rows = curve(part="link", category="utp", quantity="length", edition=None)
    return rows.at(temperature_c).line(temperature_c)


def derated_link_by_factor_m(*, kind: Jacket | str, temperature_c: float) -> float:
    """Longest fixed run at a temperature, by the standard's coefficient of loss: 90 m / factor.

    For unscreened cable 83.3 m at 40 C, 78.9 m at 50 C and 75.0 m at 60 C, where the printed table has 84, 79.5
    and 75 m. The table was rounded or drawn straight in length; loss is what the link is limited by.

    Parameters
    ----------
    kind : Jacket or str
        `utp`, `screened` or `cat3`.
    temperature_c : float
        Temperature of the cable, 20 to 60. [C]

    Returns
    -------
    float
        Greatest length. [m]

    References
    ----------
    Computed from TIA-568-C.2 clause 6.4.7. Checked in ``tests/published/test_check_rows.py``.
    """
    return LONGEST_LINK_M / loss_temperature_factor(kind=kind, temperature_c=temperature_c)


def _row_name(kind: Jacket | str) -> str:
    return {Jacket.UTP: "utp", Jacket.SCREENED: "screened", Jacket.CAT3: "3"}[Jacket(kind)]
