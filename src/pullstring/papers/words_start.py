"""Every sentence of the verb `start`: photo list, questions, blank sheets, rough size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block, Heading, Page, Para, Table
from pullstring.papers.sentences import SEVERITY
from pullstring.papers.words_start_fixed import (
    CONCERNS,
    INPUTS,
    PHOTO_CAUTIONS,
    PHOTOS,
    QUESTIONS,
    SHOWN,
    SIZE_CLASS,
    SIZE_ROWS,
    STATE,
    TO_WRITE,
    UNITS,
    UNTOUCHED,
    WHAT,
    WHOM,
)


def start_page(answer: Answer) -> tuple[str, list[Block]]:
    """The page on the terminal: everything, shortest first."""
    said = answer.answer
    return f"A start for {answer.site}, from what was told", [
        *understood_blocks(said),
        *concern_blocks(said),
        *photo_blocks(said),
        *question_blocks(said),
        *tag_blocks(said, blank=False),
        *untouched_blocks(said),
        *size_blocks(said),
    ]


def understood_blocks(said: Mapping[str, Any]) -> list[Block]:
    """What was understood, what was not, and what became of it."""
    rows = tuple((_what(u), _thing(u), _details(u)) for u in said["understood"])
    blocks: list[Block] = [Heading("What was understood")]
    blocks.append(
        Table(("what", "which", "more"), rows[:SHOWN])
        if rows
        else Para("Nothing that can be noted was found in these lines.")
    )
    if len(rows) > SHOWN:
        blocks.append(Para(f"{len(rows) - SHOWN} more were understood; --json lists all."))
    if said["left"]:
        words = "; ".join(f"“{_short(p)}”" for p in said["left"][: SHOWN // 4])
        more = f" and {len(said['left']) - SHOWN // 4} more" if len(said["left"]) > SHOWN // 4 else ""
        blocks.append(
            Para(f"Not, or not wholly, understood: {words}{more}. The words are kept in the note of the property.")
        )
    if said["withheld"]:
        count = "1 line looks" if said["withheld"] == 1 else f"{said['withheld']} lines look"
        blocks.append(
            Para(f"{count} like a secret and was kept nowhere. Send codes and passwords another way.", "caution")
        )
    blocks.append(Para(_written(said)))
    return blocks


def _written(said: Mapping[str, Any]) -> str:
    if said["look"]:
        return "Only looked: nothing was written."
    if not said["entered"]:
        return f"All of this stands in {said['file']} already; nothing was added."
    entries = "1 entry" if said["entered"] == 1 else f"{said['entered']} entries"
    return f"{entries} of grade told went into {said['file']}."


def _what(item: Mapping[str, Any]) -> str:
    return WHAT.get(str(item["what"]), str(item["what"]))


def _thing(item: Mapping[str, Any]) -> str:
    if item["what"] in ("beside", "above", "opposite"):
        return f"{item['room']} {item['what']} {item['to']}"
    if item["what"] in UNITS:
        return f"{item['low']:g} {UNITS[item['what']]}"
    if item["what"] == "speed":
        return ", ".join(f"{item[k]:g} Mb/s {w}" for k, w in (("low", "down"), ("high", "up")) if k in item)
    if item["what"] in ("leave", "arrive"):
        return " ".join(str(item[k]) for k in ("name", "other") if k in item)
    return str(item.get("name", ""))


def _details(item: Mapping[str, Any]) -> str:
    if item["what"] == "room":
        return floor_words(item.get("other", ""))
    if item.get("other") == "none":
        return "told: there is none"
    parts = [f"in {item['room']}"] if "room" in item and item["what"] in ("gear", "need") else []
    if item["what"] == "gear":
        parts += [f"{item['low']:g} of them"] if "low" in item else []
        parts += [f"in {item['high']:g} rooms"] if "high" in item else []
    if item["what"] == "outbuilding" and "low" in item:
        parts.append(f"{item['low']:g} m away")
    if item["what"] == "person" and "other" in item:
        parts.append(str(item["other"]))
    return ", ".join(parts)


def floor_words(floor: str) -> str:
    """A floor as people say it."""
    named = {
        "": "floor not told",
        "0": "ground floor",
        "attic": "attic",
        "mezzanine": "mezzanine",
        "top": "top floor",
        "-1": "cellar",
    }
    return str(named.get(floor, f"floor {floor}"))


def _short(text: str) -> str:
    return text if len(text) <= 80 else text[:77] + "..."


def concern_blocks(said: Mapping[str, Any]) -> list[Block]:
    """At most five problems, worst first."""
    rows = tuple((SEVERITY[c["severity"]], concern(c)) for c in said["concerns"])
    return [Heading("What to watch, worst first"), Table(("why it matters", "what and remedy"), rows)] if rows else []


def concern(found: Mapping[str, Any]) -> str:
    """A concern as two sentences."""
    says, remedy = CONCERNS[found["code"]]
    return f"{says.format(about=_listed(found['about']), number=found['number'] or 0)} Remedy: {remedy}."


def _listed(names: Sequence[str], most: int = 8) -> str:
    names = [*names[:most], f"{len(names) - most} more"] if len(names) > most else list(names)
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def photo_blocks(said: Mapping[str, Any]) -> list[Block]:
    """Numbered requests for the caretaker."""
    rows = tuple(
        (str(p["number"]), photo(p), "; ".join(PHOTO_CAUTIONS[c] for c in p["cautions"])) for p in said["photos"]
    )
    return [
        Heading("Pictures to take"),
        Para(
            "Please send one message for each number and write the number with it. If a picture is not possible, say so."
        ),
        Table(("no.", "please photograph", "take care"), rows, "rll"),
    ]


def photo(request: Mapping[str, Any]) -> str:
    """One request as a sentence."""
    about = _listed(request["about"], most=200)
    words = PHOTOS[request["code"]].format(about=about, at=f" ({about})" if about else "")
    return words[:1].upper() + words[1:]


def question_blocks(said: Mapping[str, Any]) -> list[Block]:
    """Ranked questions with why and whom."""
    rows = tuple((str(n), *question(q, said)) for n, q in enumerate(said["questions"], 1))
    return [Heading("Questions, the most helpful first"), Table(("no.", "question", "why", "ask"), rows, "rlll")]


def question(asked: Mapping[str, Any], said: Mapping[str, Any]) -> tuple[str, str, str]:
    """A question, why it is asked, and whom to ask."""
    ask, why = QUESTIONS[asked["code"]]
    there = said["understood"]
    filled = ask.format(
        guards=_listed(
            list(dict.fromkeys(u["name"] for u in there if u["what"] == "guard" and u.get("other") != "none"))
        ),
        floorless=_listed(
            [u["name"] for u in there if u["what"] == "room" and not u.get("other") and not u.get("small")]
        )
        or "the rooms",
        far_unknown=_listed([u["name"] for u in there if u["what"] == "outbuilding" and "low" not in u]),
    )
    return filled, why, WHOM[asked["whom"]]


def tag_blocks(said: Mapping[str, Any], *, blank: bool) -> list[Block]:
    """The blank tag sheet; on the terminal only how many tags it has."""
    tags = said["tags"]
    basis = {
        "sockets": "the sockets told",
        "rooms": "one for each room, as nobody counted sockets",
        "nothing": "a guess, as nothing was counted",
    }
    words = f"Tags E01 to E{tags['last']:02d}: from {basis[tags['basis']]}, and never fewer than 12. Tag first, understand later."
    if not blank:
        return [Heading("Tag sheet"), Para(words + " --sheets FOLDER prints it.")]
    rows = tuple((f"E{n:02d}", TO_WRITE, TO_WRITE, TO_WRITE, TO_WRITE) for n in range(tags["first"], tags["last"] + 1))
    columns = ("end", "where found, old label", "jacket and colours", "volts DC, volts AC", "goes to, how known")
    return [Para(words), Table(columns, rows, "mllll")]


def untouched_blocks(said: Mapping[str, Any], *, blank: bool = False) -> list[Block]:
    """What nobody may touch."""
    rows: tuple[tuple[str, ...], ...] = tuple(
        (UNTOUCHED.get(u["code"], u["code"]), STATE[u["state"]], u["words"]) for u in said["untouched"]
    )
    columns: tuple[str, ...] = ("what", "how sure", "in their words")
    if blank:
        columns, rows = (*columns, "found in which room, marked by whom"), tuple((*row, TO_WRITE) for row in rows)
    return [
        Heading("Do not touch"),
        Para("Until each of these is found and marked, nothing is cut, unplugged or moved.", "caution"),
        Table(columns, rows),
    ]


def size_blocks(said: Mapping[str, Any]) -> list[Block]:
    """The rough size and what it stands on."""
    size = said["size"]
    rows = tuple((label, _range(size[key]), _inputs(size[key])) for key, label in SIZE_ROWS)
    rules = tuple((_rule(r["code"]), _numbers(r["low"], r["high"]), r["provenance"]) for r in size["rules"])
    return [
        Heading("Rough size"),
        Para(f"By these lines it is {SIZE_CLASS[size['class']]}. No price can be named before the house was seen."),
        Table(("what", "from to", "spread made by"), rows),
        Heading("Rules of thumb behind it", 2),
        Table(("rule", "from to", "where it comes from"), rules),
    ]


def _range(value: Mapping[str, Any]) -> str:
    return _numbers(value["low"], value["high"])


def _numbers(low: float, high: float) -> str:
    lo, hi = f"{low:.3g}", f"{high:.3g}"
    return lo if lo == hi else f"{lo} to {hi}"


def _inputs(value: Mapping[str, Any]) -> str:
    return ", ".join(_rule(i) for i in value["inputs"]) or "–"


def _rule(code: str) -> str:
    name, _, sort = code.partition(":")
    words = INPUTS.get(name, name.replace("_", " "))
    return f"{words} ({sort})" if sort else words


def sheet_pages(answer: Answer) -> dict[str, Page]:
    """The sheets to print, by file name."""
    said, footer = answer.answer, f"site {answer.site} · from what was told, nothing of it seen yet"
    return {
        "photos": Page(f"{answer.site}: pictures for us, please", tuple(photo_blocks(said)), footer),
        "questions": Page(f"{answer.site}: questions", tuple(question_blocks(said)), footer),
        "tags": Page(f"{answer.site}: cable ends as found", tuple(tag_blocks(said, blank=True)), footer),
        "do_not_touch": Page(f"{answer.site}: do not touch", tuple(untouched_blocks(said, blank=True)[1:]), footer),
        "size": Page(f"{answer.site}: rough size", tuple([*concern_blocks(said), *size_blocks(said)]), footer),
    }
