"""Sites that are only thought of: the record's site with some facts taken otherwise, for a question of what would be then.

Nothing here is ever written back. Every function of a site reads such a site as it reads any other.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from pullstring.model.asbuilt import Account, Claim, Field, Saying, Site, Thing
from pullstring.model.entries import Evidence, Scalar
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when


def noted(thing: Thing, moment: str, **said: Scalar) -> Thing:
    """The thing as if these fields were noted so."""
    at = parse_when(moment)
    fields = {name: Field((Account(value, "", Evidence("assumed"), at),)) for name, value in said.items()}
    return dataclasses.replace(thing, fields={**thing.fields, **fields})


def with_things(site: Site, things: Iterable[Thing]) -> Site:
    """The site with these things in place of those of the same name."""
    return dataclasses.replace(site, things={**site.things, **{t.ref: t for t in things}})


def with_field(site: Site, ref: Ref, **said: Scalar) -> Site:
    """The site as if these fields of one thing were noted so."""
    thing = site.get(ref) or Thing(ref, {}, ())
    return with_things(site, [noted(thing, site.moment, **said)])


def with_plugs(site: Site, *, drop: Iterable[Claim], add: Iterable[tuple[Ref, Ref]]) -> Site:
    """The site with some plugs pulled out and others put in."""
    gone = {id(c) for c in drop}
    at = parse_when(site.moment)
    new = [
        Claim(
            plug,
            "plugged",
            into,
            support="seen",
            against=None,
            entries=(),
            at=at,
            stale=False,
            contradicted=False,
            sayings=(Saying(True, Evidence("seen"), "", at),),
        )
        for plug, into in add
    ]
    return dataclasses.replace(site, claims=(*(c for c in site.claims if id(c) not in gone), *new))
