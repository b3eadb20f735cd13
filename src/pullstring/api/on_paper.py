"""What may stand on paper: paper is left behind, so no sealed value, key, code, person, empty season or private photograph does."""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING, Any

from pullstring.model.asbuilt import once_a_site
from pullstring.papers.sentences_book import NEVER

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Field, Site, Thing

LEFT_OUT = "(left out)"
"""Stands for a text that may tell a secret."""
PHONES = ("company", "role")
"""Whose telephone number prints, though numbers are private: of companies and roles, for whoever must call."""


@once_a_site
def printable_site(site: Site) -> Site:
    """The site as paper may know it; the same object when nothing had to be left out."""
    hidden = {t.ref for t in site.things.values() if t.ref.kind in NEVER or _private_photo(t)}
    things = {ref: _cleaned(thing) for ref, thing in site.things.items() if ref not in hidden}
    if not hidden and all(things[ref] is thing for ref, thing in site.things.items()):
        return site
    claims = tuple(c for c in site.claims if c.subject not in hidden and c.object not in hidden)
    return dataclasses.replace(site, things=things, claims=claims)


def printable(value: Any) -> Any:
    """Plain values of an answer with every text that may tell a secret left out."""
    if isinstance(value, str):
        return LEFT_OUT if _tells(value) else value
    if isinstance(value, dict):
        return {name: printable(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [printable(inner) for inner in value]
    return value


@functools.lru_cache(maxsize=65536)
def _tells(text: str) -> bool:
    from pullstring.log.shared import speaks_of_a_secret
    from pullstring.model.sealed import PREFIX

    return PREFIX in text or speaks_of_a_secret(text)


def _private_photo(thing: Thing) -> bool:
    return thing.ref.kind == "photo" and thing.text("privacy") == "private"


def _cleaned(thing: Thing) -> Thing:
    from pullstring.model.columns import kinds

    table = kinds().get(thing.ref.kind)
    fields: dict[str, Field] = {}
    for name, field in thing.fields.items():
        column = table.column(name) if table else None
        if column is not None and (column.private or column.type == "secret"):
            if name == "phone" and thing.ref.kind in PHONES:
                fields[name] = field
            continue
        fields[name] = _without_secret(field)
    same = len(fields) == len(thing.fields) and all(fields[n] is f for n, f in thing.fields.items())
    return thing if same else dataclasses.replace(thing, fields=fields)


def _without_secret(field: Field) -> Field:
    if not any(isinstance(h.value, str) and _tells(h.value) for h in field.heads):
        return field
    heads = tuple(
        dataclasses.replace(h, value=LEFT_OUT) if isinstance(h.value, str) and _tells(h.value) else h
        for h in field.heads
    )
    return dataclasses.replace(field, heads=heads)
