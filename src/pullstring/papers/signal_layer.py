"""The signal on a floor as a layer of its plan: lines under the walls, readings over them, and their lines in the key.

Blue is what is measured or predicted. The drawing is that of the plan without what has nothing to do with signal.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.model.geometry import Frame
from pullstring.model.refs import Ref
from pullstring.papers import plan_letters, plan_spots, signal_contours, signal_marks, signal_numbers, svg
from pullstring.papers.plan_guard import Guarded
from pullstring.papers.sentences_signal import KEY, ON_PLAN
from pullstring.papers.signal_contours import AGREED, PLAIN, WEAKEST, Contours
from pullstring.papers.svg import Point
from pullstring.papers.symbols import Found, Symbol
from pullstring.papers.words_signal_said import SILENT_DBM

if TYPE_CHECKING:
    from pullstring.papers.plan_field import Box
    from pullstring.papers.plan_scene import Scene
    from pullstring.papers.plan_spots import Spots

Facts = Mapping[str, Any]
READS = 0.9  # ours, at 1:100: a number stands no farther than this from its cross


@dataclasses.dataclass(frozen=True)
class Signal:
    """What is known of one band on one floor, as the answer gives it: spots on the site plan, the grid in the building's axes."""

    band: str
    edge_dbm: float
    field: Facts
    senders: Sequence[Facts] = ()
    readings: Sequence[Facts] = ()
    next: Sequence[Facts] = ()


def of_answer(answer: Facts, field: Facts) -> Signal:
    """The part of an answer that belongs on the floor and the band of a grid."""
    floor, band = field["floor"], field["band"]

    def here(rows: Sequence[Facts]) -> list[Facts]:
        return [r for r in rows if r["floor"] == floor and r.get("x_m") is not None and r.get("y_m") is not None]

    return Signal(
        band,
        float(answer["edge_dbm"][band]),
        field,
        here(answer["senders"]),
        [r for r in here(answer["readings"]) if r["band"] == band],
        here(answer["next"]),
    )


def in_building(frame: Frame, spot: Facts) -> Point:
    """A spot of the site plan in the axes of a building: turned back and shifted back."""
    return frame.from_site(spot["x_m"], spot["y_m"])


def for_signal(scene: Scene, signal: Signal) -> Scene:
    """The scene with what sends only, that included which is no access point by its model."""
    standing = {s.ref: s for s in scene.found.symbols if s.form == "radio"}
    radios = []
    for sender in signal.senders:
        ref = next((r for r in (Ref(k, sender["sender"]) for k in ("unit", "position")) if scene.site.get(r)), None)
        if ref is None:
            continue
        at = in_building(scene.plan.frame, sender)
        radios.append(
            standing.get(ref) or Symbol("radio", ref.tag, at, (0.0, 1.0), bool(sender["planned"]), False, 0, ref)
        )
    nothing = Guarded({})
    return dataclasses.replace(
        scene, found=Found(tuple(radios), ()), runs=(), runs_given=True, guarded=nothing, signal=signal
    )


@dataclasses.dataclass
class SignalLayer:
    """The layer while a floor is drawn: made from its scene, then given the places that are free."""

    scene: Scene
    signal: Signal
    contours: Contours
    spots: Spots | None = None
    beside: dict[int, Box] = dataclasses.field(default_factory=dict)
    next_at: dict[int, Box] = dataclasses.field(default_factory=dict)

    @classmethod
    def of(cls, scene: Scene, signal: Signal) -> SignalLayer:
        """The lines of a floor."""
        standing = [w for w in scene.walls if w.ref.key not in scene.planned_walls]
        parts = signal_contours.parts_of_floor(scene.rooms, standing)
        shortest = signal_contours.SHORTEST_M * scene.k
        made = signal_contours.contours(signal.field, parts, edge_dbm=signal.edge_dbm, shortest_m=shortest)
        return cls(scene, signal, made)

    def take(self, spots: Spots) -> None:
        """Take the places of readings, before names are set."""
        k, self.spots = self.scene.k, spots
        for row in self.signal.readings:
            spots.take(self._own(row))
        for number, row in enumerate(self.signal.next):
            own = self._own(row)
            size = own[2] - own[0]
            found = (
                None
                if spots.clear(np.array([own])).all()
                else plan_spots.beside(spots, own, (-1.0, 0.0), size, size, most=READS)
            )
            self.next_at[number] = found[0] if found is not None else spots.take(own)
        for number, row in enumerate(self.signal.readings):
            lines = _words(row)
            width = max(plan_letters.width(words, css) for words, css in lines) * k
            height = sum(_tall(css) for _, css in lines) * k
            found = plan_spots.beside(spots, self._own(row), (1.0, 0.0), width, height, most=READS)
            if found is not None:
                self.beside[number] = found[0]

    def _own(self, row: Facts) -> Box:
        (x, y), r = in_building(self.scene.plan.frame, row), (signal_marks.CROSS + 0.02) * self.scene.k
        return x - r, y - r, x + r, y + r

    def under(self) -> list[str]:
        """What lies under the walls: hatching where nothing is known, lines, and their numbers."""
        k, sheet = self.scene.k, self.scene.sheet
        parts = signal_marks.hatched(self.contours.unknown, sheet, k=k)
        for kind in (PLAIN, WEAKEST, AGREED):
            for line in self.contours.lines:
                if line.kind == kind:
                    title = ON_PLAN["line"].format(signal_numbers.words_of(line.level_dbm))
                    parts += svg.group([svg.stroke(sheet.path(line.points), f"isoline-{kind}")], "contour", title=title)
        if self.spots is not None:
            boxes = [(float(a), float(b), float(c), float(d)) for a, b, c, d in self.spots.boxes]
            for n in signal_numbers.numbers(self.contours.lines, self.spots.soft, boxes, k=k):
                parts += signal_marks.number(n.words, sheet.pt(n.at), n.turn_deg, n.css, k=k)
        left, top = (svg.num(v) for v in (sheet.left_m, sheet.top_m))
        return [f'<g class="axes" data-left="{left}" data-top="{top}"></g>', *parts]

    def over(self) -> list[str]:
        """What lies over everything: crosses with what was read and is predicted, open ones where to read next."""
        k, sheet, frame, parts = self.scene.k, self.scene.sheet, self.scene.plan.frame, []
        for number, row in enumerate(self.signal.next):
            x0, y0, x1, y1 = self.next_at.get(number) or self._own(row)
            mark = signal_marks.open_cross(sheet.pt(((x0 + x1) / 2, (y0 + y1) / 2)), k=k)
            parts += svg.group(mark, "next-spot", title=ON_PLAN["next"].format(row["room"]))
        for number, row in enumerate(self.signal.readings):
            marks = signal_marks.cross(sheet.pt(in_building(frame, row)), k=k)
            if number in self.beside:
                x0, _, _, y1 = self.beside[number]
                left, top = sheet.pt((x0, y1))
                for words, css in _words(row):
                    marks.append(svg.text(words, (left, top + _tall(css) * 0.84 * k), css))
                    top += _tall(css) * k
            parts += svg.group(marks, "reading", ref=f"room:{row['room']}", title=" ".join(w for w, _ in _words(row)))
        return parts

    @property
    def key(self) -> tuple[tuple[str, str, str], ...]:
        """Lines of the key: the mark, its words, and the number in a line."""
        edge = signal_numbers.words_of(round(self.signal.edge_dbm))
        plain = [c.level_dbm for c in self.contours.lines if c.kind == PLAIN]
        weak = [c.level_dbm for c in self.contours.lines if c.kind == WEAKEST]
        rows = [(signal_marks.PLAIN, max(plain, key=lambda n: (plain.count(n), n)))] if plain else []
        rows += [(signal_marks.WEAKEST, weak[0])] if weak else []
        found = [(mark, KEY[mark], signal_numbers.words_of(level)) for mark, level in rows]
        if any(c.kind == AGREED for c in self.contours.lines):
            found.insert(0, (signal_marks.AGREED, KEY[signal_marks.AGREED].format(edge), edge))
        others = {
            signal_marks.UNKNOWN: not self.contours.unknown.is_empty,
            signal_marks.READING: bool(self.signal.readings),
            signal_marks.DOUBTED: any(r["doubted"] for r in self.signal.readings),
            signal_marks.NEXT: bool(self.signal.next),
        }
        of_one = any(_of_one(r) for r in self.signal.readings)
        says = {**KEY, signal_marks.READING: KEY["signal read of"]} if of_one else KEY
        return (*found, *((mark, says[mark], "") for mark, there in others.items() if there))

    @property
    def notes(self) -> tuple[str, ...]:
        """A sentence where the agreed edge is not on the floor."""
        low, high, edge = self.contours.low_dbm, self.contours.high_dbm, round(self.signal.edge_dbm)
        said = signal_numbers.words_of(edge)
        if low is None or high is None:
            return (ON_PLAN["nothing"],)
        if any(c.kind == AGREED for c in self.contours.lines):
            return ()
        return (ON_PLAN["all above" if low >= edge else "all below" if high <= edge else "between"].format(said),)


def _words(reading: Facts) -> list[tuple[str, str]]:
    """What stands beside a cross: what was read, and in brackets what is predicted."""
    read, foreseen = reading["read_dbm"], reading["predicted_dbm"]
    says = _level(read)
    rows = [(says + ("?" if reading["doubted"] else ""), "read")]
    rows += [] if foreseen is None else [(f"({_level(foreseen)})", "foreseen")]
    return [*rows, (ON_PLAN["of"].format(reading["from"]), "foreseen")] if _of_one(reading) else rows


def _level(value: float | None) -> str:
    """A level as it stands beside a cross; what no receiver hears is none."""
    if value is None or value < SILENT_DBM:
        return ON_PLAN["none"]
    return signal_numbers.words_of(round(value))


def _of_one(reading: Facts) -> bool:
    """Whether a reading tells of one access point alone, for others came or were moved since."""
    return bool(reading.get("from")) and not reading.get("tells_now", True)


def _tall(css: str) -> float:
    return plan_letters.FACE_OF[css][1] * 1.05
