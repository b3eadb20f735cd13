"""Carrying a record about: whole as text, what may be shared, another record in, rescue, and secrets under their seal."""

from __future__ import annotations

import collections
import dataclasses
import functools
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.log.attachments import Attachment
    from pullstring.log.whole import Whole


def export_record(path: Path, request: Request, *, folder: Path) -> Answer:
    """The whole history: `record.jsonl` and the attachments."""
    from pullstring.log.store import open_store
    from pullstring.log.whole import write_whole

    site = load(path, request)
    with open_store(path, read_only=True) as store:
        entries, items = write_whole(store, folder)
    return answered("export-record", site, request, {"entries": entries, "attachments": items, "folder": folder.name})


def export_shared(path: Path, request: Request, *, folder: Path) -> Answer:
    """A set that may be given away: tables without private things, open photographs without their position."""
    from pullstring.log import attachments
    from pullstring.log.photos_io import write_photos
    from pullstring.log.shared import shareable
    from pullstring.log.store import open_store
    from pullstring.log.tables_io import write_folder
    from pullstring.model.tables_out import header_of, rows_of

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadRequest([f"{folder}: this holds other things; name a new folder"])
    site = load(path, request)
    with open_store(path, read_only=True) as store:
        held = {name: attachments.get(store, name) for name in attachments.names(store)}
    shared = shareable(rows_of(site), {name: (item.privacy, item.data) for name, item in held.items()})
    headers = {name: [c for c in header_of(name) if not _private(name, c)] for name in shared.rows}
    rows = {name: [{c: r.get(c, "") for c in headers[name]} for r in content] for name, content in shared.rows.items()}
    write_folder(folder, rows, headers)
    write_photos(folder, shared.photos)
    counts = {name: len(r) for name, r in sorted(rows.items())}
    return answered(
        "export-shared", site, request, {"tables": counts, "photos": len(shared.photos), "left_out": shared.left_out}
    )


def _private(table: str, column: str) -> bool:
    from pullstring.model.columns import tables

    known = tables()[table].column(column)
    return known is not None and (known.private or known.type == "secret")


def is_record(source: Path) -> bool:
    """Whether a path is a record, as a site file or as its text, and no folder of tables."""
    from pullstring.log.whole import is_whole

    if source.is_file():
        with source.open("rb") as file:
            if file.read(16) == b"SQLite format 3\0":
                return True
    return is_whole(source)


def import_record(
    path: Path, request: Request, *, source: Path, rescue: bool, dry: bool, author: str, device: str, wrote: str
) -> Answer:
    """Another record of the same site into this one, all or none; into a new file when there is none yet.

    Without writing (`dry`) the same is done to a copy that is thrown away, so that it says what would be and refuses what
    would be refused.
    """
    import tempfile

    whole = _whole(source, rescue)
    if not path.exists() and whole.site_code is None:
        raise BadRequest([f"{source}: it does not say which site it is; begin the record with 'new' and its code"])
    made = not path.exists()
    with tempfile.TemporaryDirectory(dir=None if dry else path.parent, prefix=".pullstring.") as scratch:
        into = Path(scratch) / "trial.site" if made or dry else path
        if made or dry:
            _begin(into, path, whole, author=author, device=device)
        counts = _bring(into, source, whole, device)
        site = load(into, request)
        if made and not dry:
            if path.exists():
                raise BadRequest(
                    [f"{path}: there is something of that name now; nothing was written over it, try again"]
                )
            into.replace(path)
    return answered("import-record", site, request, {**counts, "lost": list(whole.lost), "dry": dry})


def _begin(into: Path, path: Path, whole: Whole, *, author: str, device: str) -> None:
    """A new record: empty, or a copy of the one that there is."""
    from pullstring.log.merge import merge
    from pullstring.log.store import create, open_store

    if not path.exists():
        create(into, site_code=whole.site_code or "", device=device, author=author).close()
        return
    with open_store(path, read_only=True) as there, create(into, site_code=there.site_code, author=author) as store:
        merge(store, there)


def _bring(into: Path, source: Path, whole: Whole, device: str) -> dict[str, Any]:
    """Take all of it, and say what came: counts, and new entries by their kind."""
    from pullstring.log.merge import bring
    from pullstring.log.refusals import AnotherSite
    from pullstring.log.store import open_store

    with open_store(into, device=device) as store:
        if whole.site_code and whole.site_code.casefold() != store.site_code.casefold():
            raise AnotherSite(
                f"{source}: this is the record of {whole.site_code}, not of {store.site_code}; "
                "name another record of the same site"
            )
        there = {row[0] for row in store.rows("SELECT id FROM entries")}
        report = bring(store, str(source), whole.entries, whole.markers, (load() for load in whole.attachments))
    counts = {k: v for k, v in dataclasses.asdict(report).items() if k != "scrubbed"}
    kinds = collections.Counter(type(e.body).__name__.lower() for e in whole.entries if e.id not in there)
    return {**counts, "kinds": dict(sorted(kinds.items()))}


def _whole(source: Path, rescue: bool) -> Whole:
    """What a source holds, a site file or its text."""
    from pullstring.log import attachments
    from pullstring.log.rescue import rescued
    from pullstring.log.store import open_store
    from pullstring.log.whole import Whole, is_whole, read_whole

    if is_whole(source):
        return read_whole(source, rescue=rescue)
    if rescue:
        found = rescued(source)
        kept = tuple(functools.partial(_same, item) for item in found.attachments)
        return Whole(found.site_code, found.entries, found.markers, kept, found.lost)

    def held(name: str) -> Attachment:
        with open_store(source, read_only=True) as store:
            return attachments.held(store, name)

    with open_store(source, read_only=True) as store:
        kept = tuple(functools.partial(held, name) for name in attachments.every_name(store))
        return Whole(store.site_code, tuple(store.entries()), tuple(store.markers()), kept)


def _same(item: Attachment) -> Attachment:
    return item


def seal_cell(path: Path, *, table: str, column: str, secret: str, passphrase: str) -> str:
    """A secret as the sealed text that a cell of a table may hold."""
    from pullstring.log.seal import place_of, seal
    from pullstring.log.store import open_store
    from pullstring.model.columns import did_you_mean, tables

    known = tables().get(table)
    if known is None or not known.kind:
        raise BadRequest([f"there is no table {table!r} of things{did_you_mean(table, tables())}"])
    if known.column(column) is None:
        names = [c.name for c in known.columns]
        raise BadRequest([f"there is no column {column!r} in {table}{did_you_mean(column, names)}"])
    with open_store(path, read_only=True) as store:
        place = place_of(site_code=store.site_code, kind=known.kind, field=column)
    return seal(secret, passphrase, place=place)


def open_seal(path: Path, request: Request, *, what: str, passphrase: str) -> Answer:
    """The secret behind `THING.FIELD`, for the eyes in front of the screen alone."""
    from pullstring.log.seal import BadPassphrase, place_of, unseal
    from pullstring.log.store import open_store
    from pullstring.model.columns import kinds

    found = load(path, request)
    name, dot, field = what.rpartition(".")
    if not dot:
        raise BadRequest([f"{what!r} names no field; write it as THING.FIELD, for example unit:D03.password"])
    ref = asked_for(found, [name], list(kinds()))[0]
    heads = found.things[ref].fields[field].heads if field in found.things[ref].fields else ()
    if not heads:
        raise BadRequest([f"nothing is noted of {field!r} for {ref}"])
    with open_store(path, read_only=True) as store:
        place = place_of(site_code=store.site_code, kind=ref.kind, field=field)
    opened: list[str] = []
    for head in reversed(heads):
        try:
            opened.append(unseal(str(head.value), passphrase, place=place))
        except BadPassphrase:
            if head is heads[0] and not opened:
                raise
    told = list(dict.fromkeys(opened))
    return answered("open-seal", found, request, {"of": f"{ref}.{field}", "secrets": told, "seals": len(heads)})
