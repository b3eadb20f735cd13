"""Everything that can be asked of a site in memory: each answer must be one that JSON can hold and a page can show."""

from __future__ import annotations

import dataclasses

from pullstring.api import cutting, judging, powering
from pullstring.api.request import answered
from pullstring.copper.estimated import estimate
from pullstring.copper.judged import judged_runs
from pullstring.model.answers import Answer, plain
from pullstring.model.asbuilt import Site
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from pullstring.power.backup import backups
from pullstring.power.budget import budgets
from pullstring.power.card import MAY, supply
from pullstring.power.changes import check_mode, check_move, check_swap
from pullstring.power.heat import closet_heats
from pullstring.power.ports import judged_ports
from pullstring.power.reachable import ports_of
from tests.journeys.sites import ASKED


def shown(answer: Answer) -> None:
    plain(answer)
    assert text_page(page_of(answer, whole=True), width=100).strip()


def ask_everything(site: Site, *, most: int = 3) -> None:
    rows = [judging._run(site, estimate(site, j, kit=("meter",)), whole=True) for j in judged_runs(site)[:most]]
    shown(answered("runs", site, ASKED, {"runs": rows, "kit": []}))
    ports = judged_ports(site)
    counts = supply(site, planned=True)
    told = {
        "ports": [powering._port(site, j) for j in ports],
        "budgets": budgets(site, ports),
        "batteries": backups(site),
        "heat": closet_heats(site),
        "card": powering._cards(site, {j.port.parent_tag for j in ports}),
        "supply": {
            **{k: v for k, v in dataclasses.asdict(counts).items() if isinstance(v, int)},
            "unfed": [str(u) for u in counts.unfed],
            "free": [str(p) for p in counts.free],
        },
    }
    shown(answered("power", site, ASKED, told))
    shown(cutting._untouchable(site, ASKED))
    shown(cutting._without_mains(site, ASKED, 5.0))
    things = [
        t for t in site.things if t.kind in ("cable", "end", "unit", "socket", "row", "joint", "outlet", "pair", "port")
    ]
    for ref in things[:most]:
        shown(cutting._verdict(site, ASKED, [ref]))
    if things:
        shown(cutting._order(site, ASKED, things[:8]))
    for port in [p.ref for p in site.of_kind("port")][:most]:
        for mode in MAY:
            plain([j.verdict for j in check_mode(site, port=port, gives=mode).then])
        for end in [e.ref for e in site.of_kind("end")][:most]:
            check_move(site, plug=end, to_port=port)
    for unit in [u.ref for u in site.of_kind("unit")][:most]:
        ports_of(site, unit)
        for model in [m.ref for m in site.of_kind("model")][:most]:
            check_swap(site, unit=unit, model=model)
