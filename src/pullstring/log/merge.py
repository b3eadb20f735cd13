"""Two records of one site become one by union: of entries by id, of attachments by hash, of redactions."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from pathlib import Path

from pullstring.log import attachments
from pullstring.log.attachments import Attachment
from pullstring.log.record import Record
from pullstring.log.refusals import AnotherSite
from pullstring.log.store import open_store
from pullstring.log.union import Marker, unite
from pullstring.model.entries import Entry


@dataclasses.dataclass(frozen=True)
class MergeReport:
    """What came over. `scrubbed` is False while destroyed content may still lie in freed parts of the file."""

    added: int
    already: int
    redacted: int
    attachments: int
    scrubbed: bool


def merge(into: Record, other: Path | str | Record) -> MergeReport:
    """Bring over what another record of the same site holds, all or none; the other is only read."""
    if not isinstance(other, Record):
        with open_store(other, read_only=True) as opened:
            return merge(into, opened)
    if other.site_code.casefold() != into.site_code.casefold():
        raise AnotherSite(
            f"{other.where}: this is the record of {other.site_code}, not of {into.site_code}; "
            "name another record of the same site"
        )
    kept = (attachments.held(other, name) for name in attachments.every_name(other))
    return bring(into, other.where, other.entries(), other.markers(), kept)


def bring(
    into: Record, where: str, entries: Iterable[Entry], markers: Iterable[Marker], kept: Iterable[Attachment]
) -> MergeReport:
    """Take entries, markers and attachments together, all or none.

    Entries come first: which photographs may keep their bytes depends on all of them.
    """
    with into.writing() as speaker:
        done = unite(speaker, where, entries, markers)
        new = sum(attachments.keep(speaker, item) for item in kept)
    scrubbed = into.scrub() if done.destroyed else True
    return MergeReport(done.added, done.already, done.redacted, new, scrubbed)
