"""What is assumed of old wiring, of instruments and of time: inputs of every function here, all ours and marked assumed.

Nobody measured them; `assumed.csv` may be edited to one's own experience. Every figure made with them moves with them.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources

Levels = tuple[float, float, float]
"""Chances of hearing nothing, a faint tone, a loud one."""


@dataclasses.dataclass(frozen=True)
class Prior:
    """Weights before anything is read: an outlet without a cable, an end by its count of outlets, each joining on a block."""

    no_cable: float
    by_count: tuple[float, ...]
    joined: float


@dataclasses.dataclass(frozen=True)
class Noise:
    """What instruments show: tone levels on a connected end, beside one, and elsewhere; remotes; pairs read closed."""

    on: Levels
    beside: Levels
    far: Levels
    remote_hit: float
    remote_false: float
    pair_hit: float
    pair_false: float


@dataclasses.dataclass(frozen=True)
class Costs:
    """Seconds that acts take, walking speed [m/s], seconds a floor of stairs takes."""

    place_s: float
    retrieve_s: float
    touch_s: float
    bundle_s: float
    clip_s: float
    mark_s: float
    read_s: float
    tag_s: float
    enter_s: float
    walk_m_per_s: float
    stairs_s: float


@dataclasses.dataclass(frozen=True)
class Sure:
    """From which chance on an outlet is settled: on a net, or without a cable here."""

    net: float
    none: float


@functools.cache
def constants() -> dict[str, float]:
    """Every assumed constant by its name."""
    text = (importlib.resources.files("pullstring.trace") / "assumed.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


def assumed_prior() -> Prior:
    """The assumed weights."""
    c = constants()
    counts = c["prior_outlets_0"], c["prior_outlets_1"], c["prior_outlets_2"], c["prior_outlets_3"]
    return Prior(no_cable=c["prior_no_cable"], by_count=counts, joined=c["prior_joined"])


def assumed_noise() -> Noise:
    """The assumed behaviour of instruments."""
    c = constants()

    def levels(where: str) -> Levels:
        return c[f"tone_{where}_none"], c[f"tone_{where}_faint"], c[f"tone_{where}_loud"]

    return Noise(
        on=levels("on"),
        beside=levels("beside"),
        far=levels("far"),
        remote_hit=c["remote_hit"],
        remote_false=c["remote_false"],
        pair_hit=c["pair_hit"],
        pair_false=c["pair_false"],
    )


def assumed_costs() -> Costs:
    """The assumed seconds."""
    c = constants()
    named = {
        f: c[f"cost_{f}"]
        for f in ("place_s", "retrieve_s", "touch_s", "bundle_s", "clip_s", "mark_s", "read_s", "tag_s", "enter_s")
    }
    return Costs(**named, walk_m_per_s=c["walk_m_per_s"], stairs_s=c["stairs_s"])


def assumed_sure() -> Sure:
    """From when on an outlet counts as settled."""
    c = constants()
    return Sure(net=c["sure_net"], none=c["sure_none"])
