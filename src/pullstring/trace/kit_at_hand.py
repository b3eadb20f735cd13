"""What is at hand to trace with, as the record says: which acts it allows, whether it was tried on itself today, what is missing.

Nothing is taken to be at hand that nobody noted. A meter tells continuity too. What stands under `taken` was taken for granted.
"""

from __future__ import annotations

import csv
import dataclasses
import importlib.resources
import re

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.model.when import BadDate, parse_when
from pullstring.trace.kits import Kit

GONE = ("removed", "planned", "lost", "out of use")
TRIED = ("tone set", "probe", "numbered remotes", "continuity tester", "meter", "wire mapper")
"""Kinds that can deceive when their battery is flat or a lead is broken: tried on a known run before they are believed."""
BATTERY = ("tone set", "probe", "numbered remotes", "continuity tester", "meter", "wire mapper")
WEAK = re.compile(r"\b(flat|empty|dead|low|weak|dying|nearly out|old)\b", re.IGNORECASE)
"""Ours: words for a battery that is not to be trusted."""
_VALUE = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(kohms?|Mohms?|ohms?|[kKMRr])?(\d+)?\s*(?:ohms?|\u03a9|\u2126)?(?![\w%])(?!\s*(?:%|[WVA]\b|x\b|pcs?\b|pieces\b))"
)
_PERCENT = re.compile(r"(\d+(?:[.,]\d+)?)\s*%")
_SCALE = {"k": 1e3, "m": 1e6}


@dataclasses.dataclass(frozen=True)
class Tool:
    """One noted piece of kit: how many, whether it was tried today, and the words about its battery."""

    ref: Ref
    style: str
    count: int | None
    tried: str
    battery: str
    battery_weak: bool


@dataclasses.dataclass(frozen=True, order=True)
class Resistor:
    """One value at hand [ohm], its tolerance as a part of one, how many pieces of it, and where it is noted."""

    ohm: float
    tolerance: float
    count: int
    of: Ref


@dataclasses.dataclass(frozen=True)
class KitAtHand:
    """Which acts of tracing are possible, with what, and what to do about the rest.

    Parameters
    ----------
    noted : bool
        Whether any kit is noted at all.
    remotes, marks, plugs : int
        Numbered remotes, numbered marks for closet ends, coded plugs.
    acts : tuple of str
        'tone', 'remotes', 'marks', 'plugs', 'resistors', 'continuity', 'ohms', 'farads', 'volts', 'wire map'.
    try_first : tuple of Ref
        To be tried on a known run before what they say is believed: not tried on themselves today.
    taken : tuple of str
        What was taken for granted.
    would_pay : tuple of str
        What would shorten the work, what costs nothing first.
    ask : str or None
        The one question to ask; only while no kit is noted.
    """

    noted: bool
    tools: tuple[Tool, ...]
    tone: bool
    remotes: int
    marks: int
    plugs: int
    resistors: tuple[Resistor, ...]
    meter: bool
    wire_mapper: bool
    continuity: bool
    acts: tuple[str, ...]
    try_first: tuple[Ref, ...]
    taken: tuple[str, ...]
    would_pay: tuple[str, ...]
    ask: str | None

    @property
    def for_planner(self) -> Kit:
        """What the planner can use of it: remotes, marks, plugs, tone."""
        return Kit(remotes=self.remotes, marks=self.marks, plugs=self.plugs, tone=self.tone)


def assumed_tolerance() -> float:
    """The tolerance of a resistor of which nobody noted one, as a part of one; ours."""
    text = (importlib.resources.files("pullstring.trace") / "kit_assumed.csv").read_text(encoding="utf-8")
    return next(float(r["value"]) for r in csv.DictReader(text.splitlines()) if r["name"] == "resistor_tolerance")


def kit_at_hand(site: Site, *, today: str | None = None, unnoted_tolerance: float | None = None) -> KitAtHand:
    """The kit that stands in the record.

    Parameters
    ----------
    today : str or None
        The day of the work, as 2026-11-03; the day to which the site's ages count if None.
    unnoted_tolerance : float or None
        Tolerance of resistors of which none is noted, as a part of one; `assumed_tolerance()` if None.
    """
    today = site.moment if today is None else today
    unnoted = assumed_tolerance() if unnoted_tolerance is None else unnoted_tolerance
    things = [k for k in site.of_kind("kit") if k.text("style") and k.text("state") not in GONE]
    worked = _worked_today(site, today)
    tools = tuple(_tool(k, today, worked) for k in things)
    have = {t.style for t in tools}
    taken: set[str] = set()
    remotes, marks, plugs = (_count(tools, s, taken) for s in ("numbered remotes", "numbered marks", "coded plugs"))
    resistors = _resistors(things, unnoted, taken)
    if "tone set" in have and "probe" not in have:
        taken.add("probe_with_tone_set")
    meter, mapper = "meter" in have, "wire mapper" in have
    may = {
        "tone": "tone set" in have,
        "remotes": remotes > 0,
        "marks": marks > 0,
        "plugs": plugs > 0,
        "resistors": meter and bool(resistors),
        "continuity": meter or "continuity tester" in have,
        "ohms": meter,
        "farads": meter,
        "volts": meter,
        "wire map": mapper,
    }
    if meter:
        taken.add("meter_reads_ohms_farads_volts")
    return KitAtHand(
        noted=bool(tools),
        tools=tools,
        tone=may["tone"],
        remotes=remotes,
        marks=marks,
        plugs=plugs,
        resistors=resistors,
        meter=meter,
        wire_mapper=mapper,
        continuity=may["continuity"],
        acts=tuple(act for act, possible in may.items() if possible),
        try_first=tuple(t.ref for t in tools if t.style in TRIED and t.tried != "today"),
        taken=tuple(sorted(taken)),
        would_pay=_would_pay(tools, may),
        ask=None if tools else "what_kit",
    )


def _worked_today(site: Site, today: str) -> set[Ref]:
    """Pieces of the kit of which a self-check of this day says that they work, the last one counting."""
    found: dict[Ref, bool] = {}
    for reading in sorted(site.readings, key=lambda r: r.at.earliest):
        if reading.measured.quantity == "self-check" and reading.at.text[:10] == today[:10]:
            found[reading.measured.subject] = reading.measured.written.casefold().startswith("works")
    return {ref for ref, works in found.items() if works}


def _tool(thing: Thing, today: str, worked: set[Ref]) -> Tool:
    count, battery = thing.number("count"), thing.text("battery")
    return Tool(
        thing.ref,
        thing.text("style"),
        None if count is None else int(count),
        "today" if thing.ref in worked else _tried(thing.text("checked"), today),
        battery,
        thing.text("style") in BATTERY and bool(WEAK.search(battery)),
    )


def _tried(checked: str, today: str) -> str:
    """'today' only when the date noted can mean no other day; 'before', or 'never noted'."""
    if not checked:
        return "never noted"
    try:
        noted, day = parse_when(checked), parse_when(today)
    except BadDate:
        return "never noted"
    local = checked[:10] == today[:10]  # a moment is meant on the day of its own place, whatever its offset
    return "today" if local or (noted.earliest >= day.earliest and noted.latest <= day.latest) else "before"


def _count(tools: tuple[Tool, ...], style: str, taken: set[str]) -> int:
    """How many of a kind; what nobody counted is one at least."""
    mine = [t for t in tools if t.style == style]
    if any(t.count is None for t in mine):
        taken.add("one_where_not_counted")
    return sum(1 if t.count is None else t.count for t in mine)


def _resistors(things: list[Thing], unnoted: float, taken: set[str]) -> tuple[Resistor, ...]:
    found = []
    for thing in (t for t in things if t.text("style") == "resistors"):
        values = resistor_values_ohm(thing.text("values")) or resistor_values_ohm(thing.text("note"), bare=False)
        pieces = thing.number("count")
        if not values:
            taken.add("resistors_without_values")
            continue
        each = 1 if pieces is None else 0 if pieces == 0 else max(1, int(pieces) // len(values))
        noted = thing.number("tolerance_percent")
        tolerance = noted / 100 if noted is not None else _tolerance(thing.text("values"), thing.text("note"))
        if tolerance is None:
            taken.add("tolerance_not_noted")
            tolerance = unnoted
        found += [Resistor(value, tolerance, each, thing.ref) for value in values if each]
    return tuple(sorted(found))


def _tolerance(*texts: str) -> float | None:
    found = [m for text in texts if (m := _PERCENT.search(text))]
    return float(found[0][1].replace(",", ".")) / 100 if found else None


def resistor_values_ohm(text: str, *, bare: bool = True) -> tuple[float, ...]:
    """The values in `1.2k 2.2k 820`, `4k7`, `1M`, `470R`, `2,2 kohm`; each once, rising. [ohm]

    Numbers with a percent sign, watts or pieces are none; without a unit they count only when `bare`.
    """
    found = set()
    for match in _VALUE.finditer(text):
        number, letter, rest = match[1].replace(",", "."), (match[2] or "").lower(), match[3]
        unit = letter or match[0].strip()[-1:].lower().strip("0123456789")
        if (rest and "." in number) or not (unit or bare):
            continue
        value = float(f"{number}.{rest}" if rest else number) * _SCALE.get(letter[:1], 1.0)
        found |= {value} if value > 0 else set()
    return tuple(sorted(found))


def _would_pay(tools: tuple[Tool, ...], may: dict[str, bool]) -> tuple[str, ...]:
    """What would shorten the work: what costs nothing first, then what any shop has, then what has to be ordered."""
    found = []
    if not may["plugs"] and not may["marks"]:
        found.append("scrap_plugs")
    if any(t.battery_weak for t in tools):
        found.append("fresh_battery")
    if not may["volts"]:
        found.append("meter")
    if may["ohms"] and not may["resistors"]:
        found.append("resistors")
    if not may["tone"]:
        found.append("tone_set")
    if not may["remotes"] and not may["marks"]:
        found.append("numbered_remotes")
    return tuple(found)
