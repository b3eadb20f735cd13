"""What the rules of a place let the air carry: channels, widths, powers, radar, and which channels meet.

The rules are dated data (`air_rules.csv`), modelled on a region and from memory: **verify locally** before setting a
channel or a power by them. Numbers of channels and the blocks they form stand in `air_bands.csv`. A channel is known by
its band and its 20 MHz channels; a wide one is a block of them that starts where its width lets it.
"""

from __future__ import annotations

import dataclasses
import functools
import math

from pullstring.radio.rate_tables import table_rows

HALF_MHZ = 10
"""Half a 20 MHz channel. [MHz]"""
FIRST_LISTENED = 5
LISTENED_EVERY = 16
"""6 GHz: devices that look round listen on channels 5, 21, 37 and so on first. IEEE 802.11ax (from memory)."""
SAME, PARTLY, FREE = "same", "partly", "free"


@dataclasses.dataclass(frozen=True)
class Channel:
    """A channel or block of them: `parts` are its 20 MHz channels, lowest first."""

    band: str
    parts: tuple[int, ...]

    @property
    def width_mhz(self) -> int:
        """20 MHz for every part. [MHz]"""
        return 2 * HALF_MHZ * len(self.parts)

    @property
    def name(self) -> str:
        """`36`, or `36 to 48` for a block."""
        return str(self.parts[0]) if len(self.parts) == 1 else f"{self.parts[0]} to {self.parts[-1]}"

    @property
    def middle_mhz(self) -> float:
        """Middle frequency of all of it. [MHz]"""
        ends = (self.parts[0], self.parts[-1])
        return sum(centre_mhz(band=self.band, channel_number=end) for end in ends) / 2


@dataclasses.dataclass(frozen=True)
class Allowed:
    """A channel that a rule set allows, and on what terms; the strictest of its parts. `wait_s`: listening for radar first."""

    channel: Channel
    eirp_dbm: float
    radar: bool
    wait_s: float
    indoor: bool
    low_power: bool
    listened_first: bool
    says: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class SubBand:
    """One row of a rule set: channels from `first` to `last`."""

    rule_set: str
    edition: str
    band: str
    first: int
    last: int
    eirp_dbm: float
    per_mhz_dbm: float | None
    radar: bool
    wait_s: float
    indoor: bool
    low_power: bool
    says: str
    provenance: str


@dataclasses.dataclass(frozen=True)
class _Run:
    """Channels in a row, of which blocks are cut from the first."""

    band: str
    base_mhz: int
    first: int
    last: int
    step: int
    widths_mhz: tuple[int, ...]
    lists: tuple[tuple[int, ...], ...]

    def holds(self, channel: int) -> bool:
        return self.first <= channel <= self.last and (channel - self.first) % self.step == 0


@functools.cache
def _runs() -> tuple[_Run, ...]:
    return tuple(
        _Run(
            row["band"],
            int(row["base_mhz"]),
            int(row["first"]),
            int(row["last"]),
            int(row["step"]),
            tuple(map(int, row["widths"].split())),
            tuple(tuple(map(int, one.split())) for one in row["lists"].split("|") if one),
        )
        for row in table_rows("air_bands.csv")
    )


@functools.cache
def _sub_bands() -> tuple[SubBand, ...]:
    def of(row: dict[str, str]) -> SubBand:
        yes = {name: row[name] == "yes" for name in ("radar", "indoor", "low_power")}
        per_mhz = float(row["per_mhz_dbm"]) if row["per_mhz_dbm"] else None
        return SubBand(
            row["rule_set"],
            row["edition"],
            row["band"],
            int(row["first"]),
            int(row["last"]),
            float(row["eirp_dbm"]),
            per_mhz,
            yes["radar"],
            float(row["wait_s"]),
            yes["indoor"],
            yes["low_power"],
            row["says"],
            row["provenance"],
        )

    return tuple(map(of, table_rows("air_rules.csv")))


def rule_sets() -> tuple[str, ...]:
    """Names of the rule sets that are held."""
    return tuple(dict.fromkeys(row.rule_set for row in _sub_bands()))


def sub_bands(rules: str) -> tuple[SubBand, ...]:
    """The rows of a rule set, with edition and provenance; every one of them is to be verified locally."""
    if rules not in rule_sets():
        raise ValueError(f"rule set {rules!r}: no air rules are held for it; give one of {', '.join(rule_sets())}")
    return tuple(row for row in _sub_bands() if row.rule_set == rules)


def _run_of(band: str, channel: int) -> _Run:
    runs = [run for run in _runs() if run.band == band]
    if not runs:
        raise ValueError(f"band {band!r}: no such band is held; give one of {', '.join(bands())}")
    for run in runs:
        if run.holds(channel):
            return run
    held = ", ".join(f"{run.first} to {run.last} by {run.step}" for run in runs)
    raise ValueError(f"channel {channel} of {band}: no such channel; they are {held}")


def bands() -> tuple[str, ...]:
    """Bands with numbered channels."""
    return tuple(dict.fromkeys(run.band for run in _runs()))


def centre_mhz(*, band: str, channel_number: int) -> float:
    """Middle frequency of a 20 MHz channel: 2407, 5000 or 5950 MHz + 5 n.

    Parameters
    ----------
    band : str
        2.4 GHz, 5 GHz or 6 GHz.
    channel_number : int
        Number of a 20 MHz channel. [1]

    Returns
    -------
    float
        Frequency. [MHz]

    References
    ----------
    IEEE 802.11 (2.4 GHz read, 5 GHz common knowledge, 6 GHz from memory). Checked in ``tests/radio/test_air.py`` (RC188 to RC198).
    """
    return float(_run_of(band, channel_number).base_mhz + 5 * channel_number)


def block(*, band: str, channel_number: int, width_mhz: int) -> Channel:
    """The block of a width that a 20 MHz channel lies in, as when a unit is set to channel 44 at 80 MHz.

    Parameters
    ----------
    band : str
        2.4 GHz, 5 GHz or 6 GHz.
    channel_number : int
        Number of any 20 MHz channel of the block. [1]
    width_mhz : int
        Width of the block. [MHz]

    Returns
    -------
    Channel
        The block; ValueError when the channel lies in none of that width.

    References
    ----------
    IEEE 802.11, blocks from memory. Checked in ``tests/radio/test_air.py``.
    """
    run = _run_of(band, channel_number)
    many = width_mhz // (2 * HALF_MHZ)
    start = (channel_number - run.first) // run.step // many * many if many else 0
    parts = tuple(run.first + run.step * (start + i) for i in range(many))
    if width_mhz not in run.widths_mhz or not run.holds(parts[-1]):
        raise ValueError(f"channel {channel_number} of {band}: it lies in no block of {width_mhz} MHz")
    return Channel(band, (channel_number,) if many == 1 else parts)


@functools.cache
def allowed(*, rules: str, band: str) -> tuple[Allowed, ...]:
    """Every channel and block that a rule set allows in a band, narrow first, then by number; low power ones included.

    In 2.4 GHz these overlap; `apart` gives lists of channels that do not.
    """
    rows = [row for row in sub_bands(rules) if row.band == band]
    found: dict[Channel, Allowed] = {}
    for run in (run for run in _runs() if run.band == band):
        for width_mhz in run.widths_mhz:
            for number in range(run.first, run.last + 1, run.step):
                try:
                    channel = block(band=band, channel_number=number, width_mhz=width_mhz)
                except ValueError:
                    continue
                terms = _terms(channel, rows)
                if terms is not None:
                    found.setdefault(channel, terms)
    return tuple(sorted(found.values(), key=lambda one: (one.channel.width_mhz, one.channel.parts)))


def _terms(channel: Channel, rows: list[SubBand]) -> Allowed | None:
    over = []
    for part in channel.parts:
        own = next((row for row in rows if row.first <= part <= row.last), None)
        if own is None:
            return None
        over.append(own)
    listened = channel.band != "6 GHz" or any(part % LISTENED_EVERY == FIRST_LISTENED for part in channel.parts)
    return Allowed(
        channel,
        min(eirp_limit_dbm(row, width_mhz=channel.width_mhz) for row in over),
        any(row.radar for row in over),
        max(row.wait_s for row in over),
        any(row.indoor for row in over),
        any(row.low_power for row in over),
        listened,
        tuple(dict.fromkeys(row.says for row in over if row.says)),
    )


def eirp_limit_dbm(row: SubBand, *, width_mhz: float) -> float:
    """What a channel may radiate: the limit of the row, and where power is limited in each MHz, that times the width.

    An antenna with more gain does not raise it.

    Parameters
    ----------
    row : SubBand
        Row of a rule set.
    width_mhz : float
        Width of the channel. [MHz]

    Returns
    -------
    float
        Limit. [dBm]

    References
    ----------
    Rules as in ``air_rules.csv`` (from memory; verify locally). Checked in ``tests/radio/test_air.py``.
    """
    if row.per_mhz_dbm is None:
        return row.eirp_dbm
    return min(row.eirp_dbm, row.per_mhz_dbm + 10.0 * math.log10(width_mhz))


def apart(*, rules: str, band: str) -> tuple[tuple[int, ...], ...]:
    """Lists of 20 MHz channels of a band that do not overlap each other, as the rule set allows: one list for 5 and
    6 GHz, for 2.4 GHz channels 1, 6, 11 and where 13 is allowed also 1, 5, 9, 13."""
    singles = tuple(one.channel.parts[0] for one in allowed(rules=rules, band=band) if len(one.channel.parts) == 1)
    named = [listed for run in _runs() if run.band == band for listed in run.lists if set(listed) <= set(singles)]
    return tuple(named) or (singles,)


def meeting(first: Channel, second: Channel) -> str:
    """How two channels meet: `same` (they share whole 20 MHz channels, so each hears the other and waits), `partly` (they
    share less, as channels 1 and 3: noise to each other, worse than the same), or `free`."""
    if first.band != second.band:
        return FREE
    if set(first.parts) & set(second.parts):
        return SAME
    near = min(
        abs(centre_mhz(band=first.band, channel_number=a) - centre_mhz(band=second.band, channel_number=b))
        for a in (first.parts[0], first.parts[-1])
        for b in (second.parts[0], second.parts[-1])
    )
    return PARTLY if near < 2 * HALF_MHZ else FREE
