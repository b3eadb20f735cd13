"""The page of the runs, and the page of one run with all that stands behind its figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import interval_of, said, things
from pullstring.papers.sentences_copper import (
    ADVICE,
    CAUSES,
    INPUTS,
    NOT_USED,
    REASONS,
    SOURCES,
    TESTS,
    TESTS_SHORT,
    VERDICTS,
)

Facts = Mapping[str, Any]
COLUMNS = ("end", "goes to", "how sure", "data", "because", "to spare", "loop of one pair", "next test")
CLOSET_COLUMNS = (*COLUMNS[:5], "loop of one pair", "capacitance", "next test")
FEW = 3
"""Up to so many runs each get a page of their own."""


def rows(runs: Sequence[Facts]) -> tuple[tuple[str, ...], ...]:
    """One row for each run, by `COLUMNS`."""
    return tuple(
        (*_heads(run), "–" if run["protected_by"] else interval_of(run["spare"]), *_tail(run, "loop")) for run in runs
    )


def closet_rows(runs: Sequence[Facts]) -> tuple[tuple[str, ...], ...]:
    """One row for each run, by `CLOSET_COLUMNS`: what a meter should read there."""
    return tuple((*_heads(run), interval_of(run["loop"]), *_tail(run, "capacitance")) for run in runs)


def _heads(run: Facts) -> tuple[str, ...]:
    return (
        run["end"],
        ", ".join(things(t) for t in run["to"][:2]) or "not known",
        ("contradicted" if run["contradicted"] else run["grade"]) or "nobody said",
        *_judgement(run),
    )


def _tail(run: Facts, quantity: str) -> tuple[str, str]:
    return interval_of(run[quantity]), said(TESTS_SHORT, run["next_test"])


def _judgement(run: Facts) -> tuple[str, str]:
    if run["protected_by"]:
        return "do not touch", "only " + ", ".join(run["protected_by"])
    reason = said(REASONS, run["reason"])
    if run["reason"] == "ran" and run["ran_at"]:
        reason += f" on {run['ran_at'][:10]}"
    if run["band"] == "unlikely":
        return ("nothing" if run["telephone"] == "no" else "telephone; data unlikely"), reason
    without = "nothing" if run["telephone"] == "no" else "telephone only"
    return f"{run['band']} at {run['mbps']} Mb/s" if run["mbps"] else without, reason


def tests(runs: Sequence[Facts]) -> list[Block]:
    """How the tests that are asked for are done, each once."""
    used = [code for code in TESTS if any(run["next_test"] == code for run in runs) and code != "none"]
    return (
        [Heading("The next tests", 2), Table(("test", "how"), tuple((TESTS_SHORT[c], TESTS[c]) for c in used))]
        if used
        else []
    )


def runs(answer: Answer) -> tuple[str, list[Block]]:
    """All runs in one table; a few that were asked for each with what stands behind it."""
    found = answer.answer["runs"]
    blocks: list[Block] = (
        [Table(COLUMNS, rows(found), "mlllllll")]
        if found
        else [Para("There is no run yet: no cable end in a closet was noted.")]
    )
    for code, words in ADVICE.items():
        if ends := [run["end"] for run in found if code in run["advice"] and not run["protected_by"]]:
            blocks.append(Para(f"{', '.join(ends)}: {words}"))
    blocks += tests(found)
    reads = [(r["end"], read["quantity"], read["written"], read["at"]) for r in found for read in r["read"]]
    if reads:
        blocks += [Heading("What was read"), Table(("run", "what", "reading", "when"), tuple(reads), "mlll")]
    if 0 < len(found) <= FEW and "margins" in found[0]:
        blocks += [block for run in found for block in _one(run)]
    return f"Runs of {answer.site}: where they go and what they can carry", blocks


def _one(run: Facts) -> list[Block]:
    return [
        Heading(f"Run {run['end']}: made of"),
        Table(("part", "kind", "length", "temperature"), tuple(_part(p) for p in run["makeup"]), "llll"),
        *_length(run),
        *_readings(run),
        *_wires(run),
        *_margins(run),
        *_limits(run),
        *_worth(run),
    ]


def _part(part: Facts) -> tuple[str, ...]:
    if part["part"] == "joint":
        return ("joint", part["kind"], "–", "–")
    return (part["part"], part["jacket"], interval_of(part["length"]), interval_of(part["temperature"]))


def _length(run: Facts) -> list[Block]:
    if not run["length_from"]:
        return [Para("Nothing noted or read tells its length.")]
    told = tuple((said(SOURCES, s["source"]), interval_of(s["length"])) for s in run["length_from"])
    blocks: list[Block] = [Heading("How long it is", 2), Table(("from", "length"), told, "ll")]
    blocks.append(Para(f"Taken together: {interval_of(run['length'])}{_by(run['length'])}."))
    for found in run["findings"]:
        causes = "; or ".join(said(CAUSES, c) for c in found["causes"])
        more = f" by {interval_of(found['too_many'])}" if found["too_many"] else ""
        blocks.append(Para(f"By {said(SOURCES, found['source'])} it does not fit{more}: {causes}."))
    return blocks


def _by(value: Facts | None) -> str:
    """Which inputs made a range."""
    names = [said(INPUTS, n) for n in (value or {}).get("inputs", ())]
    return f" (the range comes from {', '.join(dict.fromkeys(names))})" if names else ""


def _readings(run: Facts) -> list[Block]:
    told = tuple(
        (
            r["quantity"],
            r["written"],
            interval_of(r["expected"]),
            "not used: " + said(NOT_USED, r["not_used"]) if r["not_used"] else VERDICTS[r["verdict"]],
            "; or ".join(said(CAUSES, c) for c in r["causes"]) or "–",
        )
        for r in run["readings"]
    )
    if not told:
        return []
    return [Heading("Read against expected", 2), Table(("what", "read", "expected", "so", "it may be"), told, "lllll")]


def _wires(run: Facts) -> list[Block]:
    """Single wires of a pair: one worse than its partner, or both worse than the way explains."""
    told = tuple(
        (
            str(w["pair"]),
            _percent(w["said"]["unbalance"], "of_smaller"),
            _percent(w["said"]["unbalance"], "of_sum"),
            {1: "the first", 2: "the second"}.get(w["said"]["wire"], "–"),
            interval_of(w["said"]["extra"]),
            said(CAUSES, w["said"]["cause"]) if w["said"]["cause"] else "alike",
        )
        for w in run["wires"]
    )
    if not told:
        return []
    heads = ("pair", "unlike, of the lesser", "unlike, of the sum", "worse wire", "too many", "it may be")
    return [Heading("Single wires", 2), Table(heads, told, "llllll")]


def _percent(unbalance: Facts | None, name: str) -> str:
    if not unbalance:
        return "–"
    low, high = (figures.number(100 * unbalance[name][end]) for end in ("low", "high"))
    return f"{low} to {high} %"


def _margins(run: Facts) -> list[Block]:
    told = tuple(
        (
            m["name"],
            interval_of(m["margin"]) if m["margin"] else _without_margin(m),
            said(REASONS, m["part"]),
            interval_of(m["loss"]["worst"]) if m["loss"] else "–",
            interval_of(m["next"]["worst"]) if m["next"] else "–",
            f"{interval_of(m['notch']['frequency'])}, {interval_of(m['notch']['depth'])} deep" if m["notch"] else "–",
        )
        for m in run["margins"]
    )
    of = next((m for m in run["margins"] if m["mbps"] == run["mbps"] and m["margin"]), None)
    heads = ("kind of Ethernet", "to spare", "what decides", "loss at worst", "crosstalk at worst", "notch")
    blocks: list[Block] = [Heading("What a receiver has to spare", 2), Table(heads, told, "llllll")]
    if of:
        blocks.append(Para(f"{of['name']}: {interval_of(of['margin'])}{_by(of['margin'])}."))
    return blocks


def _without_margin(margin: Facts) -> str:
    if margin["part"] == "pairs":
        return "no: too few pairs"
    return {True: "its category may do", False: "its category does not do", None: "no model"}[margin["category_says"]]


def _limits(run: Facts) -> list[Block]:
    told = tuple(
        (
            one["of"],
            one["what"],
            f"{figures.quantity(one['limit']['value'], one['limit']['unit'])} at "
            f"{figures.quantity(one['frequency_hz'], 'Hz')}",
            f"{one['limit']['standard']} ({one['limit']['provenance']})",
        )
        for one in run["limits"]
    )
    if not told:
        return []
    return [Heading("What its category promises", 2), Table(("of a", "what", "limit", "by"), told, "llll")]


def _worth(run: Facts) -> list[Block]:
    told = tuple(
        (
            said(TESTS_SHORT, t["test"]),
            f"{t['minutes']:g} min",
            "at hand" if t["at_hand"] else " or ".join(t["kit"]),
            _could(t["at_best"]),
            _could(t["at_worst"]),
        )
        for t in run["tests"]
    )
    if not told:
        return []
    heads = ("test", "takes", "kit", "could raise it to", "could lower it to")
    return [Heading("Tests that could change the answer", 2), Table(heads, told, "lllll")]


def _could(end: Facts) -> str:
    return f"{end['band']} at {end['mbps']} Mb/s" if end["mbps"] else "nothing"
