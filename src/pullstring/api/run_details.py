"""How each figure of a run came about, for its own page: makeup, length, readings, margins, limits, tests."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pullstring.copper.estimated import EstimatedRun
    from pullstring.copper.makeup import RateMargin
    from pullstring.model.asbuilt import Site


def details(found: Site, estimated: EstimatedRun) -> dict[str, Any]:
    """Everything that stands behind one run."""
    judged, length = estimated.judged, estimated.judged.said
    return {
        "makeup": [_part(part) for part in estimated.made.makeup.parts],
        "length_from": [
            {"source": s.source, "pair": s.pair, "length": s.interval, "assumed": s.assumed, "because": s.because}
            for s in length.sources
        ],
        "length_agrees": length.agree,
        "findings": [
            {"source": f.source, "pair": f.pair, "causes": f.causes, "too_many": f.amount, "because": f.because}
            for f in length.findings
        ],
        "opens": length.opens,
        "wires": length.wires,
        "readings": [
            {
                "quantity": s.taken.quantity,
                "written": s.taken.reading.measured.written,
                "pair": s.taken.pair,
                "not_used": s.rejected,
                "causes": s.causes,
                "verdict": s.compared.verdict,
                "expected": s.compared.expected,
                "stop": s.stop,
                "because": s.because,
            }
            for s in estimated.said
        ],
        "margins": [_margin(m) for m in estimated.margins],
        "limits": _limits(judged.jackets),
        "tests": [
            {
                "test": w.test.name,
                "minutes": w.test.minutes,
                "kit": sorted(w.test.kit),
                "at_hand": w.at_hand,
                "at_best": {"mbps": w.best.mbps, "band": w.best.band},
                "at_worst": {"mbps": w.worst.mbps, "band": w.worst.band},
            }
            for w in estimated.worth
        ],
        "assumed": list(dict.fromkeys((*estimated.made.assumed, *length.assumed))),
    }


def _part(part: Any) -> dict[str, Any]:
    kind = type(part).__name__.lower()
    if kind == "splice":
        return {"part": "joint", "kind": part.kind}
    stretch = part.stretch if kind == "branch" else part
    return {
        "part": "branch" if kind == "branch" else "cord" if stretch.cord else "cable",
        "jacket": stretch.jacket,
        "length": stretch.length_m,
        "temperature": stretch.temperature_c,
        "untwisted": stretch.untwisted_m,
        "gauge": stretch.awg,
    }


def _margin(margin: RateMargin) -> dict[str, Any]:
    out = {f.name: getattr(margin, f.name) for f in dataclasses.fields(margin)}
    out["notch"] = (
        {"frequency": margin.notch.frequency, "depth": margin.notch.depth} if margin.notch is not None else None
    )
    return out


def _limits(jackets: tuple[str, ...]) -> list[dict[str, Any]]:
    """The standard's own limits of loss and crosstalk for the least category of the run, at the main frequencies."""
    from pullstring.copper.by_standard import CATEGORIES
    from pullstring.copper.limits_channel import What, channel_limit, link_limit
    from pullstring.copper.line_jackets import line_jacket

    categories = [line_jacket(name).category for name in jackets]
    if not categories or not all(categories):
        return []
    least = min(categories, key=CATEGORIES.index)
    at_hz = 16e6 if least == "3" else 100e6
    return [
        {"what": what, "of": of, "category": least, "frequency_hz": at_hz, "limit": limit}
        for of, law in (("channel", channel_limit), ("permanent link", link_limit))
        for what in (What.LOSS, What.NEXT)
        for limit in (law(category=least, what=what, frequency_hz=at_hz),)
    ]
