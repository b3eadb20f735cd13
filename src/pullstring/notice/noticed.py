"""Everything that is noticed in a record, worst first: one small file for each family of detections."""

from __future__ import annotations

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Site
from pullstring.model.problems import worst_first
from pullstring.notice.evidence import evidence
from pullstring.notice.gear import gear
from pullstring.notice.look import Look
from pullstring.notice.place import place
from pullstring.notice.powering import powering
from pullstring.notice.wires import wires

FAMILIES = (wires, powering, gear, place, evidence)


def noticed(site: Site) -> tuple[Problem, ...]:
    """All problems that a veteran would notice; the same record gives the same list."""
    look = Look(site)
    return worst_first(found for family in FAMILIES for found in family(look))
