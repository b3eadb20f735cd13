"""The frozen cases as scenes and readings."""

import json
import pathlib
from typing import Any

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.posterior import Posterior
from pullstring.trace.scene import Scene

WHERE = pathlib.Path(__file__).resolve().parents[1] / "authorities" / "tracing"
SMALL: dict[str, Any] = json.loads((WHERE / "posterior_small.json").read_text(encoding="utf-8"))
CASES: dict[str, dict[str, Any]] = {case["id"]: case for case in SMALL["cases"]}


def constants() -> dict[str, Any]:
    """Prior and noise as the cases have them."""
    p, n = SMALL["prior"], SMALL["noise"]
    noise = Noise(
        on=tuple(n["conn"]),
        beside=tuple(n["xtalk"]),
        far=tuple(n["far"]),
        remote_hit=n["remote_hit"],
        remote_false=n["remote_false"],
        pair_hit=n["pair_hit"],
        pair_false=n["pair_false"],
    )
    return {"prior": Prior(no_cable=p["nu"], by_count=tuple(p["w"]), joined=p["kappa"]), "noise": noise}


def scene(case: dict[str, Any]) -> Scene:
    """The scene of a case."""
    return Scene(case["n"], case["m"], tuple(map(tuple, case["bundles"])), tuple(map(tuple, case["blocks"])))


def readings(case: dict[str, Any]) -> list[read.Any]:
    """The log of a case."""
    return [_reading(row) for row in case["log"]]


def _reading(row: dict[str, Any]) -> read.Any:
    told: dict[str, Any] = {"key": str(row["key"]), "opened": frozenset(row.get("opened", ()))}
    match row["kind"]:
        case "tone":
            return read.Tone(outlet=row["outlet"], end=row["end"], level=row["level"], **told)
        case "bundle":
            return read.Bundle(outlet=row["outlet"], ends=frozenset(row["ends"]), level=row["level"], **told)
        case "id":
            return read.Remote(outlet=row["outlet"], end=row["end"], hit=bool(row["hit"]), **told)
        case "pairs":
            bits = row["bits"] if isinstance(row["bits"], int) else sum(1 << b for b in row["bits"])
            return read.Plugs(outlet=row["outlet"], words=dict(row["codes"]), pairs=row["pairs"], bits=bits, **told)
    return read.Short(outlets=frozenset(row["outlets"]), end=row["end"], closed=bool(row["closed"]), **told)


def furthest(case: dict[str, Any], odds: Posterior) -> float:
    """The largest difference of any chance from the frozen answer."""
    found = [float(np.abs(odds.own - np.array(case["own"])).max())] if case["n"] else [0.0]
    for outlet, known in enumerate(case["net"]):
        nets = {frozenset(ends): chance for ends, chance in known}
        found += [abs(nets.get(n, 0.0) - odds.nets[outlet].get(n, 0.0)) for n in {*nets, *odds.nets[outlet]}]
    found += [abs(odds.joined[min(a, b), max(a, b)] - chance) for a, b, chance in case["bridge"]]
    return max(found)


def apart(case: dict[str, Any], odds: Posterior) -> tuple[list[float], list[float]]:
    """Total variation by outlet: of the own end, and of the net."""
    own = list(np.abs(odds.own - np.array(case["own"])).sum(axis=1) / 2)
    nets = []
    for outlet, known in enumerate(case["net"]):
        right = {frozenset(ends): chance for ends, chance in known}
        mine = odds.nets[outlet]
        nets.append(sum(abs(right.get(n, 0.0) - mine.get(n, 0.0)) for n in {*right, *mine}) / 2)
    return own, nets
