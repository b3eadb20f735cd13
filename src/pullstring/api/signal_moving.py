"""What if an access point stood elsewhere: it alone is traced anew, to a few points of each room; what readings taught stays.

Few points and few worlds would answer a little otherwise than the whole answer does, so only the change is taken from
them: how the quick answer goes from where the access point stands now to where it would, put onto the whole answer.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from pullstring.api.request import BadRequest
from pullstring.api.signal_tables import part
from pullstring.api.signal_worked import (
    NOT_SHOWN,
    WORLDS_MOVED,
    Base,
    Worked,
    answered_rooms,
    based,
    drawn,
    shared_draws,
    thinned,
    worked,
)
from pullstring.model.asbuilt import once_a_site
from pullstring.model.geometry import FARTHEST_M
from pullstring.radio.learning_levels import Ground
from pullstring.radio.rooms import BandAnswer, RoomAnswer
from pullstring.radio.rooms_assumed import assumed_rules
from pullstring.radio.scene import Sender
from pullstring.radio.scene_storeys import storeys
from pullstring.radio.traced import Ready, Traced, made_ready

if TYPE_CHECKING:
    from pullstring.model.answers import Request
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref

FEW_POINTS = 9  # ours: points of a room that a look at what if is traced to
LEVELS = ("level_dbm", "low_dbm", "high_dbm", "median_dbm", "median_low_dbm", "median_high_dbm")


@dataclasses.dataclass(frozen=True)
class _Few:
    """The few points of each room, what was traced to them, and what traces another sender to them."""

    traced: Traced
    ready: Ready
    rooms: Mapping[str, tuple[int, ...]]


def moved(site: Site, request: Request, *, sender: str, x_m: float, y_m: float, floor: Ref) -> Worked:
    """Everything as it would be."""
    base = based(site, doors="usual", even=False, shown=NOT_SHOWN)
    senders = base.made.scene.senders
    k = _named([s.name for s in senders], sender)
    other = _put(site, base, senders[k], x_m, y_m, floor)
    few = _few(site)
    traced = with_other(few.traced, k, other, few.ready)
    there = tuple(other if i == k else s for i, s in enumerate(senders))
    counted = tuple(s.name for s in there if not s.planned or s.name == other.name)
    whole = worked(site, planned=False, doors="usual", even=False, seed=request.seed)
    after = _quick(site, base, few, traced, counted, request.seed)
    before = _stays(site, seed=request.seed)
    return dataclasses.replace(
        after,
        scene=dataclasses.replace(base.made.scene, senders=there),
        answers={room: _put_onto(whole.answers[room], before[room], of) for room, of in after.answers.items()},
    )


def _named(names: Sequence[str], sender: str) -> int:
    """Which sender is meant; raises BadRequest."""
    short = [name.rpartition(":")[2] for name in names]
    found = [k for k, name in enumerate(short) if name.casefold() == sender.casefold()]
    if not found:
        raise BadRequest([f"there is no access point {sender!r} to move; there are {', '.join(short) or 'none'}"])
    return found[0]


def with_other(held: Traced, k: int, other: Sender, ready: Ready) -> Traced:
    """The tables with one sender traced anew."""
    again = ready.trace((other,))
    share, crossed, spots = held.share.copy(), held.crossed.copy(), held.spots.copy()
    share[:, k], crossed[k], spots[k] = again.share[:, 0], again.crossed[0], again.spots[0]
    return dataclasses.replace(held, share=share, crossed=crossed, spots=spots)


@once_a_site
def _few(site: Site) -> _Few:
    base = based(site, doors="usual", even=False, shown=NOT_SHOWN)
    at: list[int] = []
    rooms: dict[str, tuple[int, ...]] = {}
    for room, points in base.held.rooms.items():
        taken = thinned(points, FEW_POINTS)
        rooms[room] = tuple(range(len(at), len(at) + len(taken)))
        at += taken
    traced = part(base.held.traced, at)
    return _Few(traced, made_ready(base.made.scene, traced.points, bands=base.bands, kinds=base.kinds), rooms)


@once_a_site
def _stays(site: Site, *, seed: int) -> Mapping[str, RoomAnswer]:
    """The quick answer with every access point where it is."""
    base, few = based(site, doors="usual", even=False, shown=NOT_SHOWN), _few(site)
    counted = tuple(s.name for s in base.made.scene.senders if not s.planned)
    return _quick(site, base, few, few.traced, counted, seed).answers


def _quick(site: Site, base: Base, few: _Few, traced: Traced, counted: Sequence[str], seed: int) -> Worked:
    ground = Ground.of(traced).moved_to(base.checked.learned)
    drawing = shared_draws(site, doors="usual", even=False, seed=seed, count=WORLDS_MOVED)
    samples = drawn(base, drawing, ground, few.rooms, counted, seed=seed)
    rules = assumed_rules()
    held = dataclasses.replace(base.held, traced=traced, rooms=few.rooms)
    return Worked(base, base.made.scene, held, ground, samples, answered_rooms(samples, rules), rules)


def _put_onto(whole: RoomAnswer, before: RoomAnswer, after: RoomAnswer) -> RoomAnswer:
    """The whole answer of a room, changed as the quick one changes; what only the quick one takes for known is not known."""
    bands = {
        band: _changed(whole.bands[band], before.bands[band], of)
        if band in whole.bands and band in before.bands
        else of
        for band, of in after.bands.items()
        if band in whole.bands or band not in before.bands
    }
    why = after.why_not_known if bands else whole.why_not_known or after.why_not_known
    return dataclasses.replace(after, bands=bands, why_not_known=why)


def _changed(whole: BandAnswer, before: BandAnswer, after: BandAnswer) -> BandAnswer:
    at = {n: getattr(whole, n) + getattr(after, n) - getattr(before, n) for n in LEVELS}
    for stem in ("", "median_"):  # both ends may change more than the middle
        names = [f"{stem}low_dbm", "median_dbm" if stem else "level_dbm", f"{stem}high_dbm"]
        at |= zip(names, sorted(at[n] for n in names), strict=True)
    return dataclasses.replace(after, **at)


def _put(site: Site, base: Base, sender: Sender, x_m: float, y_m: float, floor: Ref) -> Sender:
    """The sender at a place of a floor, in the axes of its building, as high over its floor as it hangs now."""
    if not max(abs(x_m), abs(y_m)) <= FARTHEST_M:
        raise BadRequest([f"x {x_m:g}, y {y_m:g} is no place here; both are metres, up to {FARTHEST_M:g} either way"])
    storey = storeys(site).get(floor)
    if storey is None:
        raise BadRequest([f"{floor} does not stand, so nothing can hang there; name a floor that does"])
    x, y, ground = storey.to_site((x_m, y_m), storey.z_m)
    return dataclasses.replace(sender, spot=(x, y, ground + _height(base, sender)), room="")


def _height(base: Base, sender: Sender) -> float:
    """How high over its own floor a sender hangs."""
    room = next((r for r in base.made.scene.rooms if r.name == sender.room), None)
    return float(np.clip(sender.spot[2] - room.floor_z_m, 0.0, room.height_m)) if room else 2.0
