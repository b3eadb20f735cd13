"""Tones, numbered remotes, words on pairs, shorts and self-checks of the record as readings of the engine.

House rules
-----------
1. `not looked` weighs nothing. A number or pair that was not among those looked for weighs nothing.
2. A tone that stopped when the pair was shorted at the other end counts twice: as heard, and as a short that was seen.
3. What is placed stays until it is said to be taken off, something else is placed there, or it turns up elsewhere.
4. A tone between two closet ends speaks of these two being joined; a tone that reaches a far end at no outlet, or a room, speaks
   of the cable going elsewhere.
"""

from __future__ import annotations

import collections
import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from pullstring.copper.conditions import Far, parse_conditions
from pullstring.model.asbuilt import Reading
from pullstring.model.refs import BadName, Ref
from pullstring.model.tones import BadTone, Tone, parse_continuity, parse_heard, parse_placed, parse_tone
from pullstring.trace import readings as read
from pullstring.trace.assumed import assumed_noise
from pullstring.trace.assumed_evidence import weights
from pullstring.trace.evidence_blocks import BY_HAND, Blocks, Joined, Touch
from pullstring.trace.evidence_ground import Ground, Spot, moment

HEARD = ("tone", "remotes heard", "word read", "continuity")
PLACED = ("remote placed", "word placed", "short placed", "resistor placed")


@dataclasses.dataclass(frozen=True)
class NotUsed:
    """An entry that speaks of tracing but weighs nothing, and why (a code)."""

    entry: str
    why: str


@dataclasses.dataclass(frozen=True)
class Sent:
    """A tone that went from an end to where no outlet is: a far end or a room; level, whether it was confirmed, the entry."""

    end: Ref
    to: Ref
    level: int
    confirmed: bool
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Between:
    """One thing heard at two closet ends, or a tone from one to the other (`direct`): its level, care and the entries."""

    a: Ref
    b: Ref
    level: int
    direct: bool
    isolated: bool
    confirmed: bool
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Placement:
    """Something put on an outlet or end from a moment on, until another is put there or it is taken off."""

    spot: Spot
    quantity: str
    written: str
    since: float
    until: float
    entry: str
    value: float | None
    instrument: str


def key_of(reading: Reading) -> str:
    """The name of a physical reading: its own key at its thing, else its entry.

    A tone without a key that was heard alike at the same place, from the same source, on the same day is the same placement
    heard again: what bleeds over bleeds over each time, and proves no more.
    """
    measured = reading.measured
    if measured.quantity == "tone" and not measured.key:
        return f"{measured.subject.kind}:{measured.subject.key} {measured.written.casefold()} {reading.at.text[:10]}"
    return f"{measured.subject.kind}:{measured.subject.key} {measured.key or reading.entry}"


def lifted(reading: Reading) -> bool:
    """Whether the conditions of a reading say that nothing else touched."""
    return parse_conditions(reading.measured.evidence.conditions, wanted=Far.OPEN).alone


class Sources:
    """Instruments by one name: a piece of the kit where the words of a reading name it, else the words."""

    def __init__(self, ground: Ground) -> None:
        self._kits = [
            (str(k.ref), k.ref.tag.casefold(), k.text("style").casefold()) for k in ground.site.of_kind("kit")
        ]
        self._seen: dict[str, frozenset[str]] = {}

    def name(self, instrument: str) -> str:
        """The first piece of kit that is named, else the words as they stand."""
        words = " ".join(instrument.casefold().split())
        hits = [
            (words.find(word), ref) for ref, *names in self._kits for word in names if word and _word_in(word, words)
        ]
        styles = collections.Counter(ref for _, ref in hits)
        name = min(hits)[1] if hits else words
        self._seen[name] = self._seen.get(name, frozenset()) | frozenset(styles)
        return name

    def of_kit(self, ref: Ref) -> tuple[str, ...]:
        """The names under which readings with this piece of kit go."""
        return tuple(sorted(name for name, kits in self._seen.items() if str(ref) in kits))


def _word_in(word: str, words: str) -> bool:
    return f" {word} " in f" {words} "


@dataclasses.dataclass
class Listened:
    """All that was heard, as readings, and what else it says."""

    readings: list[read.Any] = dataclasses.field(default_factory=list)
    sent: list[Sent] = dataclasses.field(default_factory=list)
    between: list[Between] = dataclasses.field(default_factory=list)
    not_used: list[NotUsed] = dataclasses.field(default_factory=list)


def placements(ground: Ground) -> tuple[Placement, ...]:
    """Everything that was placed, with until when it stayed."""
    events = [r for r in ground.site.readings if r.measured.quantity in PLACED]
    events.sort(key=lambda r: (moment(r.at), r.measured.quantity, str(r.measured.subject), r.measured.written))
    found = []
    for event in events:
        measured = event.measured
        if measured.sign == "none":
            continue
        since, spot = moment(event.at), ground.spot(measured.subject)
        ends = [moment(e.at) for e in events if e is not event and _ends(ground, event, e, since)]
        found.append(
            Placement(
                spot,
                measured.quantity,
                measured.written,
                since,
                min(ends, default=math.inf),
                event.entry,
                measured.value_si,
                measured.evidence.instrument,
            )
        )
    return tuple(found)


def _ends(ground: Ground, event: Reading, later: Reading, since: float) -> bool:
    """Whether a later event ends a placement: the same kind at the same spot, or the same remote elsewhere."""
    one, other = event.measured, later.measured
    if one.quantity != other.quantity or moment(later.at) <= since:
        return False
    same_place = ground.spot(one.subject) == ground.spot(other.subject)
    same_remote = one.quantity == "remote placed" and other.sign != "none" and one.value_si == other.value_si
    return same_place or same_remote


def active(placed: Sequence[Placement], quantity: str, *, at: float) -> list[Placement]:
    """What was in place at a moment; what was taken off at the very moment counts as still there."""
    return [p for p in placed if p.quantity == quantity and p.since <= at <= p.until]


class Ear:
    """Turns readings of the record into readings of the engine."""

    def __init__(self, ground: Ground, blocks: Blocks, placed: Sequence[Placement], sources: Sources) -> None:
        self.ground, self.blocks, self.placed, self.sources = ground, blocks, placed, sources
        self.found = Listened()

    def listen(self) -> Listened:
        """All tones, remotes, words, shorts and checks, in the order of the record."""
        kinds = {"tone": self._tone, "remotes heard": self._remotes, "word read": self._word, "continuity": self._short}
        for reading in self.ground.site.readings:
            if heard := kinds.get(reading.measured.quantity):
                try:
                    heard(reading)
                except (BadTone, BadName):
                    self._drop(reading, "unread")
        self.found.readings += self._checks()
        return self.found

    def _drop(self, reading: Reading, why: str) -> None:
        self.found.not_used.append(NotUsed(reading.entry, why))

    def _about(self, reading: Reading, source: str = "") -> dict[str, object]:
        name = source or self.sources.name(reading.measured.evidence.instrument)
        return {"key": key_of(reading), "because": (reading.entry,), "source": name, "when": moment(reading.at)}

    def _opened(self, ends: Iterable[int], reading: Reading, *, isolated: bool = False) -> frozenset[int]:
        refs = [self.ground.ends[e] for e in ends]
        return self.blocks.opened(refs, at=moment(reading.at), lifted=isolated or lifted(reading))

    def _tone(self, reading: Reading) -> None:
        tone = parse_tone(reading.measured.written)
        here, there = self.ground.spot(reading.measured.subject), self.ground.spot(tone.source)
        if tone.level is None:
            return
        if tone.over:
            self._bundle(reading, tone, here, there)
        elif here.outlet is not None and there.outlet is not None:
            self._drop(reading, "between outlets")
        elif here.outlet is not None or there.outlet is not None:
            outlet, end = (here.outlet, there) if here.outlet is not None else (there.outlet, here)
            if end.end is None:
                self._drop(reading, self._why(end))
            else:
                self._of_outlet(reading, tone, outlet, end.end)
        elif here.end is not None and there.end is not None:
            a, b = self.ground.ends[here.end], self.ground.ends[there.end]
            self.found.between.append(Between(a, b, tone.level, True, tone.isolated, tone.confirmed, (reading.entry,)))
        elif (here.end is None) != (there.end is None):
            near, far = (here, there) if here.end is not None else (there, here)
            self._away(reading, tone, near, far)
        else:
            self._drop(reading, self._why(here))

    def _why(self, spot: Spot) -> str:
        return "untraced" if spot.other in self.ground.out else "no thing"

    def _away(self, reading: Reading, tone: Tone, near: Spot, far: Spot) -> None:
        if near.end is None or far.other is None or far.other in self.ground.out or tone.level is None:
            self._drop(reading, self._why(far))
            return
        end = self.ground.ends[near.end]
        self.found.sent.append(Sent(end, far.other, tone.level, tone.confirmed, (reading.entry,)))

    def _of_outlet(self, reading: Reading, tone: Tone, outlet: int | None, end: int) -> None:
        assert outlet is not None and tone.level is not None
        opened = self._opened([end], reading, isolated=tone.isolated)
        about: dict[str, object] = {**self._about(reading), "opened": opened}
        self.found.readings.append(_made(read.Tone, about, outlet=outlet, end=end, level=tone.level))
        if tone.confirmed and tone.level:
            seen = {**about, "source": ""}
            self.found.readings.append(_made(read.Short, seen, outlets=frozenset((outlet,)), end=end, closed=True))

    def _bundle(self, reading: Reading, tone: Tone, here: Spot, there: Spot) -> None:
        outlets = {s.outlet for s in (here, there) if s.outlet is not None}
        spots = [self.ground.spot(ref) for ref in tone.over]
        ends = frozenset(s.end for s in spots if s.end is not None)
        if len(outlets) != 1 or not ends or tone.level is None:
            why = "untraced" if any(s.other in self.ground.out for s in spots) else "no thing"
            self._drop(reading, why)
            return
        about = {**self._about(reading), "opened": self._opened(ends, reading)}
        self.found.readings.append(_made(read.Bundle, about, outlet=outlets.pop(), ends=ends, level=tone.level))

    def _remotes(self, reading: Reading) -> None:
        heard = parse_heard(reading.measured.written)
        here, at = self.ground.spot(reading.measured.subject), moment(reading.at)
        if here.other is not None:
            self._drop(reading, self._why(here))
            return
        on = {int(p.value or 0): p for p in active(self.placed, "remote placed", at=at)}
        used = False
        for number in sorted(heard.numbers | (heard.of or frozenset())):
            where = on.get(number)
            hit = number in heard.numbers
            if where is not None and (where.spot.other is None):
                used |= self._remote(reading, number, here, where, hit)
        if not used:
            self._drop(reading, "nothing placed")

    def _remote(self, reading: Reading, number: int, here: Spot, where: Placement, hit: bool) -> bool:
        outlet = here.outlet if here.outlet is not None else where.spot.outlet
        end = here.end if here.end is not None else where.spot.end
        about = self._about(reading, f"remote {number}")
        because = (reading.entry, where.entry)
        if outlet is not None and end is not None:
            opened = self._opened([end], reading)
            more = {**about, "key": f"{about['key']} {number}", "opened": opened, "because": because}
            self.found.readings.append(_made(read.Remote, more, outlet=outlet, end=end, hit=hit))
        elif here.end is not None and where.spot.end is not None and here.end != where.spot.end:
            a, b = self.ground.ends[here.end], self.ground.ends[where.spot.end]
            self.found.between.append(Between(a, b, 2 if hit else 0, True, lifted(reading), hit, because))
        else:
            return False
        return True

    def _word(self, reading: Reading) -> None:
        heard = parse_heard(reading.measured.written, what="word read")
        here, at = self.ground.spot(reading.measured.subject), moment(reading.at)
        on = [p for p in active(self.placed, "word placed", at=at) if p.spot.end is not None]
        if here.outlet is None or not on:
            self._drop(reading, "nothing placed" if here.outlet is not None else self._why(here))
            return
        pairs = sorted(heard.of or heard.numbers)
        words = {p.spot.end: sum(1 << k for k, pair in enumerate(pairs) if pair in parse_placed(p.written)) for p in on}
        bits = sum(1 << k for k, pair in enumerate(pairs) if pair in heard.numbers)
        opened = self._opened([e for e in words if e is not None], reading)
        because = (reading.entry, *(p.entry for p in on))
        about = {**self._about(reading), "opened": opened, "because": because}
        self.found.readings.append(
            _made(read.Plugs, about, outlet=here.outlet, words=words, pairs=len(pairs), bits=bits)
        )

    def _short(self, reading: Reading) -> None:
        said = parse_continuity(reading.measured.written)
        here, at = self.ground.spot(reading.measured.subject), moment(reading.at)
        on = [p for p in active(self.placed, "short placed", at=at) if p.spot.outlet is not None]
        named = [self.ground.spot(ref).outlet for ref in said.shorted]
        outlets = frozenset(o for o in (named or [p.spot.outlet for p in on]) if o is not None)
        if here.end is None or not outlets:
            self._drop(reading, "nothing placed" if here.end is not None else self._why(here))
            return
        because = (reading.entry, *(p.entry for p in on if not named or p.spot.outlet in outlets))
        about = {**self._about(reading), "opened": self._opened([here.end], reading), "because": because}
        self.found.readings.append(_made(read.Short, about, outlets=outlets, end=here.end, closed=said.closed))

    def _checks(self) -> Iterator[read.Checked]:
        """Instruments tried on themselves, under every name that readings with them bear."""
        for reading in self.ground.site.readings:
            measured = reading.measured
            if measured.quantity != "self-check":
                continue
            kit = measured.subject
            names = (
                self.sources.of_kit(kit) if kit.kind == "kit" else (self.sources.name(measured.evidence.instrument),)
            )
            for name in names:
                yield read.Checked(
                    key=f"{key_of(reading)} {name}",
                    because=(reading.entry,),
                    source=name,
                    when=moment(reading.at),
                    works=bool(measured.value_si),
                )


def _made(kind: type[read.Any], about: Mapping[str, object], **more: object) -> read.Any:
    made: read.Any = kind(**{**about, **more})  # type: ignore[arg-type]
    return made


def alike(readings: Iterable[read.Any], ground: Ground) -> Iterator[tuple[Ref, Ref, tuple[str, ...]]]:
    """Closet ends at which one outlet was loud, or its remote read: they may be joined out of sight."""
    heard: dict[int, dict[int, tuple[str, ...]]] = collections.defaultdict(dict)
    for one in readings:
        hit = isinstance(one, read.Tone) and one.level == 2 or isinstance(one, read.Remote) and one.hit
        if hit and isinstance(one, read.Tone | read.Remote):
            heard[one.outlet].setdefault(one.end, one.because)
    for ends in heard.values():
        order = sorted(ends)
        for n, a in enumerate(order):
            for b in order[n + 1 :]:
                yield ground.ends[a], ground.ends[b], (*ends[a], *ends[b])


def joinings(found: Sequence[Between], ground: Ground, blocks: Blocks) -> Iterator[read.JoinLeaning]:
    """What tones from end to end say of these two being joined; for two that may be joined at all."""
    noise, seen = assumed_noise(), weights()
    for n, one in enumerate(found):
        a, b = sorted((one.a, one.b))
        number = blocks.number.get(a)
        if number is None or number != blocks.number.get(b):
            continue
        by_hand = all(t.how in BY_HAND for t in blocks.all[number].touches)
        if one.isolated and by_hand:
            continue  # the clip was off: says nothing of what it joins
        beside = seen["beside_by_chance"]
        apart = beside * noise.beside[one.level] + (1 - beside) * noise.far[one.level]
        log_odds = math.log(noise.on[one.level] / apart)
        if one.confirmed and one.level:
            log_odds += math.log(noise.pair_hit / noise.pair_false)
        yield read.JoinLeaning(
            key=f"between {a} {b} {n} {' '.join(one.because)}",
            a=ground.end_number[a],
            b=ground.end_number[b],
            log_odds=log_odds,
            because=one.because,
        )


def direct(found: Iterable[Between]) -> Iterator[tuple[Ref, Ref, tuple[str, ...]]]:
    """Ends between which something was heard."""
    return ((one.a, one.b, one.because) for one in found if one.level)


def rings_heard(found: Iterable[Between], touches: Iterable[Touch]) -> tuple[Touch, ...]:
    """Touches as they are known after tones from end to end: heard while one was off the block, it is no clip."""
    proved = {frozenset((one.a, one.b)) for one in found if one.isolated and one.level}
    return tuple(dataclasses.replace(t, how=Joined.RING) if t.ends in proved else t for t in touches)
