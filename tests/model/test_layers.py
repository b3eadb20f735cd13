"""Layers of a wall as people write them: read strictly, one sentence a fault, the same when written again."""

from __future__ import annotations

import pytest

from pullstring.model.columns import tables
from pullstring.model.layers import BadLayers, layer_words, layers_text, parse_layers
from pullstring.radio.materials import materials
from pullstring.radio.scene_assumed import fills, wall_classes


def test_layers__millimetres_and_inches_are_one_wall() -> None:
    """An inch is 25.4 mm by definition: half an inch is 12.7 mm, nine inches are 228.6 mm."""
    assert parse_layers("plaster 0.5 in; Brick 9 in; drywall 12.7mm") == (
        ("plaster", 0.0127),
        ("brick", 0.2286),
        ("plasterboard", 0.0127),
    )


def test_layers__written_again_say_the_same() -> None:
    read = parse_layers("lime plaster 0.5 in + stone 20 in")
    assert layers_text(read) == "plaster 12.7 mm; stone 508 mm"
    assert parse_layers(layers_text(read)) == read


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("plster 15 mm", "did you mean plaster?"),
        ("brick", "has no thickness"),
        ("brick 225", "has no unit"),
        ("brick 225 mm;", "has an empty layer"),
        ("brick 0 mm", "not thicker than nothing"),
        ("brick 4 m", "look at the units"),
        ("brick 3 furlongs", "no unit of length"),
        ("metal lath 12 mm", "choose a class"),
        ("; ".join(["wood 1 mm"] * 21), "at most 20"),
    ],
)
def test_layers__each_fault_has_one_sentence(text: str, says: str) -> None:
    with pytest.raises(BadLayers, match=says):
        parse_layers(text)


def test_words__each_means_a_material_that_the_laws_know() -> None:
    assert set(layer_words().values()) <= set(materials())


def test_class_column__names_the_classes_of_the_table_and_no_others() -> None:
    column = tables()["wall_types"].column("class")
    assert column is not None and column.options == tuple(wall_classes())


def test_fill_column__each_fill_but_open_has_a_usual_leaf() -> None:
    column = tables()["openings"].column("fill")
    assert column is not None and set(column.options) == {*fills(), "open"}


@pytest.mark.parametrize("table", ["models", "units", "positions"])
def test_antenna_column__names_the_antennas_of_the_table(table: str) -> None:
    from pullstring.radio.antennas import antennas

    column = tables()[table].column("antenna")
    assert column is not None and set(column.options) == {"none", *antennas()}
