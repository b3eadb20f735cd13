"""What if an access point stood elsewhere: it alone is traced anew; what readings taught stays."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from pullstring.api.request import BadRequest
from pullstring.api.signal_worked import NOT_SHOWN, WORLDS_MOVED, Worked, answered_rooms, based, drawn, shared_draws
from pullstring.model.geometry import floor_plan
from pullstring.radio.learning_levels import Ground
from pullstring.radio.rooms_assumed import assumed_rules
from pullstring.radio.scene import Sender
from pullstring.radio.traced import trace_scene

if TYPE_CHECKING:
    from pullstring.model.answers import Request
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref


def moved(site: Site, request: Request, *, sender: str, x_m: float, y_m: float, floor: Ref) -> Worked:
    """Everything as it would be."""
    before = based(site, doors="usual", even=False, shown=NOT_SHOWN)
    there = [
        k for k, s in enumerate(before.made.scene.senders) if s.name.rpartition(":")[2].casefold() == sender.casefold()
    ]
    if not there:
        known = ", ".join(s.name.rpartition(":")[2] for s in before.made.scene.senders)
        raise BadRequest([f"there is no access point {sender!r} to move; there are {known or 'none'}"])
    k = there[0]
    other = _put(site, before.made.scene.senders[k], x_m, y_m, floor)
    scene = dataclasses.replace(before.made.scene, senders=(other,))
    held = before.held.traced
    again = trace_scene(scene, held.points, bands=before.bands, kinds=before.kinds)
    share, crossed, spots = held.share.copy(), held.crossed.copy(), held.spots.copy()
    share[:, k], crossed[k], spots[k] = again.share[:, 0], again.crossed[0], again.spots[0]
    traced = dataclasses.replace(held, share=share, crossed=crossed, spots=spots)
    senders = tuple(other if i == k else s for i, s in enumerate(before.made.scene.senders))
    ground = Ground.of(traced).moved_to(before.checked.learned)
    counted = [s.name for s in senders if not s.planned or s.name == other.name]
    drawing = shared_draws(site, doors="usual", even=False, seed=request.seed, count=WORLDS_MOVED)
    samples = drawn(before, drawing, ground, counted, seed=request.seed)
    rules = assumed_rules()
    return Worked(
        before,
        dataclasses.replace(before.made.scene, senders=senders),
        dataclasses.replace(before.held, traced=traced),
        ground,
        samples,
        answered_rooms(samples, rules),
        rules,
    )


def _put(site: Site, sender: Sender, x_m: float, y_m: float, floor: Ref) -> Sender:
    """The sender at a place of a floor, in the axes of its building, as high over its floor as it hangs now."""
    plan = floor_plan(site, floor)
    thing = site.get(floor)
    z = (thing.number("z_m") if thing else None) or 0.0
    x, y, ground = plan.frame.to_site((x_m, y_m), z)
    return dataclasses.replace(sender, spot=(x, y, ground + _height(site, sender)), room="")


def _height(site: Site, sender: Sender) -> float:
    """How high over its own floor a sender hangs."""
    from pullstring.radio.scene_of import made_scene

    room = next((r for r in made_scene(site, doors="usual", step_m=1.0).scene.rooms if r.name == sender.room), None)
    return float(np.clip(sender.spot[2] - room.floor_z_m, 0.0, room.height_m)) if room else 2.0
