"""The first page: do not touch, dark now, contradictions, what changed, whom to call. Laws that judge runs are not asked."""

from __future__ import annotations

import collections
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.changes import what_changed
from pullstring.api.on_paper import printable, printable_site
from pullstring.api.request import CAUTIONS_WORK, answered, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site, Thing
    from pullstring.reach.consequence import Fact, Rule

NETWORK = (
    "router",
    "switch",
    "access point",
    "radio",
    "converter",
    "terminal",
    "printer",
    "player",
    "adapter",
    "repeater",
)
"""What is of no use without data."""
HURTS = ("asbestos", "lead paint", "mains", "height", "laser", "lightning", "floor")
"""Hazards in the order in which they are told; others follow."""


def sheet(path: Path, request: Request) -> Answer:
    """What must not be touched, what is dark, where two accounts disagree, what changed, and whom to call."""
    found = load(path, request)
    site = printable_site(found)
    guarded, kept = _guarded(found)
    facts = {
        "name": next((t.text("name") for t in site.of_kind("property")), ""),
        "day": (request.as_of or request.today)[:10],
        "do_not_touch": guarded,
        "must_stay": kept,
        "hurts": _hurts(site),
        "dark": _dark(found),
        "contradictions": _contradictions(site),
        "changed": what_changed(path, request, site),
        "call": _call(site, guarded),
    }
    return answered("sheet", found, request, printable(facts), cautions=("nothing_cut", *CAUTIONS_WORK))


def _guarded(found: Site) -> tuple[dict[str, str], list[dict[str, Any]]]:
    """What only others may touch, and the services that must stay, with what they are carried on and who guards them."""
    from pullstring.reach.guards import protected, unplaced

    nowhere = set(unplaced(found))
    kept = [
        {
            "service": s.ref.tag,
            "name": s.text("name") or s.ref.tag,
            "hours": s.text("hours"),
            "carried_on": [str(r) for r in s.refs_of("carried_on")],
            "unplaced": str(s.ref) in nowhere,
        }
        for s in found.of_kind("service")
        if s.text("keep") == "yes" and s.stands
    ]
    return protected(found), kept


def _hurts(found: Site) -> list[dict[str, Any]]:
    """What can hurt by what was noted: hazards without a clear sample, boxes shared with mains, temporary work that can."""
    hurts = [
        {"how": h.text("style") or "other", "where": [str(r) for r in h.refs_of("where")], "says": h.text("says")}
        for h in found.of_kind("hazard")
        if h.text("sample") != "clear" and h.stands
    ]
    told = {name for h in hurts if h["how"] == "mains" for name in h["where"]}
    boxes = [o for o in found.of_kind("outlet") if o.text("shares_box_with_mains") == "yes" and o.stands]
    hurts += [{"how": "mains", "where": [str(o.ref)], "says": ""} for o in boxes if str(o.ref) not in told]
    temporary = [t for t in found.of_kind("temporary") if t.text("ended") != "yes" and t.stands]
    hurts += [
        {
            "how": "temporary",
            "where": [str(t.ref)],
            "says": "; ".join(w for w in (t.text("what"), t.text("hazard")) if w),
        }
        for t in temporary
        if t.text("hazard") not in ("", "none")
    ]
    return sorted(
        hurts, key=lambda h: (HURTS.index(str(h["how"])) if h["how"] in HURTS else len(HURTS), str(h["where"]))
    )


def _dark(found: Site) -> dict[str, Any]:
    """Services and units without what they need by the rules of reach; and services of which nobody noted how they live."""
    from pullstring.reach.consequence import live
    from pullstring.reach.feeds import model_of, needs_power
    from pullstring.reach.rules import build

    reach = build(found)
    alive = live(reach.rules)
    roots = _roots(reach.rules, alive)
    services, unknown = [], []
    for service in found.of_kind("service"):
        fact = reach.services.get(str(service.ref))
        if not service.stands or service.text("ceased") == "yes" or (fact is not None and fact in alive):
            continue
        told = {
            "service": service.ref.tag,
            "name": service.text("name") or service.ref.tag,
            "keep": service.text("keep"),
        }
        if (
            fact is None
            or service.text("source") in ("own", "none", "")
            and not service.text("from")
            and fact[0] != "P"
        ):
            unknown += [told] if told["keep"] == "yes" else []
        else:
            services.append({**told, "needs": service.text("needs") or "data", "off": roots(fact)})
    power, data = [], []
    for unit in found.of_kind("unit"):
        if not unit.stands or unit.text("state") in ("out of use", "lost"):
            continue
        model, fact = model_of(found, unit.ref), ("P", str(unit.ref))
        told = {"unit": unit.ref.tag, "name": unit.text("name") or (model.text("what") if model else "")}
        if needs_power(found, unit.ref) and fact not in alive:
            power.append({**told, "off": roots(fact)})
        elif model and model.text("what") in NETWORK and ("D", str(unit.ref)) not in alive:
            data.append(told)
    services.sort(key=lambda s: s["keep"] != "yes")
    return {"services": services, "unknown": unknown, "power": power, "data": data, "assumed": list(reach.assumed)}


def _roots(rules: Collection[Rule], alive: Collection[Fact]) -> Any:
    """A function that names the mains by which a fact does not hold: circuits, switches and sockets that give nothing."""
    heads: dict[Fact, list[Rule]] = collections.defaultdict(list)
    for rule in rules:
        heads[rule.head].append(rule)

    def roots(fact: Fact) -> list[str]:
        seen, stack, found = {fact}, [fact], []
        while stack:
            here = stack.pop()
            bodies = [b for rule in heads.get(here, ()) for b in rule.bodies if b not in alive and b not in seen]
            if not heads.get(here) and here[0] == "P" and here[1].partition(":")[0] in ("circuit", "switch", "socket"):
                found.append(here[1])
            seen.update(bodies)
            stack += bodies
        return sorted(found)

    return roots


def _contradictions(found: Site) -> list[dict[str, str]]:
    """Claims against each other, fields with two accounts, and tags given twice, as the record's own checks find them."""
    from pullstring.model.checks import record_problems

    return [
        {"code": p.code, "where": p.where, "says": p.says}
        for p in record_problems(found)
        if p.code in ("contradicted", "two_accounts", "one_or_two")
    ]


def _call(found: Site, guarded: Mapping[str, str]) -> list[dict[str, Any]]:
    """Companies, those first that guard something, then the roles, with what they decide, their hours and telephone."""
    guards = collections.Counter(who for whose in guarded.values() for who in whose.split(", "))
    companies = sorted(found.of_kind("company"), key=lambda c: (-guards[c.ref.tag], c.ref))
    people = [*companies, *found.of_kind("role")]
    return [
        {**{"who": p.ref.tag, "kind": p.ref.kind, "guards": guards[p.ref.tag]}, **_reach(p)} for p in people if p.stands
    ]


def _reach(who: Thing) -> dict[str, str]:
    return {field: who.text(field) for field in ("name", "hours", "phone", "may_decide", "may_touch", "asked")}
