"""Before an end is cut or unplugged of which only odds say where it goes: the chance that it leads to something that must stay."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from pullstring.model.answers import Odds

if TYPE_CHECKING:
    from pullstring.api.tracing_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref


def kept_by_odds(site: Site, cut: Sequence[Ref]) -> list[dict[str, Any]]:
    """Ends among what is cut that may lead to something kept or protected, by the odds of tracing.

    Each row names the `end`, the chance (`odds`: the sum over outlets, at most 1), `leads`: outlets with what must stay there and
    their chance, likeliest first, and `test`: the outlet at which a tone from that end settles it. Chances up to the limit above
    which a removal is never GO are left out.
    """
    from pullstring.reach.odds import MOST_CHANCE

    ends = _ends_cut(site, cut)
    if not ends or not (kept := kept_outlets(site)):
        return []
    from pullstring.api.tracing_worked import worked

    done = worked(site)
    rows = [row for end in ends if end in done.traced.ends and (row := _row(site, done, end, kept))]
    return [row for row in rows if row["odds"].chance > MOST_CHANCE]


def _row(site: Site, done: Worked, end: Ref, kept: dict[Ref, str]) -> dict[str, Any] | None:
    from pullstring.model.refs import parse_ref

    number = done.traced.ends.index(end)
    leads: list[dict[str, Any]] = []
    for outlet, ref in enumerate(done.traced.outlets):
        if ref in kept:
            chance = sum(c for net, c in done.odds.nets[outlet].items() if number in net)
            keeps = site.get(parse_ref(kept[ref]))
            name = keeps.text("name") if keeps else ""
            leads.append({"outlet": str(ref), "keeps": kept[ref], "name": name, "odds": Odds(min(1.0, chance))})
    leads = sorted((one for one in leads if one["odds"].chance > LEAST), key=lambda one: -one["odds"].chance)
    if not leads:
        return None
    whole = min(1.0, sum(one["odds"].chance for one in leads))
    return {"end": str(end), "odds": Odds(whole), "leads": leads, "test": leads[0]["outlet"]}


LEAST = 1e-4
"""Ours: an outlet with a lower chance is not named; it still could not reach the limit with all others of a house. [share]"""


def _ends_cut(site: Site, cut: Iterable[Ref]) -> list[Ref]:
    """The ends that go with what is cut: those on a row or joint, and all of a cable."""
    from pullstring.reach.guards import cable_of_ref, wires_on

    found: list[Ref] = []
    for ref in cut:
        for wire in wires_on(site, ref):
            cable = cable_of_ref(site, wire)
            found += (
                [wire] if wire.kind == "end" else [e.ref for e in site.ends_by_cable.get(cable, ())] if cable else []
            )
    return list(dict.fromkeys(found))


def kept_outlets(site: Site) -> dict[Ref, str]:
    """Outlets with what must stay there: a kept service that arrives there, or a company that alone may touch it."""
    from pullstring.api.cutting import must_stay
    from pullstring.model.conductors import outlet_of
    from pullstring.reach.guards import guards_of
    from pullstring.reach.hanging import outlets_on

    kept: dict[Ref, str] = {}
    stay = must_stay(site)
    for service in site.of_kind("service"):
        if str(service.ref) not in stay:
            continue
        at = [r for r in (service.ref_of("arrives_at"), *service.refs_of("carried_on")) if r]
        near = [outlet_of(r) if r.kind == "jack" else r for r in at if r.kind in ("jack", "outlet")]
        for outlet in (*near, *outlets_on(site, [r for r in at if r.kind in ("unit", "port")])):
            kept.setdefault(outlet, str(service.ref))
    for thing in site.of_kind("outlet"):
        if guards := guards_of(site, thing.ref):
            kept.setdefault(thing.ref, min(guards))
    return kept
