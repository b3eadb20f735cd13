"""The verbs that write: new, import of tables, export."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, load
from pullstring.model.answers import Answer, Progress, Request, silent

if TYPE_CHECKING:
    from pullstring.log.photos_io import Found
    from pullstring.log.tables_io import Source
    from pullstring.model.sheets import Gathered


def new(
    path: Path,
    request: Request,
    *,
    code: str,
    name: str,
    author: str,
    device: str,
    wrote: str,
    new_id: Callable[[], str] | None = None,
) -> Answer:
    """Begin the record of a site with its property."""
    from pullstring.log.store import create, random_id
    from pullstring.model.entries import Evidence, Noted
    from pullstring.model.refs import Ref
    from pullstring.model.when import parse_when

    subject = Ref("property", code)
    noted = Noted(subject, {"name": name} if name else {}, Evidence("seen", by=author), new=True)
    with create(path, site_code=code, device=device, author=author) as store:
        store.append(
            [noted], at=parse_when(request.today), wrote=wrote, author=author, device=device, new_id=new_id or random_id
        )
    return answered("new", load(path, request), request, {"file": path.name, "code": code})


@dataclasses.dataclass(frozen=True)
class _Read:
    """Tables ready to be understood, with all that was found out on the way."""

    source: Source
    gathered: Gathered
    photos: Found


def _read(folder: Path, map_file: Path | None, held: list[str]) -> _Read:
    """All tables of a source, through a map if one is given; raises BadRequest when the map is wrong."""
    from pullstring.log.photos_io import find_photos
    from pullstring.log.tables_io import read_map_file, read_source
    from pullstring.model.column_map import mapped
    from pullstring.model.sheets import gathered

    source = read_source(folder)
    if map_file is None:
        found = gathered(source.sheets)
    else:
        parts, wrong = read_map_file(map_file)
        if wrong:
            raise BadRequest([str(f) for f in wrong])
        found = mapped(source.sheets, parts, map_file.name)
    return _Read(source, found, find_photos(found.tables, source.folder, held=held))


def import_(
    path: Path,
    request: Request,
    *,
    folder: Path,
    author: str,
    device: str,
    wrote: str,
    map_file: Path | None = None,
    dry: bool = False,
    progress: Progress = silent,
    new_id: Callable[[], str] | None = None,
) -> Answer:
    """Tables into the record: all of them with their photographs, or nothing and every fault."""
    from pullstring.log import attachments
    from pullstring.log.store import open_store, random_id
    from pullstring.model.replay import replay
    from pullstring.model.sheets import placed
    from pullstring.model.tables import folded, known_things, understand
    from pullstring.model.towrite import not_yet_said
    from pullstring.model.when import parse_when

    with open_store(path, read_only=dry, device=device) as store:
        read = _read(folder, map_file, attachments.every_name(store))
        progress(0.2, "read the files")
        site = replay(store.entries(), today=request.today)
        understood = understand(read.photos.tables, known=known_things(site), today=request.today)
        faults = [*read.source.faults, *read.gathered.faults, *read.photos.faults, *understood.faults]
        if faults:
            raise BadRequest([str(f) for f in folded([placed(f, read.gathered.origins) for f in faults])])
        progress(0.6, "understood the rows")
        fresh = not_yet_said(site, understood.statements, frozenset(store.keys()))
        if not dry and (fresh or read.photos.items):
            store.append(
                [s.body for s in fresh],
                at=[parse_when(s.at) for s in fresh],
                wrote=wrote,
                author=author,
                device=device,
                keys=[s.key for s in fresh],
                new_id=new_id or random_id,
                also=lambda speaker: [attachments.keep(speaker, item) for item in read.photos.items],
            )
            site = replay(store.entries(), today=request.today) if fresh else site
        gone = set(attachments.destroyed(store))
    progress(1.0, "entered the rows")
    counts = {
        "tables": len(read.photos.tables),
        "rows": sum(len(t.rows) for t in read.photos.tables),
        "entered": len(fresh),
        "dry": dry,
        "already": len(understood.statements) - len(fresh),
        "photos": len(read.photos.items),
        **_told(read, map_file, gone),
    }
    return answered("import", site, request, counts, assumed=understood.assumed)


def _told(read: _Read, map_file: Path | None, gone: set[str]) -> dict[str, Any]:
    """What was not read, and what else a reader must be told."""
    used = {*read.photos.used, *([map_file.resolve()] if map_file else [])}
    unread = sorted(p.name for p in read.source.unread if p not in used and p.resolve() not in used)
    said = [*read.source.said, *read.gathered.said]
    if read.photos.elsewhere:
        said.append(("photos_elsewhere", read.photos.elsewhere))
    if lost := sum(item.sha256 in gone for item in read.photos.items):
        said.append(("photos_destroyed", (str(lost),)))
    return {"unread": unread, "said": [{"code": code, "about": list(about)} for code, about in said]}


def what_fits(path: Path, request: Request, *, folder: Path) -> Answer:
    """Sheet by sheet: which table it may be, which of its columns are understood, and a map to begin with."""
    from pullstring.log.tables_io import read_source
    from pullstring.model.answers import plain
    from pullstring.model.fits import fit, map_to_begin_with

    source = read_source(folder)
    if not source.sheets:
        raise BadRequest([str(f) for f in source.faults])
    fits = [fit(sheet) for sheet in source.sheets]
    rows: list[dict[str, Any]] = [{k: v for k, v in plain(f).items() if k != "type"} for f in fits]
    said = {"sheets": rows, "faults": [str(f) for f in source.faults], "map": map_to_begin_with(fits)}
    return Answer("what-fits", path.name, said)


def export(path: Path, request: Request, *, folder: Path) -> Answer:
    """The as-built site as a folder of CSV tables with its photographs, or as one workbook."""
    from pullstring.log import attachments
    from pullstring.log.photos_io import write_photos
    from pullstring.log.store import open_store
    from pullstring.log.tables_io import set_aside, write_folder
    from pullstring.log.workbook_out import write_workbook
    from pullstring.model.tables_out import header_of, rows_of

    site = load(path, request)
    rows = rows_of(site)
    counts: dict[str, Any] = {"tables": {name: len(r) for name, r in sorted(rows.items())}, "photos": 0, "older": []}
    if folder.suffix.casefold() == ".xlsx":
        says = "Photographs do not travel in a workbook; export into a folder to take them along."
        folder.parent.mkdir(parents=True, exist_ok=True)
        write_workbook(folder, rows, site=site.property_tag, says=says)
        return answered("export", site, request, {**counts, "workbook": folder.name, "before": set_aside(folder)})
    if folder.is_file() or folder.suffix.casefold() in (".csv", ".xls", ".xlsm", ".ods"):
        says = "tables go into a folder, or into one workbook whose name ends in .xlsx; name one of these"
        raise BadRequest([f"{folder.name}: {says}"])
    with open_store(path, read_only=True) as store:
        there = set(attachments.names(store))
        shown = [(t, t.text("sha256")) for t in site.of_kind("photo") if t.text("sha256") in there]
        photos = [(t.text("file") or f"{t.ref.tag}.jpg", attachments.get(store, sha256).data) for t, sha256 in shown]
    counts["older"] = write_folder(folder, rows, {name: header_of(name) for name in rows})
    counts["photos"] = len(write_photos(folder, photos))
    return answered("export", site, request, {**counts, "before": set_aside(folder)})
