"""Labels: a code that carries an identifier only, the tag in large letters, one line beneath; on tape or sheets.

The code holds the property's code and the tag, in capitals and digits (the alphanumeric mode of ISO/IEC 18004), so that
it stays small. Nothing else goes into it: a label is read by whoever stands before it.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence

import segno

from pullstring.papers import lettering, svg
from pullstring.papers.drawing_style import MONO_EM, SANS_EM
from pullstring.papers.typst_page import Form, Placed, sheets

_CODE = re.compile(r"[0-9A-Z $%*+\-./:]+")  # ISO/IEC 18004, alphanumeric mode
_SECRET = re.compile(r"\b(password|passphrase|passcode|pass|key|pin|code|psk)\s*[:=]", re.IGNORECASE)
QUIET = 4  # modules of white around the code, ISO/IEC 18004
MODULES_MM = (0.75, 0.5, 0.375, 0.25)  # ours: six, four, three and two dots of a 203 dpi tape printer
RULE_MM = 100.0
LEAST_MM = 1.7  # ours: the smallest letters on a label, about 5 pt


class BadLabel(ValueError):
    """A label cannot be printed as asked."""


@dataclasses.dataclass(frozen=True)
class Label:
    """What one label says."""

    property_tag: str
    tag: str
    line2: str = ""

    def __post_init__(self) -> None:
        if not _CODE.fullmatch(self.identifier):
            raise BadLabel(
                f"label {self.tag!r}: a code holds capitals, digits and $ % * + - . / : only; re-tag it within these"
            )
        if _SECRET.search(self.line2):
            raise BadLabel(f"label {self.tag!r}: {self.line2!r} looks like a secret; codes and keys never print")

    @property
    def identifier(self) -> str:
        """What the code holds: code of the property, slash, tag."""
        return f"{self.property_tag}/{self.tag}".upper()


@dataclasses.dataclass(frozen=True)
class Sheet:
    """A sheet of labels, all lengths in millimetres; `used` places at its start are gone already.

    `rule_at` is the place (column, row) over which a rule of 100 mm is printed: whoever measures it knows whether the
    printer kept the scale. Places from there on hold no label.
    """

    name: str
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    label_w_mm: float
    label_h_mm: float
    left_mm: float = 0.0
    top_mm: float = 0.0
    used: int = 0
    rule_at: tuple[int, int] | None = None

    @property
    def places(self) -> int:
        """How many labels one sheet holds."""
        return self.rule_at[1] * self.columns + self.rule_at[0] if self.rule_at else self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Top left corner of a place, counted along the rows."""
        return (
            self.left_mm + place % self.columns * self.label_w_mm,
            self.top_mm + place // self.columns * self.label_h_mm,
        )


TAPE_60X12 = Sheet("tape 60 x 12 mm", 60, 12, 1, 1, 60, 12)
A4_70X37 = Sheet("A4, 24 labels of 70 x 37 mm", 210, 297, 3, 8, 70, 37, top_mm=0.5, rule_at=(1, 7))
SHEETS = {"tape": TAPE_60X12, "a4": A4_70X37}


def label_svg(label: Label, *, width_mm: float, height_mm: float) -> str:
    """One label as SVG in millimetres."""
    inset = min(4.0, height_mm * 0.04)
    code, side = _code(label, room_mm=min(height_mm - 2 * inset, width_mm / 2))
    left, gap = inset + side, width_mm - side - 2.5 * inset - 0.5
    tag_mm = min(height_mm * 0.46, 10.0, gap / (MONO_EM * max(len(label.tag), 1)))
    lines, line_mm = _beneath(label.line2, gap=gap, height_mm=height_mm)
    middle = height_mm / 2
    style = (
        '.plan .tag{font-family:"B612 Mono";font-weight:700;fill:#000000}'
        ".plan .small{font-family:B612;fill:#000000}.plan .qr{fill:#000000}.plan .paper{fill:#ffffff}"
    )
    base = middle + tag_mm * 0.36 - len(lines) * line_mm * 0.65
    parts = [
        svg.rect((0, 0), width_mm, height_mm, "paper"),
        f'<g transform="translate({svg.num(inset)} {svg.num(middle - side / 2)})">{code}</g>',
        f'<g font-size="{svg.num(tag_mm)}">{_tight(svg.text(label.tag, (left, base), "tag"), tag_mm)}</g>',
        f'<g font-size="{svg.num(line_mm)}">',
        *(svg.text(line, (left, base + line_mm * (1.6 + 1.25 * i)), "small") for i, line in enumerate(lines)),
        "</g>",
    ]
    return svg.document(parts, width=width_mm, height=height_mm, mm_per_unit=1, style=style, says=f"label {label.tag}")


def _tight(element: str, size: float) -> str:
    """A dot is as wide as a letter in this face and would read as a space: what follows it is drawn nearer."""
    head, _, rest = element.partition(">")
    words = rest.removesuffix("</text>").replace(".", f'.<tspan dx="{svg.num(-0.2 * size)}">')
    return f"{head}>{words}{'</tspan>' * words.count('<tspan')}</text>"


def _beneath(words: str, *, gap: float, height_mm: float) -> tuple[list[str], float]:
    """The line beneath the tag and its letter size; smaller or in two lines where it must be, at last cut."""
    largest = min(height_mm * 0.2, 3.2)
    two = 2 if height_mm > 20 else 1
    for line_mm, most in ((largest, 1), (largest * 0.8, 1), (largest, two), (LEAST_MM, two)):
        letters = int(gap / (SANS_EM * line_mm))
        lines = lettering.wrapped(words, letters)
        if len(lines) <= most and all(len(line) <= letters for line in lines):
            return lines, line_mm
    kept = lines[:two]
    kept[-1] = f"{kept[-1][: letters - 2].rstrip()} …"
    return kept, LEAST_MM


def _code(label: Label, *, room_mm: float) -> tuple[str, float]:
    """The code's dark modules as one path, and the side of its square with the white around it."""
    made = segno.make(label.identifier, error="m", micro=False, boost_error=False)
    rows = [list(row) for row in made.matrix]
    count = len(rows) + 2 * QUIET
    module = next((m for m in MODULES_MM if m * count <= room_mm), None)
    if module is None:
        raise BadLabel(
            f"label {label.tag!r}: its code does not fit {room_mm:.1f} mm; take a larger label or a shorter tag"
        )
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
    return f'<path class="qr" d="{"".join(runs)}"/>', count * module


def label_pdf(items: Sequence[Label], *, sheet: Sheet, form: Form = "pdf", ppi: float | None = None) -> bytes:
    """All labels in the order given, on as many sheets as they need.

    Parameters
    ----------
    items : sequence of Label
        At least one.
    sheet : Sheet
        `TAPE_60X12`, `A4_70X37`, or one of your own; its `used` places are skipped on the first sheet.
    form, ppi
        `png` and dots per inch make a picture of a single sheet instead.
    """
    if not items:
        raise BadLabel("labels: nothing to print; name at least one thing")
    if sheet.used >= sheet.places:
        raise BadLabel(f"labels: {sheet.used} places are used of {sheet.places}; take a new sheet")
    pages: list[list[Placed]] = []
    for number, label in enumerate(items, sheet.used):
        page, place = divmod(number, sheet.places)
        if page == len(pages):
            pages.append(_rule(sheet))
        x, y = sheet.corner(place)
        picture = label_svg(label, width_mm=sheet.label_w_mm, height_mm=sheet.label_h_mm)
        pages[page].append(Placed(picture, x, y, sheet.label_w_mm, sheet.label_h_mm, f"label {label.tag}"))
    return sheets(pages, width_mm=sheet.width_mm, height_mm=sheet.height_mm, title="Labels", form=form, ppi=ppi)


def _rule(sheet: Sheet) -> list[Placed]:
    """The rule of 100 mm with its sentence, over the sheet's last places."""
    if sheet.rule_at is None:
        return []
    column, row = sheet.rule_at
    x, y = sheet.corner(row * sheet.columns + column)
    width = (sheet.columns - column) * sheet.label_w_mm
    style = (
        ".plan .rule{stroke:#000000;stroke-width:0.2;fill:none}"
        ".plan .small{font-family:B612;font-size:2.6px;fill:#000000}"
    )
    left, top = (width - RULE_MM) / 2, sheet.label_h_mm / 2
    ticks = "".join(
        svg.path([(left + mm, top - (3 if mm % 50 == 0 else 1.5)), (left + mm, top)]) for mm in range(0, 101, 10)
    )
    parts = [
        svg.stroke(svg.path([(left, top), (left + RULE_MM, top)]) + ticks, "rule"),
        svg.text(
            "This rule is 100 mm long. If it measures otherwise, the printer scales: print at 100 %.",
            (left, top + 5),
            "small",
        ),
    ]
    picture = svg.document(
        parts, width=width, height=sheet.label_h_mm, mm_per_unit=1, style=style, says="rule of 100 mm"
    )
    return [Placed(picture, x, y, width, sheet.label_h_mm, "rule of 100 mm")]
