"""The words of the drawings of a closet and of what hangs on what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.grades import grade
from pullstring.model.refs import Ref

NOBODY = "nobody said"
NOT_KNOWN = "not known"
UNSURE = ("assumed", "told")
MODES = {
    "nothing": "data only",
    "24 V always-on": "24 V always-on",
    "mains": "mains",
    "battery mains": "mains, on battery",
    "": "power not noted",
}
PARTS = {"row": "block", "port": "unit", "jack": "outlet", "pair": "cable"}
STOPS = {"cut": "cut in the wall", "coil": "coiled up in the wall", "lost": "lost", "bare": "bare, on nothing"}
KEY = {
    "bars": "barred: do not touch",
    "new": "broken edge, red in colour: to be added",
    "slash": "slashed: out of use",
    "open": "open square: nothing is on it",
    "bridge": "bridging clip",
    "unsure": "a question mark: told or assumed only, or contradicted",
}
SCHEMATIC = "rows and ports in their order, not to scale"


def name_of(site: Site, ref: Ref) -> str:
    """What people call a thing: its name, or its label; empty when it has neither."""
    thing = site.get(ref)
    if thing is None:
        return ""
    model = site.get(thing.ref_of("model"))
    return thing.text("name") or (model.text("what") if model else "")


def room_of(site: Site, ref: Ref) -> str:
    """Name of the room of a thing or of what it is a part of; its tag where it has no name."""
    holder = Ref(PARTS[ref.kind], ref.parent_tag) if ref.kind in PARTS and ref.parent_tag else ref
    thing = site.get(holder)
    room = thing.ref_of("room") if thing else None
    at = site.get(room)
    return (at.text("name") if at else "") or (room.tag if room else "")


def number_of(ref: Ref) -> str:
    """The part of a tag behind its last dot: the number on a row or port."""
    return ref.tag.rpartition(".")[2]


def short(ref: Ref) -> str:
    """A part as people say it: `row 7 of B1`, `port 3 of U1`; other things by their tag."""
    if ref.kind in PARTS and ref.parent_tag:
        return f"{ref.parent_tag} {ref.kind} {number_of(ref)}"
    return ref.tag


def sure(how: str | None, *, contradicted: bool = False) -> str:
    """How sure a claim is, in words; a question mark where it would not bear a decision."""
    if contradicted:
        return "contradicted ?"
    if how is None:
        return f"{NOBODY} ?"
    return f"{how} ?" if how in UNSURE or grade(how).rank <= grade("told").rank else how


def unsure(how: str | None, *, contradicted: bool = False) -> bool:
    """Whether a claim is told or assumed only, or contradicted."""
    return sure(how, contradicted=contradicted).endswith("?")


def mode(gives: str) -> str:
    """What a port gives, in words."""
    return MODES.get(gives, gives)


def keep_off(company: str) -> str:
    """The words beside a barred thing."""
    return f"DO NOT TOUCH: only {company}" if company else "DO NOT TOUCH"


def state_word(thing: Thing | None) -> str:
    """Word of a state that is drawn by shape as well; nothing for what simply is there."""
    said = thing.text("state") if thing else ""
    return {"planned": "to be added", "out of use": "out of use", "lost": "lost"}.get(said, "")


def head_of(site: Site, ref: Ref) -> str:
    """What a block, rack or unit is, behind its tag."""
    thing = site.get(ref)
    if thing is None:
        return ""
    if ref.kind == "block":
        rows = thing.number("rows")
        kind = {"panel": "panel", "split": "split block", "bonded": "bonded block"}.get(thing.text("style"), "block")
        return f"{kind}, {rows:.0f} {'ports' if kind == 'panel' else 'rows'}" if rows else kind
    if ref.kind == "rack":
        high = thing.number("height_u")
        return f"rack, {high:.0f} rack units" if high else "rack, height not noted"
    return name_of(site, ref)


def caption(site: Site, board: Ref | None) -> str:
    """Title of a drawing of one place where cables come together."""
    if board is None:
        return "Ends of which nobody noted the room"
    return f"{board.tag} {name_of(site, board) or head_of(site, board)}".strip()


def run_words(site: Site, run: Mapping[str, Any]) -> list[tuple[str, str]]:
    """For each place a run goes to: tag and room; nothing where nobody said."""
    found = []
    for said in run["to"]:
        kind, _, tag = str(said).partition(":")
        ref = Ref(kind, tag)
        if kind == "row" and len(run["to"]) > 1:
            continue
        if kind == "stop":
            found.append(("", STOPS.get(tag, tag)))
            continue
        where = room_of(site, ref)
        unit = name_of(site, Ref("unit", ref.parent_tag)) if kind == "port" and ref.parent_tag else ""
        found.append((ref.tag, ", ".join(w for w in (unit, where) if w)))
    return found


def and_more(names: Sequence[str], most: int) -> str:
    """Names in a row, the rest counted."""
    kept = list(names[:most])
    return ", ".join(kept) + (f" and {len(names) - most} more" if len(names) > most else "")
