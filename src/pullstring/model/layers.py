"""What a wall is made of, as people write it: `plaster 15 mm; brick 225 mm; plaster 15 mm`, from one face to the other."""

from __future__ import annotations

import csv
import functools
import re
from collections.abc import Mapping, Sequence
from importlib import resources

from pullstring.model.columns import did_you_mean
from pullstring.model.units import BadQuantity, number_text, parse_quantity

Layers = tuple[tuple[str, float], ...]
"""Materials with their thickness. [m]"""
THICKEST_M = 3.0  # ours: no wall of a house is thicker; beyond it a unit was mixed up
MOST_LAYERS = 20  # ours

_LAYER = re.compile(r"([^\d.,]+?)\s*([\d.,].*)")
_NUMBER_ALONE = re.compile(r"[\d.,]+")
_MESHES = ("metal lath", "wire lath", "chicken wire", "wire mesh", "mesh")
"""No layers: what a mesh in plaster does cannot be told from its thickness."""


class BadLayers(ValueError):
    """A list of layers cannot be read; its text is the sentence."""


@functools.cache
def layer_words() -> Mapping[str, str]:
    """The material that each word for a layer means."""
    text = (resources.files("pullstring.model") / "data" / "layer_words.csv").read_text(encoding="utf-8")
    return {row["word"]: row["material"] for row in csv.DictReader(text.splitlines())}


def parse_layers(text: str) -> Layers:
    """Layers from one face to the other; raises BadLayers with what is wrong and what would be right."""
    parts = [p.strip() for p in re.split(r"[;+]", text)]
    if any(not p for p in parts):
        raise BadLayers(f"{text!r} has an empty layer; write layers as plaster 15 mm; brick 225 mm; plaster 15 mm")
    if len(parts) > MOST_LAYERS:
        raise BadLayers(f"{len(parts)} layers are more than a wall has; write at most {MOST_LAYERS}")
    layers = tuple(_layer(p) for p in parts)
    if (total := sum(t for _, t in layers)) > THICKEST_M:
        raise BadLayers(
            f"{text!r} is {total:g} m thick in all; no more than {THICKEST_M:g} m can be; look at the units"
        )
    return layers


def layers_text(layers: Sequence[tuple[str, float]]) -> str:
    """The canonical text of layers, in millimetres."""
    return "; ".join(f"{material} {number_text(float(f'{t * 1000:.12g}'))} mm" for material, t in layers)


def _layer(part: str) -> tuple[str, float]:
    found = _LAYER.fullmatch(part)
    word = " ".join((found[1] if found else part).casefold().split())
    if word in _MESHES:
        raise BadLayers(f"{word!r} is no layer, for no thickness tells its loss; leave layers blank and choose a class")
    material = layer_words().get(word)
    if material is None:
        known = ", ".join(dict.fromkeys(layer_words().values()))
        close = did_you_mean(word, layer_words())
        raise BadLayers(f"{word!r} is no material of a layer{close}; known are {known}")
    if not found:
        raise BadLayers(f"{part!r} has no thickness; write it after the material, as {word} 15 mm")
    if _NUMBER_ALONE.fullmatch(found[2].strip()):
        raise BadLayers(f"{part!r} has no unit; write mm, cm, m or in after the number")
    try:
        read = parse_quantity(found[2], "length")
    except BadQuantity as error:
        raise BadLayers(f"{part!r}: {error}") from error
    if not read.value > 0:
        raise BadLayers(f"{part!r} is not thicker than nothing; write how thick it is")
    return material, read.value
