"""What labels need beside the site: what must not be touched, and what the ports give; and the things that were named."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.cutting import if_cut
from pullstring.api.powering import power
from pullstring.api.request import asked_for, load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref

GUARDED = ("protected", "ports")
POWERED = ("ports", "card", "units")
NAMED = ("end", "cable", "outlet", "unit", "block", "temporary")
"""Kinds of things for which a label can be asked by tag."""


def label_facts(path: Path, request: Request, what: str) -> tuple[Site, tuple[Ref, ...], dict[str, Any]]:
    """The site, the things that the request names, and the answers that labels of this kind stand on, as `labels_for` takes them.

    A cable stands for its ends.
    """
    found = load(path, request)
    plain = Request(today=request.today, as_of=request.as_of, known_by=request.known_by)
    facts: dict[str, Any] = {}
    if what in GUARDED:
        facts["do_not_touch"] = if_cut(path, plain).answer["do_not_touch"]
    if what in POWERED:
        facts["power"] = power(path, plain).answer
    return found, _named(found, request.tags), facts


def _named(found: Site, tags: Sequence[str]) -> tuple[Ref, ...]:
    named = asked_for(found, tags, NAMED)
    wide = [r for ref in named for r in (ref, *(e.ref for e in found.ends_by_cable.get(ref, ())))]
    return tuple(dict.fromkeys(r for r in wide if r.kind != "cable" or not found.ends_by_cable.get(r)))
