"""Direct current: what a standard allows a conductor, and loops of cable whose resistance per metre is given.

`pullstring.copper.line` starts from the gauge; here the resistance of one conductor per metre is known.
"""

from __future__ import annotations

from pullstring.copper.limits import LENGTH_OF_TABLES_M
from pullstring.copper.limits_table import curve
from pullstring.model.answers import Limit


def conductor_limit() -> Limit:
    """Greatest resistance of one conductor: 9.38 ohm for 100 m, so 24 AWG passes and 26 AWG does not. [ohm/m]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/copper/test_cords.py``.
    """
    piece = curve(part="cable", category="any", quantity="conductor resistance", edition=None).pieces[0]
    return Limit(piece.a / LENGTH_OF_TABLES_M, "ohm/m", f"{piece.standard}, conductor of cable", piece.provenance)


def pair_loop_ohm(*, conductor_ohm_per_m: float, length_m: float) -> float:
    """Resistance of a pair, out and back.

    Parameters
    ----------
    conductor_ohm_per_m : float
        Resistance of one conductor, zero or more. [ohm/m]
    length_m : float
        Length of the cable, one way, zero or more. [m]

    Returns
    -------
    float
        Loop resistance of one pair. [ohm]

    References
    ----------
    Two conductors in series. Checked in ``tests/published/test_check_rows.py``.
    """
    return 2 * conductor_ohm_per_m * length_m


def pairset_loop_ohm(*, conductor_ohm_per_m: float, length_m: float, pairs: int) -> float:
    """Resistance met by power over two or four pairs: each pole has as many conductors in parallel as half of them hold.

    Parameters
    ----------
    conductor_ohm_per_m : float
        Resistance of one conductor, zero or more. [ohm/m]
    length_m : float
        Length of the cable, one way, zero or more. [m]
    pairs : int
        Pairs in use: 2 or 4. [pairs]

    Returns
    -------
    float
        Loop resistance seen by the power. [ohm]

    References
    ----------
    Conductors in parallel. Checked in ``tests/published/test_check_rows.py``.
    """
    if pairs not in (2, 4):
        raise ValueError(f"pairs: power goes over 2 or 4 pairs, not {pairs}; give 2 or 4")
    return pair_loop_ohm(conductor_ohm_per_m=conductor_ohm_per_m, length_m=length_m) / pairs


def length_for_pairset_loop_m(*, loop_ohm: float, conductor_ohm_per_m: float, pairs: int) -> float:
    """Longest cable whose loop, over two or four pairs, stays within a resistance.

    Parameters
    ----------
    loop_ohm : float
        Greatest loop seen by the power, zero or more. [ohm]
    conductor_ohm_per_m : float
        Resistance of one conductor, above zero. [ohm/m]
    pairs : int
        Pairs in use: 2 or 4. [pairs]

    Returns
    -------
    float
        Length, one way. [m]

    References
    ----------
    Inverse of `pairset_loop_ohm`. Checked in ``tests/published/test_check_rows.py``.
    """
    return loop_ohm / pairset_loop_ohm(conductor_ohm_per_m=conductor_ohm_per_m, length_m=1.0, pairs=pairs)
