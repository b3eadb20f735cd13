"""The verb `start`: from a few pasted lines to photo list, questions, blank sheets and a rough size."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, rules_of
from pullstring.model.answers import Answer, Request, plain

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.pasted import Pasted
    from pullstring.model.pasted_scan import Told


def start(
    path: Path,
    request: Request,
    *,
    text: str,
    look: bool,
    code: str | None = None,
    author: str,
    device: str,
    wrote: str,
    new_id: Callable[[], str] | None = None,
) -> Answer:
    """What pasted lines say, entered as told; with `look` nothing is written."""
    from pullstring.model.pasted import read_pasted
    from pullstring.plan.start import started

    pasted = read_pasted(text)
    site = _site(path, request)
    if site and code and site.property_tag.casefold() != code.strip().casefold():
        raise BadRequest([f"{path}: this is the record of {site.property_tag}; leave --code out, or name another file"])
    code = (code or "").strip() or code_of(path)
    kept = _kept(site)
    message = "\n".join(pasted.lines)
    message += "." if message.casefold() == "none" else ""  # a cell that says none says nothing
    whole = "\n\n".join(m for m in (*kept, *([message] if message not in kept else [])) if m)
    told = read_pasted(whole)
    entered: tuple[str, ...] = ()
    if not look:
        entered = _write(path, request, code, pasted, whole, (author, device, wrote), new_id)
        site = _site(path, request)
    answer = {
        "file": path.name,
        "look": look,
        "entered": len(entered),
        "understood": _understood(told),
        "left": list(pasted.left),
        "withheld": pasted.withheld,
        **started(told, _rooms(told, site)),
    }
    return Answer(
        "start",
        site.property_tag if site else code,
        plain(answer),
        rules=rules_of(site, request),
        because=entered,
        assumed=tuple(answer["assumed"]),
        cautions=("nothing_cut", "local_trades", "hidden_work"),
    )


def code_of(path: Path) -> str:
    """A short code from the file's name: first letters of its words, or the first four letters of one word."""
    words = [w for w in re.split(r"[\W_]+", path.stem) if w]
    return ("".join(w[0] for w in words) if len(words) > 1 else (words or ["site"])[0][:4]).upper()


def _site(path: Path, request: Request) -> Site | None:
    from pullstring.log.store import open_store
    from pullstring.model.replay import replay

    if not path.exists():
        return None
    with open_store(path, read_only=True) as store:
        return replay(store.entries(), today=request.today)


def _kept(site: Site | None) -> list[str]:
    """The messages that the property's note holds."""
    notes = [t.text("note") for t in site.of_kind("property")] if site else []
    return [m for m in notes[0].split("\n\n") if m] if notes else []


def _rooms(told: Pasted, site: Site | None) -> list[Told]:
    """Rooms as told, then those that only the site knows."""
    from pullstring.model.pasted_scan import Told

    rooms = {r.name.casefold(): r for r in told.rooms}
    for thing in site.of_kind("room") if site else ():
        name = thing.text("name") or thing.ref.tag
        floor = thing.ref_of("floor")
        level = site.get(floor) if site and floor else None
        rooms.setdefault(name.casefold(), Told(name, str(level.get("level") or "0") if level else ""))
    return list(rooms.values())


def _understood(told: Pasted) -> list[dict[str, Any]]:
    rooms = [{"what": "room", "name": r.name, "other": r.floor, "small": r.small} for r in told.rooms]
    keys = ("what", "name", "other", "low", "high", "room", "to")
    return rooms + [{k: v for k in keys if (v := getattr(f, k)) not in ("", None)} for f in told.found]


def _write(
    path: Path,
    request: Request,
    code: str,
    pasted: Pasted,
    whole: str,
    hand: tuple[str, str, str],
    new_id: Callable[[], str] | None,
) -> tuple[str, ...]:
    from pullstring.log.store import create, open_store, random_id
    from pullstring.model.pasted_rows import new_to, rows_of_pasted
    from pullstring.model.replay import replay
    from pullstring.model.tables import RawTable, known_things, understand
    from pullstring.model.when import parse_when

    author, device, wrote = hand
    held = _site(path, request)
    site = held or replay((), today=request.today)
    tag = held.property_tag if held else code
    raw = [RawTable("pasted lines", "property", ("property", "note", "grade"), ((2, (tag, whole, "told")),))]
    understood = understand([*raw, *rows_of_pasted(pasted, held)], known=known_things(site), today=request.today)
    if understood.faults:
        raise BadRequest([str(f) for f in understood.faults])
    fresh = new_to(site, understood.statements)
    if not fresh:
        return ()
    begun = open_store(path, device=device) if held else create(path, site_code=tag, device=device, author=author)
    with begun as store:
        written = store.append(
            [s.body for s in fresh],
            at=parse_when(request.today),
            wrote=wrote,
            author=author,
            device=device,
            new_id=new_id or random_id,
        )
    return tuple(e.id for e in written)
