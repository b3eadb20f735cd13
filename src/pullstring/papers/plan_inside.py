"""Everything on a floor in its place: symbols, then runs, then numbers, then names; what has no place goes into the key."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterable, Sequence

from pullstring.model.asbuilt import Thing
from pullstring.model.refs import Ref
from pullstring.papers import names, plan_labels, plan_traffic, plan_ways, plan_words
from pullstring.papers.names import Item, Name
from pullstring.papers.plan_field import Field
from pullstring.papers.plan_guard import KEEP, TOUCH
from pullstring.papers.plan_labels import Label
from pullstring.papers.plan_marks import WORK
from pullstring.papers.plan_runs import Run, holder
from pullstring.papers.plan_scene import Scene, walls_field
from pullstring.papers.plan_spots import Spots
from pullstring.papers.plan_stand import Stood, stand
from pullstring.papers.plan_traffic import Traffic
from pullstring.papers.svg import Point

DOOR, RUN = 0.7, 0.9  # how much words keep off a door's swing and off runs; a wall is 1
AROUND_RUN, EDGE = 0.05, 0.02
STYLES = ("splice", "tap", "clip", "loop", "series")


@dataclasses.dataclass
class Inside:
    """All that stands on the sheet of a plan, with the notes and marks for its key."""

    stood: list[Stood]
    traffic: Traffic
    labels: dict[int, Label]
    names: list[Name]
    items: list[Item]
    notes: tuple[str, ...] = ()
    marks: frozenset[str] = frozenset()


def placed(scene: Scene, doors: Iterable[Sequence[Point]], first: Callable[[Spots], None] | None = None) -> Inside:
    """A place for everything, in an order that never depends on how the record came together.

    `first` takes places of its own after the symbols and before all words.
    """
    walls = walls_field(scene)
    soft = Field(walls.x0, walls.y0, walls.cell, walls.weight.copy())
    spots = Spots(scene.frame, soft, scene.k)
    stood, left = stand(scene.found.symbols, spots, walls, scene.guarded.word)
    traffic = plan_traffic.traffic(scene, stood, spots, walls)
    for leaf in doors:
        soft.add_polygon([*leaf, _fourth(leaf)], DOOR)
    _take_edges(scene, soft)
    _take_lines(scene, traffic, soft)
    if first is not None:
        first(spots)
    made = Inside([*stood, *traffic.gates.values()], traffic, {}, [], [])
    unsaid = _number(scene, made, spots)
    on = names.ground(scene.rooms, scene.k)
    made.names = names.place(scene.rooms, on, spots)
    unsaid_items = _fill_rooms(scene, made, on, spots)
    made.marks = _marks(scene, made)
    made.notes = tuple(_notes(scene, made, [s.tag for s in left], unsaid, unsaid_items))
    return made


def _fourth(leaf: Sequence[Point]) -> Point:
    (hx, hy), (ox, oy), (sx, sy) = leaf
    return ox + sx - hx, oy + sy - hy


def _take_edges(scene: Scene, soft: Field) -> None:
    """Edges of rooms along the axes; a thin line may stand there."""
    thin = EDGE * scene.k
    for room in scene.rooms:
        for piece in room.pieces:
            for (ax, ay), (bx, by) in zip(piece, piece[1:] + piece[:1], strict=True):
                if min(abs(ax - bx), abs(ay - by)) < 1e-6:
                    soft.add_box((min(ax, bx) - thin, min(ay, by) - thin, max(ax, bx) + thin, max(ay, by) + thin), RUN)


def _take_lines(scene: Scene, traffic: Traffic, soft: Field) -> None:
    around = AROUND_RUN * scene.k
    for one in traffic.drawn:
        for a, b in itertools.pairwise(one.points):
            soft.add_box(
                (
                    min(a[0], b[0]) - around,
                    min(a[1], b[1]) - around,
                    max(a[0], b[0]) + around,
                    max(a[1], b[1]) + around,
                ),
                RUN,
            )


def _number(scene: Scene, made: Inside, spots: Spots) -> list[str]:
    """Labels of all symbols; the tags for which there is no room anywhere."""
    for stood in made.stood:
        if stood.symbol.true_at is not None:
            spots.lead(stood.symbol.true_at, ((stood.box[0] + stood.box[2]) / 2, (stood.box[1] + stood.box[3]) / 2))
    unsaid = []
    for number, stood in enumerate(made.stood):
        runs = _runs_at(made, stood)
        words = [stood.guard] if stood.guard == TOUCH else []
        if stood.symbol.form == "way":
            words += [w] if (w := _leads_to(scene, stood)) else []
        ring = plan_labels.work_of(scene.site, stood, runs)
        found = plan_labels.label(spots, stood, words=words, runs=runs, ring=ring)
        if found is None:
            unsaid.append(stood.symbol.tag)
        else:
            made.labels[number] = found
    return unsaid


def _runs_at(made: Inside, stood: Stood) -> list[Run]:
    if stood.symbol.form == "way":
        return [r for gate, s in made.traffic.gates.items() if s is stood for r in made.traffic.pass_gate[gate]]
    return made.traffic.arrive.get(stood.symbol.ref, []) if stood.symbol.ref else []


def _leads_to(scene: Scene, stood: Stood) -> str:
    pathway = scene.site.get(stood.symbol.ref)
    floors = {plan_ways.floor_of(scene.site, r) for r in (pathway.refs_of("rooms") if pathway else ())}
    return plan_words.to_floors([f.tag for f in sorted(f for f in floors if f and f != scene.plan.floor)])


def _fill_rooms(scene: Scene, made: Inside, on: names.Ground, spots: Spots) -> list[str]:
    """Joints, and the word for what may not be touched, in their rooms; those without room there."""
    unsaid = []
    by_room = {n.room.ref: n for n in made.names}
    for joint in _joints(scene):
        name = by_room.get(joint.ref_of("room") or joint.ref)
        if name is None:
            continue
        style = joint.text("style") if joint.text("style") in STYLES else "other"
        found = names.item(joint.ref, f"joint {style}", joint.ref.tag, name, on, spots)
        if found is None:
            unsaid.append(joint.ref.tag)
        else:
            made.items.append(found)
    for room in sorted(_guarded_rooms(scene, made)):
        name = by_room.get(room)
        found = names.item(room, "guard", plan_words.GUARD_IN_ROOM, name, on, spots) if name else None
        if found is not None:
            made.items.append(found)
    return unsaid


def _joints(scene: Scene) -> list[Thing]:
    """Joints in rooms of this floor; none on a drawing of signal."""
    if scene.signal is not None:
        return []
    return [
        j for j in scene.site.of_kind("joint") if j.text("state") != "removed" and _on_floor(scene, j.ref_of("room"))
    ]


def _on_floor(scene: Scene, room: Ref | None) -> bool:
    return room is not None and plan_ways.floor_of(scene.site, room) == scene.plan.floor


def _unplaced_guarded(scene: Scene, made: Inside, word: str) -> dict[Ref, list[Ref]]:
    """By room of this floor, what is guarded with a word and has no symbol of its own."""
    drawn = {s.symbol.ref for s in made.stood}
    found: dict[Ref, list[Ref]] = {}
    for ref, said in scene.guarded.word.items():
        thing = scene.site.get(ref)
        room = thing.ref_of("room") if thing else None
        if thing is None or room is None or thing.text("state") == "removed" or not _on_floor(scene, room):
            continue
        if said == word and ref not in drawn:
            found.setdefault(room, []).append(ref)
    return dict(sorted(found.items()))


def _guarded_rooms(scene: Scene, made: Inside) -> set[Ref]:
    return set(_unplaced_guarded(scene, made, TOUCH))


def _marks(scene: Scene, made: Inside) -> frozenset[str]:
    """What the key has to explain."""
    traffic = made.traffic
    marks = {f"run {d.run.state}" for d in traffic.drawn}
    marks |= {"core"} if any(plan_traffic.wall_parts(scene, d.points) for d in traffic.drawn) else set()
    marks |= {"trunk"} if any(s.together for d in traffic.drawn for s in d.stretches) else set()
    marks |= {"unknown"} if traffic.tails else set()
    marks |= {"way planned" if s.symbol.planned else "way there" for s in traffic.gates.values()}
    marks |= {item.mark for item in made.items}
    marks |= {f"work {label.ring}" for label in made.labels.values() if label.ring in WORK}
    marks |= (
        {"ends under"} if any(ln.css == "tag run" for label in made.labels.values() for ln in label.lines) else set()
    )
    marks |= {"guard" if s.guard == TOUCH else "keep" for s in made.stood if s.guard}
    led = [*(x.leader for x in made.labels.values()), *(n.leader for n in made.names), *(i.leader for i in made.items)]
    marks |= {"leader"} if any(led) or any(s.symbol.true_at for s in made.stood) else set()
    return frozenset(marks)


def _notes(
    scene: Scene, made: Inside, left: list[str], unsaid: Sequence[str], unsaid_items: Sequence[str]
) -> Iterable[str]:
    """Sentences of the key: names that had no room, and all that is not drawn."""
    yield from (n.for_key for n in made.names if n.for_key)
    if scene.found.unplaced:
        yield plan_words.not_drawn(scene.found.unplaced)
    if left or unsaid:
        yield plan_words.no_place(sorted({*left, *unsaid}))
    if unsaid_items:
        yield plan_words.joint_items(unsaid_items)
    if scene.signal is not None:
        return
    short = [(x.stood.symbol.tag, _runs_at(made, x.stood)) for x in made.labels.values() if x.short]
    if short := [(tag, runs) for tag, runs in short if runs]:
        yield plan_words.runs_at(short)
    nowhere = [j.ref for j in scene.site.of_kind("joint") if _roomless_here(scene, j)]
    if nowhere:
        yield plan_words.no_room_noted(nowhere)
    yield from _notes_on_runs(scene, made)
    for word in (TOUCH, KEEP):
        if rooms := _unplaced_guarded(scene, made, word):
            yield plan_words.guarded_in(word, rooms)
    yield from _notes_on_ends(scene, made)


def _roomless_here(scene: Scene, joint: Thing) -> bool:
    """A joint without a room, of which something it joins is on this floor."""
    if joint.text("state") == "removed" or joint.ref_of("room") is not None:
        return False
    joined = (scene.site.get(holder(r)) for r in joint.refs_of("ends"))
    return any(_on_floor(scene, t.ref_of("room")) for t in joined if t is not None)


def _notes_on_runs(scene: Scene, made: Inside) -> Iterable[str]:
    by_floor: dict[str, list[Run]] = {}
    for run, reach in made.traffic.leaving:
        floor = plan_ways.floor_of(scene.site, plan_traffic.room_of(scene, reach))
        by_floor.setdefault(plan_words.to_floors([floor.tag] if floor else []), []).append(run)
    if by_floor:
        yield plan_words.leaving(dict(sorted(by_floor.items(), key=lambda pair: (not pair[0], pair[0]))))
    if made.traffic.no_point:
        yield plan_words.arrives_without_point([(run.end, reach) for run, reach in made.traffic.no_point])


def _notes_on_ends(scene: Scene, made: Inside) -> Iterable[str]:
    """Ends in rooms of this floor that sit on nothing drawn."""
    drawn = {s.symbol.ref for s in made.stood}
    found: dict[Ref, list[Ref]] = {}
    for end in scene.site.of_kind("end"):
        room = end.ref_of("room")
        if end.text("state") == "removed" or room is None or not _on_floor(scene, room):
            continue
        sits = [
            holder(c.object)
            for relation in ("ends_at", "plugged")
            for c in scene.site.about(subject=end.ref, relation=relation)
        ]
        if not any(s in drawn for s in sits):
            found.setdefault(room, []).append(end.ref)
    if found:
        yield plan_words.ends_in(dict(sorted(found.items())))
