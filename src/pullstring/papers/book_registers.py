"""The registers of the book: outlets, ends, runs, ports and power, each row to be found by its tag."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers import words_power, words_registers, words_runs
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.book_parts import Chapter, Listing, Part, Row, head, listed, para
from pullstring.papers.sentences_book import BOOK, REGISTERS
from pullstring.papers.sentences_pages import BOX_WITH_MAINS, NO_ENDS, NO_OUTLETS

Facts = Mapping[str, Any]
END_COLUMNS = ("end", "cable", "in room", "sits on", "goes to", "how sure", "carries", "found; old label", "touch")
OUTLET_COLUMNS = ("outlet", "in room", "ends here", "how sure", "data", "plate; condition", "found; old label", "touch")


def outlets(told: Sequence[Facts], runs: Sequence[Facts], guarded: Mapping[str, str]) -> Chapter:
    """Every outlet: where it is, which ends arrive, what they carry."""
    carries = {r["end"]: row[3] for r, row in zip(runs, words_runs.rows(runs), strict=True)}
    rows = []
    for o, row in zip(told, words_registers.outlet_rows(told), strict=True):
        ends = [e["end"] for e in o["ends"]]
        data = ", ".join(dict.fromkeys(carries[e] for e in ends if e in carries)) or "–"
        who = sorted({guarded[f"end:{e}"] for e in ends if f"end:{e}" in guarded})
        if o["shares_box_with_mains"]:
            who.insert(0, REGISTERS["mains"])
        cells = (*row[:4], data, _both(row[4], row[5]), _both(row[6], row[7]), _touch(who))
        rows.append(Row(cells, (f"outlet:{o['outlet']}",), strong=bool(who)))
    shared = [o["outlet"] for o in told if o["shares_box_with_mains"]]
    parts: list[Part] = [Listing(OUTLET_COLUMNS, tuple(rows), "mlmlllll", ranged=True)] if rows else [para(NO_OUTLETS)]
    if shared:
        parts.insert(0, Para(BOX_WITH_MAINS.format(", ".join(shared)), "caution"))
    return Chapter(BOOK["outlets"], "outlet", tuple(parts))


def ends(told: Sequence[Facts], guarded: Mapping[str, str]) -> Chapter:
    """Every end: cable, room, port or row, outlet, how sure, and who alone may touch it."""
    rows = []
    for e, row in zip(told, words_registers.end_rows(told), strict=True):
        who = [guarded[f"end:{e['end']}"]] if f"end:{e['end']}" in guarded else []
        cells = (*row[:7], _both(row[7], row[8]), _touch(who))
        marks = [f"end:{e['end']}"] + ([f"cable:{e['cable']}"] if e["cable"] else [])
        rows.append(Row(cells, tuple(marks), strong=bool(who)))
    parts: tuple[Part, ...] = (
        (Listing(END_COLUMNS, tuple(rows), "mmlllllll", ranged=True),) if rows else (para(NO_ENDS),)
    )
    return Chapter(BOOK["ends"], "end", parts)


def runs(told: Sequence[Facts]) -> Chapter:
    """Every run with its verdict, the reason, and the next test with how it is done; then what was read."""
    answer = Answer("runs", "", {"runs": list(told)})
    rows = tuple(
        Row(row, (f"end:{r['end']}",), strong=bool(r["protected_by"]))
        for r, row in zip(told, words_runs.rows(told), strict=True)
    )
    blocks = [b for b in words_runs.runs(answer)[1] if not (isinstance(b, Table) and b.columns == words_runs.COLUMNS)]
    parts: list[Part] = [Listing(words_runs.COLUMNS, rows, "mlllllll", ranged=True)] if rows else []
    return Chapter(BOOK["runs"], "run", (*parts, *_listed([_read_when(b) for b in blocks])))


def _read_when(block: Block) -> Block:
    """Readings with their moment as people write it."""
    if not isinstance(block, Table) or block.columns[-1] != "when":
        return block
    rows = tuple((*row[:-1], row[-1][:16].replace("T", " ")) for row in block.rows)
    return Table(block.columns, rows, block.align)


def power(ports: Sequence[Facts], answer: Answer) -> Chapter:
    """All ports with what is plugged in; then what gives power, open jacks, budgets, batteries, heat, the port card."""
    parts = _ports(ports)
    for block in words_power.power(answer)[1]:
        if isinstance(block, Table) and block.columns == words_power.PORT_COLUMNS:
            rows = tuple(
                Row(row, (f"port:{p['port']}",), strong=bool(p["hazard"]))
                for p, row in zip(answer.answer["ports"], block.rows, strict=True)
            )
            parts += [head(REGISTERS["giving"]), Listing(block.columns, rows, block.align)]
        else:
            parts += _listed([block])
    return Chapter(BOOK["power"], "port", tuple(parts))


def _ports(told: Sequence[Facts]) -> list[Part]:
    """Every port that is noted, with what is plugged in, for those that give no power too."""
    if not told:
        return []
    networks = any(p["network"] for p in told)
    rows = tuple(
        Row(
            (p["port"], p["name"] or "–", p["gives"] or "–", SAVED.get(p["saved"], "–"), p["plugged"] or "–")
            + ((p["network"] or "–",) if networks else ()),
            (f"port:{p['port']}",),
        )
        for p in told
    )
    columns = ("port", "of", "gives", "setting", "plugged in", *(("network",) if networks else ()))
    return [Listing(columns, rows, "mllll" + "l" * networks, ranged=True)]


SAVED = {"yes": "saved", "no": "not saved"}


def _listed(blocks: Sequence[Block]) -> list[Part]:
    return [head(b.text) if isinstance(b, Heading) else listed(b) for b in blocks]


def _both(one: str, other: str) -> str:
    words = [w for w in (one, other) if w != "–"]
    return "; ".join(words) or "–"


def _touch(who: Sequence[str]) -> str:
    return REGISTERS["only"].format(", ".join(who)) if who else "–"
