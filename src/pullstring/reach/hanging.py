"""What hangs on a wire without anybody having noted a service: the outlets to which it leads."""

from __future__ import annotations

from collections.abc import Collection

from pullstring.model.asbuilt import Site
from pullstring.model.conductors import outlet_of
from pullstring.model.refs import Ref
from pullstring.reach.ways import Place, ways_of


def outlets_on(site: Site, cut: Collection[Ref]) -> tuple[Ref, ...]:
    """Outlets to which a wire leads that goes over one of these things; nobody can use it there afterwards."""
    ways = ways_of(site)
    seen: set[Place] = set()
    for way in ways.ways:
        if way.needs & set(cut):
            seen |= {way.a, way.b}
    todo = list(seen)
    while todo:
        for there in ways.near[todo.pop()]:
            if there not in seen:
                seen.add(there)
                todo.append(there)
    found = {outlet_of(ref) for ref, _ in seen if ref.kind == "jack"}
    return tuple(sorted(ref for ref in found if ref in site.things))
