"""What is taken for granted when a record becomes a scene: classes of walls, fills of openings, powers, heights. Data, ours."""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Iterable, Mapping

from pullstring.model.layers import parse_layers
from pullstring.model.refs import Ref
from pullstring.radio.scene import Layer


@dataclasses.dataclass(frozen=True)
class Taken:
    """Something taken for granted: a code, and the things it was taken of."""

    code: str
    of: tuple[Ref, ...]


@dataclasses.dataclass(frozen=True)
class WallClass:
    """What walls of one kind do: loss by band in the order 2.4, 5, 6 GHz, its spread, loss of a reflection."""

    name: str
    use: str
    loss_db: tuple[float, float, float]
    spread_db: float
    mirror_db: float
    hatch: str
    words: tuple[str, ...]
    thickest_m: float | None
    provenance: str


@dataclasses.dataclass(frozen=True)
class Fill:
    """What usually stands in an opening of one kind, and from which height to which."""

    name: str
    layers: tuple[Layer, ...]
    spread_db: float
    usual: str
    foot_m: float
    head_m: float


@dataclasses.dataclass(frozen=True)
class Power:
    """What a unit of one kind is taken to radiate where nobody noted it, by band; and its antenna."""

    eirp_dbm: Mapping[str, float]
    antenna: str


@functools.cache
def assumed(name: str) -> float:
    """An assumed number by its name, which bears its unit."""
    return {r["name"]: float(r["value"]) for r in _rows("scene_assumed.csv")}[name]


@functools.cache
def wall_classes() -> Mapping[str, WallClass]:
    """All classes by name, in the order of the table."""
    return {
        r["class"]: WallClass(
            r["class"],
            r["use"],
            (float(r["loss_2g4_db"]), float(r["loss_5g_db"]), float(r["loss_6g_db"])),
            float(r["spread_db"]),
            float(r["mirror_db"]),
            r["hatch"],
            tuple(w for w in r["words"].split("|") if w),
            float(r["thickest_m"]) if r["thickest_m"] else None,
            r["provenance"],
        )
        for r in _rows("wall_classes.csv")
    }


@functools.cache
def fills() -> Mapping[str, Fill]:
    """All fills by name."""
    return {
        r["fill"]: Fill(
            r["fill"],
            tuple(Layer(material, thickness) for material, thickness in parse_layers(r["layers"])),
            float(r["spread_db"]),
            r["usual"],
            float(r["foot_m"]),
            float(r["head_m"]),
        )
        for r in _rows("fills.csv")
    }


@functools.cache
def powers() -> Mapping[str, Power]:
    """What is assumed of units by what they are."""
    return {
        r["what"]: Power({"2.4 GHz": float(r["eirp_2g4_dbm"]), "5 GHz": float(r["eirp_5g_dbm"])}, r["antenna"])
        for r in _rows("assumed_senders.csv")
    }


def gathered(taken: Iterable[Taken]) -> tuple[Taken, ...]:
    """One entry a code, with all its things in order, each once."""
    groups: dict[str, set[Ref]] = {}
    for one in taken:
        groups.setdefault(one.code, set()).update(one.of)
    return tuple(Taken(code, tuple(sorted(groups[code]))) for code in sorted(groups))


def _rows(name: str) -> list[dict[str, str]]:
    text = importlib.resources.files("pullstring.radio").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
