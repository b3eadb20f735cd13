"""What is wrong with the record itself: two accounts, one thing or two, claims that contradict each other, crowded ports."""

from __future__ import annotations

import collections
from collections.abc import Iterator

from pullstring.model.answers import Problem, Severity
from pullstring.model.asbuilt import Claim, Site
from pullstring.model.refs import Ref
from pullstring.model.replay import ONE_TO_ONE


def record_problems(site: Site) -> tuple[Problem, ...]:
    """All problems of the record, worst first."""
    found = [*_two_accounts(site), *_one_or_two(site), *_contradictions(site), *_crowded(site)]
    return tuple(sorted(found, key=lambda p: (p.severity, p.code, p.where)))


def _two_accounts(site: Site) -> Iterator[Problem]:
    for thing in site.things.values():
        for name, field in thing.fields.items():
            if field.disputed:
                told = " or ".join(dict.fromkeys(str(h.value) for h in field.heads))
                yield Problem(
                    Severity.TIDY,
                    "two_accounts",
                    f"{thing.ref} {name}",
                    told,
                    "look and note the right one",
                    tuple(h.entry for h in field.heads),
                )


def _one_or_two(site: Site) -> Iterator[Problem]:
    for ref, entries in site.twice_made.items():
        yield Problem(
            Severity.MONEY,
            "one_or_two",
            str(ref),
            "was tagged twice by people apart",
            "say that it is one thing, or split the entries to a new tag",
            entries,
        )


def _contradictions(site: Site) -> Iterator[Problem]:
    groups: dict[tuple[Ref, str], list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        if claim.contradicted:
            groups[claim.subject, claim.relation].append(claim)
    for (subject, relation), claims in sorted(groups.items(), key=lambda g: (g[0][0], g[0][1])):
        yield Problem(
            Severity.MONEY,
            "contradicted",
            f"{subject} {relation}",
            " against ".join(str(c.object) for c in claims),
            "test again, isolated, and record what you find",
            tuple(e for c in claims for e in c.entries),
        )


def _crowded(site: Site) -> Iterator[Problem]:
    """Two plugs in one connector. A row or an outlet takes several ends; a port takes one plug."""
    held: dict[tuple[Ref, str], list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        if claim.relation in ONE_TO_ONE & {"plugged", "ends_at"} and claim.support and claim.object.kind == "port":
            held[claim.object, claim.relation].append(claim)
    for (port, _), claims in sorted(held.items(), key=lambda h: (h[0][0], h[0][1])):
        if len(claims) > 1:
            yield Problem(
                Severity.MONEY,
                "crowded",
                str(port),
                " and ".join(str(c.subject) for c in claims),
                "look which plug sits in it",
                tuple(e for c in claims for e in c.entries),
            )
