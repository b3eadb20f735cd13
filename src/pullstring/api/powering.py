"""The verb `power`: what each port gives, what it reaches, and what is left for it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import answered, asked_for, load, problems_of
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.power.ports import JudgedPort


def power(path: Path, request: Request) -> Answer:
    """Port by port: mode match, volts and watts at the device, and the budget of each unit that gives power."""
    from pullstring.power.budget import budgets
    from pullstring.power.ports import judged_ports

    found = load(path, request)
    judged = judged_ports(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("port", "unit"))
        judged = tuple(j for j in judged if j.port in wanted or any(w.tag == j.port.parent_tag for w in wanted))
    rows = [_port(j) for j in judged]
    return answered(
        "power",
        found,
        request,
        {"ports": rows, "budgets": budgets(found, judged)},
        because=tuple(dict.fromkeys(e for j in judged for e in j.because)),
        problems=problems_of(found)[:5],
        assumed=("supply_24_nominal", "temperature_10_30", "unknown_length_0_90", "cords_not_counted"),
        cautions=("never_patch_always_on", "power_off_first"),
    )


def _port(judged: JudgedPort) -> dict[str, Any]:
    match = judged.match
    return {
        "port": judged.port.tag,
        "mode": judged.mode,
        "limit_w": judged.limit_w,
        "run": judged.run.run.start.tag if judged.run else None,
        "outlet": judged.outlet.tag if judged.outlet else None,
        "device": judged.device.tag if judged.device else None,
        "works": match.works if match else None,
        "code": match.code if match else "nothing_known_there",
        "volts": match.volts if match else None,
        "watts": match.watts if match else None,
        "hazard": bool(match and match.hazard),
        "because": list(judged.because),
    }
