"""The record's entries: six kinds of sentence a person can write about a site. Nothing else is ever stored.

Each is frozen and strict: loose input becomes strict once, in the constructor, and is not checked again.
`Noted` says what a thing is like, `Claimed` how two things hang together, `Measured` what an instrument showed, `Did` what was
changed, `Decided` what somebody with the right to do so agreed to, `StruckOut` that an earlier entry never was so.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import gc
import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from pullstring.model import grades
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.when import When, parse_when

ENTRY_SCHEMA = 1
Scalar = str | int | float | bool | None
NONE_SAID = "none"  # said to be none; a blank is not said and makes no value at all


class BadEntry(ValueError):
    """An entry is not one of the six kinds, or lacks what its kind needs."""


@dataclasses.dataclass(frozen=True, slots=True)
class Evidence:
    """Why we believe it: the grade, the method, under which conditions, with what, by whom. No silent default."""

    grade: str
    method: str = ""
    conditions: str = ""
    instrument: str = ""
    by: str = ""

    def __post_init__(self) -> None:
        if self.grade not in grades.grades():
            known = ", ".join(grades.grades())
            raise BadEntry(f"{self.grade!r} is no grade; a grade is one of {known}")


@dataclasses.dataclass(frozen=True, slots=True)
class Noted:
    """A person looked at a thing and wrote down what it is like.

    `over` names, per field, the entries the writer saw and replaces; `under` those the writer saw that came later on site
    (for a note about the past). `new` says that the writer's record did not hold the thing yet.
    """

    subject: Ref
    fields: Mapping[str, Scalar]
    evidence: Evidence
    over: Mapping[str, tuple[str, ...]] = dataclasses.field(default_factory=dict)
    under: Mapping[str, tuple[str, ...]] = dataclasses.field(default_factory=dict)
    new: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "fields", MappingProxyType(dict(self.fields)))
        for name in ("over", "under"):
            seen = {k: tuple(sorted(v)) for k, v in getattr(self, name).items() if v}
            object.__setattr__(self, name, MappingProxyType(seen))


@dataclasses.dataclass(frozen=True, slots=True)
class Claimed:
    """A person says that two things hang together, or that they do not (`holds` false)."""

    subject: Ref
    relation: str
    object: Ref
    holds: bool
    evidence: Evidence
    detail: str = ""


@dataclasses.dataclass(frozen=True, slots=True)
class Measured:
    """An instrument showed a value. `sign` is '=', '<', '>' or 'none'; `key` names the placement: same key, same reading."""

    subject: Ref
    quantity: str
    sign: str
    value_si: float | None
    unit_si: str
    written: str
    evidence: Evidence
    key: str = ""

    def __post_init__(self) -> None:
        if self.sign not in ("=", "<", ">", "none"):
            raise BadEntry(f"{self.sign!r} is no sign of a reading; it is one of = < > none")
        if (self.value_si is None) != (self.sign == "none"):
            raise BadEntry("a reading has a value, or the sign 'none' and no value")


@dataclasses.dataclass(frozen=True, slots=True)
class Did:
    """Somebody changed something. The act is a row of the act table, which knows its effect and its inverse."""

    act: str
    subject: Ref
    object: Ref | None
    values: Mapping[str, Scalar]
    evidence: Evidence

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))


@dataclasses.dataclass(frozen=True, slots=True)
class Decided:
    """Somebody with the right to decide accepted or refused items of a proposal, named by its hash."""

    proposal: str
    items: tuple[str, ...]
    accepted: bool
    role: str
    how: str


@dataclasses.dataclass(frozen=True, slots=True)
class StruckOut:
    """An earlier entry never was so; or, with `redacted`, its content was destroyed and only its hash is left."""

    entry: str
    why: str
    redacted: bool = False


Body = Noted | Claimed | Measured | Did | Decided | StruckOut


@dataclasses.dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the record with its envelope.

    Order of replay is (tick, device, n): a wrong clock and the order of arrival never matter. `at` is when it was true on
    site and may be vague; `wrote` is what the device's clock said.
    """

    id: str
    author: str
    device: str
    n: int
    tick: int
    at: When
    wrote: str
    body: Body
    visit: str = ""
    photos: tuple[str, ...] = ()
    key: str = ""
    schema: int = ENTRY_SCHEMA

    def __post_init__(self) -> None:
        if not self.id or not self.device or self.n < 1 or self.tick < 1:
            raise BadEntry("an entry needs an id, a device, and a count and a tick of one or more")

    @property
    def order(self) -> tuple[int, str, int, str]:
        """Key of replay; the id only parts entries that a broken device counted twice."""
        return (self.tick, self.device, self.n, self.id)


@contextlib.contextmanager
def many_made() -> Iterator[None]:
    """While tens of thousands of small values are made that hold no circles, the collector of circles only costs time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


_KINDS: dict[str, type[Any]] = {
    "noted": Noted,
    "claimed": Claimed,
    "measured": Measured,
    "did": Did,
    "decided": Decided,
    "struck_out": StruckOut,
}
_NAMES = {cls: name for name, cls in _KINDS.items()}


def to_json(entry: Entry) -> str:
    """The entry as one canonical JSON line: sorted keys, no spaces, so equal entries are equal bytes."""
    body = {f.name: _out(getattr(entry.body, f.name)) for f in dataclasses.fields(entry.body)}
    envelope = {f.name: _out(getattr(entry, f.name)) for f in dataclasses.fields(entry) if f.name != "body"}
    envelope["kind"] = _NAMES[type(entry.body)]
    return json.dumps({**envelope, "body": body}, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest(text: str) -> str:
    """SHA-256 of a canonical line, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def from_json(line: str) -> Entry:
    """Read one canonical line; raises BadEntry with one sentence when it is not an entry."""
    try:
        raw = json.loads(line)
        kind = _KINDS[raw.pop("kind")]
        body = kind(**{name: _in(name, value) for name, value in raw.pop("body").items()})
        raw["at"] = parse_when(raw["at"])
        raw["photos"] = tuple(raw.get("photos", ()))
        entry = Entry(body=body, **raw)
        _check_types(entry)
        _check_types(body)
        return entry
    except BadEntry:
        raise
    except ValueError as error:
        raise _no_entry(line, str(error)) from error
    except (KeyError, TypeError, AttributeError, RecursionError) as error:
        raise _no_entry(line, "a part of it is missing, unknown or of another form than it should be") from error


def _no_entry(line: str, why: str) -> BadEntry:
    """A refusal in our words, with the start of the line as it can be shown."""
    return BadEntry(f"this is no entry of a record ({why}); it starts with {_CONTROL.sub('?', line)[:60]!r}")


_CONTROL = re.compile(r"\\u00[01][0-9a-fA-F]")
_PLAIN: dict[str, type] = {"str": str, "int": int, "bool": bool}


@functools.cache
def _plain_fields(kind: type[Any]) -> tuple[tuple[str, type], ...]:
    return tuple((f.name, _PLAIN[str(f.type)]) for f in dataclasses.fields(kind) if str(f.type) in _PLAIN)


def _check_types(read: Any) -> None:
    """A line may come from any program: what should be a text, a whole number or a yes-or-no is one."""
    kind: Any = type(read)
    for name, wanted in _plain_fields(kind):
        value = getattr(read, name)
        if type(value) is not wanted:
            raise ValueError(f"{name} is {value!r:.40}; it must be of type {wanted.__name__}")
    for name in ("photos", "items"):
        if any(type(part) is not str for part in getattr(read, name, ())):
            raise ValueError(f"{name} holds what is no text")
    for name in ("over", "under"):
        if any(type(part) is not str for seen in getattr(read, name, {}).values() for part in seen):
            raise ValueError(f"{name} names what is no entry")
    for name in ("fields", "values"):
        if any(not isinstance(value, str | int | float | bool | None) for value in getattr(read, name, {}).values()):
            raise ValueError(f"{name} holds what is no text, number or yes-or-no")
    if isinstance(evidence := getattr(read, "evidence", None), Evidence):
        _check_types(evidence)


def _out(value: Any) -> Any:
    if isinstance(value, Ref):
        return str(value)
    if isinstance(value, When):
        return value.text
    if isinstance(value, Evidence):
        return {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {k: list(v) if isinstance(v, tuple) else v for k, v in value.items()}
    return list(value) if isinstance(value, tuple) else value


def _in(name: str, value: Any) -> Any:
    if name == "subject" or (name == "object" and value is not None):
        return parse_ref(value)
    if name == "evidence":
        return Evidence(**value)
    if name in ("over", "under"):
        return {k: tuple(v) for k, v in value.items()}
    if name in ("fields", "values") and not isinstance(value, dict):
        raise ValueError(f"{name} holds no names with what they say")
    return tuple(value) if name == "items" else value
