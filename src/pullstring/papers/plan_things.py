"""Things of a floor as parts of the drawing, each a group that says what it is."""

from __future__ import annotations

from collections.abc import Sequence

from pullstring.papers import names, plan_labels, plan_marks, plan_words, svg, symbols
from pullstring.papers.plan_guard import TOUCH
from pullstring.papers.plan_inside import Inside
from pullstring.papers.plan_scene import Scene
from pullstring.papers.plan_stand import Stood, bare_box


def standing(scene: Scene, made: Inside, forms: Sequence[str]) -> list[str]:
    """Symbols of some forms with their numbers."""
    return [
        part
        for number, stood in enumerate(made.stood)
        if stood.symbol.form in forms
        for part in _thing(scene, made, number, stood)
    ]


def gates(scene: Scene, made: Inside) -> list[str]:
    """Where pathways leave the floor."""
    return standing(scene, made, ("way",))


def _thing(scene: Scene, made: Inside, number: int, stood: Stood) -> list[str]:
    symbol, k = stood.symbol, scene.k
    label = made.labels.get(number)
    parts = symbols.draw(symbol, scene.sheet, k=k)
    if symbol.true_at is not None:
        middle = (stood.box[0] + stood.box[2]) / 2, (stood.box[1] + stood.box[3]) / 2
        line = scene.sheet.path([symbol.true_at, middle])
        parts = [svg.stroke(line, "leader"), *parts]
    if label is not None:
        parts += plan_labels.draw(label, scene.sheet, k=k)
    assert symbol.ref is not None
    thing = scene.site.get(symbol.ref)
    state = thing.text("state") if thing else ""
    extra = [w for w in (stood.guard, label.ring if label else "") if w]
    title = plan_words.titled(scene.site, symbol.form, symbol.ref, state=state, extra=extra)
    return svg.group(parts, f"thing {symbol.form}", ref=str(symbol.ref), title=title)


def joints(scene: Scene, made: Inside) -> list[str]:
    """Joints in their rooms."""
    return [
        part
        for item in made.items
        if item.mark.startswith("joint")
        for part in svg.group(
            names.draw_item(item, scene.sheet, k=scene.k),
            "thing joint",
            ref=str(item.ref),
            title=plan_words.titled(scene.site, "joint", item.ref, state="", extra=[plan_words.JOINT_KEY[item.mark]]),
        )
    ]


def protected(scene: Scene, made: Inside) -> list[str]:
    """Frames around what may not be touched or must stay alive, and the word in rooms that hold more of it."""
    parts: list[str] = []
    for stood in made.stood:
        if stood.guard and stood.symbol.ref is not None:
            box = bare_box(stood.symbol, k=scene.k)
            frame = plan_marks.frame(box, scene.sheet, k=scene.k, strict=stood.guard == TOUCH)
            parts += svg.group(frame, "guarded", ref=str(stood.symbol.ref), title=f"{stood.symbol.tag}: {stood.guard}")
    for item in made.items:
        if item.mark == "guard":
            parts += svg.group(
                names.draw_item(item, scene.sheet, k=scene.k),
                "guarded",
                ref=str(item.ref),
                title=f"{item.ref.tag}: {TOUCH}",
            )
    return parts


def room_names(scene: Scene, made: Inside) -> list[str]:
    """The names of all rooms."""
    return [
        part
        for name in made.names
        for part in svg.group(names.draw(name, scene.sheet, k=scene.k), "name-of", ref=str(name.room.ref))
    ]
