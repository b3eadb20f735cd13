"""From cells to statements and back: what a filled-in table says, and the tables that say what a site is.

A row becomes one `Noted` (its plain cells) and one `Claimed` for each relation cell. Blank is not said; `none` is said
to be none. All faults are collected; nothing is guessed but what `assumed` then tells.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from pullstring.model.columns import RANGES, Column, Table, did_you_mean, find_column, kinds, tables
from pullstring.model.entries import NONE_SAID, BadEntry, Body, Claimed, Evidence, Measured, Noted, Scalar, digest
from pullstring.model.geometry import BadOutline, outline_text, parse_outline
from pullstring.model.refs import PARTS, REF_JOIN, BadName, Ref, parse_ref
from pullstring.model.units import BASE_UNIT, READINGS, BadQuantity, parse_quantity
from pullstring.model.when import BadDate, parse_when


@dataclasses.dataclass(frozen=True)
class RawTable:
    """A table as it stands in its file: every cell a text. Row numbers count the header as row 1, as spreadsheets do."""

    file: str
    table: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


@dataclasses.dataclass(frozen=True)
class Fault:
    """One thing wrong in a table: where, what, and what would be right."""

    file: str
    row: int
    column: str
    says: str
    more_rows: tuple[int, ...] = ()
    missing: bool = False

    def __str__(self) -> str:
        rows = [self.row, *self.more_rows]
        where = f"{self.file} {'row' if len(rows) == 1 else 'rows'} {_spans(rows)}" if self.row else self.file
        return f"{where}{', column ' + self.column if self.column else ''}: {self.says}"


def _spans(rows: Sequence[int]) -> str:
    """Row numbers in spans: `2, 5 to 41`."""
    spans: list[list[int]] = []
    for row in rows:
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in spans)


def folded(faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """The same faults, but one missing thing told once a file, with all the rows that name it."""
    groups: dict[tuple[object, ...], list[Fault]] = {}
    for fault in faults:
        own = () if fault.missing else (fault.row, len(groups))
        groups.setdefault((fault.file, fault.column, fault.says, *own), []).append(fault)
    return tuple(
        dataclasses.replace(g[0], more_rows=tuple(dict.fromkeys(f.row for f in g[1:] if f.row != g[0].row)))
        for g in groups.values()
    )


@dataclasses.dataclass(frozen=True)
class Statement:
    """One body to be entered, with its date and the key under which it counts once."""

    body: Body
    at: str
    key: str
    row: tuple[str, int]


@dataclasses.dataclass(frozen=True)
class Understood:
    """What a set of tables says: statements, faults, and what was taken for granted."""

    statements: tuple[Statement, ...]
    faults: tuple[Fault, ...]
    assumed: tuple[str, ...]


class _Bad(ValueError):
    """A cell that cannot be read; its text is the sentence."""


class _Missing(_Bad):
    """A cell that names a thing which is nowhere."""


def understand(raw: Sequence[RawTable], *, known: Mapping[Ref, Ref], today: str) -> Understood:
    """Read tables.

    Parameters
    ----------
    raw : sequence of RawTable
        As they came from files.
    known : mapping of Ref to Ref
        Things the record holds already, each to itself as it is spelled there.
    today : str
        Rows without a date are taken to have been so before the end of this day.
    """
    named = dict(known)
    for table in raw:
        for ref in _tags(table):
            named.setdefault(ref, ref)
    reader = _Reader(named, today)
    for table in raw:
        reader.read(table)
    assumed = []
    if reader.without_grade:
        assumed.append(f"{_rows(reader.without_grade)} no grade: taken as assumed")
    if reader.without_date:
        assumed.append(f"{_rows(reader.without_date)} no date: taken as so before the end of {today}")
    return Understood(tuple(reader.statements), tuple(reader.faults), tuple(assumed))


def _rows(count: int) -> str:
    return "1 row names" if count == 1 else f"{count} rows name"


def _tags(raw: RawTable) -> list[Ref]:
    table = tables().get(raw.table)
    if table is None or not table.kind:
        return []
    places = [i for i, h in enumerate(raw.header) if (f := find_column(table, h)) and f[0].type == "tag"]
    found = []
    for _, cells in raw.rows:
        for i in places:
            if i < len(cells) and cells[i].strip():
                try:
                    found.append(Ref(table.kind, cells[i].strip()))
                except BadName:
                    continue  # told when the row is read
    return found


class _Reader:
    def __init__(self, named: Mapping[Ref, Ref], today: str) -> None:
        self.named, self.today = named, today
        self.statements: list[Statement] = []
        self.faults: list[Fault] = []
        self.without_grade = self.without_date = 0

    def read(self, raw: RawTable) -> None:
        table = tables().get(raw.table)
        if table is None:
            close = did_you_mean(raw.table, tables())
            self.faults.append(Fault(raw.file, 0, "", f"there is no table {raw.table!r}{close}"))
            return
        columns = self._columns(raw, table)
        present = {c.name for c, _ in columns.values()}
        for column in table.columns:
            if column.required and column.name not in present:
                self.faults.append(Fault(raw.file, 1, column.name, "this column is missing; every row needs it"))
        for number, cells in raw.rows:
            if any(c.strip() for c in cells):
                self._row(raw, table, columns, number, cells)

    def _columns(self, raw: RawTable, table: Table) -> dict[int, tuple[Column, str | None]]:
        columns: dict[int, tuple[Column, str | None]] = {}
        for i, header in enumerate(raw.header):
            found = find_column(table, header)
            if found is None:
                if header.strip() or any(i < len(c) and c[i].strip() for _, c in raw.rows):
                    close = did_you_mean(header, [c.name for c in table.columns])
                    self.faults.append(
                        Fault(
                            raw.file,
                            1,
                            header.strip() or f"number {i + 1}",
                            f"this column is not known in {table.name}{close}",
                        )
                    )
            elif any(found[0] == c for c, _ in columns.values()):
                self.faults.append(Fault(raw.file, 1, header, "this column stands twice; keep one"))
            else:
                columns[i] = found
        return columns

    def _row(
        self,
        raw: RawTable,
        table: Table,
        columns: Mapping[int, tuple[Column, str | None]],
        number: int,
        cells: Sequence[str],
    ) -> None:
        before = len(self.faults)
        values: dict[str, Scalar] = {}
        if any(c.strip() for c in cells[len(raw.header) :]):
            self.faults.append(
                Fault(
                    raw.file,
                    number,
                    "",
                    "this row has more cells than the header has columns; "
                    "a comma inside a cell needs quotes around the cell",
                )
            )
        for i, (column, unit) in columns.items():
            text = cells[i].strip() if i < len(cells) else ""
            try:
                if text:
                    values[column.name] = self._cell(column, text, unit, values)
                elif column.required:
                    raise _Bad("this cell is blank, but every row needs it")
            except (_Bad, BadQuantity, BadName, BadOutline, BadDate) as error:
                self.faults.append(
                    Fault(raw.file, number, column.name, str(error), missing=isinstance(error, _Missing))
                )
        whole = all(not c.required or any(c == known for known, _ in columns.values()) for c in table.columns)
        if whole and len(self.faults) == before:
            try:
                self._state(raw, table, number, values)
            except (BadEntry, BadQuantity, BadName) as error:
                self.faults.append(Fault(raw.file, number, "", str(error)))

    def _cell(self, column: Column, text: str, unit: str | None, row: Mapping[str, Scalar]) -> Scalar:
        kind = column.type.partition(":")[0]
        if "\n" in text and kind != "text":
            raise _Bad(
                f"the cell that begins with {text.splitlines()[0][:40]!r} runs over several rows; close its quote"
            )
        if text.casefold() == NONE_SAID and kind not in ("tag", "anyref") and "none" not in column.options:
            return NONE_SAID
        if kind == "number":
            return self._number(column, text, unit)
        if kind == "whole":
            if not text.lstrip("-").isdigit():
                raise _Bad(f"{text!r} is no whole number")
            return int(_in_range(column, int(text)))
        if kind == "choice":
            match = next((o for o in column.options if o.casefold() == " ".join(text.split()).casefold()), None)
            if match is None:
                raise _Bad(f"{text!r} is not one of {', '.join(column.options)}{did_you_mean(text, column.options)}")
            return match
        if kind in ("ref", "relation"):
            return str(self._ref(column, text))
        if kind == "refs":
            return REF_JOIN.join(str(self._ref(column, part)) for part in text.replace("&", " ").split())
        if kind == "anyref":
            return str(self._spelled(parse_ref(text)))
        if kind == "outline":
            return outline_text(parse_outline(text))
        if kind == "when":
            return parse_when(text).text
        return str(Ref("any", text).tag) if kind == "tag" else text

    @staticmethod
    def _number(column: Column, text: str, unit: str | None) -> float:
        read = parse_quantity(text, column.of, unit=unit)
        if read.sign != "=":
            raise _Bad(f"{text!r} has a sign of comparison; only a reading in the table measurements may have one")
        return _in_range(column, read.value)

    def _ref(self, column: Column, text: str) -> Ref:
        options = column.options
        if ":" in text:
            ref = parse_ref(text)
            if ref.kind not in options:
                raise _Bad(f"{text!r} names a {ref.kind}; here goes a {' or '.join(options)}")
            return self._spelled(ref)
        tried = [Ref(kind, text) for kind in options]
        there = [ref for ref in tried if self._known(ref)]
        if len(there) > 1:
            raise _Bad(f"{text!r} may be {' or '.join(str(r) for r in there)}; write the one that is meant")
        if not there:
            raise _Missing(self._missing(tried, text))
        return self._spelled(there[0])

    def _known(self, ref: Ref) -> bool:
        parent = ref.parent_tag
        return ref in self.named or (parent is not None and Ref(PARTS[ref.kind], parent) in self.named)

    def _spelled(self, ref: Ref) -> Ref:
        if not self._known(ref):
            raise _Missing(self._missing([ref], ref.tag))
        return self.named.get(ref, ref)

    def _missing(self, tried: Sequence[Ref], text: str) -> str:
        kinds_tried = {r.kind for r in tried}
        close = did_you_mean(text, [r.tag for r in self.named if r.kind in kinds_tried])
        return f"there is no {' or '.join(r.kind for r in tried)} {text!r} in the tables or the record{close}"

    def _state(self, raw: RawTable, table: Table, number: int, values: dict[str, Scalar]) -> None:
        def take(name: str) -> str:
            return str(values.pop(name, "") or "")

        at, grade = take("at"), take("grade")
        self.without_grade += not grade
        self.without_date += not at
        evidence = Evidence(grade or "assumed", *(take(n) for n in ("method", "conditions", "instrument", "by")))
        for body in self._bodies(table, values, evidence):
            key = digest(repr((_core(body), at)))
            self.statements.append(Statement(body, at or f"before {self.today}", key, (raw.file, number)))

    def _bodies(self, table: Table, values: dict[str, Scalar], evidence: Evidence) -> list[Body]:
        if table.name == "claims":
            return [
                Claimed(
                    parse_ref(str(values["subject"])),
                    str(values["relation"]),
                    parse_ref(str(values["object"])),
                    values.get("holds") != "no",
                    evidence,
                    str(values.get("detail", "")),
                )
            ]
        if table.name == "plugged":
            return [
                Claimed(
                    parse_ref(str(values["plug"])),
                    "plugged",
                    parse_ref(str(values["into"])),
                    values.get("holds") != "no",
                    evidence,
                )
            ]
        if table.name == "measurements":
            return [_reading(values, evidence)]
        tag = next(c.name for c in table.columns if c.type == "tag")
        subject = self.named[Ref(table.kind, str(values.pop(tag)))]
        relations = {c.name: c.relation for c in table.columns if c.relation}
        claimed = {n: v for n, v in values.items() if n in relations and v != NONE_SAID}
        fields = {n: v for n, v in values.items() if n not in claimed}
        bodies: list[Body] = [Noted(subject, fields, evidence)] if fields or not claimed else []
        for name, value in claimed.items():
            bodies.append(Claimed(subject, str(relations[name]), parse_ref(str(value)), True, evidence))
        return bodies


def _in_range(column: Column, value: float) -> float:
    low, high = RANGES.get(column.name, (float("-inf"), float("inf")))
    if not low <= value <= high:
        bounds = f"{low:g} or more" if high == float("inf") else f"from {low:g} to {high:g}"
        raise _Bad(f"{value:g} cannot be; {column.name} is {bounds}")
    return value


def _core(body: Body) -> tuple[object, ...]:
    """What makes a statement the same statement, whoever writes it and whatever the spelling of tags."""
    if isinstance(body, Noted):
        return ("noted", body.subject.kind, body.subject.key, sorted(body.fields.items()), body.evidence)
    if isinstance(body, Claimed):
        return (
            "claimed",
            body.subject.kind,
            body.subject.key,
            body.relation,
            body.object.kind,
            body.object.key,
            body.holds,
            body.detail,
            body.evidence,
        )
    return (type(body).__name__, str(body))


def _reading(values: Mapping[str, Scalar], evidence: Evidence) -> Measured:
    quantity, written = str(values["quantity"]), str(values["value"])
    subject, key = parse_ref(str(values["subject"])), str(values.get("key", ""))
    if written.casefold() == NONE_SAID:
        return Measured(subject, quantity, "none", None, BASE_UNIT[READINGS[quantity]], written, evidence, key)
    read = parse_quantity(written, READINGS[quantity])
    if read.value < 0 and READINGS[quantity] not in ("voltage", "temperature"):
        raise BadQuantity(f"{written!r} cannot be; a {quantity} is not below nothing")
    return Measured(subject, quantity, read.sign, read.value, read.unit, written, evidence, key)


def known_things(things: Mapping[Ref, object]) -> dict[Ref, Ref]:
    """Things of a site, each to itself as it is spelled there."""
    return {ref: ref for ref in things}


def kind_table(kind: str) -> Table | None:
    """The table that holds things of a kind."""
    return kinds().get(kind)
