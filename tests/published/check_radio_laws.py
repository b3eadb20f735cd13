"""Which function of the program answers for which quantity of the radio check rows, and how the rows write their inputs.

Only names and units stand here: GHz to Hz, mm to m. The laws are the program's own. They are imported when a row asks for them, so
a law that is missing fails its rows and no others.
"""

from __future__ import annotations

import importlib
import math
import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from tests.radio.reference_house import BEST, STRAIGHT, levels

NUMBER = r"(-?\d+(?:\.\d+)?)"
GHZ, MM = 1e9, 1e-3
OLD_BRICK = (3.75, 0.038)
MATERIALS = {"medium_dry_ground": "ground", "plaster(board params)": "plasterboard"}
EUROPE, OTHER = "example-B", "example-A"


def law(path: str, **numbers: Any) -> Any:
    """`module.function` of the room, called."""
    module, _, function = path.rpartition(".")
    return getattr(importlib.import_module(f"pullstring.radio.{module}"), function)(**numbers)


def number(text: str, before: str, after: str = "") -> float:
    """The number between two pieces of text."""
    found = re.search(re.escape(before) + NUMBER + re.escape(after), text)
    assert found, f"{before!r} is not in {text!r}"
    return float(found[1])


def hz(text: str) -> float:
    if " MHz" in text and "f=" in text:
        return number(text, "f=", " MHz") * 1e6
    return number(text, "f=", " GHz") * GHZ


def material(text: str) -> str:
    name = re.split(r"[;:]| \d", text)[0].strip()
    return MATERIALS.get(name, name)


def of_material(text: str) -> Any:
    return importlib.import_module("pullstring.radio.materials").materials()[material(text)]


def layers(text: str) -> list[Any]:
    layer = importlib.import_module("pullstring.radio.scene").Layer
    return [
        layer(material(part.strip()), number(part, " ", " mm") * MM) for part in text.partition(";")[0].split(" | ")
    ]


def loss_db(amplitude: Any) -> float:
    return float(-20 * np.log10(np.abs(np.ravel(amplitude)[0])))


def slab(text: str) -> float:
    """Single layers, oblique ones, and stacks: all by the chain of layer matrices."""
    cos = math.cos(math.radians(number(text, "theta=")))
    polarisation = "TM" if text.endswith("TM") else "TE"
    slabs = importlib.import_module("pullstring.radio.slab")
    return loss_db(
        slabs.of_layers(layers(text), frequency_hz=hz(text), cos_incidence=cos, polarisation=polarisation)[0]
    )


def old_slab(text: str) -> float:
    relative, conductivity = (number(text, before) for before in ("parameters ", "/"))
    assert (relative, conductivity) == OLD_BRICK
    f = hz(text)
    eps = law("materials.complex_permittivity", relative=relative, conductivity_s_per_m=conductivity, frequency_hz=f)
    slabs = importlib.import_module("pullstring.radio.slab")
    thickness_m = number(text, "brick ", " mm") * MM
    return loss_db(slabs.scattering([(eps, thickness_m)], frequency_hz=f, cos_incidence=1.0, polarisation="TE")[0])


def sheet(text: str) -> float:
    amplitude = law(
        "mesh.mesh_transmission",
        cell_m=number(text, "cell ", " mm") * MM,
        wire_diameter_m=number(text, "diameter ", " mm") * MM,
        wire_ohm=0.0,
        frequency_hz=hz(text),
        cos_incidence_ratio=1.0,
        polarisation="TE",
    )
    return loss_db(amplitude)


def strips(text: str) -> float:
    amplitude = law(
        "mesh.strip_grid_transmission",
        cell_m=number(text, "cell ", " mm") * MM,
        strip_m=number(text, "strip ", " mm") * MM,
        frequency_hz=hz(text),
    )
    return loss_db(amplitude)


def cost_total(text: str) -> float:
    light, heavy, floors = (int(number(text, "; ", f" {word}")) for word in ("light", "heavy", "floor"))
    walls_db = light * number(text, "light walls ") + heavy * number(text, "heavy wall ")
    return float(
        law(
            "site_general.cost_multi_wall_db",
            distance_m=number(text, "d=", " m"),
            frequency_hz=hz(text),
            constant_db=number(text, "Lc="),
            walls_db=walls_db,
            floors_count=floors,
            floor_db=18.3,
        )
    )


def older_indoor(text: str) -> float:
    """The row names the place; N and Lf must be those of the program's own table."""
    place, band = re.search(r": (\w+) (?:apartment )?(2\.4|5\.2) GHz", text).groups()
    place = "apartment" if "apartment" in text else place
    row = importlib.import_module("pullstring.radio.site_general").power_laws()[place, f"{band} GHz"]
    return float(
        law(
            "site_general.power_law_loss_db",
            exponent=row.N / 10,
            floor_db=row.floors_db(floors_count=1),
            distance_m=number(text, "d=", " m"),
            frequency_hz=hz(text),
        )
    )


def indoor(function: str) -> Callable[[str], float]:
    return lambda i: float(law(f"site_general.{function}", distance_m=number(i, "d3D=", " m"), frequency_hz=hz(i)))


def newer_indoor(text: str) -> float:
    return float(
        law(
            "site_general.site_general_loss_db",
            place=text.partition(";")[0],
            distance_m=number(text, " d=", " m"),
            frequency_hz=hz(text),
        )
    )


def knife_db(nu: float) -> float:
    return float(law("knife_edge.knife_edge_loss_db", edge_factor=nu))


def outbuilding(text: str) -> float:
    half_m = number(text, "d1=d2=", " m")
    factor = law(
        "knife_edge.height_factor",
        height_m=number(text, "edge ", " m"),
        before_m=half_m,
        after_m=half_m,
        frequency_hz=hz(text),
    )
    return knife_db(factor)


def fresnel(text: str) -> float:
    before, after = number(text, "d1=", " m"), number(text, "d2=", " m")
    return float(law("knife_edge.fresnel_radius_m", order=1, before_m=before, after_m=after, frequency_hz=hz(text)))


def free_space(text: str) -> float:
    return float(law("free_space.free_space_loss_db", distance_m=number(text, "d=", " m"), frequency_hz=hz(text)))


def received(text: str) -> float:
    return float(
        law(
            "free_space.received_level_dbm",
            eirp_dbm=number(text, "EIRP ", " dBm"),
            loss_db=free_space(text),
            receive_gain_dbi=number(text, "receive antenna ", " dBi"),
        )
    )


def step_of(text: str) -> dict[str, Any]:
    return {"step_number": int(number(text, "MCS ")), "width_mhz": int(number(text, "; ", " MHz"))}


def sensitivity(text: str) -> float:
    return law("rate_tables.sensitivity_dbm", standard=text.split()[0], **step_of(text))


def rate(standard: str) -> Callable[[str], float]:
    return lambda i: law(
        "rate_tables.step_rate_mbps",
        standard=standard,
        streams=int(number(i, "; ", " streams")),
        guard_s=number(i, "GI ", " us") * 1e-6,
        **step_of(i),
    )


def centre(band: str) -> Callable[[str], float]:
    return lambda i: law("air.centre_mhz", band=band, channel_number=int(number(i, "channel ")))


def counted(text: str) -> float:
    """Channels or blocks that do not overlap, low power ones left out."""
    band = text[:5].replace("GHz", "").strip() + " GHz"
    band = f"{band.split()[0]} GHz"
    rules = EUROPE if "Europe" in text or "1-13" in text else OTHER
    air = importlib.import_module("pullstring.radio.air")
    if band == "2.4 GHz":
        return max(len(names) for names in air.apart(rules=rules, band=band))
    width_mhz = int(number(text, ", ", " MHz"))
    found = [one for one in air.allowed(rules=rules, band=band) if not one.low_power]
    return sum(len(one.channel.parts) * 20 == width_mhz for one in found)


def hops(text: str) -> float:
    return law("sharing.hop_share", hop_count=int(number(text, "hops="))).high


def traced(text: str, best: bool) -> float:
    variant, point = re.search(r"variant (\w+); .*point (\w+)", text).groups()
    kinds = BEST if best else STRAIGHT
    return levels(variant, number(text, "; ", " GHz") * GHZ, kinds)[point]


def same_twice_dbm(text: str) -> float:
    both = np.array([float(one) for one in re.findall(NUMBER + " dBm", text)])
    assert len(both) == 2
    return law("rates.power_sum_dbm", levels_dbm=both)


LAWS: Mapping[str, Callable[[str], float]] = {
    "free-space basic transmission loss": free_space,
    "relative permittivity, real part": lambda i: of_material(i).relative_permittivity(frequency_hz=hz(i)),
    "conductivity": lambda i: of_material(i).conductivity_s_per_m(frequency_hz=hz(i)),
    "slab transmission loss, normal incidence": slab,
    "slab transmission loss, oblique": slab,
    "slab transmission loss, older edition": old_slab,
    "multi-layer transmission loss": slab,
    "bonded square wire mesh, transmission loss": sheet,
    "square mesh outside the sheet-impedance range: strip-grid formula": strips,
    "COST 231 multi-wall floor term": lambda i: law(
        "site_general.cost_floors_db", floors_count=int(number(i, "n_floors=")), floor_db=number(i, "Lf=", " dB")
    ),
    "COST 231 multi-wall total (free space + walls + floor)": cost_total,
    "P.1238 site-general (older form 20logf+NlogD+Lf-28)": older_indoor,
    "P.1238 site-general (newer alpha-beta-gamma form, median)": newer_indoor,
    "TR 38.901 InH-Office LOS": indoor("office_los_loss_db"),
    "TR 38.901 InH-Office NLOS": indoor("office_nlos_loss_db"),
    "knife-edge loss J(nu)": lambda i: knife_db(number(i, "nu=")),
    "first Fresnel zone radius": fresnel,
    "knife-edge on a house-to-outbuilding link": outbuilding,
    "point-to-point received level": received,
    "noise floor": lambda i: law(
        "rates.noise_floor_dbm", bandwidth_hz=number(i, "B=", " MHz") * 1e6, noise_figure_db=number(i, "NF=", " dB")
    ),
    "minimum receiver sensitivity": sensitivity,
    "HE data rate": rate("HE"),
    "VHT data rate": rate("VHT"),
    "power sum of two equal levels": same_twice_dbm,
    "channel centre frequency, 2.4 GHz": centre("2.4 GHz"),
    "channel centre frequency, 5 GHz": centre("5 GHz"),
    "channel centre frequency, 6 GHz": centre("6 GHz"),
    "count of non-overlapping channels": counted,
    "single-radio relay throughput share, all hops in one contention domain": hops,
    "ray-traced received power, power sum": lambda i: traced(i, best=True),
    "received power of the straight path only": lambda i: traced(i, best=False),
}
