"""All that the verb `trace` works out of one site, once: odds, how outlets stand, reasons, doubts, what could be accepted."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING

from pullstring.model.asbuilt import once_a_site
from pullstring.trace.assumed import assumed_noise, assumed_prior, assumed_sure
from pullstring.trace.doubts import Doubt, doubted
from pullstring.trace.evidence import Traced, traced
from pullstring.trace.explain import Explained, Repeat, reasons_of, to_repeat
from pullstring.trace.findings import Findings, findings
from pullstring.trace.posterior import Posterior
from pullstring.trace.proposals import Proposal, proposals
from pullstring.trace.standing import Standing, standings
from pullstring.trace.table import Table

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site


@dataclasses.dataclass(frozen=True)
class Worked:
    """One site traced; outlets and ends go by their numbers in `traced`."""

    traced: Traced
    odds: Posterior
    table: Table
    doubts: tuple[Doubt, ...]
    stands: tuple[Standing, ...]
    reasons: Mapping[int, Explained]
    repeat: tuple[Repeat, ...]
    found: Findings
    proposed: tuple[Proposal, ...]


@once_a_site
def worked(site: Site) -> Worked:
    """Trace a site from its record, with the assumed constants."""
    given = traced(site)
    sure = assumed_sure()
    seen = doubted(given.scene, given.readings, prior=assumed_prior(), noise=assumed_noise())
    odds = seen.posterior
    stands = standings(odds.nets, sure=sure)
    reasons = {one.outlet: reasons_of(seen.table, odds, one.outlet) for one in stands}
    proposed = proposals(
        stands,
        odds,
        given.readings,
        scene=given.scene,
        care=_care_of(site).__getitem__,
        sure_net=sure.net,
    )
    return Worked(
        given,
        odds,
        seen.table,
        seen.doubts,
        stands,
        reasons,
        to_repeat(seen.table, odds, seen.doubts),
        findings(given, odds),
        proposed,
    )


class _Care(dict[str, frozenset[str]]):
    def __missing__(self, entry: str) -> frozenset[str]:
        return frozenset()


def _care_of(site: Site) -> _Care:
    """By entry what care was taken: words of a tone, and whether metre marks were read."""
    care = _Care()
    for reading in site.readings:
        if reading.measured.quantity == "tone":
            words = {w.casefold() for w in reading.measured.written.split()}
            care[reading.entry] = frozenset(words & {"isolated", "confirmed"})
    for end in site.of_kind("end"):
        for head in end.fields["mark_m"].heads if "mark_m" in end.fields else ():
            care[head.entry] = frozenset({"marks"})
    return care
