"""What can be said of a port and a device, as codes with a band each, and how many sayings become one verdict.

Codes, not sentences; the sentences live with the words of the pages.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterable, Sequence

from pullstring.model.answers import Band, Interval


class Mode(enum.StrEnum):
    """How a port gives power, or how a device wants it."""

    OFF = "off"
    AF = "802.3af"
    AT = "802.3at"
    BT = "802.3bt"
    ALWAYS_24V = "24 V always-on"
    PLUG = "plug"


class Code(enum.StrEnum):
    """Why a match has its band."""

    GRANTED = "granted"
    FED_24V = "fed_24v"
    OWN_PLUG = "own_plug"
    PORT_GIVES_NONE = "port_gives_none"
    STAYS_DARK = "stays_dark_no_harm"
    DOES_NOT_START = "does_not_start"
    NEVER_PATCH_ALWAYS_ON = "never_patch_always_on"
    PORT_UNKNOWN = "port_unknown"
    DEVICE_UNKNOWN = "device_unknown"
    CLASS_NOT_GRANTED = "class_not_granted"
    CLASS_UNKNOWN = "class_unknown"
    PORT_CLASS_UNKNOWN = "port_class_unknown"
    PAIRS_MISSING = "pairs_missing"
    PAIRS_UNKNOWN = "pairs_unknown"
    ALTERNATIVE_UNKNOWN = "alternative_unknown"
    SHORT_BETWEEN_POLES = "short_between_poles"
    SHORT_TO_OTHER_PAIR = "short_to_other_pair"
    SHORT_INSIDE_PAIR = "short_inside_pair"
    LOOP_OVER_LIMIT = "loop_over_limit"
    NO_VOLTAGE = "no_voltage_can_carry_it"
    NEAR_COLLAPSE = "near_collapse"
    VOLTS_TOO_LOW = "volts_too_low"
    LEAST_VOLTS_UNKNOWN = "least_volts_unknown"
    LOAD_UNKNOWN = "load_unknown"
    OVER_PORT_LIMIT = "over_port_limit"
    OVER_CLASS = "over_class"
    PAIRS_CROSSED = "pairs_crossed"
    POLES_REVERSED = "poles_reversed"
    SIGNATURE_SPOILED = "signature_spoiled"
    SHARES_POWER = "shares_power"
    DATA_100_ONLY = "data_100_only"
    WAY_ONLY_TOLD = "way_only_told"
    OPEN_JACK = "open_jack"
    LINE_ON_WIRES = "line_on_wires"
    OTHER_SOURCE = "other_source"
    FAR_END_UNKNOWN = "far_end_unknown"
    SECOND_PORT_UNKNOWN = "second_port_unknown"


@dataclasses.dataclass(frozen=True)
class Match:
    """How likely the device runs from the port, the deciding code, and what the far end gets.

    `volts` at the device and `watts` drawn from the port are None where no figure can be given. `because`
    holds every code that spoke, the deciding one first.
    """

    works: Band
    code: Code
    volts: Interval | None
    watts: Interval | None
    hazard: bool
    because: tuple[Code, ...]


Said = tuple[Band, Code]
"""A code and how bad it is."""
WORSE = list(Band)
_HAZARDS = frozenset({Code.NEVER_PATCH_ALWAYS_ON, Code.POLES_REVERSED, Code.LINE_ON_WIRES, Code.OTHER_SOURCE})
_HAZARDS_24V = frozenset({Code.OPEN_JACK, Code.FAR_END_UNKNOWN, Code.SHORT_BETWEEN_POLES})


def with_more(found: Match, said: Sequence[Said], mode: Mode | None) -> Match:
    """A match with more said of it: the band falls to the worst of all, and never rises."""
    worse = [one for one in said if WORSE.index(one[0]) > WORSE.index(found.works)]
    worse.sort(key=lambda one: -WORSE.index(one[0]))
    rest = [one for one in said if one not in worse]
    codes = tuple(dict.fromkeys((*(c for _, c in worse), *found.because, *(c for _, c in rest))))
    works = worse[0][0] if worse else found.works
    return Match(works, codes[0], found.volts, found.watts, found.hazard or _is_hazard(codes, mode), codes)


def worst_of(matches: Sequence[Match], said: Sequence[Said], mode: Mode | None) -> Match:
    """One verdict over several devices and all else that was found: any hazard makes it `no`."""
    ranked = sorted([((m.works), m.code) for m in matches], key=lambda one: -WORSE.index(one[0]))
    others = [(Band.NO if m.hazard else Band.LIKELY, c) for m in matches for c in m.because if _is_hazard([c], mode)]
    every = [*others, *ranked, *said, *((Band.LIKELY, c) for m in matches for c in m.because)]
    first = matches[0] if matches else None
    volts, watts = (first.volts, first.watts) if first else (None, None)
    return answered(every, mode, volts=volts, watts=watts)


def _is_hazard(codes: Iterable[Code], mode: Mode | None) -> bool:
    return not (_HAZARDS | _HAZARDS_24V if mode is Mode.ALWAYS_24V else _HAZARDS).isdisjoint(codes)


def answered(said: Sequence[Said], mode: Mode | None, *, volts: Interval | None, watts: Interval | None) -> Match:
    """A match from all that was said: the worst band, its code first, and any hazard for a port of that mode.

    Parameters
    ----------
    said : sequence of Said
        Codes with their bands.
    mode : Mode or None
        What the port gives.
    volts, watts : Interval or None
        At the device, and from the port. [V], [W]

    References
    ----------
    House rules of ``modes.py``. Checked in ``tests/power/test_modes.py``.
    """
    ranked = sorted(said, key=lambda one: -WORSE.index(one[0]))
    codes = tuple(dict.fromkeys(code for _, code in ranked))
    return Match(ranked[0][0], codes[0], volts, watts, _is_hazard(codes, mode), codes)
