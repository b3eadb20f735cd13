"""Photographs that a table of photos names: found beside the tables, checked by their first bytes, written out again."""

from __future__ import annotations

import dataclasses
import hashlib
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from pullstring.log.attachments import PRIVACY, Attachment
from pullstring.log.tables_io import PHOTO_FOLDER
from pullstring.model.tables import Fault, RawTable

_HASH = re.compile(r"[0-9a-f]{64}")
_FORMS = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"), (b"%PDF-", "application/pdf"))


@dataclasses.dataclass(frozen=True)
class Found:
    """Tables with the hashes filled in, the bytes to be kept, what is wrong, the files used, and those that lie elsewhere."""

    tables: tuple[RawTable, ...]
    items: tuple[Attachment, ...]
    faults: tuple[Fault, ...]
    used: frozenset[Path]
    elsewhere: tuple[str, ...] = ()


def find_photos(raw: Sequence[RawTable], folder: Path, *, held: Iterable[str]) -> Found:
    """Look up the file of each row of the table photos.

    Parameters
    ----------
    raw : sequence of RawTable
        As gathered.
    folder : Path
        Where the tables lie; the photographs lie there too, or in its sub-folder `photos`.
    held : iterable of str
        Hashes of what the record holds already; a row that names one needs no file.
    """
    tables, items, faults, used, elsewhere = [], [], [], set(), []
    known = set(held)
    for table in raw:
        if table.table != "photos":
            tables.append(table)
            continue
        header = list(table.header)
        names = [h.strip().casefold() for h in header]
        if "file" not in names:
            tables.append(table)
            continue
        if "sha256" not in names:
            header.append("sha256")
            names.append("sha256")
        rows = []
        for number, cells in table.rows:
            row = [*cells, *[""] * (len(header) - len(cells))]
            name, given = row[names.index("file")].strip(), row[names.index("sha256")].strip().casefold()
            privacy = row[names.index("privacy")].strip().casefold() if "privacy" in names else ""
            if name:
                one, path, says = _one(folder, name, given, privacy if privacy in PRIVACY else "site")
                if one:
                    items.append(one)
                    used.add(path)
                    row[names.index("sha256")] = one.sha256
                elif _HASH.fullmatch(given) and path == folder:
                    elsewhere += [name] if given not in known else []  # known by its hash; its bytes may come later
                else:
                    faults.append(Fault(table.file, number, "file", says))
            rows.append((number, tuple(row)))
        tables.append(dataclasses.replace(table, header=tuple(header), rows=tuple(rows)))
    return Found(tuple(tables), tuple(items), tuple(faults), frozenset(used), tuple(elsewhere))


def _one(folder: Path, name: str, given: str, privacy: str) -> tuple[Attachment | None, Path, str]:
    if Path(name).name != name or name in (".", "..") or "\0" in name or "\\" in name:
        return None, folder, f"{name!r} is no plain file name; write it without its folder"
    path, data = _looked_up(folder, name, given)
    if path is None:
        says = f"there is no file {name!r} here or in the folder {PHOTO_FOLDER}; put it there, or leave the cell blank"
        return None, folder, says
    form = form_of(data)
    if form is None:
        return None, path, f"{name!r} is no photograph that is known; save it as JPEG, PNG, WebP or PDF"
    sha256 = hashlib.sha256(data).hexdigest()
    if given and given != sha256:
        return None, path, f"{name!r} is not the file whose sha256 stands here; take the right file or clear the cell"
    return Attachment(sha256, privacy, form, data), path, ""


def form_of(data: bytes) -> str | None:
    """Media type of a photograph or page, told by its first bytes; None when it is neither."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    return next((media for first, media in _FORMS if data.startswith(first)), None)


def _looked_up(folder: Path, name: str, given: str) -> tuple[Path | None, bytes]:
    """The file of that name; of several, the one with the hash that is given, else the first."""
    names = [name, *([_by_hash(name, given)] if _HASH.fullmatch(given) else [])]
    there = [p for n in names for p in (folder / n, folder / PHOTO_FOLDER / n) if p.is_file()]
    for path in there:
        data = path.read_bytes()
        if len(there) == 1 or not given or hashlib.sha256(data).hexdigest() == given:
            return path, data
    return (there[0], there[0].read_bytes()) if there else (None, b"")


def _by_hash(name: str, sha256: str) -> str:
    """The name under which a photograph lies when another one has taken its own name."""
    return f"{Path(name).stem}-{sha256[:8]}{Path(name).suffix}"


def write_photos(folder: Path, photos: Iterable[tuple[str, bytes]]) -> list[str]:
    """Write photographs into the sub-folder; gives the names used, plain and distinct whatever the case of letters.

    A second photograph of the same name gets the beginning of its hash into its name, and is found again by it.
    """
    made: dict[str, tuple[str, bytes]] = {}
    for name, data in photos:
        plain = Path(name.replace("\\", "/")).name.strip() or "photo.jpg"
        taken = made.get(plain.casefold())
        if taken and taken[1] != data:
            plain = _by_hash(plain, hashlib.sha256(data).hexdigest())
        (folder / PHOTO_FOLDER).mkdir(parents=True, exist_ok=True)
        (folder / PHOTO_FOLDER / plain).write_bytes(data)
        made[plain.casefold()] = (plain, data)
    return [plain for plain, _ in made.values()]
