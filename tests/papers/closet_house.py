"""Invented closets to draw, made from a few words, and the boxes of everything written on a drawing."""

from __future__ import annotations

import functools
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence

from PIL import ImageFont

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Body, Claimed, Entry, Evidence, Noted, Scalar
from pullstring.model.refs import parse_ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when
from pullstring.papers.closet_marks import STYLES
from pullstring.papers.ink import FACES, font_folder

SVG = "{http://www.w3.org/2000/svg}"
TODAY = "2026-11-20"
Rows = dict[str, dict[str, Scalar]]
Claims = Sequence[tuple[str, str, str, str]]  # subject, relation, object, grade
Box = tuple[float, float, float, float]


def site_of(rows: Rows, claims: Claims = ()) -> Site:
    """A site from notes and claims, in this order."""
    bodies: list[Body] = [Noted(parse_ref(r), f, Evidence("seen", "by eye"), new=True) for r, f in rows.items()]
    for subject, relation, other, grade in claims:
        detail = ""
        if " pair " in subject:
            subject, _, number = subject.partition(" pair ")
            detail = f"pair {number}"
        bodies.append(Claimed(parse_ref(subject), relation, parse_ref(other), True, Evidence(grade, "tried"), detail))
    made = [
        Entry(f"c{n}", "tester", "bench", n, n, parse_when("2026-11-03"), "2026-11-03T10:00+00:00", body)
        for n, body in enumerate(bodies, 1)
    ]
    return replay(made, today=TODAY)


CLOSET: Rows = {
    "property:MLH": {"name": "Mill house (invented)"},
    "building:B": {"name": "House"},
    "floor:B0": {"building": "building:B", "level": 0, "name": "Ground floor"},
    "floor:B1": {"building": "building:B", "level": 1, "name": "Upper floor"},
    "room:R1": {"floor": "floor:B0", "name": "Larder", "closet": "yes"},
    "room:R2": {"floor": "floor:B1", "name": "Study"},
    "company:ALC": {"name": "alarm company"},
    "block:K1": {"room": "room:R1", "style": "split", "rows": 8},
    "row:K1.3": {"label": "STUDY?"},
    "block:P1": {"room": "room:R1", "style": "panel", "rows": 4, "note": "in the rack, U5"},
    "rack:Q1": {"room": "room:R1", "height_u": 6},
    "model:MS": {"what": "switch", "takes": "plug", "passes": "when powered"},
    "model:MA": {"what": "access point", "takes": "802.3af", "passes": "when powered"},
    "unit:S1": {"room": "room:R1", "model": "model:MS", "name": "switch", "rack": "rack:Q1", "rack_u": "4"},
    "unit:S2": {"room": "room:R1", "model": "model:MS", "rack": "rack:Q1", "rack_u": "2-1", "state": "planned"},
    "unit:A1": {"room": "room:R2", "model": "model:MA", "name": "access point study"},
    "port:S1.1": {"gives": "802.3af"},
    "port:S1.2": {"gives": "nothing"},
    "port:S1.3": {"gives": "24 V always-on"},
    "port:A1.1": {},
    "outlet:O1": {"room": "room:R2", "positions": 1},
    "outlet:O2": {"room": "room:R2"},
    "cable:C1": {"pairs": 4, "jacket": "cat5e"},
    "cable:C2": {"pairs": 2, "jacket": "quad"},
    "cable:C3": {"pairs": 2},
    "cable:C4": {"pairs": 2, "state": "out of use"},
    "end:E1": {"cable": "cable:C1", "room": "room:R1", "label": "STUDY"},
    "end:E1b": {"cable": "cable:C1", "room": "room:R2"},
    "end:E2": {"cable": "cable:C2", "room": "room:R1"},
    "end:E3": {"cable": "cable:C3", "room": "room:R1", "label": "ALARM"},
    "end:E4": {"cable": "cable:C4", "room": "room:R1", "found": "coiled behind the board", "state": "out of use"},
    "socket:X1": {"room": "room:R1", "name": "double socket"},
    "circuit:LARDER": {"name": "larder", "breaker": "on"},
}
ON_IT: Claims = (
    ("end:E1", "ends_at", "row:P1.1", "seen"),
    ("end:E1", "plugged", "port:S1.1", "seen"),
    ("end:E1b", "ends_at", "outlet:O1", "toned"),
    ("end:E1", "goes_to", "outlet:O1", "toned"),
    ("port:A1.1", "plugged", "outlet:O1", "seen"),
    ("end:E2", "ends_at", "row:K1.3", "seen"),
    ("pair:C2.2", "joined", "row:K1.4", "seen"),
    ("end:E2", "goes_to", "outlet:O2", "told"),
    ("end:E3", "ends_at", "row:K1.7", "seen"),
    ("row:K1.3", "joined", "row:K1.6", "seen"),
    ("unit:S1", "fed_by", "socket:X1", "seen"),
    ("socket:X1", "fed_by", "circuit:LARDER", "told"),
)
GUARDED = {"end:E3": "ALC", "cable:C3": "ALC"}


def closet() -> Site:
    """A larder with a block, a rack and a loose end."""
    return site_of(CLOSET, ON_IT)


def crowded(count: int, *, long: bool = False) -> Site:
    """A closet with many ends on one block, all going somewhere; with long names, labels and tags if wanted."""
    rows: Rows = {
        "room:R1": {"name": "Closet", "closet": "yes"},
        "block:K1": {"room": "room:R1", "style": "split", "rows": count + 20},
    }
    claims: list[tuple[str, str, str, str]] = []
    word = "Räucherkammer und Gesindestube hinter der Treppe" if long else "Room"
    for n in range(1, count + 1):
        tag = f"Leitung Nr {n} zum Dachboden links" if long else f"E{n}"
        rows[f"room:Z{n}"] = {"name": f"{word} {n}"}
        rows[f"outlet:O{n}"] = {"room": f"room:Z{n}"}
        label = "UNLESBARES ALTES SCHILD, WOHL DIE HINTERE KAMMER" if long else f"L{n}"
        rows[f"end:{tag}"] = {"room": "room:R1", "label": label, "cable": f"cable:C{n}"}
        rows[f"cable:C{n}"] = {"pairs": 4}
        claims.append((f"end:{tag}", "goes_to", f"outlet:O{n}", ("told", "toned", "assumed")[n % 3]))
        if n % 5:
            claims.append((f"end:{tag}", "ends_at", f"row:K1.{n + n // 9}", "seen"))
        if n % 7 == 0:
            claims.append((f"row:K1.{n}", "joined", f"row:K1.{n + 3}", "seen"))
    return site_of(rows, claims)


@functools.cache
def _font(css: str) -> ImageFont.FreeTypeFont:
    style = next(s for s in STYLES if s.css == css)
    return ImageFont.truetype(str(font_folder() / FACES[style.face]), 200)


def text_boxes(svg: str) -> list[tuple[str, Box]]:
    """What is written, with the box of its ink by the metrics of the packaged faces, in millimetres."""
    found = []
    for element in ET.fromstring(svg).iter(f"{SVG}text"):
        words, css = "".join(element.itertext()), element.get("class", "").split()[0]
        size = next(s for s in STYLES if s.css == css).size_mm / 200
        left, top, right, foot = _font(css).getbbox(words, anchor="ls")
        x, y = float(element.get("x", "nan")), float(element.get("y", "nan"))
        shift = {"middle": (right + left) / 2, "end": right}.get(element.get("text-anchor", ""), 0.0)
        found.append((words, (x + (left - shift) * size, y + top * size, x + (right - shift) * size, y + foot * size)))
    return found


def overprinted(svg: str, *, slack: float = 0.05) -> list[tuple[str, str]]:
    """Pairs of words that lie on each other."""
    boxes = sorted(text_boxes(svg), key=lambda b: b[1])
    hits = []
    for n, (one, a) in enumerate(boxes):
        for other, b in boxes[n + 1 :]:
            if b[0] >= a[2] - slack:
                break
            if a[1] + slack < b[3] and b[1] + slack < a[3]:
                hits.append((one, other))
    return hits


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of the drawing's own box."""
    found = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    assert found
    return float(found[1]), float(found[2])


def outside(svg: str, *, edge: float = 0.9) -> list[str]:
    """Words that reach over the frame."""
    width, height = size_of(svg)
    return [
        words
        for words, (x0, y0, x1, y1) in text_boxes(svg)
        if x0 < edge or y0 < edge or x1 > width - edge or y1 > height - edge
    ]


def texts(svg: str) -> list[str]:
    """All words of a drawing."""
    return ["".join(e.itertext()) for e in ET.fromstring(svg).iter(f"{SVG}text")]


def group(svg: str, ref: str) -> ET.Element:
    """The marks of one thing."""
    return next(e for e in ET.fromstring(svg).iter(f"{SVG}g") if e.get("data-ref") == ref)


def words_in(element: ET.Element) -> list[str]:
    """Words inside a group."""
    return ["".join(e.itertext()) for e in element.iter(f"{SVG}text")]


def classes_in(element: ET.Element) -> set[str]:
    """Classes of the marks inside a group."""
    return {c for e in element.iter() for c in e.get("class", "").split()}


def lines_of(svg: str, css: Iterable[str]) -> list[tuple[float, float, float, float]]:
    """Straight pieces of all paths of some classes."""
    wanted, found = set(css), []
    for element in ET.fromstring(svg).iter(f"{SVG}path"):
        if not wanted & set(element.get("class", "").split()):
            continue
        for run in element.get("d", "").replace("Z", "").split("M")[1:]:
            points = [tuple(float(v) for v in p.split()) for p in run.split("L")]
            found += [(*a, *b) for a, b in zip(points, points[1:], strict=False)]
    return found
