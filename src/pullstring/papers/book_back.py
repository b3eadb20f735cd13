"""The end of the book: how sure, where limits come from, everything else by kind, letters that do not print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.model.answers import Limit
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.grades import grades
from pullstring.papers import figures
from pullstring.papers.book_parts import Chapter, Listing, Part, Row, head, para
from pullstring.papers.phrases import things
from pullstring.papers.sentences_book import (
    BESIDE_GRADES,
    BOOK,
    GRADES,
    LADDERS,
    NEVER,
    OTHER,
    REGISTERS,
    SOURCES,
    TABLES_OF_KINDS,
)
from pullstring.papers.words import assumption

Facts = Mapping[str, Any]
PLAIN = ("room", "floor", "building", "model", "box", "cable", "provider", "protected_by")
"""Fields whose heading says already what kind of thing they name."""


def how_sure() -> Chapter:
    """The legend of grades."""
    rows = tuple(
        Row(
            (
                g.name,
                LADDERS.get(g.ladder, g.ladder),
                GRADES.get(g.name, "–"),
                f"{round(100 * g.odds)} in 100",
                f"{g.stale_after_days} days" if g.stale_after_days else "never",
            )
        )
        for g in grades().values()
    )
    beside = tuple(Row(row) for row in BESIDE_GRADES)
    parts = (
        para(REGISTERS["grades_says"]),
        Listing(("grade", "of", "means", "odds", "stale after"), rows, "lllrr"),
        Listing(("word", "means"), beside, "ll"),
    )
    return Chapter(BOOK["grades"], "grade", parts)


def limits(site: Site, runs: Sequence[Facts], assumed: Iterable[str]) -> Chapter:
    """The limits that the runs were held against, fixed sources, local rules, and what was taken for granted."""
    seen: dict[tuple[str, ...], None] = {}
    for run in runs:
        for one in run.get("limits", ()):
            limit = one["limit"]
            value = figures.limit(Limit(limit["value"], limit["unit"], limit["standard"], limit["provenance"]))
            of = f"{one['of']}, category {one['category']}"
            seen.setdefault(
                (
                    _WHAT.get(one["what"], one["what"]),
                    of,
                    figures.quantity(one["frequency_hz"], "Hz"),
                    value,
                    limit["provenance"],
                )
            )
    parts: list[Part] = [para(REGISTERS["limits_says"])]
    if seen:
        columns = ("what", "of", "at", "limit and standard", "how it is known")
        parts.append(Listing(columns, tuple(Row(row) for row in sorted(seen)), "lllll"))
    parts.append(Listing(("what", "source", "how it is known"), tuple(Row(row) for row in SOURCES), "lll"))
    local = tuple(
        Row((r.ref.tag, *(r.text(f) or "–" for f in ("what", "edition", "source", "verified"))), (str(r.ref),))
        for r in site.of_kind("rule_set")
    )
    if local:
        parts += [head(REGISTERS["rules"]), Listing(("rules", "what", "edition", "source", "checked"), local, "mllll")]
    taken = "; ".join(dict.fromkeys(assumption(a) for a in assumed))
    if taken:
        parts.append(para(REGISTERS["taken"].format(taken)))
    return Chapter(BOOK["limits"], "limit", tuple(parts), fresh=False)


_WHAT = {"loss": "loss at most", "next": "near-end crosstalk at least"}


def everything_else(site: Site, told: Iterable[str]) -> Chapter:
    """Every other thing by kind, so that no tag of the record is missing; what was told before keeps its own page."""
    done = set(told)
    parts: list[Part] = []
    for kind, (title, fields) in TABLES_OF_KINDS.items():
        found = list(site.of_kind(kind))
        kept = [(name, words) for name, words in _columns(fields) if any(_value(site, t, name) for t in found)]
        rows = tuple(
            Row((t.ref.tag, *(_value(site, t, name) or "–" for name, _ in kept), _state(t)), (str(t.ref),))
            for t in found
        )
        if rows:
            columns = ("tag", *(words for _, words in kept), "state")
            parts += [head(title), Listing(columns, rows, "m" + "l" * (len(kept) + 1))]
    others: dict[str, list[str]] = {}
    for thing in site.things.values():
        kind = thing.ref.kind
        if kind not in TABLES_OF_KINDS and kind not in NEVER and str(thing.ref) not in done:
            others.setdefault(kind, []).append(thing.ref.tag)
    if others:
        rows = tuple(
            Row((kind.replace("_", " "), piece), tuple(f"{kind}:{tag}" for tag in tags))
            for kind, all_tags in sorted(others.items())
            for piece, tags in _pieces(all_tags)
        )
        parts += [head(OTHER), Listing(("kind", "tags"), rows, "ll")]
    return Chapter(BOOK["rest"], "list", tuple(parts))


def _columns(fields: str) -> list[tuple[str, str]]:
    """Fields with the words above them, from `name; era as built`."""
    pairs = (one.partition(" as ") for one in fields.split("; "))
    return [(name, words or name.lstrip("*").replace("_", " ")) for name, _, words in pairs]


def _pieces(tags: Sequence[str]) -> list[tuple[str, list[str]]]:
    """A long list of tags as rows of some lines."""
    found: list[list[str]] = [[]]
    for tag in tags:
        if sum(len(t) + 2 for t in found[-1]) + len(tag) > 220 and found[-1]:
            found.append([])
        found[-1].append(tag)
    return [(", ".join(piece), piece) for piece in found]


def _state(thing: Thing) -> str:
    return thing.text("state") or "there"


def _value(site: Site, thing: Thing, name: str) -> str:
    """A field or relation in words; empty where nothing was said."""
    if name.startswith("*"):
        said = [str(c.object) for c in site.about(subject=thing.ref, relation=name[1:])]
        return things(", ".join(dict.fromkeys(said)))
    if name.endswith("_m") and (number := thing.number(name)) is not None:
        return figures.metres(number)
    if name.endswith(("_w", "_v", "_db")) and (number := thing.number(name)) is not None:
        return figures.quantity(number, {"w": "W", "v": "V", "b": "dB"}[name[-1]])
    text = thing.text(name)
    if name in PLAIN and (ref := thing.ref_of(name)):
        return ref.tag
    if name.endswith("_min"):
        return f"{text} min" if text else ""
    return things(text.replace(" & ", ", ")) if ":" in text else " ".join(text.split())


def letters(told: Mapping[str, str]) -> Chapter:
    """Letters that were printed as codes, with where they stood."""
    rows = tuple(Row((f"U+{ord(c):04X}", words or "–")) for c, words in sorted(told.items()))
    parts = (para(REGISTERS["letters_says"]), Listing(("code", REGISTERS["found_in"]), rows, "ll"))
    return Chapter(BOOK["letters"], "letter", parts, fresh=False)
