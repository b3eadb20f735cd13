"""Every sentence that a person reads: one answer becomes one page of blocks, for terminal, browser and paper alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pullstring.model.answers import Answer, Ask, Problem
from pullstring.model.problems import catalogue
from pullstring.papers import (
    book_first,
    words_carry,
    words_cut,
    words_pages,
    words_power,
    words_registers,
    words_runs,
    words_signal,
    words_start,
    words_start_fixed,
    words_trace,
)
from pullstring.papers.blocks import Block, Heading, Page, Para, Table
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences import ASSUMED, CAUTIONS, SEVERITY
from pullstring.papers.sentences_copper import ASSUMED_COPPER, TESTS
from pullstring.papers.sentences_power import QUESTIONS
from pullstring.papers.sentences_signal import ASSUMED_SIGNAL
from pullstring.papers.sentences_trace import ASKS_TRACE, ASSUMED_TRACE

FIRST_LINES = 5


def page_of(answer: Answer, *, whole: bool = False) -> Page:
    """The page for an answer of any verb; with `whole` all problems, else the first five."""
    title, blocks = _VERBS[answer.verb](answer)
    tail = _tail(answer, whole)
    wrong_first = answer.verb == "site" and "counts" in answer.answer
    return Page(title, tuple([*tail, *blocks] if wrong_first else [*blocks, *tail]), _footer(answer))


def _footer(answer: Answer) -> str:
    parts = [f"site {answer.site}"]
    if answer.as_of:
        parts.append(f"as it was on {answer.as_of}")
    if answer.known_by:
        parts.append(f"as known by {answer.known_by}")
    if answer.because:
        parts.append(f"stands on {len(answer.because)} {'entry' if len(answer.because) == 1 else 'entries'}")
    return " · ".join([*parts, f"rules {answer.rules}, verify locally"])


def _tail(answer: Answer, whole: bool) -> list[Block]:
    blocks: list[Block] = []
    if answer.problems and answer.verb != "sheet":
        blocks += _problems(answer.problems, whole, answer.verb)
    said = {b.text for b in blocks if isinstance(b, Para)}
    blocks += [Para(w, "caution") for c in answer.cautions if (w := CAUTIONS.get(c, c)) not in said]
    if answer.assumed:
        taken = dict.fromkeys(assumption(a) for a in answer.assumed)
        blocks.append(Para("Taken for granted: " + "; ".join(taken) + "."))
    if answer.ask:
        blocks.append(Para(_ask(answer.ask), "ask"))
    return blocks


def assumption(code: str) -> str:
    """What is taken for granted, in words."""
    if code.startswith("unit:"):
        return f"unit {code[5:]} has power from somewhere, for nobody noted from where"
    said = ASSUMED.get(code) or ASSUMED_COPPER.get(code) or ASSUMED_TRACE.get(code) or ASSUMED_SIGNAL.get(code)
    return said or words_start_fixed.ASSUMED.get(code, code)


def _ask(ask: Ask) -> str:
    if ask.question in TESTS:
        return f"{TESTS[ask.question]} Begin with {thing(ask.about)}; {ask.why} runs are not known by more than word."
    if ask.question in ASKS_TRACE:
        return ASKS_TRACE[ask.question]
    if ask.question in QUESTIONS:
        return QUESTIONS[ask.question].format(thing(ask.about), ask.why)
    return f"{ask.question} ({thing(ask.about)}; {ask.why})"


def problem(found: Problem) -> str:
    """A problem as one sentence: where, what, remedy."""
    row = catalogue().get(found.code)
    says = row.says if row else "{where}: {says}."
    words = says.format(where=things(found.where), says=things(found.says))
    return f"{words[:1].upper()}{words[1:]} Remedy: {things(found.remedy)}."


def _beside(problems: Sequence[Problem]) -> list[Block]:
    """The cautions that belong to the problems told, each once."""
    rows = [catalogue()[p.code] for p in problems if p.code in catalogue()]
    return [Para(CAUTIONS[c], "caution") for c in dict.fromkeys(r.caution for r in rows) if c]


def _problems(problems: Sequence[Problem], whole: bool, verb: str) -> list[Block]:
    shown = problems if whole else problems[:FIRST_LINES]
    rows = tuple((SEVERITY[p.severity.name.lower()], problem(p)) for p in shown)
    blocks: list[Block] = [Heading("What is wrong, worst first"), Table(("why it matters", "what and remedy"), rows)]
    if left := len(problems) - len(shown):
        told = "signal" if verb == "signal" else "site"  # faults of the plan are told by signal alone
        counted = _counted(problems[len(shown) :])
        blocks.append(Para(f"{left} more of lesser harm: {counted}. All of them: {told} --all"))
    return blocks + _beside(shown)


def _counted(problems: Sequence[Problem]) -> str:
    counts: dict[str, int] = {}
    for found in problems:
        word = SEVERITY[found.severity.name.lower()]
        counts[word] = counts.get(word, 0) + 1
    return ", ".join(f"{n} {word}" for word, n in counts.items())


def _site(answer: Answer) -> tuple[str, list[Block]]:
    if "thing" in answer.answer:
        return _why(answer)
    counts = answer.answer["counts"]
    rows = tuple((kind.replace("_", " "), str(n)) for kind, n in sorted(counts.items()))
    grades = answer.answer["claim_counts"]
    return f"The site {answer.site}", [
        Heading("What the record holds"),
        Table(("kind", "how many"), rows, "lr"),
        Para("Claims: " + (", ".join(f"{n} {w}" for w, n in sorted(grades.items())) or "none") + "."),
        *([] if answer.problems else [Para("Nothing wrong was noticed.")]),
    ]


def _why(answer: Answer) -> tuple[str, list[Block]]:
    fields = tuple(
        (
            name.replace("_", " "),
            things(str(h["value"])),
            h["grade"],
            h["at"],
            h["entry"][:8],
        )
        for name, heads in answer.answer["fields"].items()
        for h in heads
    )
    claims = tuple(
        (
            c["relation"].replace("_", " "),
            thing(c["object"]),
            c["grade"] or "",
            c["status"],
            " ".join(e[:8] for e in c["because"]),
        )
        for c in answer.answer["claims"]
    )
    blocks: list[Block] = []
    if fields:
        blocks += [Heading("What was noted"), Table(("what", "value", "grade", "when", "entry"), fields, "llllm")]
    if claims:
        blocks += [
            Heading("How it hangs together"),
            Table(("how", "with", "grade", "state", "entries"), claims, "llllm"),
        ]
    return f"Why {thing(answer.answer['thing'])} is as it is", blocks


def _new(answer: Answer) -> tuple[str, list[Block]]:
    return "A new site", [Para(f"The record of {answer.answer['code']} begins in {answer.answer['file']}.")]


def _add(answer: Answer) -> tuple[str, list[Block]]:
    n = len(answer.answer["entries"])
    return "Entered", [
        Para(f"{n} {'entry' if n == 1 else 'entries'} in the record: {', '.join(answer.answer['entries'])}.")
    ]


_VERBS: dict[str, Callable[[Answer], tuple[str, list[Block]]]] = {
    "site": _site,
    "runs": words_runs.runs,
    "power": words_power.power,
    "if-cut": words_cut.if_cut,
    "sheet": book_first.blocks_of,
    **words_carry.VERBS,
    **words_pages.VERBS,
    **words_registers.VERBS,
    "new": _new,
    "add": _add,
    "start": words_start.start_page,
    "trace": words_trace.trace,
    **words_signal.VERBS,
}
