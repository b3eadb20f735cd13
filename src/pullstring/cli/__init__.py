"""DOOR: the command line. The table of verbs is all that `--help` needs; a verb's module is loaded when it is called."""

from __future__ import annotations

import sys

VERBS: dict[str, tuple[str, str]] = {
    "start": ("pullstring.cli.starting", "from a few pasted lines: photo list, questions, blank sheets, rough size"),
    "new": ("pullstring.cli.writing", "begin the record of a site in a file"),
    "import": ("pullstring.cli.writing", "tables, a workbook or another record into this one"),
    "export": ("pullstring.cli.writing", "tables, the whole record, or what may be shared"),
    "add": ("pullstring.cli.adding", "enter one row of a table"),
    "strike": ("pullstring.cli.adding", "say that an earlier entry never was so"),
    "site": ("pullstring.cli.asking", "the as-built site and what is wrong, worst first"),
    "runs": ("pullstring.cli.asking", "where every run goes, how sure, and what it can carry"),
    "power": ("pullstring.cli.asking", "port by port: what fits, volts, watts, budget"),
    "if-cut": ("pullstring.cli.asking", "STOP, ASK or GO before anything is taken away"),
    "trace": ("pullstring.cli.tracing", "which cable is which, how sure, what to try next, codes for one walk"),
    "signal": ("pullstring.cli.signalling", "room by room the level, how sure, who serves, where to read next"),
    "print": ("pullstring.cli.making", "first page, floor drawings and labels into a folder"),
    "serve": ("pullstring.cli.serving", "the site in the browser, and the pocket page for phones"),
    "demo": ("pullstring.cli.making", "the whole job on the built-in, invented property"),
}


def main(args: list[str] | None = None) -> None:
    """The program's entrance; ends with exit code 0, 1 or 2."""
    from pullstring.cli.group import program

    sys.exit(program(args))
