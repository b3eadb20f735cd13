"""Level readings as the answer of signal has them: what was read, what is foretold there without it, what does not fit."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.api.signal_tables import part
from pullstring.radio.learning import FOUR_IN_FIVE
from pullstring.radio.learning_levels import Ground, foretell

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.radio.learning_doubts import LeftOut
    from pullstring.radio.learning_readings import Reading

Facts = dict[str, Any]


@dataclasses.dataclass(frozen=True)
class _Foreseen:
    dbm: float
    spread_db: float


def rows(work: Worked) -> list[Facts]:
    """Every level reading in the order of the record."""
    base = work.base
    doubted = {key for d in base.checked.doubts for key in d.keys[: 2 if d.kind == "pair" else 1]}
    unused = {u.key: u.why for u in base.checked.learned.unused}
    floors = {room.name: room.floor for room in work.scene.rooms}
    foreseen = _foreseen(work)
    found = []
    for one in base.levels:
        reading = one.reading
        told = foreseen.get((reading.key, reading.band)) if reading else None
        spot = _middle(reading.spots) if reading else None
        wide = FOUR_IN_FIVE * told.spread_db if told else 0.0
        read = reading.level_dbm if reading else one.read_dbm
        found.append(
            {
                "key": reading.key if reading else one.entry,
                "room": one.room,
                "floor": floors.get(one.room, ""),
                "x_m": spot[0] if spot else None,
                "y_m": spot[1] if spot else None,
                "band": one.band,
                "from": one.heard.tag if one.heard else None,
                "read_dbm": read,
                "predicted_dbm": told.dbm if told else None,
                "low_dbm": told.dbm - wide if told else None,
                "high_dbm": told.dbm + wide if told else None,
                "off_db": read - told.dbm if told and read is not None else None,
                "doubted": bool(reading and reading.key in doubted),
                "tells_now": not one.outdated,
                "why_not": one.why_not or (unused.get(reading.key) if reading else None) or None,
            }
        )
    return found


def _foreseen(work: Worked) -> dict[tuple[str, str], _Foreseen]:
    """Without the reading itself where it was learned from, else from all."""
    found: dict[tuple[str, str], _Foreseen] = {}
    left: dict[tuple[str, str], list[LeftOut]] = {}
    for one in work.base.checked.left_out:
        left.setdefault((one.key, one.band), []).append(one)
    rest = [r for r in work.base.readings if (r.key, r.band) not in left]
    for key, several in left.items():  # of "none heard" the access point that would be strongest
        best = max(several, key=lambda o: o.foretold_dbm)
        found[key] = _Foreseen(best.foretold_dbm, best.spread_db)
    for device in sorted({r.device for r in rest}):
        found |= _from_all(work, [r for r in rest if r.device == device])
    return found


def _from_all(work: Worked, readings: Sequence[Reading]) -> dict[tuple[str, str], _Foreseen]:
    """Readings of one device, from all that was learned: of the access point named, else of the strongest."""
    base, learned = work.base, work.base.checked.learned
    tables = part(base.held.traced, base.held.spots)
    places = {tuple(map(float, spot)): i for i, spot in enumerate(tables.points)}
    told = foretell(learned, Ground.of(tables).moved_to(learned), like=readings[0])
    found = {}
    for one in readings:
        at, band = [places[spot] for spot in one.standing], base.bands.index(one.band)
        level = np.where(np.isnan(told.level_dbm[band]), -np.inf, told.level_dbm[band])[:, at].mean(axis=1)
        sender = tables.senders.index(one.sender) if one.sender in tables.senders else int(level.argmax())
        if len(level) and np.isfinite(level[sender]):
            spread = float(told.spread_db[band, sender, at].mean())
            found[one.key, one.band] = _Foreseen(float(level[sender]), spread)
    return found


def _middle(spots: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    """The spot nearest to the mean of all: it lies in the room even where the mean does not."""
    x, y = (sum(s[i] for s in spots) / len(spots) for i in (0, 1))
    best = min(spots, key=lambda s: ((s[0] - x) ** 2 + (s[1] - y) ** 2, s))
    return best[0], best[1]
