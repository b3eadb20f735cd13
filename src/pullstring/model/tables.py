"""From cells to statements and back: what a filled-in table says, and the tables that say what a site is.

A row becomes one `Noted` (its plain cells) and one `Claimed` for each relation cell. Blank is not said; `none` is said
to be none. All faults are collected; nothing is guessed but what `assumed` then tells.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence

from pullstring.model.acts import ACTS
from pullstring.model.asbuilt import Site
from pullstring.model.cells import BadCell, Missing, Names, read_cell
from pullstring.model.columns import Column, Table, did_you_mean, find_column, tables
from pullstring.model.entries import NONE_SAID, BadEntry, Body, Claimed, Did, Evidence, Measured, Noted, Scalar, digest
from pullstring.model.geometry import BadOutline
from pullstring.model.refs import BadName, Ref, parse_ref
from pullstring.model.tones import TAKEN_OFF, WRITTEN, WRITTEN_UNITS, BadTone, named_in, parse_tone
from pullstring.model.units import BASE_UNIT, READINGS, BadQuantity, parse_quantity
from pullstring.model.when import BadDate, parse_when
from pullstring.model.wiremap import BadWireMap, parse_wiremap


@dataclasses.dataclass(frozen=True)
class RawTable:
    """A table as it stands in its file: every cell a text. Row numbers count the header as row 1, as spreadsheets do."""

    file: str
    table: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


LONG_WORD = 80  # a sentence that repeats a cell stays one line


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
        sentence = f"{where}{', column ' + self.column if self.column else ''}: {self.says}"
        return " ".join(w if len(w) <= LONG_WORD else w[:LONG_WORD] + "..." for w in sentence.split())


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
    reader = _Reader(Names(known, (ref for table in raw for ref in _tags(table))), known, today)
    for table in raw:
        reader.read(table)
    assumed = []
    if reader.without_grade:
        assumed.append(f"{_rows(reader.without_grade)} no grade: taken as assumed")
    if reader.without_date:
        assumed.append(f"{_rows(reader.without_date)} no date: taken as so before the end of {today}")
    return Understood(_in_order(reader.statements), tuple(reader.faults), tuple(assumed))


def _in_order(statements: Sequence[Statement]) -> tuple[Statement, ...]:
    """By date, the undated first; of one day notes, then claims and readings, then acts."""
    rank = {Noted: 0, Claimed: 1, Measured: 1, Did: 2}
    return tuple(sorted(statements, key=lambda s: (parse_when(s.at).earliest, rank[type(s.body)])))


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
    def __init__(self, names: Names, noted: Iterable[Ref], today: str) -> None:
        self.names, self.today = names, today
        self.noted = set(noted)
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
                    values[column.name] = read_cell(column, text, unit, self.names)
                elif column.required:
                    raise BadCell("this cell is blank, but every row needs it")
            except (BadCell, BadQuantity, BadName, BadOutline, BadDate) as error:
                self.faults.append(Fault(raw.file, number, column.name, str(error), missing=isinstance(error, Missing)))
        whole = all(not c.required or any(c == known for known, _ in columns.values()) for c in table.columns)
        if whole and len(self.faults) == before:
            try:
                self._state(raw, table, number, values)
            except (BadEntry, BadQuantity, BadName, BadWireMap, BadTone, BadCell, BadDate) as error:
                self.faults.append(Fault(raw.file, number, "", str(error)))

    def _state(self, raw: RawTable, table: Table, number: int, values: dict[str, Scalar]) -> None:
        def take(name: str) -> str:
            said = str(values.pop(name, "") or "")
            return "" if said == NONE_SAID else said

        at, grade = take("at"), take("grade")
        self.without_grade += not grade
        self.without_date += not at
        evidence = Evidence(grade or "assumed", *(take(n) for n in ("method", "conditions", "instrument", "by")))
        for body in self._bodies(table, values, evidence):
            key = digest(repr((_core(body), at)))
            self.statements.append(Statement(body, at or f"before {self.today}", key, (raw.file, number)))

    def _bodies(self, table: Table, values: dict[str, Scalar], evidence: Evidence) -> list[Body]:
        if table.name == "claims" and values["relation"] == "alias_of" and values["subject"] == values["object"]:
            raise BadEntry(f"{values['subject']} is no other name of itself")
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
            return [self._reading(values, evidence)]
        if table.name == "acts":
            return [_act(values, evidence)]
        return self._thing(table, values, evidence)

    def _reading(self, values: Mapping[str, Scalar], evidence: Evidence) -> Measured:
        quantity, written = str(values["quantity"]), str(values["value"])
        subject, key = parse_ref(str(values["subject"])), str(values.get("key", ""))
        for ref in named_in(quantity, written):
            self.names.spelled(ref)
        if quantity == "tone":
            level = parse_tone(written).level
            sign = "none" if level is None else "="
            return Measured(subject, quantity, sign, level, _unit(quantity), written, evidence, key)
        if quantity == "wire map":
            faults = len(parse_wiremap(written).faulty)
            return Measured(subject, quantity, "=", faults, _unit(quantity), written, evidence, key)
        none = written.casefold() == NONE_SAID
        if quantity in WRITTEN and not (none and quantity in TAKEN_OFF):
            return Measured(subject, quantity, "=", WRITTEN[quantity](written), _unit(quantity), written, evidence, key)
        if none:
            return Measured(subject, quantity, "none", None, _unit(quantity), written, evidence, key)
        read = parse_quantity(written, READINGS[quantity])
        if read.value < 0 and READINGS[quantity] not in ("voltage", "temperature", "level"):
            raise BadQuantity(f"{written!r} cannot be; a {quantity} is not below nothing")
        return Measured(subject, quantity, read.sign, read.value, read.unit, written, evidence, key)

    def _thing(self, table: Table, values: dict[str, Scalar], evidence: Evidence) -> list[Body]:
        """A note of the plain cells, and a claim for each cell that relates."""
        tag = next(c.name for c in table.columns if c.type == "tag")
        subject = self.names[Ref(table.kind, str(values.pop(tag)))]
        relations = {c.name: c.relation for c in table.columns if c.relation}
        claimed = {n: v for n, v in values.items() if n in relations and v != NONE_SAID}
        fields = {n: v for n, v in values.items() if n not in claimed}
        fresh = subject not in self.noted  # a row that only relates still makes its thing
        self.noted.add(subject)
        bodies: list[Body] = [Noted(subject, fields, evidence)] if fields or not claimed or fresh else []
        for name, value in claimed.items():
            bodies.append(Claimed(subject, str(relations[name]), parse_ref(str(value)), True, evidence))
        return bodies


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


def _unit(quantity: str) -> str:
    return {"wire map": "faults", "tone": "level", **WRITTEN_UNITS}.get(quantity) or BASE_UNIT[READINGS[quantity]]


def _act(values: Mapping[str, Scalar], evidence: Evidence) -> Did:
    """A row of the table of acts; raises BadEntry when it does not fit the act."""
    row = ACTS[str(values["act"])]
    subject = parse_ref(str(values["subject"]))
    other = parse_ref(str(values["object"])) if "object" in values else None
    given = {n: str(values[n]) for n in ("to", "from", "entries") if n in values}
    wrong = [f"{row.name!r} needs the column {n}" for n in row.needs if n not in given]
    if row.name == "exchange tags" and "from" in given:
        parse_when(given["from"])
    if row.subjects != ("*",) and subject.kind not in row.subjects:
        wrong.append(f"{row.name!r} is done to a {' or '.join(row.subjects)}, not to a {subject.kind}")
    if row.objects and other is None:
        wrong.append(f"{row.name!r} needs an object")
    elif other is not None and row.objects != ("*",) and other.kind not in row.objects:
        wrong.append(f"{row.name!r} has a {' or '.join(row.objects) or 'blank'} as its object, not a {other.kind}")
    if other is not None and other == subject:
        wrong.append(f"{row.name!r} needs two things, and {subject} is one")
    elif row.name == "exchange tags" and other is not None and other.kind != subject.kind:
        wrong.append(f"tags are exchanged between things of one kind, not between a {subject.kind} and a {other.kind}")
    if subject.kind in ("use", "stop"):
        wrong.append(f"nothing can be done to {subject}")
    if row.name in ("re-tag", "split") and "to" in given:
        new = Ref(subject.kind, given["to"])
        if row.name == "re-tag" and new == subject:
            wrong.append(f"{subject} bears that tag already")
    if wrong:
        raise BadEntry("; ".join(wrong))
    return Did(row.name, subject, other, given, evidence)


def known_things(site: Site) -> dict[Ref, Ref]:
    """Things of a site, each to itself as it is spelled there, and their other names; replay knows what those mean."""
    return {ref: ref for ref in (*site.other_names, *site.things)}
