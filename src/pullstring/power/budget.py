"""What a unit can give against what hangs on it: by class, by plate, typical. The three may disagree, and all are told."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.power.classes import power_class
from pullstring.power.ports import JudgedPort


@dataclasses.dataclass(frozen=True)
class Budget:
    """Watts of one unit: what it can give, and three sums of what is asked of it."""

    unit: str
    budget_w: float
    class_w: float
    plate_w: float
    typical_w: float


def budgets(found: Site, judged: Sequence[JudgedPort]) -> tuple[Budget, ...]:
    """Watts by class, by plate and typical for each unit with a budget. 24 V devices count their greatest draw as class."""
    out = []
    for unit in found.of_kind("unit"):
        model = found.get(unit.ref_of("model"))
        budget = model.number("budget_w") if model else None
        devices = [
            m
            for j in judged
            if j.port.parent_tag == unit.ref.tag and j.device and (m := found.get(_model_ref(found, j.device)))
        ]
        if budget is None or not devices:
            continue
        most = [m.number("max_w") or 0.0 for m in devices]
        by_class = [
            power_class(class_number=int(c)).pse_power.value if (c := m.number("class")) is not None else w
            for m, w in zip(devices, most, strict=True)
        ]
        out.append(
            Budget(
                unit.ref.tag,
                budget,
                sum(by_class),
                sum(most),
                sum(m.number("typical_w") or m.number("max_w") or 0.0 for m in devices),
            )
        )
    return tuple(out)


def _model_ref(found: Site, unit: Ref) -> Ref | None:
    thing = found.get(unit)
    return thing.ref_of("model") if thing else None
