"""The code on a label: property and identifier, nothing else, in the small alphabet of ISO/IEC 18004."""

from __future__ import annotations

import functools
import re
from collections.abc import Sequence

import segno

from pullstring.papers import svg

_CODE = re.compile(r"[0-9A-Z $%*+\-./:]+")  # ISO/IEC 18004, alphanumeric mode
QUIET = 4  # modules of white around the code, ISO/IEC 18004
MODULES_MM = (0.75, 0.5, 0.375, 0.25)  # ours: six, four, three and two dots of a 203 dpi tape printer


def code_text(property_tag: str, identifier: str) -> str | None:
    """What the code holds; None where it cannot be written in the small alphabet. Case does not count in a tag.

    Only plain letters are raised: one that would become two, or another, makes no code.
    """
    text = f"{property_tag}/{identifier}"
    return text.upper() if text.isascii() and _CODE.fullmatch(text.upper()) else None


@functools.lru_cache(maxsize=4096)
def modules(text: str) -> Sequence[Sequence[int]]:
    """The rows of the code, dark is 1; its size follows from the text alone."""
    made = segno.make(text, error="m", micro=False, boost_error=False)
    return tuple(tuple(row) for row in made.matrix)


def side_mm(text: str, *, room_mm: float) -> float | None:
    """Side of the code with its white, in the largest module that there is room for; None where there is none."""
    count = len(modules(text)) + 2 * QUIET
    return next((m * count for m in MODULES_MM if m * count <= room_mm), None)


def code_path(text: str, *, side: float) -> str:
    """The dark modules as one path, for a square of this side with its white around."""
    rows = modules(text)
    module = side / (len(rows) + 2 * QUIET)
    n = svg.num
    runs = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            length = next((i for i, dark in enumerate(row[x:]) if not dark), len(row) - x)
            if length:
                runs.append(
                    f"M{n((x + QUIET) * module)} {n((y + QUIET) * module)}h{n(length * module)}v{n(module)}"
                    f"h{n(-length * module)}z"
                )
            x += max(length, 1)
    return f'<path class="qr" d="{"".join(runs)}"/>'
