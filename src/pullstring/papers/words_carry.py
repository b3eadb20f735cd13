"""Pages of the verbs that carry a record in and out, and that write into it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.sentences import SAID

Made = tuple[str, list[Block]]
MOST_NAMES = 12


def counted(number: int, one: str, many: str) -> str:
    """`1 entry`, `3 entries`."""
    return f"{number} {one if number == 1 else many}"


def _some(names: list[str]) -> str:
    """Names, the first dozen of many."""
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def _said(notes: list[Mapping[str, Any]]) -> list[Block]:
    lines = []
    for note in notes:
        first, *rest = note["about"]
        lines.append(SAID.get(note["code"], "{0} {1}").format(first, ", ".join(rest)))
    return [Para(line) for line in lines]


def import_tables(answer: Answer) -> Made:
    said = answer.answer
    done = "would be entered" if said["dry"] else "entered"
    was = "was" if said["already"] == 1 else "were"
    blocks: list[Block] = [
        Para(
            f"{counted(said['tables'], 'table', 'tables')} with {counted(said['rows'], 'row', 'rows')} read; "
            f"{counted(said['entered'], 'statement', 'statements')} {done}, {said['already']} {was} in the record already."
        )
    ]
    if said["photos"]:
        blocks.append(Para(f"{counted(said['photos'], 'photograph', 'photographs')} with them."))
    if said["unread"]:
        blocks.append(Para("Not read, for they are no tables: " + _some(said["unread"]) + "."))
    return "Import", [*blocks, *_said(said["said"])]


def export_tables(answer: Answer) -> Made:
    said = answer.answer
    rows = tuple((name, str(n)) for name, n in said["tables"].items())
    blocks: list[Block] = [Table(("table", "rows"), rows, "lr")]
    if said["photos"]:
        blocks.append(Para(f"{counted(said['photos'], 'photograph', 'photographs')} in the folder photos."))
    if "workbook" in said:
        blocks.append(Para("Photographs do not travel in a workbook; export into a folder to take them along."))
    if said["before"]:
        names = ", ".join(said["before"])
        blocks.append(
            Para(f"What stood there said something else; it was kept beside, from the last export on: {names}.")
        )
    if said["older"]:
        blocks.append(
            Para("These tables lay there from before and were left as they are: " + ", ".join(said["older"]) + ".")
        )
    return "Export", blocks


def export_record(answer: Answer) -> Made:
    said = answer.answer
    return "The whole record", [
        Para(
            f"{counted(said['entries'], 'entry', 'entries')} and {counted(said['attachments'], 'attachment', 'attachments')} "
            f"in {said['folder']}. It holds everything, private photographs too: give it only to who may see them."
        )
    ]


def export_shared(answer: Answer) -> Made:
    said = answer.answer
    rows = tuple((name, str(n)) for name, n in said["tables"].items())
    blocks: list[Block] = [
        Table(("table", "rows"), rows, "lr"),
        Para(
            f"{counted(said['photos'], 'photograph', 'photographs')}, without position and without words beside the picture."
        ),
    ]
    if said["left_out"]:
        left = tuple((what, str(n)) for what, n in said["left_out"].items())
        blocks += [Heading("Left out"), Table(("what", "how many"), left, "lr")]
    blocks.append(Para("Read it through before you give it away: a note may tell what no rule can see.", "caution"))
    return "What may be shared", blocks


def import_record(answer: Answer) -> Made:
    said = answer.answer
    would = "would come" if said["dry"] else "came"
    blocks: list[Block] = [
        Para(
            f"{counted(said['added'], 'entry', 'entries')} {would} in, {said['already']} were here already; "
            f"{counted(said['attachments'], 'attachment', 'attachments')}, {said['redacted']} without their content."
        )
    ]
    if said["lost"]:
        blocks += [Heading("What could not be read"), *(Para(line + ".") for line in said["lost"])]
    return "Another record", blocks


def what_fits(answer: Answer) -> Made:
    blocks: list[Block] = []
    for sheet in answer.answer["sheets"]:
        how = "it bears that name" if sheet["named"] else "it looks most like that"
        what = f"table {sheet['table']} ({how})" if sheet["table"] else "no table knows any of its columns"
        blocks.append(Heading(f"{sheet['place']}: {what}", 2))
        rows = [(h, c + (f" in {u}" if u else "")) for h, c, u in sheet["understood"]]
        rows += [(h, "not understood" + (f"; {close}" if close else "")) for h, close in sheet["strange"]]
        rows += [("(no column)", f"{name} is needed in every row") for name in sheet["missing"]]
        blocks.append(Table(("column there", "understood as"), tuple(rows)))
    blocks += [Para(f) for f in answer.answer["faults"]]
    if not answer.answer["map"]:
        return "What fits", [*blocks, Para("Every sheet is read as it stands; no map is needed.")]
    return "What fits", [*blocks, Heading("A map to begin with"), Para("Save it, edit it, and give it with --map.")]


def strike(answer: Answer) -> Made:
    said = answer.answer
    words = "and its content is destroyed" if said["redacted"] else "and stays readable"
    return "Struck out", [Para(f"Entry {said['entry']} counts no more {words}; entry {said['by']} says why.")]


def open_seal(answer: Answer) -> Made:
    said = answer.answer
    blocks: list[Block] = [Para(f"{said['of']}: {secret}") for secret in said["secrets"]]
    if said["seals"] > 1:
        blocks.append(
            Para(f"There are {said['seals']} accounts of it; this passphrase opens {len(said['secrets'])} of them.")
        )
    return "Under the seal", blocks


VERBS: dict[str, Callable[[Answer], Made]] = {
    "import": import_tables,
    "export": export_tables,
    "export-record": export_record,
    "export-shared": export_shared,
    "import-record": import_record,
    "what-fits": what_fits,
    "strike": strike,
    "open-seal": open_seal,
}
