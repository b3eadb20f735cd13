"""What stands on a drawn floor, measured from the SVG alone: letters by the faces' own outlines, symbols by their lines."""

from __future__ import annotations

import dataclasses
import functools
import math
import re
import xml.etree.ElementTree as ET

from PIL import ImageFont

from pullstring.papers.ink import font_folder

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]
LETTERS = 1000  # size at which letters are measured
ALOUD = ("leader", "guard", "unknown")


@dataclasses.dataclass(frozen=True)
class Seen:
    """One text, or all lines of one symbol: what it is, of which thing, and the box of its ink."""

    kind: str
    says: str
    ref: str
    box: Box


@functools.cache
def face(family: str, bold: bool) -> ImageFont.FreeTypeFont:
    name = {"mono": "B612Mono-Regular.otf", "sans": "B612-Bold.otf" if bold else "B612-Regular.otf"}[family]
    return ImageFont.truetype(str(font_folder() / name), LETTERS)


def sizes(svg: str) -> dict[str, dict[str, str]]:
    """The declarations of each selector, as written in the style."""
    style = re.search(r"<style>(.*)</style>", svg, re.S)
    assert style
    found: dict[str, dict[str, str]] = {}
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", style[1]):
        for selector in selectors.split(","):
            own = found.setdefault(selector.strip().removeprefix(".plan "), {})
            own.update(dict(part.split(":", 1) for part in body.split(";") if ":" in part))
    return found


def text_box(element: ET.Element, rules: dict[str, dict[str, str]]) -> Box:
    css = (element.get("class") or "").split()
    own: dict[str, str] = {}
    for selector in ["." + css[0], "." + ".".join(css)]:
        own |= rules.get(selector, {})
    size = float(own["font-size"].removesuffix("px"))
    font = face("mono" if "B612 Mono" in own["font-family"] else "sans", own.get("font-weight") == "700")
    left, top, right, bottom = font.getbbox("".join(element.itertext()), anchor="ls")
    advance = font.getlength("".join(element.itertext())) * size / LETTERS
    x, y = float(element.get("x", "nan")), float(element.get("y", "nan"))
    x -= advance / 2 if element.get("text-anchor") == "middle" else 0
    part = size / LETTERS
    return x + left * part, y + top * part, x + right * part, y + bottom * part


def points_of(data: str) -> list[tuple[float, float]]:
    """Points along path data of the few commands that our drawings use; arcs by points on them."""
    found: list[tuple[float, float]] = []
    here = (0.0, 0.0)
    for command, rest in re.findall(r"([MLAZla])([^MLAZla]*)", data):
        numbers = [float(n) for n in re.findall(r"-?[0-9.]+", rest)]
        if command in "ML":
            for x, y in _pairs(numbers):
                here = (x, y)
                found.append(here)
        elif command == "A":
            radius, sweep, end = numbers[0], numbers[4], (numbers[5], numbers[6])
            found += _arc(here, end, radius, bool(sweep))
            here = end
    return found


def _pairs(numbers: list[float]) -> list[tuple[float, float]]:
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _arc(a: tuple[float, float], b: tuple[float, float], radius: float, sweep: bool) -> list[tuple[float, float]]:
    """Points on the short arc from a to b (SVG 1.1, appendix F.6.5, for equal radii and no turn)."""
    mx, my, half = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2, math.dist(a, b) / 2
    off = math.sqrt(max(radius**2 - half**2, 0.0))
    ux, uy = (b[1] - a[1]) / (2 * half), (a[0] - b[0]) / (2 * half)
    sign = -1 if sweep else 1
    cx, cy = mx + sign * ux * off, my + sign * uy * off
    start, end = math.atan2(a[1] - cy, a[0] - cx), math.atan2(b[1] - cy, b[0] - cx)
    turn = (end - start) % (2 * math.pi) if sweep else -((start - end) % (2 * math.pi))
    return [
        (cx + radius * math.cos(start + turn * n / 12), cy + radius * math.sin(start + turn * n / 12))
        for n in range(13)
    ]


def element_points(element: ET.Element) -> list[tuple[float, float]]:
    if element.tag == f"{SVG}path":
        return points_of(element.get("d", ""))
    if element.tag == f"{SVG}circle":
        x, y, r = (float(element.get(n, "nan")) for n in ("cx", "cy", "r"))
        return [(x - r, y - r), (x + r, y + r)]
    if element.tag == f"{SVG}rect":
        x, y, w, h = (float(element.get(n, "nan")) for n in ("x", "y", "width", "height"))
        return [(x, y), (x + w, y + h)]
    return []


def layers(svg: str) -> dict[str, ET.Element]:
    return {g.get("data-layer", ""): g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("data-layer")}


def texts(svg: str) -> list[Seen]:
    """Every text of the drawing with the box of its ink."""
    root, rules = ET.fromstring(svg), sizes(svg)
    found = []
    for group in [root, *root.iter(f"{SVG}g")]:
        for element in group.findall(f"{SVG}text"):
            words = "".join(element.itertext())
            if words.strip():
                found.append(Seen("text", words, group.get("data-ref", ""), text_box(element, rules)))
    return found


def symbols(svg: str) -> list[Seen]:
    """Every symbol of the plan: the lines of a thing's group, and work rings and joints by themselves; no frames."""
    found = []
    for name in ("outlets", "ends", "access-points", "runs", "joints"):
        layer = layers(svg).get(name)
        for group in layer.iter(f"{SVG}g") if layer is not None else ():
            if "thing" not in (group.get("class") or ""):
                continue
            points = [
                p for e in group if not set((e.get("class") or "").split()) & set(ALOUD) for p in element_points(e)
            ]
            if points:
                xs, ys = zip(*_own(group, points), strict=True)
                found.append(
                    Seen(
                        name, group.get("data-ref", ""), group.get("data-ref", ""), (min(xs), min(ys), max(xs), max(ys))
                    )
                )
    return found


def _own(group: ET.Element, points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The points of the symbol alone: what comes before the first text and is no ring of the work state."""
    kept: list[tuple[float, float]] = []
    for element in group:
        css = (element.get("class") or "").split()
        if element.tag == f"{SVG}text":
            break
        if element.tag == f"{SVG}g":
            break
        if set(css) & set(ALOUD):
            continue
        kept += element_points(element)
    return kept or points


def rings(svg: str) -> list[Seen]:
    """The rings of the work state."""
    found = []
    for group in ET.fromstring(svg).iter(f"{SVG}g"):
        if (group.get("class") or "") == "work":
            points = [p for e in group for p in element_points(e)]
            xs, ys = zip(*points, strict=True)
            found.append(Seen("ring", "", group.get("data-ref", ""), (min(xs), min(ys), max(xs), max(ys))))
    return found


def frames(svg: str) -> list[Seen]:
    """Frames of what may not be touched; each surrounds its own symbol."""
    layer = layers(svg).get("protected")
    found = []
    for group in layer.iter(f"{SVG}g") if layer is not None else ():
        points = [p for e in group if "guard" in (e.get("class") or "").split() for p in element_points(e)]
        if points:
            xs, ys = zip(*points, strict=True)
            found.append(Seen("frame", "", group.get("data-ref", ""), (min(xs), min(ys), max(xs), max(ys))))
    return found


def overlap(a: Box, b: Box, *, slack: float) -> bool:
    """Whether two boxes share more than a sliver."""
    return min(a[2], b[2]) - max(a[0], b[0]) > slack and min(a[3], b[3]) - max(a[1], b[1]) > slack


def clashes(svg: str) -> list[tuple[Seen, Seen]]:
    """All pairs of texts, symbols, rings and frames that lie on each other; a frame holds its own symbol."""
    seen = [*texts(svg), *symbols(svg), *rings(svg), *frames(svg)]
    slack = 1e-4
    seen.sort(key=lambda s: s.box[0])
    found, waiting = [], list[Seen]()
    for one in seen:
        waiting = [w for w in waiting if w.box[2] > one.box[0]]
        for other in waiting:
            kinds = {one.kind, other.kind}
            same = one.ref == other.ref and "frame" in kinds and len(kinds) == 2 and "text" not in kinds
            if not same and overlap(one.box, other.box, slack=slack):
                found.append((other, one))
        waiting.append(one)
    return found


def outside(svg: str) -> list[Seen]:
    """Texts that reach out of the drawing's frame."""
    box = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    assert box
    edge = 0.03
    return [
        t
        for t in texts(svg)
        if t.box[0] < edge or t.box[1] < edge or t.box[2] > float(box[1]) - edge or t.box[3] > float(box[2]) - edge
    ]
