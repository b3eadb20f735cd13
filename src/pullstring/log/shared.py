"""What may be given away: the as-built site as tables, without what is private, and only photographs marked open.

Left out are private columns, sealed values, cells that speak of a code, things marked private, and whatever position or
person's data a photograph carries beside its picture.
"""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Mapping, Sequence

from pullstring.log.pictures import NotClean, without_words
from pullstring.log.secret_names import is_secret_field
from pullstring.model.columns import tables
from pullstring.model.sealed import is_sealed

_SPEAKS = re.compile(
    r"\b(codes?|pins?|pass ?words?|pass ?phrases?|pass ?codes?|pwd|puk|wpa\d?|psk|secret|combination|key ?safe)\b"
    r"[^\n]{0,40}?[0-9A-Za-z!#$%&*+@_-]*\d",
    re.IGNORECASE,
)
"""A word for a secret with a digit not far behind it. Ours: it leaves out too much rather than too little."""


@dataclasses.dataclass(frozen=True)
class Shared:
    """Tables that may go out, photographs with their file names, and how many cells or rows of what were left out."""

    rows: Mapping[str, list[dict[str, str]]]
    photos: tuple[tuple[str, bytes], ...]
    left_out: Mapping[str, int]


def shareable(rows: Mapping[str, Sequence[Mapping[str, str]]], photos: Mapping[str, tuple[str, bytes]]) -> Shared:
    """Tables and photographs without what is private.

    Parameters
    ----------
    rows : mapping
        Rows by table, as `tables_out.rows_of` gives them.
    photos : mapping
        Privacy class and bytes by hash, for the photographs whose bytes are here.
    """
    left: collections.Counter[str] = collections.Counter()
    closed = {row["photo"].casefold() for row in rows.get("photos", ()) if row.get("privacy") not in ("", None, "open")}
    said_open = {r["photo"].casefold() for r in rows.get("photos", ()) if r.get("privacy") == "open"}
    hidden = closed | ({r["photo"].casefold() for r in rows.get("photos", ())} - said_open)
    kept: dict[str, tuple[str, bytes]] = {}
    out: dict[str, list[dict[str, str]]] = {}
    for name, content in rows.items():
        cleaned = []
        for row in content:
            if _names_hidden(row, hidden):
                left[f"{name}: rows on photographs that are not open"] += 1
                continue
            cleaned.append(_cells(name, row, left))
        if name == "photos":
            cleaned = [_photo(row, photos, kept, left) for row in cleaned]
        if cleaned:
            out[name] = cleaned
    return Shared(out, tuple(kept.values()), dict(sorted(left.items())))


def _names_hidden(row: Mapping[str, str], hidden: set[str]) -> bool:
    if row.get("photo", "").casefold() in hidden:
        return True
    named = " ".join(row.get(c, "") for c in ("subject", "object", "of", "untouched", "where", "on")).casefold()
    return any(word.startswith("photo:") and word.partition(":")[2] in hidden for word in named.split())


def _cells(name: str, row: Mapping[str, str], left: collections.Counter[str]) -> dict[str, str]:
    table = tables()[name]
    cleaned = {}
    for column, cell in row.items():
        known = table.column(column)
        private = known is not None and known.private
        secret = is_secret_field(table.kind, column) or is_sealed(cell)
        speaks = known is not None and known.type == "text" and _SPEAKS.search(cell)
        if cell and (private or secret or speaks):
            left[f"{name}, column {column}"] += 1
            cell = ""
        cleaned[column] = cell
    if name == "claims" and _SPEAKS.search(cleaned.get("detail", "")):
        cleaned["detail"] = ""
    return cleaned


def _photo(
    row: dict[str, str],
    photos: Mapping[str, tuple[str, bytes]],
    kept: dict[str, tuple[str, bytes]],
    left: collections.Counter[str],
) -> dict[str, str]:
    """The row of an open photograph, naming the cleaned file; without a file when it cannot be cleaned."""
    sha256, privacy_and_bytes = row.get("sha256", ""), photos.get(row.get("sha256", ""))
    row["sha256"] = ""
    if privacy_and_bytes and privacy_and_bytes[0] == "open":
        try:
            clean = without_words(privacy_and_bytes[1]).data
        except NotClean:
            left["photographs whose position could not be taken out"] += 1
        else:
            stem = re.sub(r"[^\w-]+", "_", row["photo"])
            suffix = {b"\xff": ".jpg", b"\x89": ".png", b"R": ".webp"}.get(clean[:1], ".bin")
            kept[sha256] = (f"{stem}{suffix}", clean)
            row["file"] = kept[sha256][0]
            return row
    row["file"] = ""
    return row
