"""The first page: five short tables on one black sheet, the worst first; what has no room is counted."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.model.refs import natural
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Page, Para, Table
from pullstring.papers.book_letters import Letters
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences import CAUTIONS
from pullstring.papers.sentences_book import CHANGED, FIRST, PAST_ACTS, SINCE_DAYS, SINCE_VISIT
from pullstring.papers.sentences_pages import KINDS, RELATIONS

Facts = Mapping[str, Any]
Row = tuple[str, ...]
ROW_LETTERS = 150  # ours: a longer list goes on in a row of its own, so that a row is never taller than three lines
ORDER = ("end", "cable", "unit")
SHORT = 90  # letters of a name on this page


@dataclasses.dataclass(frozen=True)
class Section:
    """One table of the first page: what stands when it is empty, and how what has no room is counted (`{}`)."""

    title: str
    columns: Row
    rows: tuple[Row, ...]
    empty: str
    more: str


def sections(answer: Answer) -> tuple[Section, ...]:
    """The five tables in their order."""
    said, more = answer.answer, FIRST["more"]
    changed = said["changed"]
    return (
        Section(
            FIRST["touch"],
            ("why", "what"),
            (*_hurts(said["hurts"]), *_guarded(said["do_not_touch"]), *_stay(said["must_stay"])),
            FIRST["no_guard"],
            FIRST["more_touch"],
        ),
        Section(FIRST["dark"], ("what", "by the record"), tuple(_dark(said["dark"])), FIRST["no_dark"], more),
        Section(
            FIRST["against"], ("of what", "said"), tuple(_against(said["contradictions"])), FIRST["no_against"], more
        ),
        Section(
            f"{FIRST['changed']} {_since(changed)}",
            ("what", "which"),
            tuple(_changed(changed)),
            _none(changed),
            FIRST["more_changed"],
        ),
        Section(
            FIRST["call"], ("who", "for", "hours", "telephone"), tuple(_call(said["call"])), FIRST["no_call"], more
        ),
    )


def page_data(answer: Answer, letters: Letters) -> dict[str, Any]:
    """The page as the sheet of paper takes it."""
    told = [
        {
            "title": letters.printable(s.title),
            "columns": list(s.columns),
            "rows": [[letters.printable(cell) for cell in row] for row in s.rows],
            "empty": letters.printable(s.empty),
            "more": letters.printable(s.more),
        }
        for s in sections(answer)
    ]
    return {
        "title": letters.printable(_title(answer)),
        "says": FIRST["sheet"],
        "sections": told,
        "footer": letters.printable(_footer(answer)),
    }


def page(answer: Answer) -> Page:
    """The same page for terminal and browser, with all its rows."""
    blocks: list[Block] = [Para(FIRST["sheet"], "caution")]
    for section in sections(answer):
        blocks.append(Heading(section.title))
        blocks.append(Table(section.columns, section.rows) if section.rows else Para(section.empty))
    blocks += [Para(CAUTIONS[c], "caution") for c in answer.cautions if c != "nothing_cut"]
    return Page(_title(answer), tuple(blocks), _footer(answer))


def blocks_of(answer: Answer) -> tuple[str, list[Block]]:
    """Title and blocks, as `words` takes them from every verb."""
    made = page(answer)
    return made.title, [b for b in made.blocks if not (isinstance(b, Para) and b.tone == "caution")]


def _title(answer: Answer) -> str:
    return f"{answer.answer['name'] or answer.site}: first page"


def _footer(answer: Answer) -> str:
    return f"site {answer.site} · as of {figures.date(answer.answer['day'])} · rules {answer.rules}, verify locally"


def _hurts(hurts: Sequence[Facts]) -> list[Row]:
    return [
        (
            FIRST["hurt"],
            ": ".join(w for w in (listed(h["where"]) or h["how"], h["says"] or h["how"]) if w),
        )
        for h in hurts
    ]


def _guarded(guarded: Mapping[str, str]) -> list[Row]:
    """One row and more for whoever alone may touch: the company first that guards most."""
    by: dict[str, list[str]] = {}
    for ref, who in guarded.items():
        by.setdefault(who, []).append(ref)
    rows: list[Row] = []
    for who, refs in sorted(by.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        rows += [(FIRST["only"].format(_short(who, 30)), piece) for piece in pieces(refs)]
    return rows


def _stay(kept: Sequence[Facts]) -> list[Row]:
    rows: list[Row] = []
    for s in sorted(kept, key=lambda s: not s["unplaced"]):
        name = f"{_short(s['name'])} ({s['hours']})" if s["hours"] else _short(s["name"])
        where = FIRST["unplaced"] if s["unplaced"] else listed(s["carried_on"])
        rows.append((FIRST["stay"], f"{name}: {where}" if where else name))
    return rows


def _dark(dark: Facts) -> Iterable[Row]:
    for s in dark["services"]:
        why = FIRST["service_off"].format(listed(s["off"])) if s["off"] else FIRST["no_way"]
        yield _short(s["name"]), f"{FIRST['stay']}; {why}" if s["keep"] == "yes" else why
    for u in dark["power"]:
        yield _unit(u), FIRST["service_off"].format(listed(u["off"])) if u["off"] else FIRST["no_power"]
    for u in dark["data"]:
        yield _unit(u), FIRST["no_data"]
    for s in dark["unknown"]:
        yield _short(s["name"]), FIRST["unknown"]


def _unit(unit: Facts) -> str:
    return f"unit {unit['unit']}, {_short(unit['name'])}" if unit["name"] else f"unit {unit['unit']}"


def _against(found: Sequence[Facts]) -> Iterable[Row]:
    for one in found:
        yield things(one["where"]), _short(things(one["says"]), 3 * SHORT)


def _since(changed: Facts) -> str:
    day = figures.date(changed["since"])
    return SINCE_VISIT.format(day, changed["visit"]) if changed["visit"] else SINCE_DAYS.format(day)


def _none(changed: Facts) -> str:
    if changed["begun"]:
        return FIRST["begun"].format(figures.date(changed["begun"]), changed["entries"])
    return FIRST["no_change"]


def _changed(changed: Facts) -> Iterable[Row]:
    if changed["begun"]:
        yield "the record", _none(changed)
    for group in changed["groups"]:
        did, detail = group["did"], group["as"]
        if did == "claimed":
            plain = detail.removeprefix("not ")
            detail = ("not so: " if plain != detail else "") + RELATIONS.get(plain, plain.replace("_", " "))
        elif did == "new":
            detail = KINDS.get(detail, detail.replace("_", " "))
        words = CHANGED.get(did, PAST_ACTS.get(did, did)).format(detail)
        if group["things"] == [""]:
            yield words, "entries of the record"
            continue
        for piece in pieces(group["things"], most=1):
            yield words, piece


def _call(people: Sequence[Facts]) -> Iterable[Row]:
    blank = FIRST["write_here"]
    for p in people:
        name = f"{p['who']}, {_short(p['name'])}" if p["name"] else p["who"]
        yes = "; said yes already" if p["asked"] == "yes" else ""
        yield name, _short(p["may_decide"] or "–") + yes, p["hours"] or blank, p["phone"] or blank
    if not people:
        yield blank, blank, blank, blank


def _short(words: str, most: int = SHORT) -> str:
    return words if len(words) <= most else words[: most - 2].rstrip() + " …"


def listed(refs: Iterable[str]) -> str:
    """References as people list them, one kind after the other: `end E01, E02; unit D1`."""
    kinds: dict[str, list[str]] = {}
    for ref in refs:
        kind, _, tag = ref.partition(":")
        kinds.setdefault(kind, []).append(tag)
    rank = {kind: n for n, kind in enumerate(ORDER)}
    parts = []
    for kind in sorted(kinds, key=lambda k: (rank.get(k, len(ORDER)), k)):
        tags = sorted(dict.fromkeys(kinds[kind]), key=natural)
        parts.append(f"{thing(f'{kind}:{tags[0]}')}{''.join(f', {t}' for t in tags[1:])}" if tags[0] else thing(kind))
    return "; ".join(parts)


def pieces(refs: Sequence[str], *, most: int = 0) -> list[str]:
    """The same list in rows of a few lines; with `most` only so many rows, and a count of what is left."""
    found: list[list[str]] = [[]]
    for ref in _in_order(refs):
        if len(listed([*found[-1], ref])) > ROW_LETTERS and found[-1]:
            found.append([])
        found[-1].append(ref)
    if most and len(found) > most:
        left = sum(len(piece) for piece in found[most:])
        return [*(listed(p) for p in found[: most - 1]), f"{listed(found[most - 1])} and {left} more"]
    return [listed(piece) for piece in found if piece]


def _in_order(refs: Sequence[str]) -> list[str]:
    rank = {kind: n for n, kind in enumerate(ORDER)}

    def key(ref: str) -> tuple[Any, ...]:
        kind, _, tag = ref.partition(":")
        return rank.get(kind, len(ORDER)), kind, natural(tag)

    return sorted(dict.fromkeys(refs), key=key)
