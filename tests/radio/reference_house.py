"""The invented house of `radio_house.json` as a scene, and what the program says at its points.

Its walls are even to the millimetre, so layers are taken with interference. The reflective sheet of the variant `lath` is no
building material; its response is put in by hand from the numbers of the file.
"""

from __future__ import annotations

import dataclasses
import functools
import json
import pathlib
from typing import Any

import numpy as np

from pullstring.radio import slab
from pullstring.radio.gates import gates_of
from pullstring.radio.materials import complex_permittivity
from pullstring.radio.paths import House, Kinds, all_paths
from pullstring.radio.scene import Layer, Opening, Scene, Skin, Slab, Wall
from pullstring.radio.skins import STEPS, Responses, responses
from pullstring.radio.surfaces import surfaces_of

FILE = pathlib.Path(__file__).parents[1] / "authorities" / "radio" / "radio_house.json"
LATH = "lath sheet"
BEST = Kinds(reflections=2, openings=2)
STRAIGHT = Kinds(reflections=0, openings=0)


@functools.cache
def told() -> dict[str, Any]:
    return json.loads(FILE.read_text("utf-8"))


def skin(name: str, *layers: Layer) -> Skin:
    none: dict[str, float] = {}
    return Skin(name, "layers", layers, none, none, none)


def named(part: dict[str, Any]) -> str:
    return f"{part['material']} {round(1000 * part['thickness'])}"


@functools.cache
def scene(variant: str) -> Scene:
    given = told()
    fills = [opening["fill"] for wall in given["walls"] for opening in wall["openings"] if opening["fill"]]
    parts = [*given["walls"], *given["slabs"], *fills]
    skins = {named(part): skin(named(part), Layer(part["material"], part["thickness"])) for part in parts}
    skins[LATH] = skin(LATH, Layer("metal", given["lath_sheet"]["thickness"]))
    sheets = given["lath_sheet"]["walls"] if variant == "lath" else ()
    walls = tuple(
        Wall(
            wall["id"],
            tuple(wall["p0"]),
            tuple(wall["p1"]),
            wall["z0"],
            wall["z1"],
            LATH if wall["id"] in sheets else named(wall),
            tuple(
                Opening(o["name"], o["u0"], o["u1"], o["z0"], o["z1"], named(o["fill"]) if o["fill"] else None)
                for o in wall["openings"]
            ),
        )
        for wall in given["walls"]
    )
    slabs = tuple(
        Slab(
            one["id"],
            one["z"],
            (box(*one["rect"]),),
            tuple(box(o["x0"], o["y0"], o["x1"], o["y1"]) for o in one["openings"]),
            named(one),
        )
        for one in given["slabs"]
    )
    return Scene(walls, slabs, (), (), skins)


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def made(variant: str, hz: float) -> Responses:
    band = "5 GHz" if hz > 4e9 else "2.4 GHz"
    found = responses(scene(variant).skins, bands=(band,), frequencies_hz=(hz,), interference=True)
    sheet = told()["lath_sheet"]
    eps = complex_permittivity(relative=sheet["eps_r"], conductivity_s_per_m=sheet["sigma"], frequency_hz=hz)
    through, back = found.through.copy(), found.back.copy()
    cosines = (np.arange(STEPS + 1) / STEPS).clip(1e-4)
    for p, polarisation in enumerate(slab.POLARISATIONS):
        k = found.names.index(LATH)
        through[0, k, p], back[0, k, p] = slab.scattering(
            [(eps, sheet["thickness"])], frequency_hz=hz, cos_incidence=cosines, polarisation=polarisation
        )
    return dataclasses.replace(found, through=through, back=back)


@functools.cache
def levels(variant: str, hz: float, kinds: Kinds) -> dict[str, float]:
    """Level at each point of the file by its name, from the sender of the file. [dBm]"""
    given = told()
    surfaces = surfaces_of(scene(variant))
    house = House(surfaces, made(variant, hz), gates_of(surfaces))
    points = np.array([[one["x"], one["y"], one["z"]] for one in given["receivers"]])
    sender = np.array([given["tx"][axis] for axis in "xyz"])
    share = np.zeros(len(points))
    for arrived in all_paths(house, sender, points, kinds):
        np.add.at(share, arrived.which, arrived.share[0])
    dbm = given["tx"]["eirp_dbm"] + 10 * np.log10(share)
    return {one["id"]: float(level) for one, level in zip(given["receivers"], dbm, strict=True)}
