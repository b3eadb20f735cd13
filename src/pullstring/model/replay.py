"""From the record to the site: one fold over the entries in their order, that depends on nothing but the set of entries.

Steps: leave out what was struck out and what the two dates exclude; resolve names (aliases, re-tagging); collect values,
claims, readings and acts; keep the values nobody wrote over.
"""

from __future__ import annotations

import collections
import dataclasses
import datetime as dt
import functools
import re
from collections.abc import Callable, Iterable, Mapping

from pullstring.model import acts
from pullstring.model.asbuilt import Account, Claim, Done, Field, Reading, Saying, Site, Thing
from pullstring.model.columns import kinds
from pullstring.model.counting import aliases, known, readable, splits, struck, was_so
from pullstring.model.entries import Claimed, Did, Entry, Measured, Noted, Scalar, many_made
from pullstring.model.grades import grade
from pullstring.model.refs import PARTS, REF_JOIN, BadName, Ref, parse_ref
from pullstring.model.swap import swapped
from pullstring.model.when import FIRST, parse_when

ONE_TO_ONE = frozenset({"other_end", "ends_at", "plugged", "fed_by"})
_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)
ITSELF = "*"  # pseudo-field: that the thing exists


@dataclasses.dataclass(slots=True)
class _Value:
    account: Account
    over: tuple[str, ...]
    under: tuple[str, ...]


@dataclasses.dataclass
class _Board:
    """What the fold has gathered so far."""

    names: dict[Ref, Ref]
    values: dict[tuple[Ref, str], list[_Value]] = dataclasses.field(
        default_factory=lambda: collections.defaultdict(list)
    )
    said: dict[Ref, list[str]] = dataclasses.field(default_factory=lambda: collections.defaultdict(list))
    sayings: dict[tuple[Ref, str, Ref], list[Saying]] = dataclasses.field(
        default_factory=lambda: collections.defaultdict(list)
    )
    objects: dict[tuple[Ref, str], dict[Ref, None]] = dataclasses.field(
        default_factory=lambda: collections.defaultdict(dict)
    )
    ends_of: dict[str, dict[Ref, None]] = dataclasses.field(default_factory=lambda: collections.defaultdict(dict))
    placed: set[tuple[Ref, str]] = dataclasses.field(default_factory=set)
    shaken: dict[tuple[Ref, str], dt.datetime] = dataclasses.field(default_factory=dict)
    fresh: dict[tuple[Ref, str], set[Ref]] = dataclasses.field(default_factory=lambda: collections.defaultdict(set))
    readings: list[Reading] = dataclasses.field(default_factory=list)
    done: list[Done] = dataclasses.field(default_factory=list)
    tags: dict[Ref, Ref] = dataclasses.field(default_factory=dict)
    moved: dict[str, Ref] = dataclasses.field(default_factory=dict)

    def say(self, subject: Ref, relation: str, other: Ref, saying: Saying) -> None:
        """One more statement on a claim; what is found after an act nearby is fresh."""
        shaken = self.shaken.get((subject, relation))
        if shaken is not None and saying.at.latest >= shaken:
            self.fresh[subject, relation].add(other)
        self.sayings[subject, relation, other].append(saying)
        self.objects[subject, relation][other] = None

    def parts_of(self, subject: Ref) -> list[Ref]:
        """The ends of a cable, on which what is done to it shakes what was found."""
        if subject.kind != "cable":
            return []
        return [
            r for r in self.ends_of.get(str(subject), ()) if self.values[r, "cable"][-1].account.value == str(subject)
        ]

    def resolve(self, ref: Ref) -> Ref:
        """The thing that now bears this tag, aliases followed."""
        if not self.names and not self.tags:
            return ref
        seen = set()
        while ref not in seen:
            seen.add(ref)
            ref = _named(ref, self.names)
        return _named(ref, self.tags)


def _named(ref: Ref, names: Mapping[Ref, Ref]) -> Ref:
    """The reference under its other name, if it has one; a pair, port or row follows what holds it."""
    if ref in names:
        return names[ref]
    head = ref.parent_tag if names else None
    if not head or not head.strip():
        return ref
    parent = Ref(PARTS[ref.kind], head.strip())
    holder = names.get(parent, parent)
    return ref if holder == parent else Ref(ref.kind, holder.tag + ref.tag[len(head) :])


@functools.cache
def _ref_fields() -> frozenset[tuple[str, str]]:
    """Kind and column of the fields that name other things."""
    return frozenset((k, c.name) for k, t in kinds().items() for c in t.columns if c.names_things)


def _renamed(value: Scalar, kind: str, name: str, rename: Callable[[Ref], Ref]) -> Scalar:
    """The value of a field with the things it names renamed; any other value, or one nobody can read, as it is."""
    if not isinstance(value, str) or (kind, name) not in _ref_fields():
        return value
    try:
        refs = [parse_ref(part) for part in value.split(REF_JOIN)]
    except BadName:
        return value
    new = [rename(ref) for ref in refs]
    return value if new == refs else REF_JOIN.join(map(str, new))


@many_made()
def replay(entries: Iterable[Entry], *, today: str, as_of: str | None = None, known_by: str | None = None) -> Site:
    """The as-built site from a set of entries.

    Parameters
    ----------
    entries : iterable of Entry
        In any order; entries with one id count once.
    today : str
        Day of the question, for staleness.
    as_of, known_by : str or None
        See `Request`.
    """
    ordered = sorted({e.id: e for e in entries}.values(), key=lambda e: e.order)
    kept_by = known(ordered, known_by)
    gone = struck(kept_by)
    kept = [e for e in kept_by if e.id not in gone and was_so(e, as_of) and readable(e)]
    board = _Board(aliases(kept), moved=splits(kept))
    for entry in kept:
        _take(board, entry)
    moment = parse_when(as_of or today).latest
    labels = _labels(board)
    things = {thing.ref: thing for thing in _things(board, labels)}
    return Site(
        things=dict(sorted(things.items())),
        claims=_claims(board, labels, moment),
        readings=tuple(_relabelled_reading(r, labels) for r in board.readings),
        done=tuple(_relabelled_act(d, labels) for d in board.done),
        twice_made=_twice_made(board, labels),
        moment=as_of or today,
        other_names={name: _named(board.resolve(name), labels) for name in (*board.names, *labels)},
        as_of=as_of,
        known_by=known_by,
    )


def _take(board: _Board, entry: Entry) -> None:
    body = entry.body
    if isinstance(body, Noted):
        ref = board.resolve(board.moved.get(entry.id, body.subject))
        board.said[ref].append(entry.id)
        fields: Mapping[str, Scalar] = {
            **body.fields,
            **({ITSELF: _own(body)} if body.new or ITSELF in body.over else {}),
        }
        for name, told in fields.items():
            value = _renamed(told, ref.kind, name, board.resolve) if board.names or board.tags else told
            account = Account(value, entry.id, body.evidence, entry.at, entry.order)
            board.values[ref, name].append(_Value(account, body.over.get(name, ()), body.under.get(name, ())))
            if name == "cable":
                board.ends_of[str(value)][ref] = None
    elif isinstance(body, Claimed):
        subject, other = board.resolve(board.moved.get(entry.id, body.subject)), board.resolve(body.object)
        board.say(subject, body.relation, other, Saying(body.holds, body.evidence, entry.id, entry.at, body.detail))
        board.said[subject].append(entry.id)
    elif isinstance(body, Measured):
        subject = board.resolve(board.moved.get(entry.id, body.subject))
        if not body.key or (subject, body.key) not in board.placed:
            board.placed.add((subject, body.key))
            body = body if subject is body.subject else dataclasses.replace(body, subject=subject)
            board.readings.append(Reading(body, entry.id, entry.at))
        board.said[subject].append(entry.id)
    elif isinstance(body, Did):
        _act(board, entry, body)


def _own(body: Noted) -> str:
    """The tag under which a thing was made: two people who make one tag may mean two things, an alias says one."""
    return f"{body.subject.kind}:{body.subject.key}"


def _act(board: _Board, entry: Entry, body: Did) -> None:
    row = acts.ACTS.get(body.act)
    if row is None:  # an act of a newer program: kept in the record, without effect here
        return
    subject = board.resolve(board.moved.get(entry.id, body.subject))
    other = board.resolve(body.object) if body.object else None
    board.said[subject].append(entry.id)
    if body.act == "re-tag":
        _retag(board, {Ref(subject.kind, str(body.values["to"])): subject})
    elif body.act == "exchange tags" and body.object is not None and other is not None and not body.values.get("from"):
        _retag(board, {body.object: subject, body.subject: other})
    elif body.act == "swap" and other is not None:
        _swap(board, entry, body, subject, other)
    for effect in row.effects:
        _effect(board, entry, body, effect, subject, other)
    for shaken in (subject, *board.parts_of(subject), *([other] if other and row.effects else [])):
        for relation in row.stale:
            board.shaken[shaken, relation] = entry.at.earliest
            board.fresh.pop((shaken, relation), None)
    board.done.append(Done(body.act, subject, other, entry.id, entry.at))


def _swap(board: _Board, entry: Entry, body: Did, new: Ref, old: Ref) -> None:
    def set_field(ref: Ref, name: str, value: Scalar) -> None:
        earlier = tuple(v.account.entry for v in board.values[ref, name])
        account = Account(value, entry.id, body.evidence, entry.at, entry.order)
        board.values[ref, name].append(_Value(account, earlier, ()))
        board.said[ref].append(entry.id)

    def value_of(ref: Ref, name: str) -> Scalar:
        values = board.values.get((ref, name))
        return _heads(values)[-1].value if values else None

    swapped(board.sayings, board.say, set_field, value_of, entry=entry, body=body, new=new, old=old)


def _retag(board: _Board, bears: dict[Ref, Ref]) -> None:
    for tag, thing in bears.items():
        board.tags.pop(tag, None)  # the last word on a thing's tag stands last
        board.tags[tag] = thing


def _effect(board: _Board, entry: Entry, body: Did, effect: acts.Effect, subject: Ref, other: Ref | None) -> None:
    if effect.sets:
        value = effect.value.format_map({**body.values, "object": other})
        earlier = tuple(v.account.entry for v in board.values[subject, effect.sets])
        board.values[subject, effect.sets].append(
            _Value(Account(value, entry.id, body.evidence, entry.at, entry.order), earlier, ())
        )
    if effect.drops:
        for what in board.objects[subject, effect.drops]:
            if effect.drops in ONE_TO_ONE or what == other:
                board.sayings[subject, effect.drops, what] = []
        if (
            other is not None
            and effect.drops in ("joined", "plugged")
            and (other, effect.drops, subject) in board.sayings
        ):
            board.sayings[other, effect.drops, subject] = []  # said the other way round
    if effect.makes and other is not None:
        board.say(subject, effect.makes, other, Saying(True, body.evidence, entry.id, entry.at, ""))
        board.shaken.pop((subject, effect.makes), None)


def _labels(board: _Board) -> dict[Ref, Ref]:
    """The tag that each thing bears at the end: for re-tagged things the new one.

    A tag that another thing bears and keeps is not given twice: both things stay, the re-tagged one under its old tag.
    """
    labels = {thing: tag for tag, thing in board.tags.items()}
    made = {ref for ref, _ in board.values}
    return {thing: tag for thing, tag in labels.items() if tag not in made or tag in labels}


def _heads(values: list[_Value]) -> tuple[Account, ...]:
    present = {v.account.entry for v in values}
    beaten = {entry for v in values for entry in v.over}
    beaten |= {v.account.entry for v in values if present & set(v.under)}
    return tuple(v.account for v in values if v.account.entry not in beaten) or (values[-1].account,)


def _things(board: _Board, labels: Mapping[Ref, Ref]) -> Iterable[Thing]:
    by_thing: dict[Ref, dict[str, Field]] = collections.defaultdict(dict)
    made: dict[Ref, Account] = {}
    for (ref, name), values in board.values.items():
        if name != ITSELF:
            by_thing[ref][name] = Field(_heads(values))
        else:
            by_thing.setdefault(ref, {})
            made[ref] = values[0].account
    for ref, fields in by_thing.items():
        if labels:
            fields = {name: _relabelled_field(ref.kind, name, field, labels) for name, field in fields.items()}
        said = tuple(dict.fromkeys(board.said[ref]))
        yield Thing(_named(ref, labels), dict(sorted(fields.items())), said, made.get(ref))


def _relabelled_field(kind: str, name: str, field: Field, labels: Mapping[Ref, Ref]) -> Field:
    return Field(
        tuple(
            dataclasses.replace(h, value=_renamed(h.value, kind, name, lambda r: _named(r, labels)))
            for h in field.heads
        )
    )


def _relabelled_reading(reading: Reading, labels: Mapping[Ref, Ref]) -> Reading:
    subject = _named(reading.measured.subject, labels)
    if subject == reading.measured.subject:
        return reading
    return dataclasses.replace(reading, measured=dataclasses.replace(reading.measured, subject=subject))


def _relabelled_act(done: Done, labels: Mapping[Ref, Ref]) -> Done:
    other = _named(done.object, labels) if done.object else None
    return dataclasses.replace(done, subject=_named(done.subject, labels), object=other)


def _twice_made(board: _Board, labels: Mapping[Ref, Ref]) -> dict[Ref, tuple[str, ...]]:
    """Things whose tag was given by two writers who did not know of each other."""
    found: dict[Ref, tuple[str, ...]] = {}
    for ref, heads in sorted((r, _heads(v)) for (r, name), v in board.values.items() if name == ITSELF):
        tags = [h.value for h in heads]
        twice = tuple(h.entry for h in heads if tags.count(h.value) > 1)
        if twice:
            found[_named(ref, labels)] = twice
    return found


def _claims(board: _Board, labels: Mapping[Ref, Ref], moment: dt.datetime) -> tuple[Claim, ...]:
    claims = []
    for (subject, relation, other), sayings in board.sayings.items():
        if sayings and relation != "alias_of":
            stale = (subject, relation) in board.shaken and other not in board.fresh.get((subject, relation), ())
            claims.append(_claim(_named(subject, labels), relation, _named(other, labels), sayings, stale, moment))
    strongest: dict[tuple[Ref, str], list[Claim]] = collections.defaultdict(list)
    for claim in claims:
        if claim.relation in ONE_TO_ONE and claim.support:
            strongest[claim.subject, claim.relation].append(claim)
    return tuple(
        sorted(
            (_against_others(claim, strongest[claim.subject, claim.relation]) for claim in claims),
            key=lambda c: (c.subject, c.relation, c.object),
        )
    )


def _claim(
    subject: Ref,
    relation: str,
    other: Ref,
    sayings: list[Saying],
    shaken: bool,
    moment: dt.datetime,
) -> Claim:
    best = {
        holds: max(
            (s for s in sayings if s.holds is holds),
            key=lambda s: (grade(s.evidence.grade).rank, s.at.earliest),
            default=None,
        )
        for holds in (True, False)
    }
    yes, no = best[True], best[False]
    strongest = yes or no
    assert strongest is not None
    age = grade(strongest.evidence.grade).stale_after_days
    since = (
        strongest.at.earliest if strongest.at.earliest != FIRST else strongest.at.latest
    )  # undated: as it was entered
    old = age is not None and moment - since > dt.timedelta(days=age)
    denied = yes is not None and no is not None and grade(no.evidence.grade).rank >= grade(yes.evidence.grade).rank
    return Claim(
        subject,
        relation,
        other,
        support=yes.evidence.grade if yes else None,
        against=no.evidence.grade if no else None,
        entries=tuple(s.entry for s in sayings),
        at=strongest.at,
        stale=shaken or old,
        contradicted=denied,
        sayings=tuple(sayings),
    )


def _pair(claim: Claim) -> int:
    """The pair that a claim of an end on a row speaks of: the one it names, else the first."""
    named = _PAIR.search(" ".join(s.detail for s in claim.sayings))
    return int(named[1]) if named else 1


def _against_others(claim: Claim, rivals: list[Claim]) -> Claim:
    if claim.support is None:
        return claim
    rivals = [r for r in rivals if r.object.kind != "row" or claim.object.kind != "row" or _pair(r) == _pair(claim)]
    rank = grade(claim.support).rank
    beaten = any(r.object != claim.object and r.support and grade(r.support).rank >= rank for r in rivals)
    return dataclasses.replace(claim, contradicted=True) if beaten else claim
