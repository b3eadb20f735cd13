"""The whole record as text: `record.jsonl`, one canonical line an entry in the order of replay, and the attachments beside it.

The first line says what it is. A redacted entry travels as its marker. `digests.txt` holds the SHA-256 of every line with the
id of its entry, in the same order, and that of `attachments.csv`: so a line that is bent, or gone, is known as such, and
nothing false is taken. Anybody can read all this without this program; byte-order marks and Windows line ends do no harm.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import hashlib
import io
import json
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from pullstring.log import attachments
from pullstring.log.attachments import PRIVACY, Attachment
from pullstring.log.record import Record
from pullstring.log.refusals import Corrupted, NotARecord, RecordError
from pullstring.log.union import Marker
from pullstring.model.entries import BadEntry, Entry, digest, from_json, to_json

FORMAT = 1
WHAT = "pullstring record"
LONGEST_CELL = 100_000  # ours: characters in a cell of the list of attachments
LINES, KEPT, LIST, SUMS = "record.jsonl", "attachments", "attachments.csv", "digests.txt"
COLUMNS = ("sha256", "privacy", "media_type", "bytes")
MOST_NAMES = 12
_HASH = re.compile(r"[0-9a-f]{64}")
_MEDIA = re.compile(r"[\w.+-]+/[\w.+-]+")
_SUM = re.compile(r"([0-9a-f]{64})  (\S.*)")
_TAKE_ANOTHER = "take another copy, or take what is whole with --rescue"


@dataclasses.dataclass(frozen=True)
class Whole:
    """A record as read; `attachments` give their bytes when called; `lost` says what could not be read."""

    site_code: str | None
    entries: tuple[Entry, ...]
    markers: tuple[Marker, ...]
    attachments: tuple[Callable[[], Attachment], ...]
    lost: tuple[str, ...] = ()


def write_whole(store: Record, folder: Path) -> tuple[int, int]:
    """Write the record into a folder that is new or holds an earlier export of it; gives entries and attachments written.

    All is written beside the folder first and takes its place at the end.
    """
    folder = folder.resolve()
    _refuse_other_things(store, folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        markers = store.markers()
        gone = {m.id for m in markers}
        rows = [(e.order, e.id, to_json(e)) for e in store.entries() if e.id not in gone]
        rows = sorted([*rows, *(((m.tick, m.device, m.n, m.id), m.id, _marker_line(m)) for m in markers)])
        head = {"what": WHAT, "format": FORMAT, "site": store.site_code, "lines": len(rows)}
        text = "\n".join([json.dumps(head, sort_keys=True, ensure_ascii=False), *(line for _, _, line in rows)]) + "\n"
        listed = _write_attachments(store, part)
        sums = [f"{digest(line)}  {name}" for _, name, line in rows] + [f"{digest(listed)}  {LIST}"]
        for name, content in ((LINES, text), (LIST, listed), (SUMS, "\n".join(sums) + "\n")):
            (part / name).write_text(content, encoding="utf-8", newline="")
        part.chmod(0o755)
        _take_its_place(part, folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return len(rows), listed.count("\n") - 1


def _write_attachments(store: Record, part: Path) -> str:
    """Write the bytes, one after the other; gives the list as text."""
    listed = io.StringIO(newline="")
    table = csv.writer(listed, lineterminator="\n")
    table.writerow(COLUMNS)
    for name in attachments.every_name(store):
        item = attachments.held(store, name)
        table.writerow((item.sha256, item.privacy, item.media_type, "" if item.destroyed else len(item.data)))
        if not item.destroyed:
            (part / KEPT).mkdir(exist_ok=True)
            (part / KEPT / item.sha256).write_bytes(item.data)
    return listed.getvalue()


def _refuse_other_things(store: Record, folder: Path) -> None:
    """Only a folder in which every file is one of ours, and of this site, may be written anew."""
    if not folder.exists():
        return
    ours = folder.is_dir() and all(
        p.name in (LINES, LIST, SUMS)
        or (p.name == KEPT and p.is_dir() and all(_HASH.fullmatch(q.name) for q in p.iterdir()))
        for p in folder.iterdir()
    )
    if not ours:
        raise RecordError(f"{folder}: this holds other things; name a new folder")
    if (folder / LINES).exists():
        with (folder / LINES).open("rb") as file:
            code = _head(folder / LINES, file.readline(), [])
        if code is None or code.casefold() != store.site_code.casefold():
            raise RecordError(
                f"{folder}: this holds the record of {code or 'nobody knows which site'}; name a new folder"
            )


def _take_its_place(part: Path, folder: Path) -> None:
    if not folder.exists():
        os.replace(part, folder)
        return
    older = Path(tempfile.mkdtemp(prefix=f".{folder.name}.older.", dir=folder.parent))
    os.replace(folder, older / folder.name)
    os.replace(part, folder)
    shutil.rmtree(older, ignore_errors=True)


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
    first, *lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    code = _head(path, first, lost)
    sums = _sums(path.parent, _said_lines(first), lost)
    numbered = enumerate(lines, start=2) if code is not None else enumerate([first, *lines], start=1)
    found = _read_lines(path.name, numbered, sums, lost)
    items = _attached(path.parent, sums, lost)
    if lost and not rescue:
        more = [f"{path.parent}: and {len(lost) - MOST_NAMES} more"] if len(lost) > MOST_NAMES else []
        told = [*(f"{path.parent}: {says}" for says in lost[:MOST_NAMES]), *more]
        raise NotARecord("\n".join(f"{says}; {_TAKE_ANOTHER}" if says is told[-1] else says for says in told))
    if lost and not found:
        raise NotARecord(f"{path}: not one whole entry is left in this file; look for another copy of the record")
    return Whole(
        code or _site_of(found.values()),
        tuple(one for one in found.values() if isinstance(one, Entry)),
        tuple(one for one in found.values() if isinstance(one, Marker)),
        tuple(items),
        tuple(lost),
    )


def _head(path: Path, line: bytes, lost: list[str]) -> str | None:
    try:
        head = json.loads(line.removeprefix(b"\xef\xbb\xbf"))
        if head["what"] != WHAT:
            raise ValueError
        newer, code = int(head["format"]) > FORMAT, str(head["site"])
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        lost.append(f"{path.name} line 1: this does not say that it is a record")
        return None
    if newer:
        raise NotARecord(f"{path}: this record was written by a newer version of the program; install that version")
    return code


def _said_lines(line: bytes) -> int | None:
    try:
        said = json.loads(line)["lines"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return said if type(said) is int else None


@dataclasses.dataclass(frozen=True)
class _Sums:
    """What each line must hash to, by the id of its entry, and the list of attachments; `every` when none is missing."""

    lines: dict[str, str]
    listed: str | None
    every: bool


def _sums(folder: Path, said: int | None, lost: list[str]) -> _Sums:
    try:
        text = (folder / SUMS).read_text(encoding="utf-8-sig", errors="replace")
    except OSError:
        lost.append(f"{SUMS}: it is missing, so a changed letter cannot be told from what was written")
        return _Sums({}, None, False)
    found = [_SUM.fullmatch(line.rstrip("\r")) for line in text.split("\n") if line.strip()]
    sums = {f[2]: f[1] for f in found if f}
    listed = sums.pop(LIST, None)
    every = all(found) and listed is not None and (said is None or len(sums) == said)
    if not every:
        lost.append(f"{SUMS}: it is not whole, so what it does not name cannot be checked")
    return _Sums(sums, listed, every)


def _read_lines(
    file: str, lines: Iterable[tuple[int, bytes]], sums: _Sums, lost: list[str]
) -> dict[str, Entry | Marker]:
    """Every whole line by the id of its entry; what is bent, changed, twice or missing is said."""
    found: dict[str, Entry | Marker] = {}
    bad = 0
    for number, raw in lines:
        if not raw.strip():
            continue
        where = f"{file} line {number}"
        try:
            one, text = _line(raw)
        except (BadEntry, ValueError, TypeError, KeyError, RecursionError) as error:
            lost.append(f"{where}: this is no whole entry ({' '.join(str(error).split())[:80]})")
        else:
            wanted = sums.lines.get(one.id)
            if wanted is not None and wanted != digest(text):
                lost.append(f"{where}: entry {one.id} was changed after it was written")
            elif wanted is None and sums.every:
                lost.append(f"{where}: entry {one.id} is not in {SUMS}")
            elif one.id in found:
                lost.append(f"{where}: entry {one.id} stands here twice")
                continue
            else:
                found[one.id] = one
                continue
        bad += 1
    missing = [name for name in sums.lines if name not in found]
    if len(missing) > bad:
        some = ", ".join(missing[:MOST_NAMES]) + (
            f" and {len(missing) - MOST_NAMES} more" if len(missing) > MOST_NAMES else ""
        )
        lost.append(f"{file}: {len(missing)} entries that were written are not here whole ({some})")
    return found


def _line(raw: bytes) -> tuple[Entry | Marker, str]:
    """An entry or a marker with its line; the line is exactly as this program writes it."""
    text = raw.decode("utf-8").rstrip("\r")
    read = json.loads(text, parse_constant=_no_number)
    if isinstance(read, dict) and set(read) == {"redacted"}:
        marker = _marker(read["redacted"])
        if _marker_line(marker) != text:
            raise ValueError("it is not written as it was")
        return marker, text
    entry = from_json(text)
    if to_json(entry) != text:
        raise ValueError("it is not written as it was")
    text.encode()  # half of a letter pair, as JSON can spell it, is no text
    return entry, text


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _marker(fields: Any) -> Marker:
    names = {f.name for f in dataclasses.fields(Marker)}
    if not isinstance(fields, dict) or set(fields) != names:
        raise ValueError("the marker of a redacted entry lacks a part")
    texts = (*(fields[name] for name in ("id", "device", "digest", "key")), *fields["photos"])
    whole = all(isinstance(t, str) for t in texts) and all(
        type(fields[n]) is int and fields[n] >= 1 for n in ("tick", "n")
    )
    if not whole or not fields["id"] or not fields["device"]:
        raise ValueError("the marker of a redacted entry is bent")
    if not all(_HASH.fullmatch(h) for h in (fields["digest"], *fields["photos"])):
        raise ValueError("the marker of a redacted entry names no hash")
    return Marker(**{**fields, "photos": tuple(fields["photos"])})


def _site_of(found: Iterable[Entry | Marker]) -> str | None:
    """The code of the site, from the note that a record begins with."""
    for one in found:
        subject = getattr(one.body, "subject", None) if isinstance(one, Entry) else None
        if subject is not None and subject.kind == "property":
            return str(subject.tag)
    return None


def _attached(folder: Path, sums: _Sums, lost: list[str]) -> list[Callable[[], Attachment]]:
    """Attachments whose bytes are there and agree with their hash; no name but a hash is ever looked up."""
    try:
        text = (folder / LIST).read_text(encoding="utf-8-sig").replace("\r\n", "\n").strip("\n") + "\n"
        csv.field_size_limit(LONGEST_CELL)
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        words = error.strerror if isinstance(error, OSError) else " ".join(str(error).split())[:80]
        lost.append(f"{LIST}: this cannot be read ({words})")
        return []
    items: list[Callable[[], Attachment]] = []
    for number, row in enumerate(rows, start=2):
        name, privacy, media, size = (str(row.get(k) or "") for k in COLUMNS)
        if not _HASH.fullmatch(name) or privacy not in PRIVACY or not _MEDIA.fullmatch(media):
            lost.append(f"{LIST} row {number}: this is no attachment")
        elif not size:
            items.append(functools.partial(Attachment, name, privacy, media, b""))
        else:
            load = _Load(folder / KEPT / name, name, privacy, media)
            if load.is_whole(size):
                items.append(load)
            else:
                lost.append(f"{KEPT}/{name}: the bytes are missing or not those of their hash")
    if sums.listed not in (None, digest(text)):
        lost.append(f"{LIST}: it was changed after it was written; privacy classes may be wrong")
    return items


@dataclasses.dataclass(frozen=True)
class _Load:
    """One attachment in its file, read when it is asked for."""

    file: Path
    sha256: str
    privacy: str
    media_type: str

    def is_whole(self, size: str) -> bool:
        """Whether the file is a plain one of that size with those bytes."""
        try:
            plain = self.file.is_file() and not self.file.is_symlink() and str(self.file.stat().st_size) == size
            return plain and hashlib.sha256(self.file.read_bytes()).hexdigest() == self.sha256
        except OSError:
            return False

    def __call__(self) -> Attachment:
        data = self.file.read_bytes()
        if hashlib.sha256(data).hexdigest() != self.sha256:
            raise Corrupted(self.file, [self.sha256], "attachments do not agree with their hash", _TAKE_ANOTHER)
        return Attachment(self.sha256, self.privacy, self.media_type, data)


def is_whole(source: Path) -> bool:
    """Whether a path is the text of a record: a folder with `record.jsonl`, or that file."""
    return (source / LINES).is_file() if source.is_dir() else source.name == LINES
