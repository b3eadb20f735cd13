"""A page as plain text: no colour codes, wrapped to the width given, tables aligned."""

from __future__ import annotations

import textwrap

from pullstring.papers.blocks import Drawing, Heading, Page, Para, Table

GAP = 2
NARROWEST = 8


def text_page(page: Page, *, width: int) -> str:
    """The whole page; every line is at most `width` long unless a single word is longer."""
    parts = [_ruled(page.title, "=", width)]
    for block in page.blocks:
        if isinstance(block, Heading):
            parts.append(_ruled(block.text, "-", width) if block.level == 1 else _wrapped(block.text, width))
        elif isinstance(block, Para):
            parts.append(_wrapped(block.spoken, width))
        elif isinstance(block, Drawing):
            parts.append(_wrapped(f"[{block.says}]", width))
        else:
            parts.append(_table(block, width))
    if page.footer:
        parts.append(_wrapped(page.footer, width))
    return "\n\n".join(parts) + "\n"


def _ruled(text: str, line: str, width: int) -> str:
    wrapped = _wrapped(text, width)
    return f"{wrapped}\n{line * max(len(part) for part in wrapped.splitlines())}"


def _wrapped(text: str, width: int) -> str:
    return "\n".join(_lines(text, width))


def _lines(text: str, width: int) -> list[str]:
    wrapped = [
        line
        for part in text.splitlines()
        for line in textwrap.wrap(part, width, break_long_words=False, break_on_hyphens=False)
    ]
    return wrapped or [""]


def _table(table: Table, width: int) -> str:
    widths = _widths(table, width)
    if sum(widths) + GAP * (len(widths) - 1) > width:
        return _stacked(table, width)
    rows = [_row(table.columns, widths, table.align), "  ".join("-" * w for w in widths)]
    rows += [_row(row, widths, table.align) for row in table.rows]
    return "\n".join(rows)


def _widths(table: Table, width: int) -> list[int]:
    """Natural widths, the widest column narrowed again and again until the table fits or no word can give way;
    figures and identifiers are never parted."""
    columns = list(zip(table.columns, *table.rows, strict=True))
    widths = [max(len(cell) for cell in column) for column in columns]
    floors = [
        max(
            [
                NARROWEST,
                *(len(part) for cell in column for part in ([cell] if kind in "rm" else cell.split())),
            ]
        )
        for kind, column in zip(table.align, columns, strict=True)
    ]
    room = width - GAP * (len(widths) - 1)
    while sum(widths) > room:
        spare = [(w - floor, w, i) for i, (w, floor) in enumerate(zip(widths, floors, strict=True)) if w > floor]
        if not spare:
            break
        widths[max(spare, key=lambda s: (s[1], -s[2]))[2]] -= 1
    return widths


def _row(cells: tuple[str, ...], widths: list[int], align: str) -> str:
    stacks = [_lines(cell, w) for cell, w in zip(cells, widths, strict=True)]
    height = max(len(stack) for stack in stacks)
    lines = []
    for number in range(height):
        parts = [stack[number] if number < len(stack) else "" for stack in stacks]
        placed = [p.rjust(w) if a == "r" else p.ljust(w) for p, w, a in zip(parts, widths, align, strict=True)]
        lines.append((" " * GAP).join(placed).rstrip())
    return "\n".join(lines)


def _stacked(table: Table, width: int) -> str:
    """Each row as a short list, where the columns do not fit beside one another."""
    rows = [
        "\n".join(_wrapped(f"{name}: {cell}", width) for name, cell in zip(table.columns, row, strict=True) if cell)
        for row in table.rows
    ]
    return "\n\n".join(rows) or ", ".join(table.columns)
