"""Photographs and other bytes beside the entries, named by their hash, each with a privacy class."""

from __future__ import annotations

import dataclasses
import hashlib
import sqlite3
from typing import TYPE_CHECKING

from pullstring.log.refusals import Corrupted, RecordError

if TYPE_CHECKING:
    from pullstring.log.store import Store

PRIVACY = (
    "open",
    "site",
    "private",
)  # from least to most private; for all, for those of the site, for the writer
_KEEP = "INSERT INTO attachments (sha256, privacy, media_type, bytes) VALUES (?, ?, ?, ?)"
_STRICTER = (
    "UPDATE attachments SET privacy = max(privacy, ?1), media_type = min(media_type, ?2) "
    "WHERE sha256 = ?3 AND (privacy < ?1 OR media_type > ?2)"
)


@dataclasses.dataclass(frozen=True)
class Attachment:
    """Bytes with their name, class and media type."""

    sha256: str
    privacy: str
    media_type: str
    data: bytes = dataclasses.field(repr=False)


def attach(store: Store, data: bytes, *, media_type: str, privacy: str) -> str:
    """Keep bytes; gives their SHA-256. The same bytes again add nothing, but may make them more private."""
    if privacy not in PRIVACY:
        raise RecordError(f"{store.path}: {privacy!r} is no privacy class; it is one of {', '.join(PRIVACY)}")
    if not media_type.strip():
        raise RecordError(f"{store.path}: the attachment has no media type; give one, for example image/jpeg")
    item = Attachment(hashlib.sha256(data).hexdigest(), privacy, media_type.strip().casefold(), data)
    with store.writing() as connection:
        keep(connection, item)
    return item.sha256


def keep(connection: sqlite3.Connection, item: Attachment) -> bool:
    """Add an attachment inside the caller's transaction; True when it is new.

    Of two classes the stricter stays, of two media types the first by letters, so the order of merging does not matter.
    """
    rank = PRIVACY.index(item.privacy)
    there = connection.execute("SELECT 1 FROM attachments WHERE sha256 = ?", (item.sha256,)).fetchone()
    if there:
        connection.execute(_STRICTER, (rank, item.media_type, item.sha256))
        return False
    connection.execute(_KEEP, (item.sha256, rank, item.media_type, item.data))
    return True


def get(store: Store, sha256: str) -> Attachment:
    """An attachment by its hash; its bytes are checked against it."""
    found = store.rows("SELECT privacy, media_type, bytes FROM attachments WHERE sha256 = ?", (sha256,))
    if not found:
        raise RecordError(f"{store.path}: there is no attachment {sha256}; merge the record that holds it")
    rank, media_type, data = found[0]
    if hashlib.sha256(data).hexdigest() != sha256:
        raise Corrupted(
            store.path,
            [sha256],
            "attachments do not agree with their hash",
            "take another copy of this record",
        )
    return Attachment(sha256, PRIVACY[rank], media_type, data)


def names(store: Store) -> list[str]:
    """Hashes of all attachments, sorted."""
    return [row[0] for row in store.rows("SELECT sha256 FROM attachments ORDER BY sha256")]
