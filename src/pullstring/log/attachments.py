"""Photographs and other bytes beside the entries, named by their hash, each with a privacy class.

When redaction reaches an attachment its bytes are destroyed; its hash, class and media type stay, with no bytes.
"""

from __future__ import annotations

import dataclasses
import hashlib
from typing import Any

from pullstring.log.record import Record
from pullstring.log.refusals import Corrupted, RecordError
from pullstring.log.union import Speaker, is_doomed
from pullstring.model.entries import Entry, StruckOut

PRIVACY = (
    "open",
    "site",
    "private",
)  # from least to most private; for all, for those of the site, for the writer
_KEEP = "INSERT INTO attachments (sha256, privacy, media_type, bytes) VALUES (?, ?, ?, ?)"
_STRICTER = "UPDATE attachments SET privacy = ?, media_type = ? WHERE sha256 = ?"
_COME_BACK = "UPDATE attachments SET bytes = ? WHERE sha256 = ?"
_OF_NOTHING = hashlib.sha256(b"").hexdigest()


@dataclasses.dataclass(frozen=True)
class Attachment:
    """Bytes with their name, class and media type; `destroyed` when the bytes are gone and only the rest is left."""

    sha256: str
    privacy: str
    media_type: str
    data: bytes = dataclasses.field(repr=False)

    @property
    def destroyed(self) -> bool:
        """True when redaction has reached it."""
        return not self.data and self.sha256 != _OF_NOTHING


def attach(store: Record, data: bytes, *, media_type: str, privacy: str) -> str:
    """Keep bytes; gives their SHA-256. The same bytes again add nothing, but may make them more private."""
    if privacy not in PRIVACY:
        raise RecordError(f"{store.where}: {privacy!r} is no privacy class; it is one of {', '.join(PRIVACY)}")
    if not media_type.strip():
        raise RecordError(f"{store.where}: the attachment has no media type; give one, for example image/jpeg")
    item = Attachment(hashlib.sha256(data).hexdigest(), privacy, media_type.strip().casefold(), data)
    with store.writing() as speaker:
        if is_doomed(speaker, item.sha256):
            raise RecordError(
                f"{store.where}: the attachment {item.sha256} was destroyed on request and does not come back; "
                "take another photograph"
            )
        keep(speaker, item)
    return item.sha256


def keep(speaker: Speaker, item: Attachment) -> bool:
    """Add an attachment inside the caller's transaction; True when its bytes are new.

    Of two classes the stricter stays, of two media types the first by letters, so the order of merging does not matter.
    Bytes that redaction has reached are not kept. Give entries first, for they decide which these are.
    """
    rank, media_type = PRIVACY.index(item.privacy), item.media_type
    data = b"" if is_doomed(speaker, item.sha256) else item.data
    query = "SELECT privacy, media_type, length(bytes) FROM attachments WHERE sha256 = ?"
    there = speaker.execute(query, (item.sha256,)).fetchone()
    if there is None:
        speaker.execute(_KEEP, (item.sha256, rank, media_type, data))
        return bool(data)
    stricter = (max(rank, there[0]), min(media_type, there[1]))
    if stricter != (there[0], there[1]):
        speaker.execute(_STRICTER, (*stricter, item.sha256))
    if data and not there[2]:  # redaction had reached it, and an entry that came now names it still
        speaker.execute(_COME_BACK, (data, item.sha256))
        return True
    return False


def held(store: Record, sha256: str) -> Attachment:
    """An attachment as it is kept, destroyed or not; its bytes are checked against its hash."""
    found = store.rows("SELECT privacy, media_type, bytes FROM attachments WHERE sha256 = ?", (sha256,))
    if not found:
        raise RecordError(f"{store.where}: there is no attachment {sha256}; merge the record that holds it")
    rank, media_type, data = found[0]
    item = Attachment(sha256, PRIVACY[rank], media_type, data)
    if not item.destroyed and hashlib.sha256(data).hexdigest() != sha256:
        raise Corrupted(
            store.where,
            [sha256],
            "attachments do not agree with their hash",
            "take another copy of this record",
        )
    return item


def get(store: Record, sha256: str) -> Attachment:
    """An attachment with its bytes; one that was destroyed is refused."""
    item = held(store, sha256)
    if item.destroyed:
        raise RecordError(f"{store.where}: the bytes of {sha256} were destroyed on request; only its hash is left")
    return item


def names(store: Record) -> list[str]:
    """Hashes of all attachments that have their bytes, sorted."""
    gone = set(destroyed(store))
    return [name for name in every_name(store) if name not in gone]


def destroyed(store: Record) -> list[str]:
    """Hashes of the attachments whose bytes are gone, sorted."""
    query = "SELECT sha256 FROM attachments WHERE length(bytes) = 0 AND sha256 <> ?"
    return sorted(row[0] for row in store.rows(query, (_OF_NOTHING,)))


def every_name(store: Record) -> list[str]:
    """Hashes of all attachments, destroyed ones included, sorted."""
    return sorted(row[0] for row in store.rows("SELECT sha256 FROM attachments"))


def destroy(store: Record, sha256: str, *, why: str, **envelope: Any) -> Entry:
    """Destroy the bytes of an attachment, whatever still names it, by an entry that every copy will follow.

    `envelope` holds what `Record.append` needs: at, wrote, author, and what else it takes.
    """
    if sha256 not in every_name(store):
        raise RecordError(f"{store.where}: there is no attachment {sha256}; name one that the record holds")
    [entry] = store.append([StruckOut(sha256, why, redacted=True)], **envelope)
    return entry
