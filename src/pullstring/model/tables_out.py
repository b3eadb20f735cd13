"""The as-built site as tables that say the same when they are read again: one row for each entry that still speaks of a thing."""

from __future__ import annotations

from pullstring.model.asbuilt import Account, Site, Thing
from pullstring.model.columns import kinds, tables
from pullstring.model.damage import is_mended
from pullstring.model.entries import Evidence, Scalar
from pullstring.model.refs import REF_JOIN, parse_ref
from pullstring.model.units import number_text


def rows_of(site: Site) -> dict[str, list[dict[str, str]]]:
    """Rows by table name, each row a mapping of column to cell; tables without rows are left out.

    A thing whose fields were given by several entries has several rows, in the order of the entries; blank cells
    were not said in that entry.
    """
    out: dict[str, list[dict[str, str]]] = {}
    for kind, table in kinds().items():
        tag = next(c.name for c in table.columns if c.type == "tag")
        rows = [row for thing in site.of_kind(kind) for row in _thing_rows(thing, tag)]
        if rows:
            out[table.name] = rows
    claims = [
        {
            "subject": str(c.subject),
            "relation": c.relation,
            "object": str(c.object),
            "holds": "yes" if s.holds else "no",
            "detail": s.detail,
            **_evidence(s.evidence, s.at.text),
        }
        for c in site.claims
        for s in c.sayings
    ]
    readings = [
        {
            "subject": str(r.measured.subject),
            "quantity": r.measured.quantity,
            "value": r.measured.written,
            "key": r.measured.key,
            **_evidence(r.measured.evidence, r.at.text),
        }
        for r in site.readings
        if not (r.measured.quantity == "wire map" and is_mended(site, r))
    ]
    return {**out, **({"claims": claims} if claims else {}), **({"measurements": readings} if readings else {})}


def header_of(table: str) -> list[str]:
    """The columns of a table in their order."""
    return [c.name for c in tables()[table].columns]


def _evidence(evidence: Evidence, at: str) -> dict[str, str]:
    return {
        "grade": evidence.grade,
        "method": evidence.method,
        "conditions": evidence.conditions,
        "instrument": evidence.instrument,
        "by": evidence.by,
        "at": at,
    }


def _thing_rows(thing: Thing, tag: str) -> list[dict[str, str]]:
    by_entry: dict[tuple[object, ...], tuple[Account, dict[str, str]]] = {}
    for name, field in thing.fields.items():
        for head in field.heads if kinds()[thing.ref.kind].column(name) else ():
            _, cells = by_entry.setdefault(head.order, (head, {}))
            cells[name] = _cell(thing.ref.kind, name, head.value)
    rows: list[dict[str, str]] = []
    for order in sorted(by_entry):
        account, cells = by_entry[order]
        rows.append({tag: thing.ref.tag, **cells, **_evidence(account.evidence, account.at.text)})
    if not rows:
        made = thing.made
        rows = [{tag: thing.ref.tag, **(_evidence(made.evidence, made.at.text) if made else {"grade": "assumed"})}]
    return rows


def _cell(kind: str, name: str, value: Scalar) -> str:
    column = kinds()[kind].column(name)
    if isinstance(value, float):
        return number_text(value)
    text = "" if value is None else str(value)
    if column and column.names_things and ":" in text:
        refs = [parse_ref(part) for part in text.split(REF_JOIN)]
        if len(column.options) == 1 and not any(" " in r.tag for r in refs):
            return " ".join(r.tag for r in refs)
        return REF_JOIN.join(str(r) for r in refs)
    return text
