"""Channels of the access points, and links through the air between buildings, as parts of the page of signal.

`channels` by band: `choices` (`name`, `channel`, `width_mhz`, `overlaps`: `other`, `how`, `above_db`; `moved`, `kept`,
`narrow`), `overlap_db`, `present_db` (the same sum for the channels as they are), `overlap_proven`, `over_rules` (`sender`,
`why`: channel or power, `channel`, `noted_dbm`, `most_dbm`). A link: `near`, `far`,
`length_m`, `clear_ratio` (share of the zone that is clear), `level_dbm`, `to_spare_db`, `rate_mbps` (each `low`, `high`),
`rise` (`near_m`, `far_m`, `both_m`), `cautions`. Over the air: `sender`, `way`, `band`, `low_dbm`, `high_dbm`, `low_mbps`,
`high_mbps`, the same `alone_`, `taken_as_fed`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences import CAUTIONS
from pullstring.papers.sentences_signal import AIR, LINK
from pullstring.papers.words_signal_said import between, decibels, rate, share

Facts = Mapping[str, Any]


def channels(found: Mapping[str, Facts], rules: Facts | None = None) -> list[Block]:
    """The channel of each access point, band by band, with what it shares, and by which rules."""
    rows = tuple(
        (one["name"], band, str(one["channel"]), _wide(one), _stays(one), _shared(one.get("overlaps") or ()))
        for band, plan in found.items()
        for one in plan.get("choices") or ()
    )
    if not rows:
        return []
    told = [Para(line) for band, plan in found.items() if (line := _overlap(band, plan))]
    told = [*([Para(_by_rules(rules))] if rules else []), *told]
    heads = ("access point", "band", "channel", "MHz wide", "now", "shares with")
    over = [Para(_over(one, plan["rules"])) for plan in found.values() for one in plan.get("over_rules") or ()]
    return [Heading("Channels"), *told, Table(heads, rows, "mlrrll"), *over]


def _by_rules(rules: Facts) -> str:
    """By which rules, and why by these."""
    named, held = rules["named"], rules["held"]
    known = named.casefold() in (one.casefold() for one in held)
    why = AIR["rules named" if known else "rules not held" if named else "rules not named"]
    return why.format(rules["rules"], rules["edition"], named, ", ".join(held))


def _over(one: Facts, rules: str) -> str:
    """What is noted of an access point and not allowed."""
    if one["why"] == "channel":
        return AIR["no such channel"].format(one["sender"], one["band"], one["channel"], rules)
    powers = (decibels(one[name]) for name in ("noted_dbm", "most_dbm"))
    return AIR["too strong"].format(one["sender"], one["band"], one["channel"], rules, *powers)


def _wide(one: Facts) -> str:
    if not one.get("width_mhz"):
        return "–"
    return f"{one['width_mhz']:g}" + "".join(AIR[name] for name in ("narrow", "radar") if one.get(name))


def _stays(one: Facts) -> str:
    if "present" in one and one["present"] is None and not one.get("kept"):
        return AIR["set"]
    return AIR["must keep"] if one.get("kept") else AIR["change"] if one.get("moved") else AIR["keep"]


def _shared(overlaps: Sequence[Facts]) -> str:
    told = [AIR[o["how"]].format(o["other"], f"{o['above_db']:g}") for o in overlaps]
    return ", ".join(told) or AIR["nobody"]


def _overlap(band: str, plan: Facts) -> str:
    least, now = plan.get("overlap_db"), plan.get("present_db")
    if least is None:
        return ""
    so = AIR["free"] if least == 0 else AIR["overlap"].format(f"{least:g}")
    proven = AIR["proven" if plan.get("overlap_proven") else "not proven"]
    worse = AIR["as now"].format(f"{now:g}") if now is not None and now > least else ""
    return f"{band}: {so}, {proven}{worse}."


def air(found: Sequence[Facts]) -> list[Block]:
    """What hangs on each access point, and the share of its airtime that the needs there take."""
    rows = tuple(
        (
            one["sender"],
            one["band"],
            str(len(one["rooms"])),
            str(len(one["needs"])),
            _percent(one["percent"]),
            _percents(one["low_percent"], one["high_percent"]),
            _percent(one["with_others_percent"]) if one["with_others_percent"] is not None else "–",
            ", ".join(one["waits_for"]) or AIR["nobody"],
            _air_so(one),
        )
        for one in found
        if one["needs"]
    )
    heads = ("access point", "band", "rooms", "needs", "its air", "4 in 5", "with others", "takes turns with", "so")
    return [Heading("Share of the air"), Table(heads, rows, "mlrrrlrll")] if rows else []


def _percents(low: float, high: float) -> str:
    a, b = _percent(low), _percent(high)
    return a if a == b else f"{a.removesuffix(' %')} to {b}"


def _air_so(one: Facts) -> str:
    told = [AIR["busy"]] if one["busy"] else []
    if one.get("not_reached"):
        count = len(one["not_reached"])
        told.append(AIR["no link" if count > 1 else "one no link"].format(count))
    return "; ".join(told) or "–"


def _percent(value: float) -> str:
    if value < 1:
        return AIR["nothing much"]
    return f"{round(value)} %" if value < 1000 else AIR["far too much"]


def uplinks(found: Sequence[Facts], over_air: Sequence[Facts] = ()) -> list[Block]:
    """Ways to feed an access point where no twisted pair can be had; over the air for those of the site that have no wire."""
    rows = [(u["way"], rate((u["low_mbps"], u["high_mbps"])), u["says"]) for u in found if "low_mbps" in u]
    for hop in (h for u in found for h in u.get("hops", ()) if h["hops"] > 1):
        rows.append((AIR["hops"].format(hop["hops"]), "–", AIR["of one hop"].format(_shares(hop))))
    if not rows and not over_air:
        return []
    told: list[Block] = [Heading(AIR["feeds"])]
    if over_air:
        heads = ("access point", "way", "band", "weakest hop, dBm", "Mb/s, one radio", "Mb/s, a radio each hop")
        told += [Table(heads, tuple(map(_over_air, over_air)), "mllrrr"), Para(AIR["arrives"])]
        if over_air[0]["taken_as_fed"]:
            told.append(Para(AIR["taken as fed"]))
    if rows:
        told += [Table(("way", "Mb/s", "so"), tuple(rows), "lrl"), Para(AIR["practice"])]
    return told


def _over_air(one: Facts) -> tuple[str, ...]:
    if not one["way"]:
        return (one["sender"], AIR["not reached"], "–", "–", "–", "–")
    rates = (rate((one[f"{which}low_mbps"], one[f"{which}high_mbps"])) for which in ("", "alone_"))
    levels = between(one["low_dbm"], one["high_dbm"], bare=True)
    return (one["sender"], AIR["then"].join(one["way"]), one["band"], levels, *rates)


def _shares(hop: Facts) -> str:
    low, high = (round(100 * hop[name]) for name in ("low_share", "high_share"))
    return f"{low} %" if low == high else f"{low} to {high} %"


def links(found: Sequence[Facts]) -> list[Block]:
    """Links through the air between buildings."""
    rows = tuple(
        (
            f"{one['near']} to {one['far']}",
            figures.metres(one["length_m"]),
            _clear(one.get("clear_ratio")),
            _higher(one.get("rise")),
            between(*_weaker(one), bare=True),
            _decibels(one.get("to_spare_db")),
            rate(_ends(one["rate_mbps"])) if one.get("rate_mbps") else "–",
        )
        for one in found
    )
    if not rows:
        return []
    heads = ("from and to", "far", "zone clear", "to be clear", "dBm, weaker way", "dB to spare", "Mb/s")
    codes = dict.fromkeys(c for one in found for c in one.get("cautions") or ())
    taken = dict.fromkeys(c for one in found for c in one.get("assumed") or ())
    met = [(one, [sentence(LINK, kind) for kind in one.get("in_the_way") or ()]) for one in found]
    return [
        Heading("Between buildings"),
        Table(heads, rows, "lrrllll"),
        *(Para(LINK["in the way"].format(one["near"], one["far"], ", ".join(told))) for one, told in met if told),
        Para(" ".join([LINK["spared"], *(sentence(LINK, code) for code in taken)])),
        *(Para(CAUTIONS.get(code) or LINK[code], "caution") for code in dict.fromkeys(["mast_trades", *codes])),
    ]


def _clear(ratio: float | None) -> str:
    """How much of the first zone is clear, of what matters."""
    return AIR["all clear"] if ratio is None or ratio >= 1 else AIR["cut"] if ratio < 0 else f"{round(100 * ratio)} %"


def _weaker(one: Facts) -> Any:
    """The level in the weaker of both directions."""
    ways = [_ends(one[name]) for name in ("level_dbm", "back_dbm") if one.get(name) is not None]
    return min(ways, default=(None, None))


def _ends(value: Any) -> Any:
    """Both ends of a range, however it is written; None twice where there is none."""
    if value is None:
        return (None, None)
    return (value["low"], value["high"]) if isinstance(value, Mapping) else tuple(value)


def _decibels(value: Any) -> str:
    low, high = _ends(value)
    return "–" if low is None else share(low, high) if decibels(low) != decibels(high) else decibels(low)


def _higher(rise: Facts | None) -> str:
    """How much higher an end must stand so that the zone is clear."""
    if rise is None:
        return "–"
    if rise.get("both_m") == 0:
        return AIR["high enough"]
    told = [
        AIR[end].format(figures.metres(rise[f"{end}_m"])) for end in ("near", "far", "both") if rise.get(f"{end}_m")
    ]
    return " or ".join(told) or AIR["no height"]
