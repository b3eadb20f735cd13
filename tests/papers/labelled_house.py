"""Houses for labels, told entry by entry, so that what is noted when can be chosen. All invented."""

from __future__ import annotations

import io
import pathlib
import subprocess
from collections.abc import Iterable, Sequence

import numpy as np
import zxingcpp
from PIL import Image

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Body, Claimed, Entry, Evidence, Noted, Scalar
from pullstring.model.refs import parse_ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when

TODAY = "2026-11-20"
Told = tuple[str, dict[str, Scalar]] | tuple[str, str, str]
"""A thing with its fields, or subject, relation and object."""

SMALL: tuple[Told, ...] = (
    ("property:MLH", {"name": "Mill house (invented)"}),
    ("building:B", {}),
    ("floor:B0", {"building": "building:B", "level": 0}),
    ("floor:B1", {"building": "building:B", "level": 1}),
    ("room:R1", {"floor": "floor:B0", "name": "Stube über dem Mühlgraben"}),
    ("room:R5", {"floor": "floor:B0", "name": "Closet", "closet": "yes"}),
    ("room:R6", {"floor": "floor:B1", "name": "Attic"}),
    ("cable:C1", {}),
    ("cable:C2", {}),
    ("cable:C3", {}),
    ("end:E03", {"cable": "cable:C3", "room": "room:R5", "label": "LIB 2"}),
    ("end:E01", {"cable": "cable:C1", "room": "room:R5"}),
    ("end:F01", {"cable": "cable:C1", "room": "room:R1"}),
    ("end:E02", {"cable": "cable:C2", "room": "room:R5"}),
    ("outlet:O1", {"room": "room:R1"}),
    ("end:F01", "ends_at", "outlet:O1"),
)


def entries(told: Iterable[Told], *, start: int = 1, device: str = "bench", by: str = "") -> list[Entry]:
    """One entry for each thing told, in this order; a thing told again is noted over what was said."""
    seen: dict[str, str] = {}
    out = []
    for n, one in enumerate(told, start):
        body: Body
        evidence = Evidence("seen", "by eye", by=by)
        if len(one) == 3:
            body = Claimed(parse_ref(one[0]), one[1], parse_ref(one[2]), True, evidence)
        else:
            name, fields = one
            over = {field: (seen[f"{name} {field}"],) for field in fields if f"{name} {field}" in seen}
            body = Noted(parse_ref(name), fields, evidence, over=over, new=name not in seen)
            seen |= {name: ""} | {f"{name} {field}": f"{device}{n}" for field in fields}
        out.append(
            Entry(f"{device}{n}", "tester", device, n, n, parse_when("2026-11-03"), "2026-11-03T10:00+00:00", body)
        )
    return out


def site(*told: Told, by: str = "") -> Site:
    """The site of all that is told, in this order."""
    return replay(entries(told, by=by), today=TODAY)


def grey(png: bytes) -> np.ndarray:
    """A picture as grey values, rows first."""
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"))


def read_back(pictures: Sequence[np.ndarray]) -> list[tuple[int, str, float, float]]:
    """Every code that another program finds: page, text, and left and top of its dark square in dots."""
    found = []
    for page, picture in enumerate(pictures):
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
            corners = (code.position.top_left, code.position.bottom_left, code.position.top_right)
            found.append((page, code.text, min(c.x for c in corners), min(c.y for c in corners)))
    return found


def pages_of(pdf: bytes, pdftoppm: str, folder: pathlib.Path, *, ppi: int) -> list[np.ndarray]:
    """Every page as grey values, drawn by another program than the one that made it."""
    (folder / "made.pdf").write_bytes(pdf)
    asked = [pdftoppm, "-r", str(ppi), "-gray", folder / "made.pdf", folder / "page"]
    subprocess.run(asked, check=True, stderr=subprocess.DEVNULL)
    made = sorted(folder.glob("page-*.pgm"))
    return [np.asarray(Image.open(io.BytesIO(p.read_bytes()))) for p in made]


def black_and_white(picture: np.ndarray) -> np.ndarray:
    """The picture as a tape printer prints it: a dot or none."""
    return np.where(picture < 128, 0, 255).astype(np.uint8)
