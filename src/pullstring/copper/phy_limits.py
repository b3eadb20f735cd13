"""What each kind of Ethernet needs of a run, read from `phys.csv`; the loss formulas stand in `limits.csv`.

From 2.5 Gb/s up we hold the category rule only: `model` is false, `loss` is None, and no figure is made up.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import math
from collections.abc import Mapping

from pullstring.copper.limits_channel import What, channel_limit
from pullstring.copper.limits_table import Piece, curve, in_mhz
from pullstring.model.answers import Interval, Limit

TELEPHONE_V = Limit(48.0, "V", "exchange battery of a telephone line, on hook", "read in a published text")
RINGING_V = Limit(90.0, "V", "ringing of a telephone line, rms at 20 Hz", "read in a published text")


@dataclasses.dataclass(frozen=True)
class PhyNeeds:
    """One kind of Ethernet and what it takes.

    `pairs` are all used, both ways at once where `both_ways`. `band` is where the standard limits the link,
    `signal_hz` the highest frequency that the line signal needs. `loss` is the greatest loss there, None without a
    model. `delay` and `skew` are None where no limit is held, `least_category` is empty where any pair may do.
    `model` tells whether a margin may be estimated; else the category rule is all there is.
    """

    name: str
    mbps: int
    standard: str
    pairs: int
    both_ways: bool
    signal: str
    symbol_hz: float
    levels: int
    signal_hz: float
    band: Interval
    loss: Limit | None
    delay: Limit | None
    skew: Limit | None
    reach: Limit
    least_category: str
    model: bool
    provenance: str


def phy_needs(which: int | str) -> PhyNeeds:
    """What a kind of Ethernet needs, by its name, or by its rate in Mb/s for the usual kind over two or four pairs.

    Parameters
    ----------
    which : int or str
        A name such as `100BASE-TX`, or a rate: 10, 100, 1000, 2500, 5000 or 10000. [Mb/s]

    Returns
    -------
    PhyNeeds
        Pairs, band, greatest loss, delay, skew, reach, with provenance.

    References
    ----------
    IEEE 802.3 clauses 14, 25, 40, 55, 96, 97, 126, 146, 147, row by row in ``phys.csv``.
    Checked in ``tests/copper/test_phy_limits.py``.
    """
    held = phys()
    for needs in held.values():
        if which == needs.mbps or str(which).strip().casefold() == needs.name.casefold():
            return needs
    rates = ", ".join(str(needs.mbps) for needs in held.values() if needs.pairs > 1)
    raise ValueError(
        f"{which!r}: no such kind of Ethernet is held; give a rate of {rates}, or one of {', '.join(held)}"
    )


@functools.cache
def phys() -> Mapping[str, PhyNeeds]:
    """All kinds by name, those over two and four pairs first."""
    return {row["name"]: _needs(row) for row in _rows()}


def phy_limit(*, name: str, what: What | str, frequency_hz: float) -> Limit:
    """What a kind of Ethernet allows its link at a frequency.

    Parameters
    ----------
    name : str
        A name such as `1000BASE-T`.
    what : What or str
        Loss for all with a formula; NEXT and return loss for 100BASE-TX (its Category 5 channel) and 1000BASE-T.
    frequency_hz : float
        Within the band of the kind. [Hz]

    Returns
    -------
    Limit
        In dB. ValueError where none is held, as for 2.5 Gb/s and above.

    References
    ----------
    IEEE 802.3, clause by clause in ``limits.csv`` (10BASE-T read in a published text, the others from memory).
    Checked in ``tests/published/test_check_rows.py``.
    """
    as_what = {row["name"]: row["loss_as"] for row in _rows()}.get(name)
    if as_what is None:
        raise ValueError(f"{name!r}: no such kind of Ethernet is held; give one of {', '.join(phys())}")
    return _limit(name, as_what, What(what), frequency_hz)


def ringing_peak_v(*, ringing_v: float, battery_v: float) -> float:
    r"""Greatest voltage between the wires while a telephone rings: :math:`\sqrt 2\,V_{rms} + V_{dc}`.

    It shocks: 175 V at the usual 90 V and 48 V.

    Parameters
    ----------
    ringing_v : float
        Ringing, rms. [V]
    battery_v : float
        Direct voltage under it. [V]

    Returns
    -------
    float
        Peak. [V]

    References
    ----------
    Peak of a sine on a direct voltage. Checked in ``tests/published/test_check_rows.py``.
    """
    return math.sqrt(2) * ringing_v + battery_v


@functools.cache
def _rows() -> tuple[Mapping[str, str], ...]:
    text = importlib.resources.files("pullstring.copper").joinpath("phys.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _limit(name: str, as_what: str, what: What, frequency_hz: float) -> Limit:
    if as_what.startswith("channel "):
        return channel_limit(category=as_what.removeprefix("channel "), what=what, frequency_hz=frequency_hz)
    if not as_what:
        raise ValueError(f"{name}: only the category rule is held and no model; judge it by the category of the run")
    f = in_mhz(frequency_hz=frequency_hz)
    piece: Piece = curve(part="phy", category=name, quantity=what, edition=None).at(f)
    return Limit(piece.bounded(piece.line(f)), piece.unit, f"{piece.standard}, {name}", piece.provenance)


def _needs(row: Mapping[str, str]) -> PhyNeeds:
    standard = f"{row['clause']}, {row['name']}"
    signal_hz = float(row["signal_mhz"]) * 1e6

    def limit(column: str, factor: float, unit: str, provenance: str) -> Limit | None:
        return Limit(float(row[column]) * factor, unit, standard, row[provenance]) if row[column] else None

    return PhyNeeds(
        name=row["name"],
        mbps=int(row["mbps"]),
        standard=row["clause"],
        pairs=int(row["pairs"]),
        both_ways=row["both_ways"] == "yes",
        signal=row["signal"],
        symbol_hz=float(row["symbol_mbd"]) * 1e6,
        levels=int(row["levels"]),
        signal_hz=signal_hz,
        band=Interval(float(row["band_low_mhz"]) * 1e6, float(row["band_high_mhz"]) * 1e6, "Hz"),
        loss=_limit(row["name"], row["loss_as"], What.LOSS, signal_hz) if row["loss_as"] else None,
        delay=limit("delay_ns", 1e-9, "s", "provenance_delay"),
        skew=limit("skew_ns", 1e-9, "s", "provenance_delay"),
        reach=Limit(float(row["reach_m"]), "m", standard, row["provenance_reach"]),
        least_category=row["least_category"],
        model=row["model"] == "yes",
        provenance=row["provenance_signal"],
    )
