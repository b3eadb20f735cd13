"""What phones jotted down and nobody has sorted yet, each with the rows that it would become.

A proposal is only that: the rows stand on the page to be changed, and enter the record by `add_rows` when a person says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import answered, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site, Thing
    from pullstring.model.refs import Ref

WHERE = ("end", "outlet", "unit", "room", "block", "cable", "joint", "socket", "jack", "port")
"""What a tag written by hand may mean, the likeliest first."""


HEARD = {"loud": "loud", "faint": "faint", "nothing": "none"}
"""Words of the phone for a tone that was listened for, in the words of a reading."""


def inbox(path: Path, request: Request, *, meant: Mapping[str, str] | None = None) -> Answer:
    """Jottings that wait, the oldest first, each with its photographs, what its tags may mean, and proposed rows.

    Parameters
    ----------
    meant : mapping of str to str
        For a jotting's tag, what it is about after all, as a tag or `kind:TAG`.
    """
    said = meant or {}
    site = load(path, request)
    waiting = [j for j in site.of_kind("jotting") if not j.text("sorted") and j.text("state") != "removed"]
    waiting.sort(key=lambda j: j.made.order if j.made else (0, "", 0, ""))
    photos = _photos(site)
    return answered(
        "inbox",
        site,
        request,
        {
            "waiting": [_told(site, j, photos.get(j.ref, []), said.get(j.ref.tag, "")) for j in waiting],
            "sorted": sum(1 for j in site.of_kind("jotting") if j.text("sorted")),
        },
    )


def _photos(site: Site) -> dict[Ref, list[dict[str, str]]]:
    found: dict[Ref, list[dict[str, str]]] = {}
    for photo in site.of_kind("photo"):
        for ref in photo.refs_of("of"):
            found.setdefault(ref, []).append({"tag": photo.ref.tag, "sha256": photo.text("sha256")})
    return found


def _told(site: Site, jotting: Thing, photos: list[dict[str, str]], meant: str) -> dict[str, Any]:
    made = jotting.made
    names = ("what", "about", "place", "words", "quantity", "value", "heard", "sent_on")
    means = _means(site, meant or jotting.text("about"))
    return {
        "tag": jotting.ref.tag,
        **{name: jotting.text(name) for name in names},
        "at": made.at.text if made else "",
        "by": made.evidence.by if made else "",
        "photos": photos,
        "means": [str(ref) for ref in means],
        "rows": _rows(site, jotting, means, photos),
    }


def _means(site: Site, written: str) -> list[Ref]:
    """The things that a tag written by hand may mean."""
    from pullstring.model.refs import BadName, Ref

    found: list[Ref] = []
    said_kind, _, tag = written.strip().rpartition(":")
    for kind in (said_kind,) if said_kind else WHERE:
        try:
            ref = Ref(kind, tag)
        except BadName:
            return []
        known = site.things.get(ref) or site.get(site.other_names.get(ref))
        if known is not None and known.ref not in found:
            found.append(known.ref)
    return found


def _rows(site: Site, jotting: Thing, means: list[Ref], photos: list[dict[str, str]]) -> list[dict[str, Any]]:
    """Rows that the jotting would become; the last one says that it is sorted."""
    what, words = jotting.text("what"), jotting.text("words")
    about = means[0] if means else None
    seen = {"grade": "seen", **({"at": jotting.made.at.text} if jotting.made else {})}
    rows: list[dict[str, Any]] = []
    if what == "tag" and about is None and jotting.text("about"):
        cells = {"end": jotting.text("about"), "room": _room(site, jotting), "found": words}
        rows.append(_row("ends", {**cells, **seen}, new=True))
        about = _as_ref("end", jotting.text("about"))
    elif what == "plate" and about is None and jotting.text("about"):
        cells = {"outlet": jotting.text("about"), "room": _room(site, jotting), "found": words}
        rows.append(_row("outlets", {**cells, **seen}, new=True))
        about = _as_ref("outlet", jotting.text("about"))
    elif what == "plate" and about is not None and about.kind == "outlet" and words:
        rows.append(_row("outlets", {"outlet": about.tag, "found": words, **seen}))
    elif what == "reading" and jotting.text("quantity").startswith("level ") and jotting.text("value"):
        about = about or _as_ref("room", _room(site, jotting))
        rows += [_level(jotting, about, seen)] if about is not None else []
    elif what == "reading" and about is not None and jotting.text("value"):
        cells = {"subject": str(about), "quantity": jotting.text("quantity"), "value": jotting.text("value")}
        rows.append(_row("measurements", {**cells, **seen, "grade": "metered"}))
    elif what == "tone" and about is not None and jotting.text("heard") in HEARD:
        rows += _tone(site, jotting, about, seen)
    elif what in ("note", "photo", "tag") and about is not None and words:
        known = site.get(about)
        note = "; ".join(part for part in (known.text("note") if known else "", words) if part)
        rows.append(_row(_table(about), {about.kind: about.tag, "note": note, **seen}))
    for photo in photos if about is not None else []:
        rows.append(_row("photos", {"photo": photo["tag"], "of": str(about), **seen}))
    became = {"became": str(about)} if about is not None else {}
    return [*rows, _row("jottings", {"jotting": jotting.ref.tag, "sorted": "yes", "grade": "seen", **became})]


def _level(jotting: Thing, about: Ref, seen: dict[str, str]) -> dict[str, Any]:
    """A level that the phone itself read, with the access point it was heard from and how it was read."""
    heard = f"heard from {jotting.text('sent_on')}" if jotting.text("sent_on") else ""
    conditions = "; ".join(part for part in (heard, jotting.text("words")) if part)
    cells = {"subject": str(about), "quantity": jotting.text("quantity"), "value": jotting.text("value")}
    return _row("measurements", {**cells, "conditions": conditions, "instrument": "phone", **seen, "grade": "metered"})


def _tone(site: Site, jotting: Thing, about: Ref, seen: dict[str, str]) -> list[dict[str, Any]]:
    sent = [r for r in _means(site, jotting.text("sent_on")) if r.kind in ("end", "jack", "outlet")]
    if not sent:
        return []
    cells = {"subject": str(about), "quantity": "tone", "value": f"{HEARD[jotting.text('heard')]} from {sent[0]}"}
    return [_row("measurements", {**cells, **seen})]


def _room(site: Site, jotting: Thing) -> str:
    """The tag of the room that a jotting names by tag or name; empty where it names none that is known."""
    from pullstring.model.refs import tag_key

    said = jotting.text("place").strip()
    for room in site.of_kind("room"):
        if said and (room.ref.key == tag_key(said) or room.text("name").casefold() == said.casefold()):
            return room.ref.tag
    return ""


def _as_ref(kind: str, tag: str) -> Ref | None:
    from pullstring.model.refs import BadName, Ref

    try:
        return Ref(kind, tag.strip())
    except BadName:
        return None


def _table(ref: Ref) -> str:
    from pullstring.model.columns import kinds

    return kinds()[ref.kind].name


def _row(table: str, cells: Mapping[str, str], *, new: bool = False) -> dict[str, Any]:
    return {"table": table, "cells": {name: value for name, value in cells.items() if value}, "new": new}
