"""Writes docs/tables.md from the columns that the program knows."""

from __future__ import annotations

from pathlib import Path

from pullstring.model.acts import ACTS
from pullstring.model.columns import tables


def guide() -> str:
    """The guide as Markdown."""
    lines = [
        "# Tables",
        "",
        "Made by `tools/table_guide.py` from the columns that the program knows; do not edit by hand.",
        "",
    ]
    for table in tables().values():
        lines += [
            f"## {table.name}",
            "",
            f"{table.about.capitalize()}." if table.about else "",
            "",
            "| column | cell | needed | note |",
            "|---|---|---|---|",
        ]
        for c in table.columns:
            cell = c.type + (f": {c.of}".replace("|", ", ") if c.of else "")
            lines.append(
                f"| {c.name} | {cell} | {'yes' if c.required else ''} | {c.help.replace('|', chr(92) + '|')} |"
            )
        lines.append("")
    lines += [
        "## What can be done: the column act",
        "",
        "`to` and `from` as needed; undone by the act in the last column.",
        "",
        "| act | done to | with | needs | undone by |",
        "|---|---|---|---|---|",
    ]
    for act in ACTS.values():
        done_to, with_ = (", ".join(names).replace("*", "anything") for names in (act.subjects, act.objects))
        lines.append(f"| {act.name} | {done_to} | {with_} | {', '.join(act.needs)} | {act.inverse} |")
    lines.append("")
    return "\n".join(lines)


if __name__ == "__main__":
    (Path(__file__).parents[1] / "docs" / "tables.md").write_text(guide(), encoding="utf-8")
