"""What is wrong with the record itself: two accounts, one thing or two, claims that contradict each other, crowded ports."""

from __future__ import annotations

import collections
from collections.abc import Iterator

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Claim, Site
from pullstring.model.problems import problem, worst_first
from pullstring.model.refs import Ref


def record_problems(site: Site) -> tuple[Problem, ...]:
    """All problems of the record, worst first."""
    found = [*_two_accounts(site), *_one_or_two(site), *_contradictions(site), *_crowded(site)]
    return worst_first(found)


def _two_accounts(site: Site) -> Iterator[Problem]:
    for thing in site.things.values():
        for name, field in thing.fields.items():
            if field.disputed:
                told = " or ".join(dict.fromkeys(str(h.value) for h in field.heads))
                yield problem(
                    "two_accounts",
                    where=f"{thing.ref} {name.replace('_', ' ')}",
                    says=told,
                    because=tuple(h.entry for h in field.heads),
                )


def _one_or_two(site: Site) -> Iterator[Problem]:
    for ref, entries in site.twice_made.items():
        yield problem("one_or_two", where=str(ref), says="was tagged twice by people apart", because=entries)


def _contradictions(site: Site) -> Iterator[Problem]:
    groups: dict[tuple[Ref, str], list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        if claim.contradicted:
            groups[claim.subject, claim.relation].append(claim)
    for (subject, relation), claims in sorted(groups.items(), key=lambda g: (g[0][0], g[0][1])):
        yield problem(
            "contradicted",
            where=f"{subject} {relation.replace('_', ' ')}",
            says=" against ".join(str(c.object) for c in claims),
            because=tuple(e for c in claims for e in c.entries),
        )


def _crowded(site: Site) -> Iterator[Problem]:
    """Two plugs in one connector. A row takes several ends, an outlet as many plugs as it has positions."""
    held: dict[tuple[Ref, str], list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        kinds = {"plugged": ("port", "outlet", "jack"), "ends_at": ("port",)}.get(claim.relation, ())
        if claim.support and claim.object.kind in kinds:
            held[claim.object, claim.relation].append(claim)
    for (port, _), claims in sorted(held.items(), key=lambda h: (h[0][0], h[0][1])):
        if len(claims) > _room_for(site, port):
            yield problem(
                "crowded",
                where=str(port),
                says=" and ".join(str(c.subject) for c in claims),
                because=tuple(e for c in claims for e in c.entries),
            )


def _room_for(site: Site, ref: Ref) -> int:
    """How many plugs fit: one in a port or jack, in an outlet its positions; no limit where nobody counted."""
    if ref.kind != "outlet":
        return 1
    thing = site.get(ref)
    positions = thing.number("positions") if thing else None
    return int(positions) if positions is not None else 1000
