"""Where the watts end as heat: in the closet, in the cable, in a bundle of cables.

What is handed on over data wires heats the far room; only what is lost on the way to it stays in the closet. A UPS carries
the whole of it all the same.
"""

from __future__ import annotations

import dataclasses
import enum

from pullstring.copper.line import conductor_ohm_per_m
from pullstring.model.answers import Interval, Limit
from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.refs import Ref
from pullstring.power.budget import handed_on, handing_efficiency

BTU_PER_WH = 3.412
"""British thermal units in a watt-hour. [BTU/Wh] A unit conversion (from memory)."""
CONDUCTORS = 8
"""Of a four-pair cable."""
LP_AMBIENT_C = Limit(45.0, "C", "LP marking of a cable, ambient of the test", "read in a published text")
PROFILE_RISE_C = Limit(7.2, "C", "TIA bundle profile: 100 cables of Cat 5e, 600 mA a pair", "read in a published text")
PROFILE_CABLES = 100
PROFILE_A = 0.6


class Reason(enum.StrEnum):
    """What an answer about heat takes for granted or lacks."""

    SUMMED = "summed"
    DRAW_UNKNOWN = "draw_unknown"
    GREATEST_UNKNOWN = "greatest_draw_unknown"
    TYPICAL_UNKNOWN = "typical_draw_unknown"
    EFFICIENCY_ASSUMED = "efficiency_assumed"
    NOTHING_THERE = "no_unit_in_it"


@dataclasses.dataclass(frozen=True)
class ClosetHeat:
    """Heat that stays in a closet, from typical to greatest draw.

    `typical_w` is all at typical draw with the least loss. `unknown` names units of which no draw is noted: they are not in
    the sum, so it is then a least.
    """

    room: str
    heat: Interval
    btu_per_h: Interval
    typical_w: float
    units: tuple[str, ...]
    unknown: tuple[str, ...]
    codes: tuple[Reason, ...]
    because: tuple[str, ...]


def closet_heat_w(*, base_w: float, delivered_w: float, efficiency: float) -> float:
    r"""Heat that a unit leaves where it stands: :math:`P_{base}/\eta + P_{on}(1/\eta - 1)`.

    Parameters
    ----------
    base_w : float
        What the unit itself uses behind its supply, zero or more. [W]
    delivered_w : float
        What it hands on to others over its ports, zero or more; it heats their rooms. [W]
    efficiency : float
        Of its supply, above 0 to 1. [1]

    Returns
    -------
    float
        Heat. [W]

    References
    ----------
    What goes in less what goes on. Checked in ``tests/published/test_check_rows.py``.
    """
    return base_w / efficiency + delivered_w * (1 / efficiency - 1)


def btu_per_h(*, heat_w: float) -> float:
    """Heat in the unit of those who sell cooling: 1 W is 3.412 BTU/h.

    Parameters
    ----------
    heat_w : float
        Heat. [W]

    Returns
    -------
    float
        The same. [BTU/h]

    References
    ----------
    A unit conversion (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    return BTU_PER_WH * heat_w


def conductor_current_a(*, current_a: float, pairs: int) -> float:
    """Current of one conductor: over two pairs each pole has two, over four pairs four.

    Parameters
    ----------
    current_a : float
        Current of the loop. [A]
    pairs : int
        Pairs that carry power: 2 or 4. [pairs]

    Returns
    -------
    float
        Current of each, if all are alike. [A]

    References
    ----------
    Conductors in parallel. Checked in ``tests/published/test_check_rows.py``.
    """
    if pairs not in (2, 4):
        raise ValueError(f"pairs: power goes over 2 or 4 pairs, not {pairs}; give 2 or 4")
    return current_a / pairs


def conductors_heat_w_per_m(*, awg: float, conductor_a: float, conductors: int, temperature_c: float) -> float:
    """Heat of a metre of cable in which some of the conductors carry one current each: n I^2 r.

    Parameters
    ----------
    awg : float
        Gauge. [AWG]
    conductor_a : float
        Current of each conductor that carries any. [A]
    conductors : int
        How many carry: 4 over two pairs, 8 over four. [conductors]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Heat. [W/m]

    References
    ----------
    Joule. Checked in ``tests/power/test_heat.py``.
    """
    return conductors * conductor_a**2 * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c)


def cable_heat_w_per_m(*, awg: float, conductor_a: float, temperature_c: float) -> float:
    """`conductors_heat_w_per_m` with all eight conductors of a cable carrying.

    Parameters
    ----------
    awg : float
        Gauge number. [AWG]
    conductor_a : float
        Current in each conductor. [A]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Heat of the cable. [W/m]

    References
    ----------
    Joule. Checked in ``tests/published/test_check_rows.py``.
    """
    return conductors_heat_w_per_m(awg=awg, conductor_a=conductor_a, conductors=CONDUCTORS, temperature_c=temperature_c)


def bundle_rise_scaled_c(*, rise_c: float, from_a: float, to_a: float) -> float:
    """Rise of the middle of a bundle at another current: it goes as the current squared.

    Parameters
    ----------
    rise_c : float
        Rise at the first current. [C]
    from_a, to_a : float
        Both currents, in any one way of counting: a pair or a conductor; the first above zero. [A]

    Returns
    -------
    float
        Rise at the second. [C]

    References
    ----------
    TIA bundle guidance (read in a published text). Checked in ``tests/published/test_check_rows.py``.
    """
    return rise_c * (to_a / from_a) ** 2


def bundle_rise(*, cables: int, pair_a: float) -> Interval:
    """Rise in the middle of a bundle, from the profile of 100 cables at 600 mA a pair.

    With the number of cables it goes between the root, where air around the bundle holds the heat, and in proportion, where
    the jackets inside do. Both meet at the profile. Ours, assumed; valid for Cat 5e of 24 AWG in free air.

    Parameters
    ----------
    cables : int
        Cables of the bundle that carry power, 1 or more. [cables]
    pair_a : float
        Current of each pair, zero or more. [A]

    Returns
    -------
    Interval
        Rise, naming `cooling` as what is not known. [C]

    References
    ----------
    TIA profile, 7.2 C (read in a published text). Checked in ``tests/power/test_heat.py``.
    """
    if cables < 1:
        raise ValueError(f"bundle of {cables} cables: a bundle has at least one; give 1 or more")
    at_100 = bundle_rise_scaled_c(rise_c=PROFILE_RISE_C.value, from_a=PROFILE_A, to_a=pair_a)
    share = cables / PROFILE_CABLES
    low, high = sorted((at_100 * share, at_100 * share**0.5))
    return Interval(low, high, "C", ("cooling",) if low < high else ())


def lp_rating_ok(*, rise_c: float, rating_c: float) -> bool:
    """Whether a cable stays within its rating in the LP test: 45 C and the rise, against what it is marked for.

    Old unmarked station wire has no rating for data: take 60 C for it, and it is not listed for this use (common practice).

    Parameters
    ----------
    rise_c : float
        Rise of the bundle. [C]
    rating_c : float
        What the jacket is marked for. [C]

    Returns
    -------
    bool
        True when it passes; just reaching the rating passes.

    References
    ----------
    LP marking (read in a published text). Checked in ``tests/published/test_check_rows.py``.
    """
    return LP_AMBIENT_C.value + rise_c <= rating_c


def own_draw(model: Thing | None, *, gives: bool) -> Interval | None:
    """What a unit itself takes at its plug, from typical to greatest; None when nothing is noted of it. [W]

    The greatest draw of a unit that gives power to others holds what it gives, as its data plate does (common practice), so
    what it can give is taken off; where that is not noted, only the typical draw is told.
    """
    typical, most, gives_w = (model.number(n) if model else None for n in ("typical_w", "max_w", "budget_w"))
    if typical is None and most is None:
        return None
    if most is not None and gives_w is not None:
        most = max(most - gives_w, typical or 0.0)
    elif gives and typical is not None:
        most = typical
    high = most if most is not None else typical
    assert high is not None
    low = min(typical if typical is not None else 0.0, high)
    return Interval(low, high, "W", ("load_w",) if low < high else ())


@once_a_site
def closet_heats(site: Site) -> tuple[ClosetHeat, ...]:
    """Heat of every closet, from the units that stand in it and what they hand on.

    A typical draw is noted at the plug, so the loss of a unit's own supply is already in it. A unit that hands power on adds
    what is lost of that power; a unit in the closet that is powered over data wires adds its own draw like any other.
    """
    rooms = (r for r in site.of_kind("room") if r.text("closet") == "yes")
    return tuple(_closet(site, room) for room in rooms)


def _closet(site: Site, room: Thing) -> ClosetHeat:
    low = high = 0.0
    inputs: dict[str, None] = {}
    units: list[str] = []
    unknown: list[str] = []
    codes: list[Reason] = []
    because = [*room.entries]
    for unit in site.of_kind("unit"):
        if not unit.stands or standing_in(site, unit) != room.ref:
            continue
        because += unit.entries
        model = site.get(unit.ref_of("model"))
        if model and model.text("takes") in ("none", "line"):
            continue
        units.append(unit.ref.tag)
        because += model.entries if model else ()
        passed = handed_on(site, unit=unit.ref)
        own = own_draw(model, gives=passed is not None)
        if own is None:
            unknown.append(unit.ref.tag)
            codes.append(Reason.DRAW_UNKNOWN)
            continue
        codes += _lacks(model, gives=passed is not None)
        low, high = low + own.low, high + own.high
        inputs.update(dict.fromkeys(own.inputs))
        if passed is not None and passed.watts.high > 0:
            efficiency, known = handing_efficiency(model)
            codes += [] if known else [Reason.EFFICIENCY_ASSUMED]
            low += closet_heat_w(base_w=0.0, delivered_w=passed.watts.low, efficiency=efficiency.high)
            high += closet_heat_w(base_w=0.0, delivered_w=passed.watts.high, efficiency=efficiency.low)
            inputs.update(dict.fromkeys((*passed.watts.inputs, *efficiency.inputs)))
            because += passed.because
    if not units:
        codes.append(Reason.NOTHING_THERE)
    heat = Interval(low, high, "W", tuple(inputs) if low < high else ())
    in_btu = Interval(btu_per_h(heat_w=low), btu_per_h(heat_w=high), "BTU/h", heat.inputs)
    return ClosetHeat(
        room.ref.tag,
        heat,
        in_btu,
        low,
        tuple(units),
        tuple(unknown),
        tuple(dict.fromkeys(codes)) or (Reason.SUMMED,),
        tuple(dict.fromkeys(because)),
    )


def _lacks(model: Thing | None, *, gives: bool) -> list[Reason]:
    """What is not noted of a model of which something is."""
    if model is None or model.number("typical_w") is None:
        return [Reason.TYPICAL_UNKNOWN]
    open_ended = gives and model.number("budget_w") is None
    return [Reason.GREATEST_UNKNOWN] if model.number("max_w") is None or open_ended else []


def standing_in(site: Site, unit: Thing) -> Ref | None:
    """The room a unit stands in: as noted, else by its place, else by its rack."""
    if room := unit.ref_of("room"):
        return room
    claim = site.best(unit.ref, "mounted_at")
    for holder in (site.get(claim.object) if claim else None, site.get(unit.ref_of("rack"))):
        if holder and (room := holder.ref_of("room")):
            return room
    return None
