"""A unit is swapped: its place, its label, name and address, its feed and its plugs stay and are now the new unit's.

A unit, its place and its run are three identities; the act names the new unit first and the old one second. With `to` set to
`own` the new unit keeps its own name, address and channel.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pullstring.model.asbuilt import Saying
from pullstring.model.entries import Did, Entry, Scalar
from pullstring.model.refs import Ref

PLACE = ("room", "place", "x_m", "y_m", "z_m")
IDENTITY = ("name", "address", "channel", "gives_addresses", "hands_out")
STAYS = ("mounted_at", "fed_by", "serves", "in")
Sayings = Mapping[tuple[Ref, str, Ref], list[Saying]]


def swapped(
    sayings: Sayings,
    say: Callable[[Ref, str, Ref, Saying], None],
    set_field: Callable[[Ref, str, Scalar], None],
    value_of: Callable[[Ref, str], Scalar],
    *,
    entry: Entry,
    body: Did,
    new: Ref,
    old: Ref,
) -> None:
    """Hand over what belongs to the place; the old unit is out of it."""
    for (subject, relation, _), said in list(sayings.items()):
        if relation in STAYS and subject == new:
            said.clear()  # where the new unit stood before, on the bench
    for (subject, relation, other), said in list(sayings.items()):
        live = bool(said) and any(s.holds for s in said)
        moved = (_ours(subject, old, new), relation, _ours(other, old, new))
        relates = relation in STAYS and subject == old or relation == "plugged"
        if live and relates and moved != (subject, relation, other):
            said.clear()
            say(*moved, Saying(True, body.evidence, entry.id, entry.at, ""))
    for name in (*PLACE, *(() if body.values.get("to") == "own" else IDENTITY)):
        if (value := value_of(old, name)) is not None:
            set_field(new, name, value)
    set_field(new, "state", "there")
    set_field(old, "state", "removed")


def _ours(ref: Ref, old: Ref, new: Ref) -> Ref:
    """The new unit for the old one, and its port of the same name for a port of the old one."""
    if ref == old:
        return new
    if ref.kind == "port" and ref.parent_tag and Ref("unit", ref.parent_tag) == old:
        return Ref("port", new.tag + ref.tag[len(ref.parent_tag) :])
    return ref
