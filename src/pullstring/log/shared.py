"""What may be given away: the as-built site as tables, without what is private, and only photographs marked open.

Left out are private columns, sealed values, things marked private and what names them, and texts that speak of a code, that
reach a person, that tell a position, or that repeat what stands in a private column. Of a photograph only the picture stays.
"""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Iterable, Mapping, Sequence

from pullstring.log.pictures import NotClean, without_words
from pullstring.log.secret_names import is_secret_field
from pullstring.model.columns import Column, Table, tables
from pullstring.model.refs import REF_JOIN, tag_key
from pullstring.model.sealed import is_sealed

# Ours, from common practice. They leave out too much rather than too little.
_SECRET_WORD = re.compile(
    r"(code|kennwort|passwort)|\b(pass ?words?|pass ?phrases?|pass ?keys?|access ?keys?|pwd|puk|wpa\d?|psk|secret|combination|"
    r"alarm off|key[ -]?(safe|box)|lock[ -]?box|log ?in|pin[ -]?(code|number|no|is)|(?-i:PIN))\b|\bpin *[:=]",
    re.IGNORECASE,
)
_PIN = re.compile(r"\bpin\b\D{0,40}\d{4}|\d{4}\D{0,40}\bpin\b", re.IGNORECASE)  # `pins 4 and 5` are contacts
_TOLD = re.compile(r"\bpass ?(word|phrase|code|key)s?\b *(is|was|:|=) *\S", re.IGNORECASE)
_REACHES = re.compile(r"[\w.+-]+@[\w-]+\.\w+|(?<!\w)(\+|00?(?=\d))(?:[ ()/-]*\d){8,}")
_POSITION = re.compile(
    r"\d{1,3}\.\d{4,}°?\s*[NS]?\s*[,;/ ]\s*-?\d{1,3}\.\d{4,}|\d+\s*°\s*\d+[^\n]{0,14}?[NSEW]\b", re.IGNORECASE
)
_NAMES = re.compile(r"[A-Z][\w'-]+(?: [A-Z][\w'-]+)+")
_REFERENCES = ("ref", "refs", "anyref", "anyrefs", "relation")
WHOLE = ("keys", "seasons")  # where keys hang and when rooms stand empty is never given away
LEAST_REPEATED = 4  # ours: a shorter private value is also an ordinary word


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
    hidden = _hidden(rows)
    private = _private_words(rows)
    shown: dict[str, tuple[str, bytes]] = {}
    out: dict[str, list[dict[str, str]]] = {}
    for name, content in rows.items():
        if name in WHOLE:
            left[f"{name}: the whole table"] += len(content)
            continue
        kept = [_row(tables()[name], row, hidden, private, left) for row in content]
        cleaned = [row for row in kept if row is not None]
        if name == "photos":
            cleaned = [_photo(row, photos, shown, left) for row in cleaned]
        if cleaned:
            out[name] = cleaned
    return Shared(out, tuple(shown.values()), dict(sorted(left.items())))


def speaks_of_a_secret(text: str) -> bool:
    """Whether a text names a code, pin or password and has a figure, or says what the password is."""
    word = _SECRET_WORD.search(text)
    if word and any(c.isdigit() for c in text[: word.start()] + text[word.end() :]):
        return True
    return bool(_PIN.search(text) or _TOLD.search(text))


def _hidden(rows: Mapping[str, Sequence[Mapping[str, str]]]) -> set[tuple[str, str]]:
    """Kind and compared tag of what is not open; a photograph is open only when somebody said so and nobody else."""
    hidden = set()
    for name, content in rows.items():
        table = tables()[name]
        tag = _tag_column(table)
        if tag and table.column("privacy"):
            said: dict[str, set[str]] = collections.defaultdict(set)
            for row in content:
                said[tag_key(row[tag])] |= {row.get("privacy", "")} - {""}
            hidden |= {(table.kind, key) for key, classes in said.items() if classes != {"open"}}
    return hidden


def _tag_column(table: Table) -> str | None:
    return next((c.name for c in table.columns if c.type == "tag"), None)


def _private_words(rows: Mapping[str, Sequence[Mapping[str, str]]]) -> re.Pattern[str] | None:
    """What no text may repeat: values of private columns, and the names of people in them."""
    found: set[str] = set()
    for name, content in rows.items():
        for column in tables()[name].columns:
            if column.private:
                for value in (row.get(column.name, "").strip() for row in content):
                    names = [n for n in _NAMES.findall(value) if n != value]
                    last = [n.rpartition(" ")[2] for n in _NAMES.findall(value)]
                    found |= {value, *names, *last}
    wanted = sorted((w for w in found if len(w) >= LEAST_REPEATED), key=lambda w: (-len(w), w))
    exact = [re.escape(w) for w in wanted if w.isalpha()]  # one word may also be an ordinary one: `Owner`, `owner`
    loose = [re.escape(w) for w in wanted if not w.isalpha()]
    parts = [*([f"(?i:{'|'.join(loose)})"] if loose else []), *exact]
    return re.compile(rf"(?<!\w)(?:{'|'.join(parts)})(?!\w)") if parts else None


def _row(
    table: Table,
    row: Mapping[str, str],
    hidden: set[tuple[str, str]],
    private: re.Pattern[str] | None,
    left: collections.Counter[str],
) -> dict[str, str] | None:
    """A row without what is private; None when it is about something hidden."""
    tag = _tag_column(table)
    if tag and (table.kind, tag_key(row[tag])) in hidden:
        left[f"{table.name}: rows that are not open"] += 1
        return None
    cleaned: dict[str, str] = {}
    for name, cell in row.items():
        column = table.column(name)
        if column is not None and column.type.partition(":")[0] in _REFERENCES:
            rest = _without_hidden(column, cell, hidden)
            if rest != cell and column.required:
                left[f"{table.name}: rows that are not open"] += 1
                return None
        else:
            rest = "" if _is_private(table, name, column, cell, private) else cell
        if rest != cell:
            left[f"{table.name}, column {name}"] += 1
        cleaned[name] = rest
    return cleaned


def _is_private(table: Table, name: str, column: Column | None, cell: str, private: re.Pattern[str] | None) -> bool:
    if not cell:
        return False
    if (column is not None and column.private) or is_secret_field(table.kind, name) or is_sealed(cell):
        return True
    if column is not None and column.type not in ("text", "reading"):
        return False
    said = f"{name.replace('_', ' ')} {cell}" if "login" in name else cell
    return bool(
        speaks_of_a_secret(said)
        or _REACHES.search(cell)
        or _POSITION.search(cell)
        or (private is not None and private.search(cell))
    )


def _without_hidden(column: Column, cell: str, hidden: set[tuple[str, str]]) -> str:
    """A cell of references without those that name something hidden."""
    joint = REF_JOIN if REF_JOIN in cell else " "
    parts = cell.split(joint)

    def is_hidden(part: str) -> bool:
        kind, colon, tag = part.rpartition(":")
        kinds: Iterable[str] = (kind.strip().lower(),) if colon else column.options
        return any((k, tag_key(tag)) in hidden for k in kinds)

    kept = [part for part in parts if not is_hidden(part)]
    return cell if len(kept) == len(parts) else joint.join(kept)


def _photo(
    row: dict[str, str],
    photos: Mapping[str, tuple[str, bytes]],
    shown: dict[str, tuple[str, bytes]],
    left: collections.Counter[str],
) -> dict[str, str]:
    """The row of an open photograph, naming the cleaned file; without a file when it cannot be cleaned."""
    sha256, held = row.get("sha256", ""), photos.get(row.get("sha256", ""))
    row["sha256"], row["file"] = "", ""
    if held is None or held[0] != "open":
        return row
    if sha256 not in shown:
        try:
            clean = without_words(held[1])
        except NotClean as error:
            left[f"photographs that cannot be freed of what was written into them ({error})"] += 1
            return row
        stem = re.sub(r"[^\w-]+", "_", row["photo"])
        taken = {name.casefold() for name, _ in shown.values()}
        name, number = f"{stem}.{clean.suffix}", 2
        while name.casefold() in taken:
            name, number = f"{stem}_{number}.{clean.suffix}", number + 1
        shown[sha256] = (name, clean.data)
    row["file"] = shown[sha256][0]
    return row
