"""Chapters that keep from harm: what not to touch, the order of removal, what is wrong, cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer, Problem
from pullstring.model.asbuilt import Site
from pullstring.model.problems import catalogue
from pullstring.papers import words_cut
from pullstring.papers.blocks import Para, Table
from pullstring.papers.book_first import listed as in_words
from pullstring.papers.book_first import pieces
from pullstring.papers.book_parts import Chapter, Listing, Part, Row, head, listed, para
from pullstring.papers.phrases import thing
from pullstring.papers.sentences import CAUTIONS, SEVERITY
from pullstring.papers.sentences_book import BOOK, FIRST, REGISTERS
from pullstring.papers.words import problem

Facts = Mapping[str, Any]


def do_not_touch(sheet: Answer, cut: Answer) -> Chapter:
    """Who alone may touch what, what must stay and on what it hangs, what hurts, whom to call; cautions first."""
    said = sheet.answer
    parts: list[Part] = [Para(CAUTIONS[c], "caution") for c in ("nothing_cut", "volts_first", "local_trades")]
    parts += [head(REGISTERS["guarded"]), _guarded(said["do_not_touch"], said["call"])]
    if said["must_stay"]:
        parts += [head(REGISTERS["stay"]), _stay(said["must_stay"], cut.answer["power_paths"])]
    if said["hurts"]:
        rows = tuple(
            Row((in_words(h["where"]) or "–", h["how"], h["says"] or "–"), tuple(h["where"])) for h in said["hurts"]
        )
        parts += [head(REGISTERS["hurt"]), Listing(("where", "kind", "what"), rows, "lll")]
    points = words_cut.without_parts(cut.answer["single_points"])
    if points:
        parts += [head(REGISTERS["alone"]), _alone(points, cut.answer["names"])]
    rings = [b for b in words_cut.untouchable(cut.answer) if isinstance(b, Table) and b.columns[0] == "ring"]
    parts += [head(REGISTERS["rings"]), *(listed(b) for b in rings)] if rings else []
    calls = tuple(
        Row(
            (
                f"{p['who']}, {p['name']}" if p["name"] else p["who"],
                p["may_decide"] or "–",
                p["hours"] or FIRST["write_here"],
                p["phone"] or FIRST["write_here"],
            ),
            (f"{p['kind']}:{p['who']}",),
        )
        for p in said["call"]
    )
    parts += [head(REGISTERS["call"])]
    parts += [Listing(("who", "decides", "hours", "telephone"), calls, "llll")] if calls else [para(FIRST["no_call"])]
    return Chapter(BOOK["touch"], "do not touch", tuple(parts))


def _guarded(guarded: Mapping[str, str], call: Sequence[Facts]) -> Part:
    names = {c["who"]: c["name"] for c in call}
    by: dict[str, list[str]] = {}
    for ref, who in guarded.items():
        by.setdefault(who, []).append(ref)
    rows = []
    for who, refs in sorted(by.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        only = "; ".join(f"{w}, {names[w]}" if names.get(w) else w for w in who.split(", "))
        rows += [Row((only, piece), marks, strong=True) for piece, marks in _with_marks(refs)]
    return Listing(("only", "what"), tuple(rows), "ll") if rows else para(FIRST["no_guard"])


def _with_marks(refs: Sequence[str]) -> list[tuple[str, tuple[str, ...]]]:
    """The pieces of a long list; the index finds all of it at the first."""
    made = pieces(refs)
    return [(piece, tuple(refs) if n == 0 else ()) for n, piece in enumerate(made)]


def _stay(kept: Sequence[Facts], paths: Mapping[str, Sequence[str]]) -> Part:
    rows = []
    for s in kept:
        where = FIRST["unplaced"] if s["unplaced"] else in_words(s["carried_on"]) or "–"
        path = ", ".join(thing(p) for p in paths.get(f"service:{s['service']}", ())) or "–"
        marks = (f"service:{s['service']}", *s["carried_on"])
        rows.append(Row((s["name"], s["hours"] or "–", where, path), marks, strong=s["unplaced"]))
    return Listing(("service", "hours", "carried on", "its power comes by, in this order"), tuple(rows), "llll")


def _alone(points: Mapping[str, Sequence[str]], names: Mapping[str, str]) -> Part:
    by: dict[str, list[str]] = {}
    for ref, dark in points.items():
        by.setdefault(", ".join(names.get(s, thing(s)) for s in dark), []).append(ref)
    rows = [Row((dark, piece), marks) for dark, refs in by.items() for piece, marks in _with_marks(refs)]
    return Listing(("goes dark", "when any of these is taken away"), tuple(rows), "ll")


def removal(site: Site, order: Answer | None) -> Chapter:
    """What is out of use, step by step with its caution, and what is left as it is for now."""
    parts: list[Part] = [Para(CAUTIONS[c], "caution") for c in ("nothing_cut", "volts_first")]
    if order is None:
        parts.append(para(REGISTERS["nothing_out"]))
    else:
        parts.append(para(REGISTERS["order_says"]))
        for block in words_cut.if_cut(order)[1]:
            parts.append(
                _steps(block, order) if isinstance(block, Table) and block.columns[0] == "step" else listed(block)
            )
    rows = tuple(
        Row(
            (
                t.ref.tag,
                t.text("what") or "–",
                t.text("hazard") or "–",
                t.text("must_end") or "–",
                t.text("known_to") or "–",
            ),
            (str(t.ref),),
        )
        for t in site.of_kind("temporary")
        if t.text("ended") != "yes" and t.stands
    )
    if rows:
        columns = ("tag", "what", "can hurt or fail", "gone by", "known to")
        parts += [head(REGISTERS["temporary"]), Listing(columns, rows, "mllll")]
    return Chapter(BOOK["order"], "removal", tuple(parts))


def _steps(table: Table, order: Answer) -> Part:
    rows = tuple(
        Row(row, (step["step"],), strong=bool(step["meter"]))
        for row, step in zip(table.rows, order.answer["order"], strict=True)
    )
    return Listing(table.columns, rows, table.align)


def problems(found: Sequence[Problem]) -> Chapter:
    """All problems, worst first, each with its remedy and the caution that stands beside it."""
    rows = []
    for one in found:
        row = catalogue().get(one.code)
        caution = f" Caution: {CAUTIONS[row.caution]}" if row and row.caution else ""
        why = SEVERITY[one.severity.name.lower()]
        rows.append(Row((why, problem(one) + caution), _refs(one.where), strong=one.severity == 0))
    parts: tuple[Part, ...] = (
        (Listing(("why it matters", "what and remedy"), tuple(rows), "ll"),)
        if rows
        else (para(REGISTERS["nothing_wrong"]),)
    )
    return Chapter(BOOK["problems"], "problem", parts)


def _refs(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(w.rstrip(",;.") for w in text.split() if ":" in w and not w.endswith(":")))


def cautions() -> Chapter:
    """Every caution of the house rules."""
    return Chapter(
        BOOK["cautions"], "caution", tuple(Para(words, "caution") for words in CAUTIONS.values()), fresh=False
    )
