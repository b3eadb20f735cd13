"""What stands behind the odds, in words: chances, and single entries of the record as one line each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Odds
from pullstring.papers import figures
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences_trace import STRENGTH

Facts = Mapping[str, Any]
NEARLY = 0.99
NONE_HERE = "no cable here"


def chance(odds: Facts | None) -> str:
    """`nearly certain`, `4 in 5`, `hardly possible`."""
    if not odds:
        return "–"
    value = float(odds["chance"])
    if value >= NEARLY:
        return "nearly certain"
    if value <= 1 - NEARLY:
        return "hardly possible"
    return figures.odds(Odds(value, bool(odds["assumed"])))


def tags(refs: Sequence[str]) -> str:
    """`ends E03, E04 and outlet O1`: the kind told once for all things of it."""
    kinds: dict[str, list[str]] = {}
    for ref in refs:
        kind, _, tag = ref.partition(":")
        kinds.setdefault(kind, []).append(tag)
    if len(kinds) == 1:
        return "".join(_of_kind(kind, listed(names)) for kind, names in kinds.items())
    return listed([_of_kind(kind, ", ".join(names)) for kind, names in kinds.items()])


def _of_kind(kind: str, names: str) -> str:
    if not names:
        return kind
    return f"{kind.replace('_', ' ')}{'s' if ',' in names or ' and ' in names else ''} {names}"


def bare(refs: Sequence[str]) -> str:
    """Tags alone, without their kind, for tables whose column names it."""
    return ", ".join(r.partition(":")[2] or r for r in refs)


def listed(words: Sequence[str], *, last: str = "and") -> str:
    """`a, b and c`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def upper(words: str) -> str:
    """A sentence's first letter; tags keep theirs."""
    return words[:1].upper() + words[1:]


def net(ends: Sequence[str]) -> str:
    """The ends of one net as a place where an outlet belongs."""
    return bare(ends).replace(", ", " + ") or NONE_HERE


def strength(weight: float) -> str:
    """How much an entry says, by the natural log of the odds that it moves."""
    return next(words for least, words in STRENGTH if abs(weight) >= least)


def entry(said: Facts) -> str:
    """One entry as a line: what was read, said or seen, where, and when."""
    what = _ENTRY.get(said["kind"], _note)(said)
    when = f", {figures.date(said['at'])}" if said["at"] and not said["at"].startswith("before ") else ""
    return f"{what}{when}"


def _reading(said: Facts) -> str:
    quantity, value, at = said["what"], said["value"], thing(said["subject"])
    more = f" ({said['conditions']})" if said["conditions"] else ""
    if quantity == "tone":
        return f"{_tone(value)} at {at}{more}"
    if quantity in _BY_QUANTITY:
        return _BY_QUANTITY[quantity].format(value=things(value), at=at) + more
    return f"{quantity} {things(value)} at {at}{more}"


_BY_QUANTITY = {
    "resistor placed": "{value} clipped on {at}",
    "resistance": "{value} read at {at}",
    "remote placed": "remote {value} put on {at}",
    "remotes heard": "remotes heard at {at}: {value}",
    "word placed": "pairs {value} shorted on {at}",
    "word read": "pairs closed at {at}: {value}",
    "short placed": "a short put on {at}",
    "continuity": "{at} read {value}",
    "self-check": "{at} tried on itself: {value}",
}


def _tone(value: str) -> str:
    """`loud from end:E12 isolated confirmed` as `loud tone from end E12, isolated and confirmed`."""
    words = value.split()
    care = [w for w in words if w.casefold() in ("isolated", "confirmed")]
    rest = [w for w in words if w not in care]
    level = " ".join(rest[:1])
    if level == "not":
        return f"tone not looked for {things(' '.join(rest[2:]))}".rstrip()
    said = {"none": "no tone", "faint": "faint tone", "loud": "loud tone"}.get(level.casefold(), f"tone {level}")
    return f"{said} {things(' '.join(rest[1:]))}" + (f", {listed(care)}" if care else "")


def _claim(said: Facts) -> str:
    plain = said["what"].replace("_", " ")
    relation = _RELATIONS.get(said["what"], (plain, f"not {plain}"))[0 if said["holds"] else 1]
    how = f", {said['method']}" if said["method"] else ""
    return f"{said['grade']}: {thing(said['subject'])} {relation} {thing(said['value'])}{how}"


_RELATIONS = {
    "goes_to": ("goes to", "does not go to"),
    "other_end": ("is the other end of", "is not the other end of"),
    "ends_at": ("ends at", "does not end at"),
    "plugged": ("is plugged into", "is not plugged into"),
    "joined": ("is joined with", "is not joined with"),
    "alias_of": ("is the same as", "is not the same as"),
    "carries": ("carries", "does not carry"),
}
"""What a claim says, and what it denies."""


def _note(said: Facts) -> str:
    how = f", {said['method']}" if said.get("method") else ""
    if not said["what"]:
        return f"what is noted of {thing(said['subject'])}{how}"
    name = said["what"].replace("_", " ")
    return f"{name} of {thing(said['subject'])}: {things(str(said['value']))}{how}"


def _act(said: Facts) -> str:
    to = f", {thing(said['value'])}" if said["value"] else ""
    return f"done: {said['what']} {thing(said['subject'])}{to}"


_ENTRY = {"reading": _reading, "claim": _claim, "note": _note, "act": _act}
