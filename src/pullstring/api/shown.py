"""Drawings as the pages show them: each floor, the closet, what hangs on what; what laws must say is asked here once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import asked_for, load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.papers.ink import Inks


NO_FLOOR = "?"
"""Stands for the floor of rooms of which nobody said on which they are."""


def every_floor(path: Path, request: Request) -> list[dict[str, Any]]:
    """All floors in their order, drawn or not; at the end one for rooms of which no floor is known."""
    site = load(path, request)
    kept = [f for f in site.of_kind("floor") if f.text("state") != "removed"]
    known = {f.ref for f in kept}
    rooms = (r for r in site.of_kind("room") if r.text("state") != "removed")
    found = [{"tag": f.ref.tag, "name": f.text("name")} for f in kept]
    if any(r.ref_of("floor") not in known for r in rooms):
        found.append({"tag": NO_FLOOR, "name": "floor not known"})
    return found


def drawn_floor(path: Path, request: Request, *, floor: str, scale: int, inks: Inks | None = None) -> str:
    """One floor as SVG; as a sketch of boxes where no outline and no wall is noted; raises BadRequest for no such floor."""
    from pullstring.api.drawn import plan_input
    from pullstring.papers.boxes_sketch import sketch_svg
    from pullstring.papers.drawing import NothingToDraw, floor_svg
    from pullstring.papers.ink import DAY

    if floor == NO_FLOOR:
        return sketch_svg(load(path, request), None, inks=inks or DAY)
    ref = asked_for(load(path, request), [floor], ["floor"])[0]
    given = plan_input(path, request)
    try:
        return floor_svg(
            given["site"],
            ref,
            scale=scale,
            as_of=request.as_of or request.today,
            inks=inks or DAY,
            runs=given["runs"],
            untouchable=given["do_not_touch"],
        )
    except NothingToDraw:
        return sketch_svg(given["site"], ref, inks=inks or DAY)


def drawn_closets(path: Path, request: Request) -> list[tuple[str, str]]:
    """Every board and rack as one stands before it: title and SVG."""
    from pullstring.api.drawn import closet

    return closet(path, request, paper="portrait")


def drawn_riser(path: Path, request: Request) -> list[tuple[str, str]]:
    """What hangs on what: title and SVG."""
    from pullstring.api.drawn import tree
    from pullstring.papers.riser import riser_svg

    return [("What hangs on what", riser_svg(tree(path, request)))]
