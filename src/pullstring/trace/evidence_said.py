"""What people and old labels say: claims that an end goes to an outlet or does not, or goes elsewhere, and soft looks at ends.

House rules
-----------
1. Of several sayings on one end and one outlet the best counts, for and against; different outlets or ends each count.
2. No saying is certain: with nothing else known its outlet has the odds of its grade. An old label counts less.
3. Odds do not feed on themselves: a claim that was accepted from them adds nothing.
"""

from __future__ import annotations

import collections
import dataclasses
import datetime as dt
import math
import re
from collections.abc import Iterable, Iterator

from pullstring.copper.conditions import Far, parse_conditions
from pullstring.model.asbuilt import Saying, Site
from pullstring.model.conductors import outlet_of
from pullstring.model.grades import grade, grades
from pullstring.model.refs import Ref
from pullstring.model.when import FIRST, parse_when
from pullstring.reach.guards import QUIET_V
from pullstring.trace import readings as read
from pullstring.trace.assumed import assumed_noise
from pullstring.trace.assumed_evidence import logit, said_log, weights
from pullstring.trace.evidence_ground import PLATES, Elsewhere, Ground, arrival, elsewhere, far_of
from pullstring.trace.evidence_heard import Sent
from pullstring.trace.evidence_looks import of_another_family

Pair = tuple[int, int]
"""Outlet and end."""
FROM_ODDS = "traced with odds of"
"""Stands in the method of a claim that was accepted from odds: what it rests on counts already, so it does not count again."""


def said_of(ground: Ground) -> dict[Pair, list[tuple[Saying, bool]]]:
    """Sayings on an end and an outlet, each with whether it is stale; also far ends that are noted at an outlet."""
    site, found = ground.site, collections.defaultdict[Pair, list[tuple[Saying, bool]]](list)
    for claim in site.claims:
        if claim.relation != "goes_to":
            continue
        one, other = ground.spot(claim.subject), ground.spot(claim.object)
        if claim.subject.kind in PLATES:
            one, other = other, one
        if one.end is not None and other.outlet is not None:
            own = [s for s in claim.sayings if FROM_ODDS not in s.evidence.method]
            found[other.outlet, one.end] += [(s, claim.stale) for s in own]
    for ref, end in ground.end_number.items():
        thing = site.get(ref)
        for far, chance, entries in far_of(site, thing) if thing else ():
            claim_there = arrival(site, far)
            if claim_there is None or claim_there.object.kind not in PLATES:
                continue
            outlet = ground.outlet_number.get(outlet_of(claim_there.object))
            best = max(claim_there.sayings, key=lambda s: grade(s.evidence.grade).odds)
            if outlet is not None:
                weaker = chance < grade(best.evidence.grade).odds
                told = _as_weak(best, chance) if weaker else best
                found[outlet, end].append((_with(told, entries), claim_there.stale))
    return found


def _as_weak(saying: Saying, chance: float) -> Saying:
    name = min(grades(), key=lambda g: abs(grade(g).odds - chance))
    return dataclasses.replace(saying, evidence=dataclasses.replace(saying.evidence, grade=name))


def _with(saying: Saying, entries: Iterable[str]) -> Saying:
    """The same saying; its entry comes first, those of the cable's ends are kept in its detail."""
    return dataclasses.replace(saying, detail=" ".join((saying.entry, *entries)))


def claims(ground: Ground) -> Iterator[read.Leaning]:
    """One leaning for the best saying for, and one for the best against, on each outlet and end.

    What is said of several ends of an outlet that holds several cables is one leaning: each may be right, they do not deny
    each other.
    """
    several: dict[int, list[tuple[int, float, tuple[str, ...]]]] = collections.defaultdict(list)
    for (outlet, end), told in sorted(said_of(ground).items(), key=lambda item: item[0]):
        for holds in (True, False):
            among = [(s, stale) for s, stale in told if s.holds is holds]
            if not among:
                continue
            saying, stale = max(among, key=lambda pair: _weight(ground, *pair))
            weight = _weight(ground, saying, stale)
            because = tuple(saying.detail.split()) if saying.detail.startswith(saying.entry) else (saying.entry,)
            if holds and _holds_several(ground, ground.outlets[outlet]):
                several[outlet].append((end, weight, because))
                continue
            yield read.Leaning(
                key=f"{'said' if holds else 'denied'} {ground.outlets[outlet]} {ground.ends[end]}",
                because=because,
                outlet=outlet,
                log_weight={end: weight if holds else -weight_against(saying)},
                by_net=True,
            )
    for outlet, told_of in several.items():
        yield read.Leaning(
            key=f"said {ground.outlets[outlet]}",
            because=tuple(dict.fromkeys(e for _, _, because in told_of for e in because)),
            outlet=outlet,
            log_weight={end: weight for end, weight, _ in told_of},
            by_net=True,
        )


def _holds_several(ground: Ground, outlet: Ref) -> bool:
    """Whether a plate has a place for more than one cable."""
    jacks = sum(1 for j in ground.site.of_kind("jack") if outlet_of(j.ref) == outlet)
    return max(int(ground.site.things[outlet].number("positions") or 0), jacks) > 1


def labels(ground: Ground) -> Iterator[read.Leaning]:
    """Old labels that share a word with the names of rooms, for ends of which nobody said where they go."""
    c = weights()
    told = {end for (_, end), sayings in said_of(ground).items() if any(s.holds for s, _ in sayings)}
    rooms = {ref: _room_words(ground, ref) for ref in ground.outlets}
    for ref, end in ground.end_number.items():
        thing = ground.site.things[ref]
        label = _words(thing.text("label"))
        alike = [o for o in ground.outlets if label and _shares(label, rooms[o])]
        if end in told or not alike:
            continue
        because = (thing.fields["label"].last.entry,)
        for outlet, number in ground.outlet_number.items():
            log = c["label_words_log"] - math.log(len(alike)) / 2 if outlet in alike else c["label_other_log"]
            key = f"label {outlet} {ref}"
            yield read.Leaning(key=key, because=because, outlet=number, log_weight={end: log})


_WORD = re.compile(r"[a-z]{3,}|\d+")


def _words(text: str) -> frozenset[str]:
    return frozenset(_WORD.findall(text.casefold())) - {"room", "none", "and", "the"}


def _room_words(ground: Ground, outlet: Ref) -> frozenset[str]:
    thing = ground.site.get(ground.site.things[outlet].ref_of("room"))
    return _words(f"{thing.text('name')} {thing.text('old_names')}") if thing else frozenset()


def _shares(label: frozenset[str], room: frozenset[str]) -> bool:
    """A word in common; where both bear a number, the number."""
    numbers = {w for w in label if w.isdigit()}, {w for w in room if w.isdigit()}
    return bool(numbers[0] & numbers[1]) if all(numbers) else bool(label & room)


def _weight(ground: Ground, saying: Saying, stale: bool) -> float:
    weight = said_log(grade_name=saying.evidence.grade, among=len(ground.ends))
    return weight * weights()["old_label_share"] if stale or _old(ground.site, saying) else weight


def weight_against(saying: Saying) -> float:
    """How much a denial takes: the odds of its grade."""
    return max(0.0, logit(grade(saying.evidence.grade).odds))


def _old(site: Site, saying: Saying) -> bool:
    """An old label or a saying of long ago; age of what was seen or toned is counted by its grade."""
    if grade(saying.evidence.grade).stale_after_days is not None:
        return False
    since = saying.at.latest if saying.at.earliest == FIRST else saying.at.earliest
    return parse_when(site.moment).latest - since > dt.timedelta(days=365 * weights()["old_label_years"])


def goes_elsewhere(ground: Ground) -> Iterator[tuple[int, Elsewhere]]:
    """Ends that take part though somebody says that they go elsewhere."""
    for ref, number in ground.end_number.items():
        thing = ground.site.get(ref)
        for one in elsewhere(ground.site, thing) if thing else ():
            yield number, one


def of_ends(ground: Ground, sent: Iterable[Sent]) -> Iterator[read.EndLeaning]:
    """What is known of an end alone: told to go elsewhere, toned elsewhere, live, of another family, shorted at its far end."""
    for number, one in goes_elsewhere(ground):
        weight = logit(max(one.chance, 0.5))
        yield _lean(
            f"elsewhere {ground.ends[number]} {one.what} {' '.join(map(str, one.about))}", number, -weight, one.because
        )
    yield from _toned_away(ground, sent)
    c = weights()
    for ref, number in ground.end_number.items():
        if entries := volts_on(ground, ref):
            yield _lean(f"live {ref}", number, c["live_log"], entries)
        if of_another_family(ground.jacket(ref)):
            yield _lean(f"family {ref}", number, c["other_family_log"], ground.look_entries(ref))
        if entries := _shorted_there(ground, ref):
            log = c["shorted_there_log"]
            yield read.EndLeaning(key=f"shorted {ref}", because=entries, end=number, log_weight=(log, 0.0))


def _lean(key: str, end: int, log: float, because: tuple[str, ...]) -> read.EndLeaning:
    return read.EndLeaning(key=key, because=because, end=end, log_weight=(0.0, log))


def _toned_away(ground: Ground, sent: Iterable[Sent]) -> Iterator[read.EndLeaning]:
    """A tone that reached something that is no outlet: by its level, and a short that stopped it."""
    noise, c = assumed_noise(), weights()
    for one in sent:
        if one.to.kind == "room":
            log = c["heard_in_room_log"] if one.level else 0.0
        else:
            log = math.log(noise.far[one.level] / noise.on[one.level])
            if one.confirmed and one.level:
                log += math.log(noise.pair_false / noise.pair_hit)
        if log < 0:
            number = ground.end_number[one.end]
            yield _lean(f"sent {one.end} {one.to} {' '.join(one.because)}", number, log, one.because)


def volts_on(ground: Ground, ref: Ref) -> tuple[str, ...]:
    """Entries of volts read on an end or its pairs."""
    thing = ground.site.get(ref)
    cable = thing.ref_of("cable") if thing else None
    found = []
    for reading in ground.site.readings:
        measured = reading.measured
        own = measured.subject == ref or (
            measured.subject.kind == "pair" and Ref("cable", measured.subject.parent_tag or "?") == cable
        )
        if (
            own
            and measured.quantity in ("volts DC", "volts AC")
            and measured.sign == "="
            and abs(measured.value_si or 0) >= QUIET_V
        ):
            found.append(reading.entry)
    return tuple(found)


def _shorted_there(ground: Ground, ref: Ref) -> tuple[str, ...]:
    """Entries of loops and wire maps, for which somebody was at the far end."""
    found = []
    for reading in ground.site.readings:
        measured = reading.measured
        if measured.subject != ref or measured.quantity not in ("loop resistance", "resistance", "wire map"):
            continue
        words = parse_conditions(measured.evidence.conditions, wanted=Far.SHORTED)
        if measured.quantity == "wire map" or (words.far is Far.SHORTED and measured.sign == "="):
            found.append(reading.entry)
    return tuple(found)
