"""Which phones may write into this record: a name, a letter and the hash of a token, kept beside the entries.

A token is known to the phone alone; what lies here is its hash, and it never leaves with an export or a merge.
"""

from __future__ import annotations

import dataclasses
import hashlib
import hmac
import json

from pullstring.log.record import Record
from pullstring.log.refusals import RecordError

_MARK = "phone:"
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # ours: without I and O, which read as digits


@dataclasses.dataclass(frozen=True)
class Device:
    """One phone: its id in entries, its letter in tags of jottings, its name, the day it was paired."""

    id: str
    short: str
    name: str
    since: str
    token_sha256: str = dataclasses.field(repr=False, default="")


def hash_of(token: str) -> str:
    """SHA-256 of a token, in hex."""
    return hashlib.sha256(token.encode()).hexdigest()


def devices(store: Record) -> list[Device]:
    """All phones of this record, in the order of their letters."""
    rows = store.rows("SELECT key, value FROM meta WHERE key LIKE ?", (f"{_MARK}%",))
    found = [Device(key.removeprefix(_MARK), **json.loads(value)) for key, value in rows]
    return sorted(found, key=lambda d: (len(d.short), d.short))


def enrol(store: Record, *, device: str, name: str, since: str, token: str) -> Device:
    """Keep a new phone with letters of its own, by which its jottings are told from those of every other."""
    with store.writing() as speaker:
        made = Device(device, _letters(device, {d.short for d in devices(store)}), name, since, hash_of(token))
        speaker.execute("INSERT INTO meta (key, value) VALUES (?, ?)", (_MARK + device, _as_text(made)))
    return made


def forget(store: Record, device: str) -> bool:
    """Take the right to write from a phone; its letters stay taken. True when it had the right."""
    there = next((d for d in devices(store) if d.id == device and d.token_sha256), None)
    if there is None:
        return False
    with store.writing() as speaker:
        gone = _as_text(dataclasses.replace(there, token_sha256=""))
        speaker.execute("UPDATE meta SET value = ? WHERE key = ?", (gone, _MARK + device))
    return True


def _as_text(device: Device) -> str:
    said = {f.name: getattr(device, f.name) for f in dataclasses.fields(device) if f.name != "id"}
    return json.dumps(said, sort_keys=True)


def _letters(device: str, taken: set[str]) -> str:
    """Two letters drawn from the id, so that phones of two copies of a record seldom bear the same; the next free ones."""
    number = int(hashlib.sha256(device.encode()).hexdigest(), 16)
    for step in range(len(LETTERS) ** 2):
        high, low = divmod((number + step) % len(LETTERS) ** 2, len(LETTERS))
        if (short := LETTERS[high] + LETTERS[low]) not in taken:
            return short
    raise RecordError(f"all {len(LETTERS) ** 2} pairs of letters are taken by phones; begin a new record for this site")


def of_token(store: Record, token: str) -> Device | None:
    """The phone that bears this token, compared in constant time."""
    wanted = hash_of(token)
    return next((d for d in devices(store) if hmac.compare_digest(d.token_sha256.encode(), wanted.encode())), None)
