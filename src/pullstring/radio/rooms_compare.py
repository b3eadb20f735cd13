"""What changes in the rooms between two answers: before and after a door is shut, an access point moved, a reading entered."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping

from pullstring.radio.needs_met import NeedAnswer
from pullstring.radio.rooms import BandAnswer, RoomAnswer


@dataclasses.dataclass(frozen=True)
class RoomChange:
    """One band of one room before and after; None where it was, or is, not known."""

    room: str
    band: str
    before_dbm: float | None
    after_dbm: float | None
    change_db: float | None
    server_before: str | None
    server_after: str | None


@dataclasses.dataclass(frozen=True)
class NeedChange:
    """One need before and after; None where there was, or is, no chance to tell."""

    need: str
    room: str
    before: float | None
    after: float | None


def compare(
    before: Mapping[str, RoomAnswer], after: Mapping[str, RoomAnswer], *, least_db: float
) -> tuple[RoomChange, ...]:
    """Every room and band that changes: first what comes to be known or stops being so, then the largest change; ties by name.

    Parameters
    ----------
    before, after : mapping
        Answers by room.
    least_db : float
        A smaller change of level is none, unless another access point serves. [dB]

    Returns
    -------
    tuple of RoomChange
        What changed.

    References
    ----------
    Our definition.
    """
    found = []
    for room in sorted({*before, *after}):
        old, new = _bands(before.get(room)), _bands(after.get(room))
        for band in sorted({*old, *new}):
            change = _change(room, band, old.get(band), new.get(band))
            moved = change.change_db is None or abs(change.change_db) >= least_db
            if moved or change.server_before != change.server_after:
                found.append(change)
    return tuple(sorted(found, key=_rank))


def compare_needs(before: Iterable[NeedAnswer], after: Iterable[NeedAnswer]) -> tuple[NeedChange, ...]:
    """Every need whose chance changes by one in a hundred or comes to be known or not; those first, then the largest."""
    old, new = ({(n.need, n.room): n.chance.chance if n.chance else None for n in which} for which in (before, after))
    found = [NeedChange(*key, old.get(key), new.get(key)) for key in sorted({*old, *new})]
    changed = [c for c in found if (c.before is None) != (c.after is None) or _moved(c) >= 0.01]
    return tuple(
        sorted(changed, key=lambda c: (c.before is not None and c.after is not None, -_moved(c), c.need, c.room))
    )


def _bands(answer: RoomAnswer | None) -> Mapping[str, BandAnswer]:
    return answer.bands if answer else {}


def _change(room: str, band: str, old: BandAnswer | None, new: BandAnswer | None) -> RoomChange:
    return RoomChange(
        room=room,
        band=band,
        before_dbm=old.level_dbm if old else None,
        after_dbm=new.level_dbm if new else None,
        change_db=new.level_dbm - old.level_dbm if old and new else None,
        server_before=old.server if old else None,
        server_after=new.server if new else None,
    )


def _rank(change: RoomChange) -> tuple[bool, float, str, str]:
    return change.change_db is not None, -abs(change.change_db or 0.0), change.room, change.band


def _moved(change: NeedChange) -> float:
    return abs(change.after - change.before) if change.before is not None and change.after is not None else 0.0
