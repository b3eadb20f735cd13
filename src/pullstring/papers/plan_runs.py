"""Which runs a floor shows: from where they begin to where they arrive, and how they stand.

What the runs answer says goes before what the record says by itself; of planned cables only the record speaks.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import PARTS, BadName, Ref, parse_ref

LANDS = ("outlet", "unit")
MEASURED = ("ran", "qualified", "certified")
STATES = ("there", "new", "planned", "remove")


@dataclasses.dataclass(frozen=True)
class Run:
    """One run: its end, what that end sits on and in which room, what it reaches, and how it stands."""

    end: Ref
    begins: tuple[Ref, ...]
    room: Ref | None
    reaches: tuple[Ref, ...]
    state: str
    measured: bool = False
    fault: bool = False
    guarded: bool = False


def runs_of(
    site: Site, rows: Sequence[Mapping[str, Any]] | None, *, to_remove: Collection[Ref], guarded: Collection[Ref]
) -> tuple[Run, ...]:
    """All runs that stand or are planned, in order of their ends."""
    put_in = {d.subject for d in site.done if d.act == "put in"}
    said = {Ref("end", str(row["end"])): row for row in rows or ()}
    found = []
    for end in site.of_kind("end"):
        row, cable = said.get(end.ref), site.get(end.ref_of("cable"))
        cables = [Ref("cable", str(c)) for c in row.get("cables", ())] if row else [cable.ref] if cable else []
        state = _state(site, end, cables, to_remove=to_remove, put_in=put_in)
        if state == "removed" or (rows is not None and row is None and state != "planned"):
            continue
        reaches = _reached(row) if row else _told(site, end)
        if not reaches:
            continue
        found.append(
            Run(
                end.ref,
                _begins(site, end.ref),
                end.ref_of("room"),
                reaches,
                state,
                measured=bool(row and (row.get("ran_at") or row.get("grade") in MEASURED)),
                fault=bool(row and row.get("opens")),
                guarded=bool(row and row.get("protected_by"))
                or end.ref in guarded
                or any(c in guarded for c in cables),
            )
        )
    return tuple(found)


def holder(ref: Ref) -> Ref:
    """The outlet, unit or block that a jack, port or row is part of; else the thing itself."""
    return Ref(PARTS[ref.kind], ref.parent_tag) if ref.parent_tag else ref


def _reached(row: Mapping[str, Any]) -> tuple[Ref, ...]:
    found = []
    for text in row.get("to", ()):
        try:
            found.append(holder(parse_ref(str(text))))
        except BadName:
            continue
    return tuple(dict.fromkeys(r for r in found if r.kind in LANDS))


def _told(site: Site, end: Thing) -> tuple[Ref, ...]:
    """Where the record itself says that an end goes: by tone or word, or where the cable's other end stops."""
    own = _begins(site, end.ref)
    if any(b.kind == "outlet" for b in own):
        return ()
    found = [holder(c.object) for c in site.about(subject=end.ref, relation="goes_to")]
    others = [e for e in site.ends_by_cable.get(end.ref_of("cable") or end.ref, ()) if e.ref != end.ref]
    if len(others) == 1 and (own or others[0].ref_of("room") != end.ref_of("room")):
        found += [b for b in _begins(site, others[0].ref) if b.kind == "outlet" or (b.kind == "unit" and _starts(own))]
    return tuple(dict.fromkeys(r for r in found if r.kind in LANDS))


def _starts(own: Sequence[Ref]) -> bool:
    return any(b.kind == "block" for b in own)


def _begins(site: Site, end: Ref) -> tuple[Ref, ...]:
    """What an end sits on: rows first, then ports."""
    claims = [c for relation in ("ends_at", "plugged") for c in site.about(subject=end, relation=relation)]
    kept = [holder(c.object) for c in claims if c.object.kind in ("row", "block", "port", "outlet", "jack")]
    return tuple(sorted(dict.fromkeys(kept), key=lambda r: (r.kind != "block", r)))


def _state(
    site: Site, end: Thing, cables: Sequence[Ref], *, to_remove: Collection[Ref], put_in: Collection[Ref]
) -> str:
    things = [t for t in (end, *(site.get(c) for c in cables)) if t is not None]
    states = {t.text("state") for t in things}
    for state in ("removed", "planned"):
        if state in states:
            return state
    if any(t.ref in to_remove for t in things):
        return "remove"
    return "new" if any(c in put_in for c in cables) else "there"
