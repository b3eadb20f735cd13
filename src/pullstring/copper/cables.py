"""The kinds of cable jacket met in old houses, read from `cables.csv`.

What stands there is marked row by row: published, from memory, common practice or assumed by us.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping

from pullstring.model.answers import Band, Interval

RATES_MBPS = (10, 100, 1000)
"""Rates that are judged. [Mb/s]"""

PAIRS_NEEDED = {10: 2, 100: 2, 1000: 4}
"""Pairs that each rate takes. IEEE 802.3 clauses 14, 25 and 40 (the count read in a published text)."""

UNKNOWN = "unknown"


@dataclasses.dataclass(frozen=True)
class CableKind:
    """One kind of jacket: what is inside it and what such a cable usually carries when whole and unspliced.

    `pairs` and `twisted` are None where the kind does not tell. `awg` runs from the thickest to the thinnest
    wire met in that jacket.
    """

    name: str
    family: str
    pairs: int | None
    twisted: bool | None
    awg_typical: int
    awg: Interval
    capacitance_f_per_m: Interval
    bands: Mapping[int, Band]
    provenance_wire: str
    provenance_bands: str

    @property
    def known(self) -> bool:
        """Whether the jacket was recognised."""
        return self.name != UNKNOWN

    @property
    def usual_mbps(self) -> int:
        """Highest rate that has the best band of this kind; 0 when no rate is to be expected. [Mb/s]"""
        order = list(Band)
        best = min(self.bands.values(), key=order.index)
        return 0 if best is Band.NO else max(r for r, band in self.bands.items() if band is best)

    @property
    def min_good_pairs(self) -> int:
        """Whole pairs that the usual rate takes; 0 when there is no usual rate."""
        return PAIRS_NEEDED.get(self.usual_mbps, 0)


def cable_kind(name: str) -> CableKind:
    """The kind of that name, compared without case and outer spaces; a name not in the table is `unknown`."""
    kinds = cable_kinds()
    return kinds.get(" ".join(name.casefold().split()), kinds[UNKNOWN])


@functools.cache
def cable_kinds() -> Mapping[str, CableKind]:
    """All kinds by name, in the order of the table."""
    text = importlib.resources.files("pullstring.copper").joinpath("cables.csv").read_text(encoding="utf-8")
    return {row["kind"]: _kind(row) for row in csv.DictReader(text.splitlines())}


def _kind(row: Mapping[str, str]) -> CableKind:
    return CableKind(
        name=row["kind"],
        family=row["family"],
        pairs=int(row["pairs"]) if row["pairs"] else None,
        twisted={"yes": True, "no": False, "": None}[row["twisted"]],
        awg_typical=int(row["awg_typical"]),
        awg=Interval(float(row["awg_low"]), float(row["awg_high"]), "AWG"),
        capacitance_f_per_m=Interval(
            float(row["capacitance_low_f_per_m"]), float(row["capacitance_high_f_per_m"]), "F/m"
        ),
        bands={rate: Band(row[f"band_{rate}"]) for rate in RATES_MBPS},
        provenance_wire=row["provenance_wire"],
        provenance_bands=row["provenance_bands"],
    )
