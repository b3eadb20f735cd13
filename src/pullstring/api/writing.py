"""The verbs that write: new, import, export."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pullstring.api.request import BadRequest, answered, load
from pullstring.model.answers import Answer, Progress, Request, silent


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


def import_(
    path: Path,
    request: Request,
    *,
    folder: Path,
    author: str,
    device: str,
    wrote: str,
    dry: bool = False,
    progress: Progress = silent,
    new_id: Callable[[], str] | None = None,
) -> Answer:
    """Tables into the record: all of them, or nothing and every fault."""
    from pullstring.log.store import open_store, random_id
    from pullstring.log.tables_io import read_folder
    from pullstring.model.replay import replay
    from pullstring.model.tables import folded, known_things, understand
    from pullstring.model.towrite import not_yet_said
    from pullstring.model.when import parse_when

    raw, faults = read_folder(folder)
    progress(0.2, "read the files")
    with open_store(path, read_only=dry, device=device) as store:
        site = replay(store.entries(), today=request.today)
        understood = understand(raw, known=known_things(site.things), today=request.today)
        if faults or understood.faults:
            raise BadRequest([str(f) for f in folded([*faults, *understood.faults])])
        progress(0.6, "understood the rows")
        fresh = not_yet_said(site, understood.statements, frozenset(store.keys()))
        if not dry and fresh:
            store.append(
                [s.body for s in fresh],
                at=[parse_when(s.at) for s in fresh],
                wrote=wrote,
                author=author,
                device=device,
                keys=[s.key for s in fresh],
                new_id=new_id or random_id,
            )
        site = replay(store.entries(), today=request.today)
    progress(1.0, "entered the rows")
    counts = {
        "tables": len(raw),
        "rows": sum(len(t.rows) for t in raw),
        "entered": len(fresh),
        "dry": dry,
        "already": len(understood.statements) - len(fresh),
    }
    return answered("import", site, request, counts, assumed=understood.assumed)


def export(path: Path, request: Request, *, folder: Path) -> Answer:
    """The as-built site as a folder of tables."""
    from pullstring.log.tables_io import write_folder
    from pullstring.model.tables_out import header_of, rows_of

    site = load(path, request)
    rows = rows_of(site)
    write_folder(folder, rows, {name: header_of(name) for name in rows})
    return answered("export", site, request, {"tables": {name: len(r) for name, r in sorted(rows.items())}})
