"""How likely ohms read at an end are, when resistors sit on some of the outlets of its net.

House rules
-----------
1. Likelihoods of ohms are densities over the natural log of the reading; those of 'open' are chances. One reading is always
   the one or the other, so hypotheses can be compared.
2. Nothing read is impossible: a clip may have no contact, and something else may hang on the wire.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

from pullstring.trace.readings import Ohms
from pullstring.trace.scene import Net

LEAST_OHM = 0.1
"""Ours: what a meter shows between two crossed leads counts as this, so that its log is finite. [ohm]"""
THIN = 1e-6
"""Ours: a line whose range is this small a share of the reading counts as a fixed one."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Doubt:
    """What may be wrong with a reading of ohms, as chances, and the range that a meter shows.

    `no_contact`: one clip does not make contact. `something_else`: anything else on the wire, equally likely at every power
    of ten between `least_ohm` and `most_ohm`.
    """

    no_contact: float
    something_else: float
    least_ohm: float
    most_ohm: float


ASSUMED = Doubt(no_contact=0.01, something_else=0.01, least_ohm=0.1, most_ohm=40e6)
"""Ours, assumed: nobody counted clips without contact; a hand meter ends near 40 megohm (common practice)."""


def parallel_ohm(ohms: Iterable[float]) -> float:
    r"""Resistance of parts side by side, :math:`1/R = \sum 1/R_i`; infinite when there is none.

    Parameters
    ----------
    ohms : iterable of float
        Resistance of each part, zero or more. [ohm]

    Returns
    -------
    float
        Resistance of all together. [ohm]

    References
    ----------
    Ohm's and Kirchhoff's laws; valid for direct current. Checked in ``tests/trace/test_codes_ohms.py``.
    """
    siemens = 0.0
    for ohm in ohms:
        if ohm <= 0:
            return 0.0
        siemens += 1 / ohm
    return 1 / siemens if siemens else math.inf


def log_likelihood(reading: Ohms, present: Net, *, doubt: Doubt = ASSUMED) -> float:
    """Natural log of the likelihood of ohms at an end, when these outlets are on its net; never minus infinity.

    Parameters
    ----------
    reading : Ohms
        What was read, with the resistors that were placed and what the end read before they were.
    present : Net
        The outlets on this net; those without a resistor of ours do not count.
    doubt : Doubt
        What may be wrong with any reading.

    Returns
    -------
    float
        Log of a density over ln(ohm), or of a chance where the end read open.

    References
    ----------
    Ours. A log-normal error of part and meter together; the line lies evenly in its range. One clip of those present may have
    no contact; two at once are left out. Checked in ``tests/trace/test_codes_ohms.py``.
    """
    placed = {outlet: reading.placed[outlet] for outlet in sorted(present) if outlet in reading.placed}
    sound = 1 - doubt.something_else
    each = min(doubt.no_contact, 1 / (len(placed) + 1))
    found = (1 - each * len(placed)) * fit(reading, placed.values())
    for lost in placed:
        found += each * fit(reading, (ohm for outlet, ohm in placed.items() if outlet != lost))
    return math.log(sound * found + foreign(reading, doubt=doubt))


def foreign(reading: Ohms, *, doubt: Doubt = ASSUMED) -> float:
    """Likelihood of a reading when something else hangs on the wire, with the chance of that."""
    if reading.ohm is None:
        return doubt.something_else * doubt.no_contact
    return doubt.something_else / math.log(doubt.most_ohm / doubt.least_ohm)


def fit(reading: Ohms, ohms: Iterable[float]) -> float:
    r"""Likelihood of a reading of parts side by side behind a line, nothing else being wrong.

    With the parts together at :math:`P`, the line :math:`L` even in :math:`[l, h]`, and an error of :math:`\sigma` on the natural
    log, the density over ln(ohm) at reading :math:`r` is
    :math:`\frac{r\,e^{\sigma^2/2}}{h-l}\left[\Phi(\frac{\ln((P+h)/r)-\sigma^2}{\sigma})-\Phi(\frac{\ln((P+l)/r)-\sigma^2}{\sigma})\right]`.

    Parameters
    ----------
    reading : Ohms
        What was read, and the baseline, which counts as one more part. [ohm]
    ohms : iterable of float
        The parts of ours. [ohm]

    Returns
    -------
    float
        Density over ln(ohm); where the end read open 1 or 0.

    References
    ----------
    Integral of a normal density over an even line (ours). Checked by summing in ``tests/trace/test_codes_ohms.py``.
    """
    parts = list(ohms)
    if reading.baseline is not None:
        parts.append(reading.baseline)
    whole = parallel_ohm(parts)
    if math.isinf(whole):
        return 1.0 if reading.ohm is None else 0.0
    if reading.ohm is None:
        return 0.0
    low, high = line_range(parts, reading.line_ohm)
    return _density(read=max(reading.ohm, LEAST_OHM), low=whole + low, high=whole + high, off=reading.off)


def line_range(parts: Iterable[float], line_ohm: tuple[float, float]) -> tuple[float, float]:
    r"""How much the lines add to parts side by side, least and most.

    A line before each part alone adds :math:`\sum l (P/R_i)^2` (first order), a common line its whole.
    """
    known = list(parts)
    whole = parallel_ohm(known)
    share = sum((whole / ohm) ** 2 for ohm in known) if whole > 0 and math.isfinite(whole) else 1.0
    return line_ohm[0] * share, line_ohm[1]


def _density(*, read: float, low: float, high: float, off: float) -> float:
    low, high = max(low, LEAST_OHM), max(high, LEAST_OHM)
    if high - low <= THIN * low:
        z = math.log(read / low) / off
        return math.exp(-z * z / 2) / (off * math.sqrt(2 * math.pi))
    a = (math.log(low / read) - off**2) / off
    b = (math.log(high / read) - off**2) / off
    return read * math.exp(off**2 / 2) / (high - low) * _between(a, b)


def _between(a: float, b: float) -> float:
    """Share of a normal distribution between two bounds, from the tail where it is small."""
    if a > 0:
        a, b = -b, -a
    return (math.erfc(-b / math.sqrt(2)) - math.erfc(-a / math.sqrt(2))) / 2
