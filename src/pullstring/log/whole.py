"""The whole record as text: `record.jsonl`, one canonical line an entry in the order of replay, and the attachments beside it.

The first line says what it is. A redacted entry travels as its marker. Anybody can read it without this program.
"""

from __future__ import annotations

import csv
import dataclasses
import hashlib
import io
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from pullstring.log import attachments
from pullstring.log.attachments import PRIVACY, Attachment
from pullstring.log.record import Record
from pullstring.log.refusals import NotARecord, RecordError
from pullstring.log.union import Marker
from pullstring.model.entries import BadEntry, Entry, from_json, to_json

FORMAT = 1
WHAT = "pullstring record"
LINES, KEPT, LIST = "record.jsonl", "attachments", "attachments.csv"
_HASH = re.compile(r"[0-9a-f]{64}")


@dataclasses.dataclass(frozen=True)
class Whole:
    """A record as read from its text; `lost` says what could not be read."""

    site_code: str | None
    entries: tuple[Entry, ...]
    markers: tuple[Marker, ...]
    attachments: tuple[Attachment, ...]
    lost: tuple[str, ...] = ()


def write_whole(store: Record, folder: Path) -> tuple[int, int]:
    """Write the record into a folder that is new or holds an earlier export; gives entries and attachments written."""
    if folder.exists() and (not folder.is_dir() or any(p.name not in (LINES, KEPT, LIST) for p in folder.iterdir())):
        raise RecordError(f"{folder}: this holds other things; name a new folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        entries = store.entries()
        rows: list[tuple[tuple[Any, ...], str]] = [(e.order, to_json(e)) for e in entries]
        rows += [((m.tick, m.device, m.n, m.id), _marker_line(m)) for m in store.markers()]
        head = json.dumps({"what": WHAT, "format": FORMAT, "site": store.site_code}, sort_keys=True)
        text = "\n".join([head, *(line for _, line in sorted(rows))]) + "\n"
        (part / LINES).write_text(text, encoding="utf-8", newline="")
        items = [attachments.held(store, name) for name in attachments.every_name(store)]
        listed = io.StringIO(newline="")
        table = csv.writer(listed, lineterminator="\n")
        table.writerow(("sha256", "privacy", "media_type", "bytes"))
        for item in items:
            table.writerow((item.sha256, item.privacy, item.media_type, "" if item.destroyed else len(item.data)))
            if not item.destroyed:
                (part / KEPT).mkdir(exist_ok=True)
                (part / KEPT / item.sha256).write_bytes(item.data)
        (part / LIST).write_text(listed.getvalue(), encoding="utf-8", newline="")
        part.chmod(0o755)
        if folder.exists():
            shutil.rmtree(folder)
        os.replace(part, folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return len(rows), len(items)


def _marker_line(marker: Marker) -> str:
    fields = {**dataclasses.asdict(marker), "photos": list(marker.photos)}
    return json.dumps({"redacted": fields}, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def read_whole(folder: Path, *, rescue: bool) -> Whole:
    """Read a record from its folder.

    Parameters
    ----------
    folder : Path
        Holds `record.jsonl`; or that file itself.
    rescue : bool
        Take every whole line and say what is lost; else anything damaged is refused.
    """
    path = folder if folder.is_file() else folder / LINES
    try:
        data = path.read_bytes()
    except OSError as error:
        raise NotARecord(f"{path}: the file cannot be read ({error.strerror}); name the folder with {LINES}") from error
    lost: list[str] = []
    lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    code = _head(path, lines[0], lost)
    entries: list[Entry] = []
    markers: list[Marker] = []
    for number, raw in enumerate(lines[1:], start=2):
        if raw.strip():
            try:
                one = _line(raw)
            except (BadEntry, ValueError, TypeError, KeyError) as error:
                words = " ".join(str(error).split())[:120]
                lost.append(f"{path.name} line {number}: this is no whole entry ({words})")
            else:
                if isinstance(one, Marker):
                    markers.append(one)
                else:
                    entries.append(one)
    items = list(_attached(path.parent, lost))
    if lost and not rescue:
        more = f" and {len(lost) - 1} more" if len(lost) > 1 else ""
        raise NotARecord(f"{path.parent}: {lost[0]}{more}; take another copy, or take what is whole with --rescue")
    return Whole(code, tuple(entries), tuple(markers), tuple(items), tuple(lost))


def _head(path: Path, line: bytes, lost: list[str]) -> str | None:
    try:
        head = json.loads(line)
        if head["what"] != WHAT:
            raise ValueError
        newer = int(head["format"]) > FORMAT
        code = str(head["site"])
    except (ValueError, KeyError, TypeError, RecursionError):
        lost.append(f"{path.name} line 1: this does not say that it is a record")
        return None
    if newer:
        raise NotARecord(f"{path}: this record was written by a newer version of the program; install that version")
    return code


def _line(raw: bytes) -> Entry | Marker:
    text = raw.decode("utf-8").rstrip("\r")
    read = json.loads(text)
    if isinstance(read, dict) and set(read) == {"redacted"}:
        fields = read["redacted"]
        marker = Marker(**{**fields, "photos": tuple(fields.get("photos", ()))})
        if not _HASH.fullmatch(marker.digest) or type(marker.tick) is not int or type(marker.n) is not int:
            raise ValueError("the marker of a redacted entry is bent")
        return marker
    return from_json(text)


def _attached(folder: Path, lost: list[str]) -> Iterator[Attachment]:
    path = folder / LIST
    if not path.is_file():
        return
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        lost.append(f"{LIST}: this cannot be read ({' '.join(str(error).split())[:80]})")
        return
    for number, row in enumerate(rows, start=2):
        name, privacy, media = (str(row.get(k) or "") for k in ("sha256", "privacy", "media_type"))
        if not _HASH.fullmatch(name) or privacy not in PRIVACY or not media:
            lost.append(f"{LIST} row {number}: this is no attachment")
            continue
        file = folder / KEPT / name
        if not row.get("bytes"):
            yield Attachment(name, privacy, media, b"")
        elif not file.is_file() or hashlib.sha256(data := file.read_bytes()).hexdigest() != name:
            lost.append(f"{KEPT}/{name}: the bytes are missing or not those of their hash")
        else:
            yield Attachment(name, privacy, media, data)


def is_whole(source: Path) -> bool:
    """Whether a path is the text of a record: a folder with `record.jsonl`, or that file."""
    return (source / LINES).is_file() if source.is_dir() else source.name == LINES


def all_of(store: Record) -> tuple[list[Entry], list[Marker], Iterable[Attachment]]:
    """Entries, markers and attachments of an open record."""
    return store.entries(), store.markers(), (attachments.held(store, n) for n in attachments.every_name(store))
