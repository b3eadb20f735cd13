"""The words of a floor plan: titles that a pointer shows, the lines of the key, and what is said of things not drawn."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.papers.plan_guard import KEEP, TOUCH
from pullstring.papers.plan_letters import clean
from pullstring.papers.plan_runs import Run

KINDS = {
    "outlet": "outlet",
    "block": "where cables end",
    "radio": "access point",
    "unit": "gear",
    "way": "pathway off this floor",
}
SYMBOL_KEY = {
    "outlet": "outlet (a tick for each jack)",
    "block": "where cables end",
    "radio": "access point",
    "unit": "gear that is no access point",
}
CHECK_RULE = "this line is 100 mm on paper; if not, the printer changed the scale"
CHECK_RULE_SHORT = "100 mm on paper"
STATES = {
    "there": "there and staying",
    "new": "new and pulled",
    "planned": "to be pulled",
    "remove": "to be taken out",
}
RUN_KEY = {
    "run there": "run, there and staying: slanting ticks",
    "run new": "run, new and pulled: solid",
    "run planned": "run, to be pulled: dashed",
    "run remove": "run, to be taken out: small crosses",
    "core": "gap in a wall: a run passes there",
    "trunk": "double line: several runs together",
    "unknown": "dotted tail: a run arrives here, its way is not known",
    "ends under": "small letters under a number: the ends of the runs that arrive",
    "way there": "here a pathway leaves the floor",
    "way planned": "here a planned pathway leaves the floor",
}
WORK_KEY = {
    "work planned": "open ring: planned",
    "work pulled": "half ring: pulled",
    "work measured": "full ring: measured",
    "work fault": "ring with a slash: fault",
}
JOINT_KEY = {
    "joint splice": "splice",
    "joint tap": "tap",
    "joint clip": "clip",
    "joint loop": "loop",
    "joint series": "series device",
    "joint other": "joint whose style is not noted",
}
GUARD_KEY = {
    "guard": f"barred frame: {TOUCH}",
    "keep": f"thin frame: {KEEP}",
    "leader": "thin line: belongs to that symbol or that point",
}
GUARD_IN_ROOM = TOUCH
NO_WAY_OUT = "way not known"


def titled(site: Site, form: str, ref: Ref, *, state: str, extra: Sequence[str] = ()) -> str:
    """What a pointer shows over a thing: its kind, tag, name, state, and what else is known."""
    thing = site.get(ref)
    name = clean(thing.text("name")) if thing else ""
    said = [f"{KINDS.get(form, ref.kind)} {ref.tag}", name, state if state not in ("", "there") else "", *extra]
    return ", ".join(s for s in said if s)


def run_title(run: Run, reach: Ref | None, *, known: bool) -> str:
    """What a pointer shows over a run."""
    to = f" to {reach.kind} {reach.tag}" if reach else ""
    guard = f", {TOUCH}" if run.guarded else ""
    return f"run from end {run.end.tag}{to}, {STATES[run.state]}{guard}{'' if known else f', {NO_WAY_OUT}'}"


def tags(refs: Iterable[Ref]) -> str:
    """Tags in order, three or more in a row drawn together: E1 to E4, E9."""
    ordered = sorted(set(refs))
    rows: list[list[Ref]] = []
    for ref in ordered:
        if rows and _follows(rows[-1][-1], ref):
            rows[-1].append(ref)
        else:
            rows.append([ref])
    said = [[f"{row[0].tag} to {row[-1].tag}"] if len(row) > 2 else [r.tag for r in row] for row in rows]
    return ", ".join(itertools.chain.from_iterable(said))


def _follows(one: Ref, two: Ref) -> bool:
    a, b = one.natural, two.natural
    return (
        one.kind == two.kind and len(a) == len(b) and a[:-1] == b[:-1] and a[-1][0] == b[-1][0]
        and b[-1][1] == a[-1][1] + 1
    )  # fmt: skip


def not_drawn(tags: Sequence[str]) -> str:
    """Things without a point."""
    return f"not drawn, no point noted: {', '.join(tags)}"


def no_room_noted(refs: Iterable[Ref]) -> str:
    """Joints without a room."""
    return f"not drawn, no room noted: {tags(refs)}"


def no_place(words: Sequence[str]) -> str:
    """Things for which the drawing has no room."""
    return f"no room on this sheet for: {', '.join(words)}"


def ends_in(rooms: Mapping[Ref, Sequence[Ref]]) -> str:
    """Ends that have a room and no point."""
    return f"cable ends, no point noted: {'; '.join(f'in {room.tag} {tags(ends)}' for room, ends in rooms.items())}"


def leaving(by_floor: Mapping[str, Sequence[Run]]) -> str:
    """Runs that leave the floor by a way that nobody noted, by where they go."""
    said = [f"{floors or 'elsewhere'} {tags(r.end for r in runs)}" for floors, runs in by_floor.items()]
    return f"leave this floor, {NO_WAY_OUT}: {'; '.join(said)}"


def arrives_without_point(pairs: Sequence[tuple[Ref, Ref]]) -> str:
    """Runs that arrive at something on this floor that has no point."""
    said = [f"{end.tag} at {reach.tag}" for end, reach in sorted(set(pairs))]
    return f"runs that arrive here, no point noted: {', '.join(said)}"


def guarded_in(word: str, rooms: Mapping[Ref, Sequence[Ref]]) -> str:
    """Things that may not be touched and are not drawn by themselves, by room."""
    said = [f"in {room.tag} {_by_kind(refs)}" for room, refs in rooms.items()]
    return f"{word}: {'; '.join(said)}"


def _by_kind(refs: Iterable[Ref]) -> str:
    kinds = itertools.groupby(sorted(set(refs)), key=lambda r: r.kind)
    return ", ".join(f"{kind} {tags(group)}" for kind, group in kinds)


def runs_at(by_tag: Sequence[tuple[str, Sequence[Run]]]) -> str:
    """Runs whose ends had no room under the thing's number."""
    return f"runs that arrive: {'; '.join(f'at {tag} {tags(r.end for r in runs)}' for tag, runs in by_tag)}"


def joint_items(refs: Iterable[str]) -> str:
    """Joints that found no room in their rooms."""
    return f"joints: {', '.join(refs)}"


def to_floors(tags: Sequence[str]) -> str:
    """Where a pathway leads."""
    return f"to {', '.join(tags)}" if tags else ""
