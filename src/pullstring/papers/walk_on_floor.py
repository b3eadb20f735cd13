"""The stops of a walk on the drawing of a floor: numbered, in the order of walking, over what is drawn already.

No line leads from stop to stop: nobody noted which way one goes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from pullstring.papers import svg

Facts = Mapping[str, Any]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
G = "{http://www.w3.org/2000/svg}g"
COMMAND = re.compile(r"([A-Za-z])([^A-Za-z]*)")
PART = 34.0
"""Ours: the longer side of the drawing over the radius of a stop."""
FEW = 4
"""Ours: so many numbers stand on the drawing; all of them stand in the list."""
LETTER = 0.7
"""Ours: width of a letter over the radius, on average."""
AROUND = 1.0
"""Ours: how much is shown around the rooms. [m]"""


def stops_of(acts: Sequence[Facts]) -> list[dict[str, Any]]:
    """Acts by the place where one stands, in the order of walking; a stop bears the number of its first act."""
    stops: list[dict[str, Any]] = []
    for n, act in enumerate(acts, 1):
        at = act["at"] if act["at"].startswith("outlet:") else act["room"] or act["at"]
        if not stops or stops[-1]["at"] != at:
            stops.append({"n": n, "at": at, "room": act["room"], "floor": act["floor"]})
    return stops


def with_stops(drawing: str, stops: Sequence[Facts]) -> str:
    """The rooms of a floor's drawing with the stops that it shows; those of other floors are left out."""
    root = ElementTree.fromstring(drawing)
    left, top, width, height = _rooms(root)
    radius = max(width, height) / PART
    spots: dict[svg.Point, list[str]] = {}
    for stop in stops:
        point = _place(root, stop["at"]) or _place(root, stop["room"])
        if point is None:
            continue
        at = _inside(point, (left, top, left + width, top + height), radius)
        spots.setdefault(at, []).append(str(stop["n"]))
    if not spots:
        return drawing
    marks = [part for at, numbers in spots.items() for part in _mark(at, numbers, radius)]
    over = "".join(svg.group(marks, "stops", layer="stops"))
    return _cut(drawing, (left, top, width, height)).removesuffix("</svg>") + over + "</svg>"


def _rooms(root: ElementTree.Element) -> tuple[float, float, float, float]:
    """The part of a drawing that holds the rooms and things, without its key; the whole where there are none."""
    left, top, width, height = (float(v) for v in root.attrib["viewBox"].split())
    shown = [g for g in root.iter(G) if {"room", "thing"} & set(g.attrib.get("class", "").split())]
    points = [p for group in shown for part in group.iter() for p in _points(part)]
    if not points:
        return left, top, width, height
    x0, y0 = max(left, min(p[0] for p in points) - AROUND), max(top, min(p[1] for p in points) - AROUND)
    x1 = min(left + width, max(p[0] for p in points) + AROUND)
    y1 = min(top + height, max(p[1] for p in points) + AROUND)
    return x0, y0, x1 - x0, y1 - y0


def _cut(drawing: str, box: tuple[float, float, float, float]) -> str:
    """A drawing that shows a part only; its size on paper goes, for it is for the screen."""
    end = drawing.index(">")
    head = re.sub(r' (?:width|height)="[^"]*"', "", drawing[:end])
    head = re.sub(r'viewBox="[^"]*"', f'viewBox="{" ".join(svg.num(v) for v in box)}"', head)
    return head + drawing[end:].rstrip()


def shown_on(drawing: str, stops: Sequence[Facts]) -> bool:
    """Whether a drawing shows any of the stops."""
    root = ElementTree.fromstring(drawing)
    return any(_place(root, stop["at"]) or _place(root, stop["room"]) for stop in stops)


def _mark(at: svg.Point, numbers: Sequence[str], radius: float) -> list[str]:
    """A ring with its number; a longer one with the numbers of a place to which one comes back."""
    words = ", ".join(numbers) if len(numbers) <= FEW else f"{', '.join(numbers[:FEW])} …"
    half = max(radius, LETTER * radius * len(words) / 2 + 0.35 * radius)
    x, y = at
    ring = (
        f'<rect class="stop-ring" x="{svg.num(x - half)}" y="{svg.num(y - radius)}" width="{svg.num(2 * half)}" '
        f'height="{svg.num(2 * radius)}" rx="{svg.num(radius)}"/>'
    )
    text = (
        f'<text x="{svg.num(x)}" y="{svg.num(y + 0.4 * radius)}" font-size="{svg.num(1.15 * radius)}" '
        f'text-anchor="middle">{words}</text>'
    )
    return svg.group([ring, text], "stop", title=f"steps {', '.join(numbers)}")


def _inside(point: svg.Point, box: tuple[float, float, float, float], radius: float) -> svg.Point:
    """Beside the symbol, but on the sheet."""
    x, y = point[0] + 0.8 * radius, point[1] - 0.8 * radius
    x0, y0, x1, y1 = box
    return round(min(max(x, x0 + radius), x1 - radius), 3), round(min(max(y, y0 + radius), y1 - radius), 3)


def _place(root: ElementTree.Element, ref: str) -> svg.Point | None:
    """The middle of what a drawing shows of a thing; None when it shows nothing of it."""
    if not ref:
        return None
    for group in root.iter(G):
        css = group.attrib.get("class", "").split()
        if group.attrib.get("data-ref") == ref and not {"guarded", "name-of", "run"} & set(css):
            points = [p for part in group.iter() for p in _points(part)]
            if points:
                xs, ys = [p[0] for p in points], [p[1] for p in points]
                return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return None


def _points(part: ElementTree.Element) -> list[svg.Point]:
    """Points through which a part is drawn; letters do not count."""
    said = part.attrib
    if "cx" in said:
        return [(float(said["cx"]), float(said["cy"]))]
    if part.tag.endswith("rect"):
        x, y = float(said["x"]), float(said["y"])
        return [(x, y), (x + float(said["width"]), y + float(said["height"]))]
    found: list[svg.Point] = []
    for command, rest in COMMAND.findall(said.get("d", "")):
        numbers = [float(n) for n in NUMBER.findall(rest)]
        if command == "A":
            numbers = [n for i in range(0, len(numbers), 7) for n in numbers[i + 5 : i + 7]]
        found += list(zip(numbers[::2], numbers[1::2], strict=False))
    return found
