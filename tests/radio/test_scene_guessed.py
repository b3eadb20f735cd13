"""Rooms as boxes and one wall word: walls between and around them are guessed, wider, and named as taken for granted."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.radio.scene_faults import scene_problems
from pullstring.radio.scene_of import Made, made_scene
from tests.journeys.lime_house import lime_house
from tests.notice.lines import site

BY = "grade=told by=OWN at=2026-03-01"
BOXES = f"""
buildings building=NB1 x_m=10 y_m=5 {BY}
floors floor=NF0 building=NB1 level=0 z_m=0 ceiling_m=2.5 {BY}
rooms room=NR1 floor=NF0 outline="0 0; 4 4" {BY}
rooms room=NR2 floor=NF0 outline="4 0; 10 3" {BY}
"""


def made(text: str, *, word: str = "walls: brick") -> Made:
    first = f'property property=NH note="{word}" {BY}\n'
    return made_scene(site(first + text), doors="usual", step_m=1.0)


def total(found: Made, skin: str) -> float:
    return sum(math.dist(w.start, w.end) for w in found.scene.walls if w.skin == skin)


def test_two_boxes__share_one_wall_and_have_the_rest_around_them() -> None:
    """4 x 4 and 6 x 3 side by side: 3 m shared; around them 16 + 18 - 2 x 3 = 28 m. One word: one build for both."""
    found = made(BOXES)
    lengths = sorted(round(math.dist(w.start, w.end), 6) for w in found.scene.walls)
    assert sum(lengths) == pytest.approx(31)
    assert {w.skin for w in found.scene.walls} == {"brick 1, guessed"}
    shared = [w for w in found.scene.walls if {w.start, w.end} == {(14, 5), (14, 8)}]
    assert len(shared) == 1 and (shared[0].z0_m, shared[0].z1_m) == (0, 2.5)
    assert [(t.code, [str(r) for r in t.of]) for t in found.taken if t.code == "walls_guessed"] == [
        ("walls_guessed", ["floor:NF0"])
    ]


def test_guessed_wall__has_the_class_loss_and_a_wider_spread() -> None:
    """3 dB of the class and 4 dB for what nobody drew make 5 dB."""
    (skin,) = [s for s in made(BOXES).scene.skins.values() if s.name == "brick 1, guessed"]
    assert (skin.loss_db["5 GHz"], skin.spread_db["5 GHz"], skin.origin) == (14, 5, "assumed")


def test_boxes_apart_by_a_wall__still_share_one_wall_half_way() -> None:
    """0.4 m between the boxes: one wall at x 4.2, not two."""
    found = made(BOXES.replace("4 0; 10 3", "4.4 0; 10.4 3"))
    inner = [w for w in found.scene.walls if math.isclose(w.start[0], 14.2) and math.isclose(w.end[0], 14.2)]
    assert len(inner) == 1 and math.dist(inner[0].start, inner[0].end) == pytest.approx(3)
    assert not [w for w in found.scene.walls if math.isclose(w.start[0], 14.4) and math.isclose(w.end[0], 14.4)]


def test_boxes_far_apart__have_walls_of_their_own() -> None:
    found = made(BOXES.replace("4 0; 10 3", "6 0; 12 3"))
    assert sum(math.dist(w.start, w.end) for w in found.scene.walls) == pytest.approx(16 + 18)


def test_two_wall_types__the_thick_one_outside() -> None:
    types = f"""
wall_types wall_type=NT1 class='brick half' thickness_m=0.12 {BY}
wall_types wall_type=NT2 class='rubble stone' thickness_m=0.5 {BY}
"""
    found = made(types + BOXES, word="")
    assert total(found, "NT1, guessed") == pytest.approx(3) and total(found, "NT2, guessed") == pytest.approx(28)


def test_one_wall_type_and_a_floor_type__the_wall_type_everywhere() -> None:
    types = f"wall_types wall_type=NT1 class='brick half' {BY}\nwall_types wall_type=NT2 class='joist floor' {BY}\n"
    assert {w.skin for w in made(types + BOXES, word="").scene.walls} == {"NT1, guessed"}


@pytest.mark.parametrize(
    ("word", "skins"),
    [
        ("walls: stone, thick", {"rubble stone, guessed"}),
        ("walls: stone and plasterboard", {"rubble stone, guessed", "plasterboard, guessed"}),
        ("metal lath everywhere", {"metal lath both sides, guessed"}),
        ("lath and plaster", {"wood lath, guessed"}),
        ("a nice place", {"unknown, guessed"}),
    ],
)
def test_wall_words__mean_classes_the_heavier_outside(word: str, skins: set[str]) -> None:
    found = made(BOXES, word=word)
    assert {w.skin for w in found.scene.walls} == skins
    if len(skins) == 2:
        assert total(found, "plasterboard, guessed") == pytest.approx(3)


def test_floor_with_a_wall__is_not_guessed_the_other_floor_is() -> None:
    more = f"""
floors floor=NF1 building=NB1 level=1 z_m=3 ceiling_m=2.5 {BY}
rooms room=NR3 floor=NF1 outline="0 0; 4 4" {BY}
wall_types wall_type=NT1 class="brick half" {BY}
walls wall=NW1 floors=NF0 line="4 0; 4 3" wall_type=NT1 {BY}
"""
    found = made(BOXES + more)
    assert [w.name for w in found.scene.walls if w.z0_m == 0] == ["NW1"]
    assert sum(math.dist(w.start, w.end) for w in found.scene.walls if w.z0_m == 3) == pytest.approx(16)
    assert {s.skin for s in found.scene.slabs if s.z_m == 3} == {"a floor of unknown build"}


def test_room_of_two_pieces__has_no_wall_between_them() -> None:
    found = made(BOXES.replace("4 0; 10 3", "4 0; 10 3 | 10 0; 12 3"))
    assert not [w for w in found.scene.walls if w.start[0] == w.end[0] == 20]


def test_boxes_turned__the_same_walls_turned() -> None:
    """A quarter turn to the left carries x, y to -y, x."""
    here, there = made(BOXES), made(BOXES.replace("y_m=5", "y_m=5 angle_deg=90"))
    for a, b in zip(here.scene.walls, there.scene.walls, strict=True):
        for (x, y), found in ((a.start, b.start), (a.end, b.end)):
            assert found == pytest.approx((10 - (y - 5), 5 + (x - 10)))


def test_no_room_at_all__an_empty_scene_and_no_error() -> None:
    found = made("")
    assert (found.scene.walls, found.scene.rooms, found.scene.slabs, found.scene.senders) == ((), (), (), ())


def test_house_of_boxes_on_two_floors__is_guessed_and_has_nothing_amiss(tmp_path: Path) -> None:
    """Three rooms below: 6x4, 6x4, 2x4 share 6 + 4 m; sides 20 + 20 + 12 less 2 x 10 is 32. Above two of 4x4: 4 and 24."""
    found = api.load(lime_house(tmp_path), Request(today="2026-03-10"))
    result = made_scene(found, doors="usual", step_m=1.0)
    sizes = {z: sum(math.dist(w.start, w.end) for w in result.scene.walls if w.z0_m == z) for z in (0, 3)}
    assert sizes == pytest.approx({0: 42, 3: 28})
    assert {w.skin for w in result.scene.walls} == {"unknown, guessed"} and scene_problems(found, result) == ()
    assert not result.scene.senders and len(result.scene.rooms) == 5
