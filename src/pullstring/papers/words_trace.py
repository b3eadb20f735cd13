"""The pages of tracing: how every outlet and end stands, and why one does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences_trace import ACCEPT, DOUBTS, LEFT_OUT, REPEAT_WHY, STANDS, STOPS, UNSURE_WHY
from pullstring.papers.words_trace_acts import act_says, how_long
from pullstring.papers.words_trace_ends import end_stands, structure
from pullstring.papers.words_trace_said import bare, chance, entry, listed, net, strength, tags, upper

Facts = Mapping[str, Any]
FEW = 6
"""So many of a list are named in the first lines; the rest stand in the tables."""
MOST_ENTRIES = 3
"""So many entries of one reason are told; lengths stand on many."""
MOST_REASONS = 12
"""So many reasons of each side are told."""


def overview(said: Facts, site: str) -> tuple[str, list[Block]]:
    """All outlets and ends: the lines that matter first, then the tables."""
    blocks: list[Block] = [Para(line) for line in first_lines(said)]
    blocks += _outlets(said["outlets"])
    blocks += _ends(said["ends"])
    blocks += _proposed(said["proposed"])
    blocks += _repeat(said["repeat"])
    blocks += _unsure(said["unsure"])
    blocks += _left_out(said["left_out"])
    return f"Which cable is which at {site}", blocks


def first_lines(said: Facts) -> list[str]:
    """At most five: what contradicts, what is strange in the wires, how far it is, what to accept, what to do next."""
    lines = []
    if said["repeat"]:
        named = listed([_repeated(r) for r in said["repeat"][:2]], last="and")
        more = f", and {len(said['repeat']) - 2} more" if len(said["repeat"]) > 2 else ""
        lines.append(f"Does not fit together, so read it again: {named}{more}.")
    lines += [f"{_doubt(d)}." for d in said["doubts"][:1]]
    if strange := structure(said["ends"]):
        lines.append(strange)
    lines.append(_counted(said))
    if said["proposed"]:
        pairs = [f"{bare([p['subject']])} to {bare([p['object']])}" for p in said["proposed"]]
        more = f" and {len(pairs) - FEW} more" if len(pairs) > FEW else ""
        lines.append(f"To accept: {', '.join(pairs[:FEW])}{more}.")
    lines.append(next_line(said["next"]))
    return lines if len(lines) <= 5 else [*lines[:4], lines[-1]]


def next_line(found: Facts) -> str:
    """The next act, or why there is none, as one line."""
    if found.get("act"):
        return f"Next: {act_says(found['act'])} ({how_long(found['act'])})."
    return sentence(STOPS, found["stop"])


def _counted(said: Facts) -> str:
    counts = said["counts"]
    settled, outlets = counts["sure"] + counts["no cable"], counts["outlets"]
    parts = [f"{settled} of {outlets} outlets are settled" if outlets else "No outlet is noted"]
    if counts["no cable"]:
        parts.append(f"{counts['no cable']} of them have no cable of their own here")
    for state, words in (("likely", "likely"), ("tie", "a tie"), ("open", "open")):
        if counts[state]:
            parts.append(f"{counts[state]} {words}")
    return ", ".join(parts) + "."


def _outlets(outlets: Sequence[Facts]) -> list[Block]:
    if not outlets:
        return []
    rows = tuple(
        (bare([o["outlet"]]), _place(o), _goes(o), _sure(o), bare(o["with"]) or "–", _remark(o)) for o in outlets
    )
    columns = ("outlet", "room", "goes to end", "how sure", "with outlets", "what it is")
    return [Heading("Outlets"), Table(columns, rows)]


def _place(outlet: Facts) -> str:
    return " ".join(w for w in (bare([outlet["room"]]) if outlet["room"] else "", outlet["room_name"]) if w) or "–"


def _goes(outlet: Facts) -> str:
    if outlet["state"] == "tie":
        return listed([net(n) for n in outlet["tie"]], last="or")
    if not outlet["goes"]:
        return "not known"
    if outlet["state"] == "open":
        return "not known"
    return net(outlet["goes"][0]["ends"])


def _sure(outlet: Facts) -> str:
    goes = outlet["goes"]
    if outlet["state"] == "tie":
        return f"a tie, {chance(goes[0]['odds'])} each"
    if not goes:
        return "nothing read"
    if outlet["state"] == "open":
        return "open; " + listed([f"{net(g['ends'])} {chance(g['odds'])}" for g in goes[:3]], last="or")
    rivals = [f"{net(g['ends'])} {chance(g['odds'])}" for g in goes[1:3] if g["odds"]["chance"] >= 0.01]
    return chance(goes[0]["odds"]) + (f"; else {listed(rivals, last='or')}" if rivals else "")


def _remark(outlet: Facts) -> str:
    return sentence(STANDS, outlet["stands"]) if outlet["stands"] else "–"


def _ends(ends: Sequence[Facts]) -> list[Block]:
    if not ends:
        return []
    rows = tuple((bare([e["end"]]), e["label"] or "–", end_stands(e), _end_sure(e)) for e in ends)
    return [Heading("Cable ends"), Table(("end", "old label", "what it is", "how sure"), rows)]


def _end_sure(end: Facts) -> str:
    """How sure the first thing is that was found of an end; of what nobody knows there is no such chance."""
    known = end["stands"] and end["stands"][0]["what"] != "unknown"
    return chance(end["odds"]) if known else "–"


def _proposed(proposed: Sequence[Facts]) -> list[Block]:
    if not proposed:
        return []
    rows = tuple((bare([p["subject"]]), bare([p["object"]]), p["grade"], chance(p["odds"])) for p in proposed)
    says = "Nothing of this is written yet. A person accepts it: trace SITE --accept, with tags for some of it only."
    return [
        Heading("Proposed to be accepted"),
        Table(("end", "goes to outlet", "as", "how sure"), rows),
        Para(says),
    ]


def _repeat(repeat: Sequence[Facts]) -> list[Block]:
    if not repeat:
        return []
    rows = tuple((entry(r["said"]), sentence(REPEAT_WHY, r["why"]), r["said"]["entry"][:8]) for r in repeat)
    return [Heading("Read these again"), Table(("reading", "why", "entry"), rows, "llm")]


def _repeated(repeat: Facts) -> str:
    return entry(repeat["said"])


def _doubt(doubt: Facts) -> str:
    n = len(doubt["because"])
    count = f"{n} {'reading' if n == 1 else 'readings'} count less for it"
    source = things(doubt["source"]) or "an instrument"
    return sentence(DOUBTS, doubt["what"]).format(source=source[:1].upper() + source[1:], count=count)


def _unsure(unsure: Sequence[Facts]) -> list[Block]:
    if not unsure:
        return []
    by_why: dict[str, list[str]] = {}
    for one in unsure:
        by_why.setdefault(one["why"], []).append(one["thing"])
    rows = tuple((tags(refs), sentence(UNSURE_WHY, why)) for why, refs in by_why.items())
    return [Heading("Stays open"), Table(("what", "why"), rows)]


def _left_out(left: Sequence[Facts]) -> list[Block]:
    if not left:
        return []
    by_why: dict[str, list[str]] = {}
    for one in left:
        by_why.setdefault(one["why"], []).append(one["thing"])
    rows = tuple((tags(refs), sentence(LEFT_OUT, why)) for why, refs in by_why.items())
    return [Heading("Takes no part"), Table(("what", "why"), rows)]


def why(said: Facts) -> tuple[str, list[Block]]:
    """The entries for and against where an outlet or end belongs, by weight."""
    about = thing(said["about"])
    blocks: list[Block] = [Para(_why_line(said))]
    rivals = tuple((net(g["ends"]) if "ends" in g else bare([g["outlet"]]), chance(g["odds"])) for g in said["goes"])
    if rivals:
        name = "end" if said["about"].startswith("outlet:") else "outlet"
        blocks.append(Table((f"goes to {name}", "how sure"), rivals))
    for side, title in (("for", "Entries for it"), ("against", "Entries against it")):
        if rows := tuple(_weighed(w) for w in said[side][:MOST_REASONS]):
            blocks += [Heading(title), Table(("entry of the record", "how much", "entry"), rows)]
        if (left := len(said[side]) - MOST_REASONS) > 0:
            blocks.append(Para(f"{left} more of less weight; all of them with --json."))
    if not said["for"] and not said["against"]:
        blocks.append(Para("No entry speaks of it; only how old wiring is usually joined does."))
    return f"Why {about} stands as it does", blocks


def _why_line(said: Facts) -> str:
    about, goes = thing(said["about"]), said["goes"]
    if not goes:
        return f"Nothing is known of {about}."
    if said["tie"]:
        return f"{upper(about)} is a tie between {listed([net(n) for n in said['tie']])}."
    first = goes[0]
    to = (tags(first["ends"]) or NO_END) if "ends" in first else thing(first["outlet"])
    return f"{upper(about)} goes to {to}: {chance(first['odds'])}."


NO_END = "no end here"


def _weighed(weighed: Facts) -> tuple[str, str, str]:
    told = list(dict.fromkeys(entry(s) for s in weighed["said"]))
    more = f"; and {len(told) - MOST_ENTRIES} more" if len(told) > MOST_ENTRIES else ""
    of = f" for {net(weighed['of'])}" if weighed.get("of") else ""
    ids = [s["entry"][:8] for s in weighed["said"][:MOST_ENTRIES]]
    return "; ".join(told[:MOST_ENTRIES]) + more, f"{strength(weighed['weight'])}{of}", " ".join(ids)


def accepted(said: Facts) -> tuple[str, list[Block]]:
    """What a person accepted, or would."""
    if not said["accepted"]:
        return "Nothing to accept", [Para(ACCEPT["none"])]
    rows = tuple(
        (bare([p["subject"]]), bare([p["object"]]), p["grade"], chance(p["odds"]), p["method"])
        for p in said["accepted"]
    )
    state = "dry" if said["dry"] else "already" if said["already"] else "written"
    words = ACCEPT[state].format(len(rows))
    title = "Would be accepted" if said["dry"] else "Accepted"
    return title, [Para(words), Table(("end", "goes to outlet", "as", "how sure", "how"), rows)]


def trace(answer: Answer) -> tuple[str, list[Block]]:
    """The page of whichever question was asked."""
    from pullstring.papers import words_trace_acts, words_trace_codes

    said = answer.answer
    if "about" in said:
        return why(said)
    if "accepted" in said:
        return accepted(said)
    if "walk" in said:
        return words_trace_acts.next_page(said, answer.site)
    for key, page in words_trace_codes.PAGES.items():
        if key in said:
            return page(said, answer.site)
    return overview(said, answer.site)
