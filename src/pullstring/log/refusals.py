"""What the record refuses, one class per cause.

The message is one sentence: where, what is wrong, what would be right.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path


class RecordError(ValueError):
    """A request to the record cannot be met; the record is as it was before."""


class NotARecord(RecordError):
    """The file is no record that this program can read."""


class Busy(RecordError):
    """Another program holds the record."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path}: another program is writing to this record; wait until it is done and try again")


class ReadOnly(RecordError):
    """The record was opened for reading."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path}: this record was opened for reading only; open it for writing to add to it")


class AnotherSite(RecordError):
    """Two records of different sites do not merge."""


class NoSuchEntry(RecordError):
    """The entry is not in this record, or cannot be redacted."""


class UnusableEntry(RecordError):
    """An entry whose counters would spoil the record."""


class SecretRefused(RecordError):
    """Passwords or codes were about to be written in plain; their content is never repeated."""

    def __init__(self, fields: Sequence[tuple[str, str]]) -> None:
        super().__init__(
            "\n".join(
                f"{thing}: {field!r} is a secret and would stand in plain; seal it with 'add ... --seal {field}', "
                "or leave it out and write down who knows it"
                for thing, field in fields
            )
        )


class Corrupted(RecordError):
    """Entries or attachments do not agree with their hash or with their namesakes; `ids` lists them."""

    def __init__(self, where: Path | str, ids: Iterable[str], wrong: str, remedy: str) -> None:
        self.ids = tuple(sorted({str(i) for i in ids}))
        super().__init__(f"{where}: {wrong} ({', '.join(self.ids)}); {remedy}")
