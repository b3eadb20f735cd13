"""Compiles the kernels once, at set-up: `python -m pullstring.radio.warming`. Without a compiler it does nothing."""

from __future__ import annotations

import numpy as np

from pullstring.radio.paths import Kinds
from pullstring.radio.scene import Layer, Opening, Scene, Sender, Skin, Slab, Wall
from pullstring.radio.traced import trace_scene


def small_house() -> Scene:
    """A wall with an open door, another beside it, and a floor: every kind of path has one to follow."""
    skin = Skin("board", "layers", (Layer("plasterboard", 0.013),), {}, {}, {})
    door = Opening("door", 1.0, 1.9, 0.0, 2.0, None)
    walls = (
        Wall("a", (0.0, 0.0), (4.0, 0.0), 0.0, 2.5, "board", (door,)),
        Wall("b", (0.0, 2.0), (4.0, 2.0), 0.0, 2.5, "board", (door,)),
    )
    floor = Slab("floor", 0.0, (((0.0, -2.0), (4.0, -2.0), (4.0, 4.0), (0.0, 4.0)),), (), "board")
    sender = Sender("one", (1.0, -1.0, 2.0), {"5 GHz": 20.0}, 1.0, "omni", 0.0, 0.0, "", False)
    return Scene(walls, (floor,), (), (sender,), {"board": skin})


def warm() -> None:
    """Trace the small house with every kind of path."""
    points = np.array([[3.0, 3.0, 1.0], [0.5, 1.0, 1.0]])
    for kinds in (Kinds(0, 1), Kinds(1, 2), Kinds(2, 2)):
        trace_scene(small_house(), points, bands=("5 GHz",), kinds=kinds)


if __name__ == "__main__":
    warm()
