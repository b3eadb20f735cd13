"""From the as-built site to what the radio laws work on: surfaces, rooms and senders, and what was taken for granted."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from pullstring.model.asbuilt import Site, once_a_site
from pullstring.model.refs import Ref
from pullstring.radio.scene import Scene, Skin
from pullstring.radio.scene_assumed import Taken, fills, gathered, wall_classes
from pullstring.radio.scene_guessed import guessed_walls
from pullstring.radio.scene_rooms import SLAB_CLASSES, drawn_rooms, rooms_of, slabs_of
from pullstring.radio.scene_senders import senders_of
from pullstring.radio.scene_skins import UNKNOWN, class_skin, fill_skin, skin_of
from pullstring.radio.scene_storeys import storeys
from pullstring.radio.scene_walls import NO_TYPE, fill_name, lines, walls_of


@dataclasses.dataclass(frozen=True)
class Made:
    """A scene with what was taken for granted to make it, rooms that could not be drawn and senders without a place."""

    scene: Scene
    taken: tuple[Taken, ...]
    undrawn: tuple[Ref, ...]
    placeless: tuple[Ref, ...]


@once_a_site
def made_scene(site: Site, *, doors: str, step_m: float) -> Made:
    """The scene of a site, with what was taken for granted.

    Parameters
    ----------
    site : Site
        As of the date that is asked about.
    doors : str
        'usual' as noted, else 'open' or 'shut' for all doors and hatches.
    step_m : float
        How far apart the judging points of a room lie, at least. [m]

    References
    ----------
    Ours; the data are in `data/wall_classes.csv`, `fills.csv`, `scene_assumed.csv`, `assumed_senders.csv`.
    """
    if doors not in ("usual", "open", "shut"):
        raise ValueError(f"doors are usual, open or shut; {doors!r} is none of these")
    levels = storeys(site)
    drawn, walls = drawn_rooms(site, levels), lines(site, levels)
    walled = {s for w in walls for s in w.storeys}
    built, taken_walls = walls_of(site, levels, doors=doors)
    bare = [s for s in sorted(levels.values(), key=lambda s: (s.key, s.ref)) if s not in walled]
    more, guessed, taken_guessed = guessed_walls(site, drawn, bare)
    slabs, taken_slabs = slabs_of(site, levels, drawn)
    senders, taken_senders, placeless = senders_of(site, levels, drawn)
    skins, taken_skins = _skins(site, guessed)
    used = {w.skin for w in (*built, *more)} | {s.skin for s in slabs}
    used |= {o.skin for w in built for o in w.openings if o.skin}
    rooms = rooms_of(drawn, walls, step_m=step_m)
    scene = Scene((*built, *more), slabs, rooms, senders, {n: s for n, s in sorted(skins.items()) if n in used})
    levels_guessed = [Taken("floor_height_assumed", (s.ref,)) for s in levels.values() if not s.measured]
    everything = (*taken_walls, *taken_guessed, *taken_slabs, *taken_senders, *levels_guessed, *taken_skins)
    inside = {r.thing.ref for r in drawn}
    undrawn = tuple(r.ref for r in site.of_kind("room") if r.stands and r.ref not in inside)
    return Made(scene, gathered(everything), undrawn, placeless)


def scene_of(site: Site, *, doors: str, step_m: float) -> Scene:
    """The scene of a site alone.

    Parameters
    ----------
    site : Site
    doors : str
        'usual', 'open' or 'shut'.
    step_m : float
        How far apart the judging points of a room lie, at least. [m]

    References
    ----------
    Ours; see `made_scene`.
    """
    made: Made = made_scene(site, doors=doors, step_m=step_m)
    return made.scene


def _skins(site: Site, guessed: Mapping[str, Skin]) -> tuple[dict[str, Skin], list[Taken]]:
    """All skins that the scene may name, and the wall types of which nothing was noted."""
    classes = wall_classes()
    skins = {
        NO_TYPE: class_skin(classes[UNKNOWN], NO_TYPE),
        **{name: class_skin(classes[kind], name) for name, kind in SLAB_CLASSES.items()},
        **{fill_name(name): fill_skin(fill, fill_name(name)) for name, fill in fills().items()},
        **guessed,
    }
    taken = []
    for thing in site.of_kind("wall_type"):
        skins[thing.ref.tag] = skin_of(thing)
        if skins[thing.ref.tag].origin == "assumed":
            taken.append(Taken("wall_loss_assumed", (thing.ref,)))
    return skins, taken
