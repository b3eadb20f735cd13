"""What each wall type and each fill does to a signal: metered, else by its layers, else as planned, else by its class."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.layers import BadLayers, parse_layers
from pullstring.radio.scene import BANDS, MIDDLE_HZ, Layer, Skin
from pullstring.radio.scene_assumed import Fill, WallClass, assumed, wall_classes
from pullstring.radio.skins import normal_loss_db

LOSSES = {"2.4 GHz": "loss_2g4_db", "5 GHz": "loss_5g_db", "6 GHz": "loss_6g_db"}
UNKNOWN = "unknown"
METERED = "metered"
"""Grade of a loss that was found from two readings; it is a measurement, the others are plans."""


def skin_of(thing: Thing) -> Skin:
    """The skin of a wall type, under its tag."""
    kind, said = class_of(thing), _said(thing)
    layers = _layers(thing)
    metered = {band for band in said if _is_metered(thing, LOSSES[band])}
    origin = (
        "measured"
        if metered
        else "layers"
        if layers
        else "planning"
        if said
        else "class"
        if _named(thing)
        else "assumed"
    )
    loss = {band: _loss(band, said, kind) for band in BANDS}
    spread = {band: _spread(thing, band, origin=origin, metered=band in metered, kind=kind) for band in BANDS}
    mirror = {band: kind.mirror_db for band in BANDS}
    return _straight_on(Skin(thing.ref.tag, origin, layers if origin == "layers" else (), loss, spread, mirror))


def class_of(thing: Thing) -> WallClass:
    """The class of a wall type: as noted, else by how it is drawn and how thick it is, else unknown."""
    classes = wall_classes()
    if (named := thing.text("class")) in classes:
        return classes[named]
    hatch, thickness = thing.text("hatch"), thing.number("thickness_m")
    fitting = [c for c in classes.values() if c.hatch and c.hatch == hatch]
    for one in fitting:
        if one.thickest_m is None or (thickness is not None and thickness <= one.thickest_m):
            return one
    return classes[UNKNOWN]


def class_skin(kind: WallClass, name: str) -> Skin:
    """A skin of a class alone."""
    return Skin(
        name,
        "assumed",
        (),
        dict(zip(BANDS, kind.loss_db, strict=True)),
        {band: kind.spread_db for band in BANDS},
        {band: kind.mirror_db for band in BANDS},
    )


def fill_skin(fill: Fill, name: str) -> Skin:
    """The skin of a leaf or pane of the usual kind."""
    nothing = {band: 0.0 for band in BANDS}
    return _straight_on(Skin(name, "assumed", fill.layers, nothing, {b: fill.spread_db for b in BANDS}, nothing))


def _straight_on(skin: Skin) -> Skin:
    """The skin with the loss of its layers written beside them, for those who ask for one number."""
    if not skin.layers:
        return skin
    loss = {band: normal_loss_db(skin, band=band, frequency_hz=MIDDLE_HZ[band]) for band in BANDS}
    return dataclasses.replace(skin, loss_db=loss)


def guessed(skin: Skin, name: str) -> Skin:
    """The same skin for walls that nobody drew: wider, for their doors are not known either."""
    extra = assumed("guessed_wall_extra_db")
    spread = {band: (s * s + extra * extra) ** 0.5 for band, s in skin.spread_db.items()}
    return dataclasses.replace(skin, name=name, origin="assumed", spread_db=spread)


def wall_types(site: Site) -> tuple[Thing, ...]:
    """The wall types of a site that stand."""
    return tuple(t for t in site.of_kind("wall_type") if t.stands)


def _named(thing: Thing) -> bool:
    return thing.text("class") in wall_classes()


def _said(thing: Thing) -> dict[str, float]:
    return {band: value for band, name in LOSSES.items() if (value := thing.number(name)) is not None}


def _is_metered(thing: Thing, name: str) -> bool:
    return thing.fields[name].last.evidence.grade == METERED


def _layers(thing: Thing) -> tuple[Layer, ...]:
    try:
        return tuple(Layer(material, thickness) for material, thickness in parse_layers(thing.text("layers")))
    except BadLayers:
        return ()


def _loss(band: str, said: Mapping[str, float], kind: WallClass) -> float:
    """As said; else as said for the nearest band, changed by as much as the class changes from there; else of the class."""
    by_class = dict(zip(BANDS, kind.loss_db, strict=True))
    if band in said:
        return said[band]
    if not said:
        return by_class[band]
    place = BANDS.index(band)
    near = min(said, key=lambda other: (abs(BANDS.index(other) - place), -BANDS.index(other)))
    return max(0.0, said[near] + by_class[band] - by_class[near])


def _spread(thing: Thing, band: str, *, origin: str, metered: bool, kind: WallClass) -> float:
    if metered:
        return assumed("measured_spread_db")
    if (noted := thing.number("spread_db")) is not None:
        return noted
    if origin in ("class", "assumed") or kind.name != UNKNOWN:
        return kind.spread_db
    return assumed("layers_spread_db" if origin == "layers" else "planning_spread_db")
