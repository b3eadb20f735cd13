"""What rooms and things need of the air: the table of needs, read by the words of `data/need_levels.csv`.

Levels, rates and shares there are common practice or assumed, and may be edited. What the record says of level and band wins.
"""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Iterator

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.radio.rooms_assumed import lines_of
from pullstring.radio.scene import BANDS

COUNTS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclasses.dataclass(frozen=True)
class Kind:
    """A kind of use: the words by which it is known, the level it takes and on which bands, the rates down and up in
    megabits a second, the device (a row of `data/need_devices.csv`), and the share of the time in which it asks for its rate."""

    kind: str
    words: tuple[str, ...]
    level_dbm: float | None
    bands: tuple[str, ...]
    down_mbps: float
    up_mbps: float
    device: str
    each: int
    busy_share: float


@dataclasses.dataclass(frozen=True)
class Part:
    """One use within a need: on one of `bands` the level must be there, both ways, for `count` devices at once."""

    kind: str
    level_dbm: float
    bands: tuple[str, ...]
    down_mbps: float
    up_mbps: float
    device: str
    count: int
    busy_share: float


@dataclasses.dataclass(frozen=True)
class Wanted:
    """A need as it is asked of the air.

    `why_not` is a code where nothing is asked: `by_cable` or `not_said` (neither a level nor a word for a use).
    `doubts` are codes: `words_not_known` (its level is all that is known), `band_of_device` (the record names a band that
    such a device seldom knows).
    """

    need: str
    room: Ref | None
    unit: Ref | None
    says: str
    priority: int
    parts: tuple[Part, ...]
    why_not: str | None
    doubts: tuple[str, ...]


@functools.cache
def kinds() -> dict[str, Kind]:
    """Every kind of use, in the order of the table; the first two and the last have a meaning of their own."""
    return {line["kind"]: _kind(line) for line in lines_of("need_levels.csv")}


def _kind(line: dict[str, str]) -> Kind:
    def number(name: str) -> float:
        return float(line[name] or 0)

    return Kind(
        kind=line["kind"],
        words=tuple(w for w in line["words"].split("|") if w),
        level_dbm=float(line["level_dbm"]) if line["level_dbm"] else None,
        bands=tuple(b for b in line["bands"].split("|") if b),
        down_mbps=number("down_mbps"),
        up_mbps=number("up_mbps"),
        device=line["device"],
        each=int(number("each")),
        busy_share=number("busy_share"),
    )


def wanted_of(site: Site) -> tuple[Wanted, ...]:
    """Every need that stands, first by priority, then by tag."""
    found = [wanted(site, need) for need in site.of_kind("need") if need.stands]
    return tuple(sorted(found, key=lambda w: (w.priority, w.need)))


def wanted(site: Site, need: Thing) -> Wanted:
    """One need; the room of a need for a unit is the unit's, and a unit's name speaks where the need says nothing."""
    unit = site.get(need.ref_of("unit"))
    says = need.text("what") or (unit.text("name") if unit else "")
    room = need.ref_of("room") or (unit.ref_of("room") if unit else None)
    band, level, priority = need.text("band"), need.number("level_dbm"), need.number("priority")
    parts, doubts = asked_of_air(says, band=band, level_dbm=level)
    why_not = None if parts else ("by_cable" if band == "wired" or _is_by_cable(says) else "not_said")
    rank = int(priority) if priority is not None else 9
    return Wanted(need.ref.tag, room, unit.ref if unit else None, says, rank, parts, why_not, doubts)


def asked_of_air(says: str, *, band: str, level_dbm: float | None) -> tuple[tuple[Part, ...], tuple[str, ...]]:
    """The uses that a sentence and the record's own level and band ask of the air, and doubts about them.

    Parameters
    ----------
    says : str
        The words of the need.
    band : str
        2.4 GHz, 5 GHz, 6 GHz, wired, any, or empty where the record names none.
    level_dbm : float or None
        The record's own level, which wins over the table's. [dBm]

    Returns
    -------
    tuple
        Parts, none of them where nothing is asked of the air, and codes of doubts.

    References
    ----------
    Kinds, levels and rates: common practice, `data/need_levels.csv`. A level without a known word is taken as the kind "other".
    """
    if band == "wired":
        return (), ()
    found = [hit for piece in _pieces(says) for hit in _uses(piece)]
    doubts: list[str] = []
    if not found:
        if level_dbm is None:
            return (), ()
        found, doubts = [(kinds()["other"], 1, kinds()["other"].bands)], ["words_not_known"]
    parts: dict[str, Part] = {}
    for kind, count, bands in found:
        allowed = bands
        if band in BANDS:
            allowed = (band,)
            doubts += ["band_of_device"] if band not in bands else []
        level = level_dbm if level_dbm is not None else kind.level_dbm
        assert level is not None
        before = parts.get(kind.kind)
        many = count * kind.each + (before.count if before else 0)
        rates = kind.down_mbps, kind.up_mbps
        parts[kind.kind] = Part(kind.kind, level, allowed, *rates, kind.device, many, kind.busy_share)
    return tuple(parts.values()), tuple(dict.fromkeys(doubts))


def _is_by_cable(says: str) -> bool:
    return any(_found(word, says) for word in kinds()["by cable"].words)


def _pieces(says: str) -> Iterator[str]:
    """What stands between commas and semicolons; left out where it is said to go by cable."""
    for piece in re.split(r"[,;]", says):
        if not _is_by_cable(piece):
            yield piece


def _uses(piece: str) -> list[tuple[Kind, int, tuple[str, ...]]]:
    """Uses named in a piece, how many of each, and on which bands: one that knows a single band narrows those beside it.

    Longer words are looked for first, and a place in the sentence is taken once. Two words for one use mean one thing,
    unless their numbers are said: `boiler gateway` is one, `two phones and a tablet` are two at least.
    """
    words = sorted(((w, k) for k in kinds().values() for w in k.words), key=lambda p: (-len(p[0]), p[0]))
    found: dict[str, tuple[int, int]] = {}
    left = piece
    for word, kind in words:
        while hit := _found(word, left):
            if kind.level_dbm is not None:
                start, count = found.get(kind.kind, (hit.start(), 0))
                found[kind.kind] = min(start, hit.start()), count + _count(hit["count"])
            left = left[: hit.start()] + " " * len(hit[0]) + left[hit.end() :]
    named = [kinds()[name] for name, _ in sorted(found.items(), key=lambda item: item[1])]
    only = [k.bands for k in named if len(k.bands) == 1]
    return [(k, max(found[k.kind][1], 1), only[0] if only else k.bands) for k in named]


def _found(word: str, text: str) -> re.Match[str] | None:
    count = r"(?:(?P<count>\d{1,3}|" + "|".join(COUNTS) + r")\s+(?:x\s+)?)?"
    return re.search(rf"(?<![\w.]){count}(?<![\w.]){re.escape(word)}(?![\w'])", text, re.IGNORECASE)


def _count(text: str | None) -> int:
    """A number as it is said; 0 where none is."""
    if text is None:
        return 0
    return COUNTS.index(text.lower()) + 1 if text.lower() in COUNTS else int(text)
