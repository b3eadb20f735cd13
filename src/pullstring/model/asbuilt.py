"""The as-built site: what replay of the record gives. Frozen; computed anew each time, never written back."""

from __future__ import annotations

import collections
import dataclasses
import functools
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeVar, cast

from pullstring.model.entries import Evidence, Measured, Scalar
from pullstring.model.grades import grade
from pullstring.model.refs import REF_JOIN, BadName, Ref, parse_ref
from pullstring.model.when import When

W = TypeVar("W", bound=Callable[..., Any])


def once_a_site(work: W) -> W:
    """Work out a function of a site (and of named options) once for each site; kept beside the facts, never in them."""

    @functools.wraps(work)
    def kept(site: Site, **options: Any) -> Any:
        key = (work, *sorted(options.items()))
        if key not in site.worked_out:
            site.worked_out[key] = work(site, **options)
        return site.worked_out[key]

    return cast(W, kept)


@dataclasses.dataclass(frozen=True, slots=True)
class Account:
    """One value of a field as somebody gave it, with the entry it stands in."""

    value: Scalar
    entry: str
    evidence: Evidence
    at: When
    order: tuple[int, str, int, str] = (0, "", 0, "")


@dataclasses.dataclass(frozen=True, slots=True)
class Saying:
    """One statement for or against a claim."""

    holds: bool
    evidence: Evidence
    entry: str
    at: When
    detail: str = ""


@dataclasses.dataclass(frozen=True, slots=True)
class Field:
    """A field with all values that nobody wrote over, the last in order effective."""

    heads: tuple[Account, ...]

    @property
    def last(self) -> Account:
        """The effective account."""
        return self.heads[-1]

    @property
    def disputed(self) -> bool:
        """True when the heads differ: two accounts."""
        return len({repr(h.value) for h in self.heads}) > 1


@dataclasses.dataclass(frozen=True)
class Thing:
    """One thing with its fields, the entries that speak of it, and the account by which it was made."""

    ref: Ref
    fields: Mapping[str, Field]
    entries: tuple[str, ...]
    made: Account | None = None

    def get(self, name: str) -> Scalar:
        """The effective value of a field; None when it was never said, 'none' when said to be none."""
        found = self.fields.get(name)
        return found.last.value if found else None

    def text(self, name: str) -> str:
        """The effective value as text; empty when not said."""
        value = self.get(name)
        return "" if value is None else str(value)

    def number(self, name: str) -> float | None:
        """The effective value as a number; None when not said, said to be none, or no number."""
        value = self.get(name)
        return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None

    def ref_of(self, name: str) -> Ref | None:
        """The thing a field refers to, if any."""
        value = self.get(name)
        if not isinstance(value, str) or ":" not in value:
            return None
        try:
            return parse_ref(value)
        except BadName:
            return None

    def refs_of(self, name: str) -> tuple[Ref, ...]:
        """The things a field refers to, in the order written."""
        value = self.get(name)
        return tuple(parse_ref(p) for p in value.split(REF_JOIN)) if isinstance(value, str) and ":" in value else ()

    @property
    def stands(self) -> bool:
        """False for what was removed or is only planned."""
        return self.text("state") not in ("removed", "planned")


@dataclasses.dataclass(frozen=True, slots=True)
class Claim:
    """What is said of two things, for and against, since the last act on the subject that touched it."""

    subject: Ref
    relation: str
    object: Ref
    support: str | None
    against: str | None
    entries: tuple[str, ...]
    at: When
    stale: bool
    contradicted: bool
    sayings: tuple[Saying, ...] = ()

    @property
    def status(self) -> str:
        """'holds', 'contradicted', 'stale' or 'ruled out'."""
        if self.support is None:
            return "ruled out"
        return "contradicted" if self.contradicted else "stale" if self.stale else "holds"


@dataclasses.dataclass(frozen=True, slots=True)
class Reading:
    """One measured value with its entry."""

    measured: Measured
    entry: str
    at: When


@dataclasses.dataclass(frozen=True, slots=True)
class Done:
    """One act as it was done."""

    act: str
    subject: Ref
    object: Ref | None
    entry: str
    at: When


@dataclasses.dataclass(frozen=True)
class Site:
    """All that the record says, as of one date and as known by one moment; `moment` is the day that ages count to."""

    things: Mapping[Ref, Thing]
    claims: tuple[Claim, ...]
    readings: tuple[Reading, ...]
    done: tuple[Done, ...]
    twice_made: Mapping[Ref, tuple[str, ...]]
    moment: str
    other_names: Mapping[Ref, Ref] = dataclasses.field(default_factory=dict)
    as_of: str | None = None
    known_by: str | None = None

    @functools.cached_property
    def worked_out(self) -> dict[tuple[Any, ...], Any]:
        """What functions of this site gave; see `once_a_site`."""
        return {}

    @functools.cached_property
    def _claims_by(self) -> Mapping[tuple[Ref | str, str], Sequence[Claim]]:
        found: dict[tuple[Ref | str, str], list[Claim]] = collections.defaultdict(list)
        for claim in self.claims:
            found[claim.subject, "subject"].append(claim)
            found[claim.object, "object"].append(claim)
            found[claim.relation, "relation"].append(claim)
        return found

    @functools.cached_property
    def _by_kind(self) -> Mapping[str, Sequence[Thing]]:
        found: dict[str, list[Thing]] = collections.defaultdict(list)
        for ref, thing in self.things.items():
            found[ref.kind].append(thing)
        return found

    @functools.cached_property
    def ends_by_cable(self) -> Mapping[Ref, Sequence[Thing]]:
        """The recorded ends of each cable, standing or not, in order."""
        found: dict[Ref, list[Thing]] = collections.defaultdict(list)
        for end in self.of_kind("end"):
            if cable := end.ref_of("cable"):
                found[cable].append(end)
        return found

    def of_kind(self, kind: str) -> Iterator[Thing]:
        """All things of a kind, in order of their compared tags."""
        return iter(self._by_kind[kind])

    def get(self, ref: Ref | None) -> Thing | None:
        """A thing by its reference; None when nothing was noted of it."""
        return self.things.get(ref) if ref else None

    def about(
        self, *, subject: Ref | None = None, relation: str | None = None, object: Ref | None = None
    ) -> tuple[Claim, ...]:
        """Claims that are not ruled out and match what is given."""
        among: Sequence[Claim] = self.claims
        if subject is not None:
            among = self._claims_by[subject, "subject"]
        elif object is not None:
            among = self._claims_by[object, "object"]
        elif relation is not None:
            among = self._claims_by[relation, "relation"]
        return tuple(
            c
            for c in among
            if c.support is not None
            and (subject is None or c.subject == subject)
            and (relation is None or c.relation == relation)
            and (object is None or c.object == object)
        )

    def best(self, subject: Ref, relation: str) -> Claim | None:
        """The strongest claim of a relation on a subject; the last in order among equals."""
        found = self.about(subject=subject, relation=relation)
        return max(found, key=lambda c: (grade(c.support or "assumed").rank, c.at.latest, str(c.object)), default=None)

    @property
    def property_tag(self) -> str:
        """Code of the property, or '?' when none was noted."""
        return next((t.ref.tag for t in self.of_kind("property")), "?")

    @property
    def rule_set(self) -> str:
        """Name of the set of local rules, as the property's row has it, on one line; empty when none was noted, or `none` was."""
        noted = (" ".join(t.text("rule_set").split()) for t in self.of_kind("property"))
        return next((said for said in noted if said and said != "none"), "")
