"""What the page of signal shows otherwise than the terminal: rooms that change when an access point is moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block
from pullstring.papers.sentences_signal import PAGE
from pullstring.papers.words_signal import (
    chance_of,
    limits,
    need_name,
    needs,
    room_sentence,
    signal,
    taken,
    why_not_known,
    why_weak,
)
from pullstring.papers.words_signal_read import learned, read_parts
from pullstring.papers.words_signal_said import SILENT_DBM, between, dbm, rate
from pullstring.papers.words_signal_wires import air, channels, links, uplinks

Facts = Mapping[str, Any]
CHANGED_DB = 0.5
"""Ours: a smaller change of the level is called none."""


def heard(at: Facts) -> float:
    """The level of a room, and of what no receiver hears the level at which that begins: below it nothing changes."""
    return max(float(at["level_dbm"]), float(SILENT_DBM))


def room_rows(said: Facts, *, band: str, floor: str) -> list[dict[str, Any]]:
    """Rooms in one band, those of the floor shown first."""
    return [_row(r, band) for r in sorted(said["rooms"], key=lambda r: r["floor"] != floor)]


def _row(room: Facts, band: str) -> dict[str, Any]:
    at = room["bands"].get(band)
    met = [n for n in room["needs"] if n.get("band") in (band, None, "")]
    row: dict[str, Any] = {
        "room": room["room"],
        "name": room["name"],
        "floor": room["floor"],
        "says": room_sentence(room),
        "needs": ", ".join(f"{need_name(n)}: {chance_of(n)}{f' ({so})' if (so := why_weak(n)) else ''}" for n in met),
        "known": bool(at),
    }
    if not at:
        return {**row, "why": why_not_known(room) if not room["known"] else PAGE["not in band"], "level": None}
    return {
        **row,
        "level": heard(at),
        "now": dbm(at["level_dbm"]),
        "between": between(at["low_dbm"], at["high_dbm"], bare=True),
        "half": dbm(at["median_dbm"]),
        "by": (at["server"] or "–") if at["level_dbm"] >= SILENT_DBM else "–",
        "second": f"{at['second']} {dbm(at['second_dbm'])}" if at["second"] else "",
        "rate": rate(at["rate_mbps"]),
        "read": "" if at["read_dbm"] is None else dbm(at["read_dbm"]),
    }


def moved_rows(before: Facts, after: Facts, *, band: str) -> dict[str, dict[str, str]]:
    """By room: its level then, by how much it changes, and who serves it then."""
    old = {r["room"]: r["bands"].get(band) for r in before["rooms"]}
    return {r["room"]: _then(old.get(r["room"]), r["bands"].get(band)) for r in after["rooms"]}


def then_rows(after: Facts) -> dict[str, dict[str, dict[str, Any]]]:
    """The same for a page that knows what was before: by room and band, the level then and its words."""
    return {
        r["room"]: {
            band: {"level": heard(at), "words": dbm(at["level_dbm"]), "by": at["server"] or "–"}
            for band, at in r["bands"].items()
        }
        for r in after["rooms"]
    }


def _then(old: Facts | None, new: Facts | None) -> dict[str, str]:
    if new is None:
        return {"words": "–", "change": "", "by": ""}
    change = "" if old is None else changed(heard(new) - heard(old))
    return {"words": dbm(new["level_dbm"]), "change": change, "by": new["server"] or "–"}


def changed(by_db: float) -> str:
    """A change of level with its sign; a small one is none."""
    return PAGE["same"] if abs(by_db) < CHANGED_DB else f"{by_db:+.0f} dB"


def senders_on(said: Facts, floor: str) -> list[dict[str, Any]]:
    """Access points of one floor, with the words by which a page offers to move them."""
    return [
        {
            "tag": s["sender"],
            "planned": s["planned"],
            "x": round(s["x_m"], 2),
            "y": round(s["y_m"], 2),
            "label": PAGE["move"].format(s["sender"]),
            "says": ", ".join(_sends(band, at) for band, at in s["bands"].items()),
        }
        for s in said["senders"]
        if s["floor"] == floor
    ]


EVERY_BAND = ("2.4 GHz", "5 GHz", "6 GHz")
USUAL_DEVICE = "phone"


def entry_choices(said: Facts, floor: str) -> dict[str, Any]:
    """What a reading that is entered on the page can be of, the likeliest first."""
    there = [r for r in said["rooms"] if r["why_not_known"] != "no_points"]
    return {
        "readable": [{"room": r["room"], "name": r["name"]} for r in sorted(there, key=lambda r: r["floor"] != floor)],
        "next_room": next((n["room"] for n in said["next"] if n["floor"] == floor), ""),
        "all_bands": [*said["bands"], *(b for b in EVERY_BAND if b not in said["bands"])],
        "all_senders": [
            {"tag": s["sender"]}
            for s in sorted(said["senders"], key=lambda s: (s["floor"] != floor, s["sender"]))
            if not s["planned"]
        ],
        "device": said.get("as_read_by") or USUAL_DEVICE,
    }


def _sends(band: str, at: Facts) -> str:
    channel = f" channel {at['channel']}" if at.get("channel") else ""
    return f"{band}{channel}" + (f" at {at['eirp_dbm']:g} dBm" if at.get("eirp_dbm") is not None else "")


def parts_of(said: Facts) -> tuple[list[Block], list[Block]]:
    """Readings with where to read next, and all the rest of the page."""
    rest: Sequence[Block] = [
        *learned(said),
        *needs(said),
        *channels(said.get("channels") or {}, said.get("air_rules")),
        *air(said.get("air") or ()),
        *links(said.get("links") or ()),
        *uplinks(said.get("uplinks") or (), said.get("over_air") or ()),
        *taken(said),
        *limits(said),
    ]
    return list(read_parts(said)), list(rest)


def moved_says(before: Facts, after: Facts, *, band: str, sender: str, x: str, y: str) -> str:
    """How many rooms are better and worse, as one sentence."""
    old = {r["room"]: r["bands"].get(band) for r in before["rooms"]}
    pairs = [(old.get(r["room"]), r["bands"].get(band)) for r in after["rooms"]]
    by_db = [heard(new) - heard(was) for was, new in pairs if was and new]
    better, worse = sum(d >= CHANGED_DB for d in by_db), sum(d <= -CHANGED_DB for d in by_db)
    told = [PAGE[word].format(n) for word, n in (("better", better), ("worse", worse)) if n]
    return PAGE["moved"].format(sender, x, y, ", ".join(told) or PAGE["no change"])


def tail_of(page: Sequence[Block], answer: Answer) -> tuple[Block, ...]:
    """What follows the words of the verb: problems, cautions, what is taken for granted, what to ask."""
    return tuple(page[len(signal(answer)[1]) :])
