"""What the eye sees at plates: jackets and their pairs, empty boxes, two sheaths, wires that begin away from the closet.

House rules
-----------
1. A jacket at an outlet is usually that of its closet end; another one means a splice on the way, or another cable.
2. A wire of a jacket that no closet end has begins elsewhere: behind another plate (then both are on one cable), at a cabinet
   (then it is no cable of the closet at all), or out of sight. Such a wire has two ends, so each beginning feeds one outlet.
3. Cables for outdoors lead to other buildings, others do not.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Mapping, Sequence

from pullstring.copper.cables import cable_kind
from pullstring.model.asbuilt import Thing
from pullstring.model.grades import grade
from pullstring.model.refs import Ref
from pullstring.trace import readings as read
from pullstring.trace.assumed_evidence import none_log, weights
from pullstring.trace.evidence_ground import Ground

ALIKE = (
    frozenset({"cat5", "cat5e", "cat6", "cat6a"}),
    frozenset({"cat3", "cat5"}),
    frozenset({"quad", "station wire"}),
)
"""Jackets that are easily taken for each other (ours)."""
OUTDOORS = ("gel 6-pair", "drop wire")
OTHERS = ("alarm", "control", "bell", "speaker")
_EMPTY = re.compile(
    r"\b(?:empty box|no cable|no wire|nothing behind|box empty|screws empty|cable pulled back|empty, no)\b"
)
MOST_TAILS = 9
"""Ours: so many beginnings and ends of one jacket away from the closet are matched in every way; more one by one."""


def looks(ground: Ground) -> Iterator[read.Leaning]:
    """All that is seen at plates, as leanings of outlets."""
    yield from jackets(ground)
    yield from empty(ground)
    yield from buildings(ground)


def likeness(ground: Ground, far: Sequence[Thing], end: Ref) -> float:
    """Chance of the jackets at an outlet if its cable is the one of an end."""
    c, near = weights(), ground.jacket(end)
    best = 0.0
    for there in far:
        seen = ground.jacket(there.ref)
        if near and seen:
            alike = any({near, seen} <= group for group in ALIKE)
            best = max(best, c["jacket_same"] if near == seen else c["jacket_near"] if alike else c["jacket_other"])
            continue
        pairs = ground.pairs(end), ground.pairs(there.ref)
        if None in pairs:
            best = max(best, c["jacket_unknown"])
        else:
            best = max(best, c["pairs_same" if pairs[0] == pairs[1] else "pairs_other"])
    return best


def jackets(ground: Ground) -> Iterator[read.Leaning]:
    """The jackets behind each plate against those of all closet ends."""
    c = weights()
    tails = tail_jackets(ground)
    for outlet, number in ground.outlet_number.items():
        far = ground.far.get(outlet, ())
        if not far or all(ground.jacket(f.ref) in tails for f in far):
            continue
        base = math.log(c["jacket_other"])
        logs = {e: math.log(likeness(ground, far, end)) - base for end, e in ground.end_number.items()}
        alike = [end for end, e in ground.end_number.items() if logs[e] >= math.log(c["jacket_near"]) - base]
        entries = [
            *(x for f in far for x in ground.look_entries(f.ref)),
            *(x for e in alike for x in ground.look_entries(e)),
        ]
        none = math.log(c["wire_without_cable"]) - base
        yield read.Leaning(
            key=f"jackets {outlet}",
            because=tuple(dict.fromkeys(entries)),
            outlet=number,
            log_weight={e: log for e, log in logs.items() if log},
            log_none=none,
        )


def empty(ground: Ground) -> Iterator[read.Leaning]:
    """Boxes seen empty, and plates with two jackets behind them."""
    c = weights()
    for outlet, number in ground.outlet_number.items():
        thing = ground.site.things[outlet]
        field = next((n for n, hit in _empties(thing) if hit), None)
        far = ground.far.get(outlet, ())
        if field and not far:
            account = thing.fields[field].last
            log = none_log(chance=grade(account.evidence.grade).odds, among=len(ground.ends))
            log *= c["empty_text_share"] if field in ("found", "note") else 1.0
            entry = account.entry
            yield read.Leaning(key=f"empty {outlet}", because=(entry,), outlet=number, log_weight={}, log_none=log)
        sheaths = thing.number("sheaths")
        if (sheaths or 0) >= 2 or len(far) >= 2:
            entries = [thing.fields["sheaths"].last.entry] if sheaths else [e for f in far for e in f.entries[:1]]
            log = c["two_sheaths_log"]
            key = f"sheaths {outlet}"
            yield read.Leaning(key=key, because=tuple(entries), outlet=number, log_weight={}, log_none=log)


def _empties(thing: Thing) -> tuple[tuple[str, bool], ...]:
    """By field whether it says that nothing comes in here."""
    return (
        ("condition", thing.text("condition") == "empty"),
        ("sheaths", thing.number("sheaths") == 0),
        ("found", bool(_EMPTY.search(thing.text("found").casefold()))),
        ("note", bool(_EMPTY.search(thing.text("note").casefold()))),
    )


def buildings(ground: Ground) -> Iterator[read.Leaning]:
    """Ends that would have to lead into another building, or out of doors and back."""
    c = weights()
    for outlet, number in ground.outlet_number.items():
        there = ground.building(outlet)
        if there is None:
            continue
        logs: dict[int, float] = {}
        entries: list[str] = []
        for end, e in ground.end_number.items():
            here = ground.building(end)
            if here is None:
                continue
            outdoors, because = is_outdoor(ground, end)
            if outdoors and here == there:
                logs[e] = math.log(c["outdoor_in_building"])
            elif not outdoors and here != there:
                logs[e] = math.log(c["indoor_to_other_building"])
            else:
                entries += because if outdoors else []
        if logs:
            field = ground.site.things[outlet].fields.get("room")
            told = (*((field.last.entry,) if field else ()), *entries)
            yield read.Leaning(
                key=f"building {outlet}", because=tuple(dict.fromkeys(told)), outlet=number, log_weight=logs
            )


def is_outdoor(ground: Ground, end: Ref) -> tuple[bool, list[str]]:
    """Whether the cable of an end is one for outdoors, and the entry that says so."""
    thing = ground.site.get(end)
    cable = ground.site.get(thing.ref_of("cable")) if thing else None
    if cable and cable.text("outdoors") in ("yes", "no"):
        return cable.text("outdoors") == "yes", [cable.fields["outdoors"].last.entry]
    return ground.jacket(end) in OUTDOORS, list(ground.look_entries(end))


def of_another_family(jacket: str) -> bool:
    """Whether a jacket is for speakers, bells, alarms or control rather than for telephones or data."""
    kind = cable_kind(jacket)
    return kind.known and kind.family == "other" or jacket.startswith(OTHERS)


def tail_jackets(ground: Ground) -> frozenset[str]:
    """Jackets that are seen away from the closet and that no closet end has, left out or not."""
    near = {ground.jacket(ref) for ref in (*ground.ends, *ground.out) if ref.kind == "end"}
    seen = {ground.jacket(f.ref) for ends in ground.far.values() for f in ends}
    return frozenset(j for j in seen if j and j not in near and not of_another_family(j))


def tails(ground: Ground, sure: Mapping[int, Mapping[int, float]]) -> Iterator[tuple[read.Leaning, tuple[Ref, ...]]]:
    """Outlets on a wire that begins away from the closet: on the end of the plate where it begins, or on none of ours.

    Parameters
    ----------
    sure : mapping
        By outlet the ends that something strong speaks for, with their shares.

    Returns
    -------
    iterator
        A leaning for each such outlet, and the far ends from which its wire may come.
    """
    for jacket in sorted(tail_jackets(ground)):
        sinks, sources = _sinks_and_sources(ground, jacket)
        if not sinks or len(sources) + len(sinks) > 2 * MOST_TAILS:
            continue
        shares = _matched(ground, sinks, sources, sure)
        for sink, (outlet, far) in enumerate(sinks):
            yield _tail(ground, outlet, far, [(sources[s], p) for s, p in shares[sink].items()], sure)


Source = tuple[Ref | None, Thing]
"""The outlet at which a wire begins (None: at none) and its end there."""


def _sinks_and_sources(ground: Ground, jacket: str) -> tuple[list[tuple[Ref, Thing]], list[Source]]:
    """Outlets with this jacket alone behind the plate; its ends beside others, and at no outlet at all."""
    sinks: list[tuple[Ref, Thing]] = []
    sources: list[Source] = []
    for outlet in ground.outlets:
        far = ground.far.get(outlet, ())
        here = [f for f in far if ground.jacket(f.ref) == jacket]
        if here and len(here) == len(far):
            sinks.append((outlet, here[0]))
        else:
            sources += [(outlet, f) for f in here]
    sources += [(None, f) for f in ground.loose if ground.jacket(f.ref) == jacket]
    return sinks, sources


def _matched(
    ground: Ground,
    sinks: Sequence[tuple[Ref, Thing]],
    sources: Sequence[Source],
    sure: Mapping[int, Mapping[int, float]],
) -> list[dict[int, float]]:
    """For each sink the chance of each source, every source feeding one sink at most; the rest begins out of sight."""
    hidden = weights()["tail_hidden"]
    pair = [[_pair(ground, sink, source, sure) for source in sources] for sink in sinks]
    total, shares = 0.0, [dict.fromkeys(range(len(sources)), 0.0) for _ in sinks]
    places: list[int | None] = [*range(len(sources)), *([None] * len(sinks))]
    seen: set[tuple[int | None, ...]] = set()
    for way in itertools.permutations(places, len(sinks)) if len(places) <= MOST_TAILS else _greedy(pair):
        if way in seen:
            continue
        seen.add(way)
        weight = math.prod(hidden if s is None else pair[k][s] for k, s in enumerate(way))
        total += weight
        for k, s in enumerate(way):
            if s is not None:
                shares[k][s] += weight
    return [{s: w / total for s, w in one.items()} for one in shares]


def _greedy(pair: Sequence[Sequence[float]]) -> Iterator[tuple[int | None, ...]]:
    """One way for many wires: each outlet in turn takes the likeliest beginning that is left."""
    left = set(range(len(pair[0]) if pair else 0))
    way: list[int | None] = []
    for row in pair:
        best = max(left, key=lambda s: row[s], default=None)
        way.append(best)
        left.discard(-1 if best is None else best)
    yield tuple(way)


def _pair(ground: Ground, sink: tuple[Ref, Thing], source: Source, sure: Mapping[int, Mapping[int, float]]) -> float:
    c = weights()
    outlet, far = sink
    place, near = source
    if far.ref_of("cable") and far.ref_of("cable") == near.ref_of("cable"):
        return c["tail_same_net"] ** 2
    there, here = ground.building(outlet), ground.building(place or near.ref)
    weight = 1.0 if there is None or here is None or there == here else c["tail_other_building"]
    own = sure.get(ground.outlet_number[outlet], {})
    if not own:
        return weight
    of_place = sure.get(ground.outlet_number[place], {}) if place else {}
    both = sum(min(p, of_place.get(e, 0.0)) for e, p in own.items())
    return weight * (c["tail_same_net"] * both + c["tail_other_net"] * (1 - both))


def _tail(
    ground: Ground,
    outlet: Ref,
    far: Thing,
    from_: Sequence[tuple[Source, float]],
    sure: Mapping[int, Mapping[int, float]],
) -> tuple[read.Leaning, tuple[Ref, ...]]:
    """Where the wire of one outlet begins, as weights of ends and of none of ours."""
    count = max(len(ground.ends), 1)
    hidden = 1 - sum(p for _, p in from_)
    chances = dict.fromkeys(range(len(ground.ends)), hidden / count)
    away = weights()["wire_without_cable"] * hidden
    entries = list(ground.look_entries(far.ref))
    for (place, near), share in from_:
        entries += ground.look_entries(near.ref) if share > LEAST_SHARE else ()
        known = joined_to(ground, near)
        on = {known: 1.0} if known is not None else sure.get(ground.outlet_number[place], {}) if place else {}
        begins_here = place is not None or known is not None
        away += 0.0 if begins_here else share
        for e in chances if begins_here else ():
            chances[e] += share * (on.get(e, 0.0) if on else 1 / count)
    away = min(max(away, LEAST), 1 - LEAST)
    reading = read.Leaning(
        key=f"tail {outlet}",
        because=tuple(dict.fromkeys(entries)),
        outlet=ground.outlet_number[outlet],
        log_weight={e: math.log(max(p * count, LEAST)) for e, p in chances.items()},
        log_none=none_log(chance=away, among=count) + math.log1p(-away),
    )
    return reading, tuple(near.ref for (_, near), share in from_ if share > 0.5)


def joined_to(ground: Ground, near: Thing) -> int | None:
    """The closet end whose cable is noted to be joined to the cable of a far end, by a claim or in a joint."""
    cable = near.ref_of("cable")
    own = {near.ref, *(e.ref for e in ground.site.ends_by_cable.get(cable, ()))} if cable else {near.ref}
    others: list[Ref] = []
    for claim in ground.site.about(relation="joined"):
        for one, other in ((claim.subject, claim.object), (claim.object, claim.subject)):
            if one in own or (cable and one.kind == "pair" and Ref("cable", one.parent_tag or "?") == cable):
                others.append(other)
    for joint in ground.site.of_kind("joint"):
        refs = joint.refs_of("ends")
        others += refs if joint.stands and own & set(refs) else ()
    return next((e for ref in others if ref not in own and (e := ground.end_of_wire(ref)) is not None), None)


LEAST, LEAST_SHARE = 1e-3, 0.02
"""Ours: no chance here counts as less; a beginning below this share is not told."""
