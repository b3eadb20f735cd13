"""Words of the pages that only look things up: who said what, what bears a word, what waits to be sorted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block, Para, Table
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences_pages import ACT_WORDS, KINDS, MORE, RELATIONS

SHORT = 8  # letters of an id that a page shows


def history(answer: Answer) -> tuple[str, list[Block]]:
    """Entries as sentences, the latest first."""
    said = answer.answer
    rows = tuple(
        (
            entry["at"],
            entry["author"],
            things(entry_says(entry)) + (" (struck out since)" if entry["struck_by"] else ""),
            entry["device"],
            entry["id"][:SHORT],
        )
        for entry in said["entries"]
    )
    title = f"What was said of {thing(said['thing'])}" if said["thing"] else "What was said, the latest first"
    blocks: list[Block] = []
    if rows:
        blocks.append(Table(("when it was so", "who", "what", "written on", "entry"), rows, "llllm"))
    else:
        blocks.append(Para("Nothing was said."))
    if said["more_before"]:
        blocks.append(Para(MORE.format(said["count"])))
    if said["redacted"]:
        n = said["redacted"]
        blocks.append(Para(f"The words of {n} {'entry were' if n == 1 else 'entries were'} destroyed on request."))
    return title, blocks


def entry_says(entry: Mapping[str, Any]) -> str:
    """One entry as a sentence; references stay in their written form, for `things` to say."""
    return _SAY[entry["kind"]](entry["body"])


def _noted(body: Mapping[str, Any]) -> str:
    fields = "; ".join(f"{name.replace('_', ' ')} {value}" for name, value in body["fields"].items())
    grade = body["evidence"]["grade"]
    return f"{body['subject']} is there ({grade})" if not fields else f"{body['subject']} {fields} ({grade})"


def _claimed(body: Mapping[str, Any]) -> str:
    joins = RELATIONS.get(body["relation"], body["relation"].replace("_", " "))
    no = "" if body["holds"] else "not so: "
    detail = f", {body['detail']}" if body["detail"] else ""
    return f"{no}{body['subject']} {joins} {body['object']}{detail} ({body['evidence']['grade']})"


def _measured(body: Mapping[str, Any]) -> str:
    value = body["written"] or "nothing read"
    return f"{body['subject']} {body['quantity']} {value} ({body['evidence']['grade']})"


def _did(body: Mapping[str, Any]) -> str:
    other = f" {body['object']}" if body["object"] else ""
    values = "; ".join(f"{name} {value}" for name, value in body["values"].items())
    act = ACT_WORDS.get(body["act"], body["act"])
    return f"{act} {body['subject']}{other}{': ' + values if values else ''}"


def _decided(body: Mapping[str, Any]) -> str:
    word = "accepted" if body["accepted"] else "refused"
    return f"{body['role']} {word} {len(body['items'])} items of a proposal, {body['how']}"


def _struck_out(body: Mapping[str, Any]) -> str:
    how = "struck out and its words destroyed" if body["redacted"] else "struck out"
    return f"entry {body['entry'][:SHORT]} {how}: {body['why']}"


_SAY = {
    "noted": _noted,
    "claimed": _claimed,
    "measured": _measured,
    "did": _did,
    "decided": _decided,
    "struck_out": _struck_out,
}


def find(answer: Answer) -> tuple[str, list[Block]]:
    """Things that bear a word."""
    said = answer.answer
    if not said["found"]:
        return f"Nothing bears {said['word']!r}", [Para("Try a part of it, or the number alone.")]
    rows = tuple((f["tag"], kind_word(f["kind"]), f["by"], things(f["says"]) or "–") for f in said["found"])
    blocks: list[Block] = [Table(("tag", "what it is", "found by", "says"), rows, "mlll")]
    if said["count"] > len(rows):
        blocks.append(Para(f"{said['count'] - len(rows)} more; write more of the word."))
    return f"What bears {said['word']!r}", blocks


def kind_word(kind: str) -> str:
    """A kind of thing as people call it."""
    return KINDS.get(kind, kind.replace("_", " "))


def inbox(answer: Answer) -> tuple[str, list[Block]]:
    """Jottings that wait."""
    said = answer.answer
    if not said["waiting"]:
        return "Nothing waits to be sorted", []
    rows = tuple((j["tag"], j["what"], j["about"] or "–", jotted(j), j["at"]) for j in said["waiting"])
    return "What waits to be sorted", [Table(("jotting", "kind", "written on it", "says", "when"), rows, "mlmll")]


def jotted(jotting: Mapping[str, Any]) -> str:
    """What a jotting says, in one line."""
    parts = [jotting["words"]]
    if jotting["value"]:
        parts.append(f"{jotting['quantity']} {jotting['value']}".strip())
    if jotting["heard"]:
        on = f" (sent on {jotting['sent_on']})" if jotting["sent_on"] else ""
        parts.append(f"tone {jotting['heard']}{on}")
    if jotting["place"]:
        parts.append(f"in {jotting['place']}")
    if jotting["photos"]:
        parts.append(
            "with a photograph" if len(jotting["photos"]) == 1 else f"with {len(jotting['photos'])} photographs"
        )
    return "; ".join(p for p in parts if p) or "–"


VERBS = {"history": history, "find": find, "inbox": inbox}
