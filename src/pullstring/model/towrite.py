"""Between statements and the record: what is new in them, and what each replaces of what the writer saw."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.entries import Body, Claimed, Evidence, Measured, Noted
from pullstring.model.refs import Ref
from pullstring.model.tables import Statement
from pullstring.model.when import When, parse_when


def not_yet_said(site: Site, statements: Iterable[Statement], keys: frozenset[str]) -> list[Statement]:
    """Those statements that would change the site: unknown keys only, and only fields that say something new.

    Parameters
    ----------
    site : Site
        As the writer sees it.
    statements : iterable of Statement
        In the order of the tables.
    keys : frozenset of str
        Keys of statements already in the record; those add nothing, even if the site has moved on since.
    """
    fresh: list[Statement] = []
    made: set[object] = set()
    said = set(keys)
    for statement in statements:
        if statement.key in said:
            continue
        said.add(statement.key)
        body = _new_part(site, statement)
        if body is None:
            continue
        if isinstance(body, Noted):
            body = dataclasses.replace(body, new=body.subject not in site.things and body.subject not in made)
            made.add(body.subject)
        fresh.append(dataclasses.replace(statement, body=body))
    return fresh


def _new_part(site: Site, statement: Statement) -> Body | None:
    body, at = statement.body, parse_when(statement.at)
    if isinstance(body, Noted):
        thing = site.get(body.subject)
        if thing is None:
            return body
        fields = {n: v for n, v in body.fields.items() if not _same(thing, n, v, body, at)}
        return note(site, dataclasses.replace(body, fields=fields), at) if fields else None
    if isinstance(body, Claimed):
        said = _sayings(site).get((body.subject, body.relation, body.object), frozenset())
        return None if (body.holds, body.evidence, at, body.detail) in said else body
    if isinstance(body, Measured):
        return None if (body, at) in _readings(site) else body
    return body


@once_a_site
def _sayings(site: Site) -> dict[tuple[Ref, str, Ref], frozenset[tuple[bool, Evidence, When, str]]]:
    return {
        (c.subject, c.relation, c.object): frozenset((s.holds, s.evidence, s.at, s.detail) for s in c.sayings)
        for c in site.claims
    }


@once_a_site
def _readings(site: Site) -> frozenset[tuple[Measured, When]]:
    return frozenset((r.measured, r.at) for r in site.readings)


def _same(thing: Thing, name: str, value: object, body: Noted, at: When) -> bool:
    field = thing.fields.get(name)
    if field is None:
        return False
    return any((h.value, h.evidence, h.at) == (value, body.evidence, at) for h in field.heads)


def note(site: Site, body: Noted, at: When, *, past: bool = False) -> Noted:
    """A note as its writer would enter it: over the heads that were seen, or under them when it speaks of the past."""
    thing = site.get(body.subject)
    if thing is None:
        return dataclasses.replace(body, new=True)
    seen = {n: tuple(h.entry for h in thing.fields[n].heads) for n in body.fields if n in thing.fields}
    earlier = {n for n in seen if past and all(at.latest < h.at.earliest for h in thing.fields[n].heads)}
    return dataclasses.replace(
        body,
        new=False,
        over={n: e for n, e in seen.items() if n not in earlier},
        under={n: e for n, e in seen.items() if n in earlier},
    )
