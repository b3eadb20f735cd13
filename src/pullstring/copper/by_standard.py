"""Which rates the standards themselves promise over a run: category, length, heat, untwist, nothing in the way.

What a standard promises is not lowered by our estimate, and what it does not promise is left to the estimate.
"""

from __future__ import annotations

from pullstring.copper.cables import RATES_MBPS
from pullstring.copper.cords import derated_link_by_factor_m
from pullstring.copper.limits import untwisted_limit
from pullstring.copper.line_jackets import line_jacket
from pullstring.copper.makeup import Makeup
from pullstring.copper.phy_limits import phy_needs

CATEGORIES = ("3", "5", "5e", "6", "6A")
LEAST_C, MOST_C = 20.0, 60.0
"""Where the standard gives a length for a temperature. [C] TIA-568-C.2 clause 6.4.7 (read in a published text)."""


def promised(makeup: Makeup, *, hottest_c: float | None) -> frozenset[int]:
    """Rates that a standard promises over this very run. [Mb/s]

    Parameters
    ----------
    makeup : Makeup
        The run.
    hottest_c : float or None
        Highest temperature that was noted; None where none was, then the standard's own 20 C. [C]

    Returns
    -------
    frozenset of int
        Of 10, 100 and 1000; pairs are not looked at.

    References
    ----------
    TIA-568 categories and lengths; IEEE 802.3 clauses 14, 25, 40. Checked in ``tests/copper/test_by_standard.py``.
    """
    jackets = [line_jacket(stretch.jacket) for stretch in makeup.stretches]
    clean = not makeup.branches and not makeup.splices
    if not clean or not jackets or not all(j.category for j in jackets):
        return frozenset()
    warm = max(LEAST_C, LEAST_C if hottest_c is None else hottest_c)
    if warm > MOST_C:
        return frozenset()
    fixed = [s for s in makeup.stretches if not s.cord]
    longest = min(
        derated_link_by_factor_m(kind=_kind(s.screened, s.jacket), temperature_c=warm)
        for s in fixed or makeup.stretches
    )
    if sum(s.length_m.high for s in fixed) > longest + 1e-9:
        return frozenset()
    return frozenset(mbps for mbps in RATES_MBPS if _category_does(makeup, mbps))


def _kind(screened: bool, jacket: str) -> str:
    warms_as = line_jacket(jacket).warms_as
    return "screened" if screened and warms_as == "utp" else warms_as


def _category_does(makeup: Makeup, mbps: int) -> bool:
    least = CATEGORIES.index(phy_needs(mbps).least_category)
    for stretch in makeup.stretches:
        category = line_jacket(stretch.jacket).category
        both_ends = 2 * untwisted_limit(category=category).value
        if CATEGORIES.index(category) < least or stretch.untwisted_m.high > both_ends + 1e-9:
            return False
    return True
