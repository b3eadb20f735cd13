"""Two records of one site become one by union: of entries by id, of attachments by hash, of redactions."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from pullstring.log import attachments
from pullstring.log.refusals import AnotherSite
from pullstring.log.store import Store, open_store
from pullstring.log.union import unite


@dataclasses.dataclass(frozen=True)
class MergeReport:
    """What came over. `scrubbed` is False while destroyed content may still lie in freed parts of the file."""

    added: int
    already: int
    redacted: int
    attachments: int
    scrubbed: bool


def merge(into: Store, other: Path | str) -> MergeReport:
    """Bring over what another record of the same site holds, all or none; the other file is only read."""
    with open_store(other, read_only=True) as source:
        if source.site_code.casefold() != into.site_code.casefold():
            raise AnotherSite(
                f"{source.path}: this is the record of {source.site_code}, not of {into.site_code}; "
                "name another record of the same site"
            )
        with into.writing() as connection:
            kept = sum(
                attachments.keep(connection, attachments.get(source, name)) for name in attachments.names(source)
            )
            done = unite(connection, str(source.path), source.entries(), source.markers())
    scrubbed = into.scrub() if done.destroyed else True
    return MergeReport(done.added, done.already, done.redacted, kept, scrubbed)
