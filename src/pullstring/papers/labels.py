"""Labels: a code that carries an identifier only, the tag in large letters, one line beneath; on tape or sheets.

The code holds the property's code and the tag, in capitals and digits (the alphanumeric mode of ISO/IEC 18004), so that
it stays small. Nothing else goes into it: a label is read by whoever stands before it.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence

from pullstring.papers import lettering, svg
from pullstring.papers.drawing_style import MONO_EM, SANS_EM
from pullstring.papers.labels_code import code_path, code_text, side_mm
from pullstring.papers.sheet_geometry import A4_70X37, RULE_MM, SHEETS, TAPE_60X12, Sheet
from pullstring.papers.typst_page import Form, Placed, sheets

__all__ = [
    "A4_70X37",
    "RULE_MM",
    "SHEETS",
    "TAPE_60X12",
    "BadLabel",
    "Label",
    "Sheet",
    "label_pdf",
    "label_svg",
    "refuse_secret",
    "rule_of",
]

_SECRET = re.compile(r"\b(password|passphrase|passcode|pass|key|pin|code|psk)\s*[:=]", re.IGNORECASE)
LEAST_MM = 1.7  # ours: the smallest letters on a label, about 5 pt


class BadLabel(ValueError):
    """A label cannot be printed as asked."""


def refuse_secret(tag: str, words: str) -> None:
    """Raise BadLabel where words look like a secret: labels hang where everybody reads them."""
    if _SECRET.search(words):
        raise BadLabel(f"label {tag!r}: {words!r} looks like a secret; codes and keys never print")


@dataclasses.dataclass(frozen=True)
class Label:
    """What one label says."""

    property_tag: str
    tag: str
    line2: str = ""

    def __post_init__(self) -> None:
        if code_text(self.property_tag, self.tag) is None:
            raise BadLabel(
                f"label {self.tag!r}: a code holds capitals, digits and $ % * + - . / : only; re-tag it within these"
            )
        refuse_secret(self.tag, self.line2)

    @property
    def identifier(self) -> str:
        """What the code holds: code of the property, slash, tag."""
        return f"{self.property_tag}/{self.tag}".upper()


def label_svg(label: Label, *, width_mm: float, height_mm: float) -> str:
    """One label as SVG in millimetres."""
    inset = min(4.0, height_mm * 0.04)
    room = min(height_mm - 2 * inset, width_mm / 2)
    side = side_mm(label.identifier, room_mm=room)
    if side is None:
        raise BadLabel(
            f"label {label.tag!r}: its code does not fit {room:.1f} mm; take a larger label or a shorter tag"
        )
    left, gap = inset + side, width_mm - side - 2.5 * inset - 0.5
    tag_mm = min(height_mm * 0.46, 10.0, gap / (MONO_EM * max(len(label.tag), 1)))
    lines, line_mm = _beneath(label.line2, gap=gap, height_mm=height_mm)
    middle = height_mm / 2
    style = (
        '.plan .tag{font-family:"B612 Mono";font-weight:700;fill:#000000}'
        ".plan .small{font-family:B612;fill:#000000}.plan .qr{fill:#000000}.plan .paper{fill:#ffffff}"
    )
    base = middle + tag_mm * 0.36 - len(lines) * line_mm * 0.65
    code = code_path(label.identifier, side=side)
    parts = [
        svg.rect((0, 0), width_mm, height_mm, "paper"),
        f'<g transform="translate({svg.num(inset)} {svg.num(middle - side / 2)})">{code}</g>',
        f'<g font-size="{svg.num(tag_mm)}">{tight(svg.text(label.tag, (left, base), "tag"), tag_mm)}</g>',
        f'<g font-size="{svg.num(line_mm)}">',
        *(svg.text(line, (left, base + line_mm * (1.6 + 1.25 * i)), "small") for i, line in enumerate(lines)),
        "</g>",
    ]
    return svg.document(parts, width=width_mm, height=height_mm, mm_per_unit=1, style=style, says=f"label {label.tag}")


def tight(element: str, size: float) -> str:
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
    if not sheet.free():
        gone = max(sheet.used, len(sheet.taken))
        raise BadLabel(f"labels: {gone} places are used of {sheet.places}; take a new sheet")
    pages: list[list[Placed]] = []
    for label, (page, place) in zip(items, sheet.spots(), strict=False):
        if page == len(pages):
            pages.append(rule_of(sheet))
        x, y = sheet.corner(place)
        picture = label_svg(label, width_mm=sheet.label_w_mm, height_mm=sheet.label_h_mm)
        pages[page].append(Placed(picture, x, y, sheet.label_w_mm, sheet.label_h_mm, f"label {label.tag}"))
    return sheets(pages, width_mm=sheet.width_mm, height_mm=sheet.height_mm, title="Labels", form=form, ppi=ppi)


def rule_of(sheet: Sheet) -> list[Placed]:
    """The rule of 100 mm with its sentence, where the sheet has room for it."""
    box = sheet.rule_box()
    if box is None:
        return []
    x, y, width, height = box
    style = (
        ".plan .rule{stroke:#000000;stroke-width:0.2;fill:none}"
        ".plan .small{font-family:B612;font-size:2.6px;fill:#000000}"
    )
    left, top = (width - RULE_MM) / 2, height / 2
    marks = [(min(max(mm, 0.1), RULE_MM - 0.1), 3.0 if mm % 50 == 0 else 1.5) for mm in range(0, 101, 10)]
    ticks = "".join(
        svg.path([(left + mm, top - high), (left + mm, top)]) for mm, high in marks
    )  # outer edges at 0 and 100
    parts = [
        svg.stroke(svg.path([(left, top), (left + RULE_MM, top)]) + ticks, "rule"),
        svg.text(
            "This rule is 100 mm long. If it measures otherwise, the printer scales: print at 100 %.",
            (left, top + min(5.0, height / 2 - 0.8)),
            "small",
        ),
    ]
    picture = svg.document(parts, width=width, height=height, mm_per_unit=1, style=style, says="rule of 100 mm")
    return [Placed(picture, x, y, width, height, "rule of 100 mm")]
