"""The page of power: ports, budgets in the order of starting, batteries, heat, the port card; and a change before it is made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import interval_of, said, thing
from pullstring.papers.sentences_power import (
    BATTERY,
    BUDGET,
    CARD_MAY,
    CARD_NEVER,
    CHANGE,
    COUNTING,
    HEAT,
    POWER,
    STARTS,
)

Facts = Mapping[str, Any]
PORT_COLUMNS = ("port", "gives", "run", "device", "works", "because", "volts at the device", "watts from the port")


def power(answer: Answer) -> tuple[str, list[Block]]:
    """The page of whichever question was asked."""
    facts = answer.answer
    if "change" in facts:
        return _title(facts["change"]), _change(facts)
    blocks: list[Block] = (
        [Table(PORT_COLUMNS, tuple(_port(p) for p in facts["ports"]), "mlmmllll")]
        if facts["ports"]
        else [Para("No port that gives power was noted.")]
    )
    blocks += _open_jacks(facts["ports"])
    blocks += _budgets(facts["budgets"])
    blocks += _supply(facts["supply"])
    blocks += _batteries(facts["batteries"])
    blocks += _heat(facts["heat"])
    blocks += [block for card in facts["card"] for block in _card(card)]
    return f"Power at {answer.site}, port by port", blocks


def _port(port: Facts) -> tuple[str, ...]:
    verdict = port["verdict"] or {"works": port["works"], "code": port["code"]}
    return (
        port["port"],
        port["mode"],
        port["run"] or "–",
        port["device"] or "nobody knows",
        verdict["works"] or "–",
        said(POWER, verdict["code"]),
        interval_of(port["volts"]),
        interval_of(port["watts"]),
    )


def _open_jacks(ports: Sequence[Facts]) -> list[Block]:
    """Every open jack on a 24 V net, to be blanked or switched off before anybody leaves."""
    always = [p for p in ports if p["mode"].startswith("24 V")]
    told = tuple((p["port"], thing(r["thing"])) for p in always for r in p["reached"] if r["what"] == "open jack")
    if not told:
        return []
    return [
        Heading("Open jacks on 24 V always-on: blank them or switch the port off"),
        Table(("port", "jack"), told, "ml"),
    ]


def _budgets(budgets: Sequence[Facts]) -> list[Block]:
    if not budgets:
        return []
    sums = tuple(
        (
            b["unit"],
            figures.watts(b["budget_w"]),
            *(
                f"{figures.watts(b[k])} ({100 * b[k] / b['budget_w']:.1f} %)"
                for k in ("class_w", "plate_w", "typical_w")
            ),
            "; ".join(said(BUDGET, code) for code in b["codes"]),
        )
        for b in budgets
    )
    heads = ("unit", "budget", "by class", "by plate", "typical", "so")
    blocks: list[Block] = [Heading("What each unit can give"), Table(heads, sums, "mrrrrl")]
    for one in budgets:
        if any(step["starts"] != "starts" for order in one["orders"] for step in order["steps"]):
            blocks += [block for order in one["orders"] for block in _order(one["unit"], order)]
    return blocks


def _order(unit: str, order: Facts) -> list[Block]:
    steps = tuple(
        (
            step["port"],
            step["device"],
            interval_of(step["watts"]),
            interval_of(step["total"]),
            said(STARTS, step["starts"]),
        )
        for step in order["steps"]
    )
    return [
        Heading(f"{unit}, {said(COUNTING, order['rule'])}: who starts, in this order", 2),
        Table(("port", "device", "asks", "all so far", "so"), steps, "mmlll"),
    ]


def _supply(supply: Facts) -> list[Block]:
    ports = f"{supply['standard_ports']} standard and {supply['always_on_ports']} always-on"
    loads = f"{supply['standard_loads']} standard and {supply['always_on_loads']} always-on"
    blocks: list[Block] = [
        Para(f"Ports that give power: {ports}. Units that want it over the wire, planned ones too: {loads}.")
    ]
    if supply["unfed"]:
        free = ", ".join(thing(p) for p in supply["free"]) or "none"
        blocks.append(
            Para(f"No port feeds: {', '.join(thing(u) for u in supply['unfed'])}. Ports with nothing on them: {free}.")
        )
    return blocks


def _batteries(batteries: Sequence[Facts]) -> list[Block]:
    told = tuple(
        (
            b["unit"],
            interval_of(b["minutes"]),
            interval_of(b["by_peukert"]),
            interval_of(b["by_energy"]),
            interval_of(b["load"]),
            ", ".join(thing(u) for u in b["units"]) or "nothing",
            "; ".join(said(BATTERY, code) for code in b["codes"]),
        )
        for b in batteries
    )
    if not told:
        return []
    heads = ("UPS", "holds", "by its current", "by its energy", "carries", "on its battery", "this rests on")
    return [Heading("How long batteries hold"), Table(heads, told, "mllllll")]


def _heat(heats: Sequence[Facts]) -> list[Block]:
    told = tuple(
        (
            h["room"],
            interval_of(h["heat"]),
            interval_of(h["btu_per_h"]),
            "; ".join(said(HEAT, code) for code in h["codes"]),
        )
        for h in heats
    )
    if not told:
        return []
    return [
        Heading("Heat that stays in a closet"),
        Table(("room", "heat", "the same", "this rests on"), told, "mlll"),
        Para("Power that is handed on warms the room at the far end, not the closet."),
    ]


def _card(card: Facts) -> list[Block]:
    rows = tuple(
        (
            p["port"],
            p["gives"] or "nobody knows",
            {"yes": "saved", "no": "not saved"}.get(p["saved"], "not noted"),
            ", ".join(p["devices"]) or "–",
            CARD_MAY.get(p["gives"], "nothing before it is metered"),
            CARD_NEVER.get(p["gives"], "anything"),
        )
        for p in card["ports"]
    )
    heads = ("port", "gives", "setting", "now on it", "may be plugged in", "never")
    return [Heading(f"Card for the closet door: {card['unit']}"), Table(heads, rows, "mllmll")]


def _title(change: Facts) -> str:
    of = thing(change["of"])
    if "gives" in change:
        return f"If {of} is set to {change['gives']}"
    if "to" in change:
        return f"If {of} is moved to port {change['to']}"
    return f"If {of} is swapped for one of model {change['model']}"


def _change(facts: Facts) -> list[Block]:
    blocks: list[Block] = [
        Heading(f"{facts['verdict']}: {thing(facts['change']['of'])}"),
        Para("; ".join(said(CHANGE, code) for code in facts["why"]) + "."),
    ]
    if facts["protected"]:
        blocks.append(
            Para("Protected: " + "; ".join(f"{thing(k)}, only {v}" for k, v in facts["protected"].items()) + ".")
        )
    if facts["dark"]:
        blocks.append(Para("Goes dark: " + "; ".join(s["name"] or thing(s["service"]) for s in facts["dark"]) + "."))
    if facts["loses"]:
        blocks.append(Para("Loses its power: " + ", ".join(thing(u) for u in facts["loses"]) + "."))
    if facts["put_back"]:
        back = tuple(
            (b["port"], b["gives"], {"yes": "saved", "no": "not saved"}.get(b["saved"], "not noted"))
            for b in facts["put_back"]
        )
        blocks += [Heading("To put it back", 2), Table(("port", "gives now", "setting"), back, "mll")]
    for title, ports in (("Now", facts["now"]), ("Then", facts["then"])):
        if ports:
            blocks += [Heading(title, 2), Table(PORT_COLUMNS, tuple(_port(p) for p in ports), "mlmmllll")]
    return blocks
