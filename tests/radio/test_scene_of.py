"""From the record to the scene: places, heights, losses, points; whatever the house is called, wherever it stands."""

from __future__ import annotations

import math
import random
import re
from pathlib import Path

import numpy as np
import pytest

from pullstring.papers.sentences_scene import READING_TEACHES_NOTHING, SCENE_TAKEN
from pullstring.radio.scene import Scene
from pullstring.radio.scene_of import Made, made_scene, scene_of
from tests.radio.drawn_house import LENGTHS, house, in_feet, renamed

ROOT = Path(__file__).parents[2] / "src" / "pullstring"


def scene(doors: str = "usual", **how: object) -> Scene:
    return scene_of(house(**how), doors=doors, step_m=1.0)  # type: ignore[arg-type]


def taken(made: Made) -> dict[str, list[str]]:
    return {t.code: [str(r) for r in t.of] for t in made.taken}


def wall(found: Scene, name: str):
    return next(w for w in found.walls if w.name == name)


def test_wall__of_two_floors_stands_from_the_lower_floor_to_the_upper_ceiling() -> None:
    """Floor 1 lies at 3 m, nothing above it, ceiling 2.4 m: the top is 5.4 m."""
    assert (wall(scene(), "MW1").z0_m, wall(scene(), "MW1").z1_m) == (0, 5.4)


def test_wall__of_one_floor_reaches_to_the_next_floor_or_as_noted() -> None:
    found = scene()
    assert (wall(found, "MW5").z0_m, wall(found, "MW5").z1_m) == (0, 3)
    assert (wall(found, "MW6").z0_m, wall(found, "MW6").z1_m) == (3, 5)


def test_openings__stand_at_their_heights_with_what_is_in_them() -> None:
    openings = {o.name: o for w in scene().walls for o in w.openings}
    assert (openings["MD2"].z0_m, openings["MD2"].z1_m, openings["MD2"].skin) == (0.9, 2.1, "a window, usual")
    assert (openings["MD3"].z0_m, openings["MD3"].skin) == (3.9, "MT4")
    assert (openings["MD4"].z0_m, openings["MD4"].z1_m, openings["MD4"].skin) == (3, 5, None)
    assert openings["MD1"].skin == "a door, usual"


@pytest.mark.parametrize(("doors", "open_ones"), [("usual", {"MD4"}), ("open", {"MD1", "MD4"}), ("shut", {"MD4"})])
def test_doors__open_or_shut_as_asked_and_windows_as_they_are(doors: str, open_ones: set[str]) -> None:
    found = scene(doors)
    assert {o.name for w in found.walls for o in w.openings if o.skin is None} == open_ones


def test_doors__usually_open_are_shut_when_asked() -> None:
    usual = {"fill=door usual=shut": "fill=door usual=open"}
    door = next(o for o in wall(scene(swap=usual), "MW5").openings)
    assert door.skin is None
    assert next(o for o in wall(scene("shut", swap=usual), "MW5").openings).skin == "a door, usual"


def test_slabs__recorded_with_its_hole_and_ground_and_roof_where_none_is() -> None:
    made = made_scene(house(), doors="usual", step_m=1.0)
    slabs = {s.name: s for s in made.scene.slabs}
    assert slabs["MS1"].z_m == 3 and slabs["MS1"].skin == "MT3"
    assert area(slabs["MS1"].pieces) - area(slabs["MS1"].holes) == pytest.approx(48 - 4)
    assert {s.name: s.z_m for s in slabs.values() if s.skin == "the ground"} == {"the ground of MF0": 0}
    roofs = {s.name: (s.z_m, round(area(s.pieces), 6)) for s in slabs.values() if s.skin == "the roof"}
    assert roofs == {"the roof of MF1": (5.4, 44.0), "the roof of MF0": (2.6, 4.0)}
    assert taken(made)["roof_assumed"] == ["floor:MF0", "floor:MF1"] and taken(made)["ground_assumed"] == ["floor:MF0"]


def area(pieces) -> float:
    return sum(
        abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(p, p[1:] + p[:1], strict=True))) / 2 for p in pieces
    )


def test_skins__by_layers_by_class_by_plan() -> None:
    """Brick 225 mm between plaster loses 5.9 to 8.5 dB with interference; class and plan are the numbers written down."""
    skins = scene().skins
    assert skins["MT1"].origin == "layers" and [(x.material, x.thickness_m) for x in skins["MT1"].layers] == [
        ("plaster", 0.015),
        ("brick", 0.225),
        ("plaster", 0.015),
    ]
    assert 5.5 < skins["MT1"].loss_db["2.4 GHz"] < skins["MT1"].loss_db["5 GHz"] < 8.5
    assert (skins["MT2"].origin, skins["MT2"].loss_db["5 GHz"], skins["MT2"].spread_db["5 GHz"]) == ("class", 6, 3)
    assert (skins["MT3"].origin, skins["MT3"].loss_db["2.4 GHz"], skins["MT3"].loss_db["5 GHz"]) == ("planning", 7, 10)
    assert skins["MT3"].loss_db["6 GHz"] == 11, "class: one dB more at 6 GHz than at 5 GHz"
    assert skins["MT4"].loss_db["5 GHz"] >= 20, "coated glass is no window pane"


def test_skins__metered_beats_layers_and_is_narrow() -> None:
    row = "wall_types wall_type=MT1 loss_5g_db=12 grade=metered by=TEC at=2026-03-03\nwall_types wall_type=MT2 loss_5g_db=12 {}"
    skins = scene(add=row.format("grade=seen by=TEC at=2026-03-03")).skins
    assert (skins["MT1"].origin, skins["MT1"].layers) == ("measured", ())
    assert skins["MT1"].loss_db["5 GHz"] == 12 and skins["MT1"].spread_db["5 GHz"] < skins["MT1"].spread_db["2.4 GHz"]
    assert skins["MT2"].origin == "planning" and skins["MT2"].spread_db["5 GHz"] == 3


def test_wall_without_a_type__is_of_unknown_build_and_said_so() -> None:
    made = made_scene(house(), doors="usual", step_m=1.0)
    assert wall(made.scene, "MW7").skin == "a wall of unknown build"
    assert taken(made)["wall_type_unknown"] == ["wall:MW7"]
    assert set(made.scene.skins) >= {w.skin for w in made.scene.walls}


def test_points__lie_in_the_room_off_the_walls_and_as_far_apart_as_asked() -> None:
    rooms = {r.name: r for r in scene().rooms}
    assert [len(rooms[n].points) for n in ("MR1", "MR2")] == [24, 24], "6 m by 4 m in steps of 1 m"
    assert len(rooms["MR3"].points) == 44, "48 less the corner that is cut out"
    assert {round(p[2], 9) for p in rooms["MR1"].points} == {1.2} and {round(p[2], 9) for p in rooms["MR3"].points} == {
        4.2
    }
    for x, y, _ in rooms["MR3"].points:
        assert 0.1 <= x <= 5.9 and 0.1 <= y <= 7.9 and not (x > 4 and y > 6)


def test_points__never_on_a_wall_that_stands_in_the_room() -> None:
    extra = "walls wall=MW9 floors=MF0 line='0 2.5; 6 2.5' grade=seen by=TEC at=2026-03-01"
    hall = next(r for r in scene(add=extra).rooms if r.name == "MR1")
    assert len(hall.points) == 18 and all(abs(y - 2.5) >= 0.1 for _, y, _ in hall.points)


@pytest.mark.parametrize("outline", ["0 0; 0.15 0.15", "0 0; 0.05 3", "0 0; 90 60"])
def test_points__at_least_one_and_not_too_many(outline: str) -> None:
    row = f"rooms room=MR9 floor=MF0 outline='{outline}' grade=seen by=TEC at=2026-03-01"
    room = next(r for r in scene(add=row).rooms if r.name == "MR9")
    assert 1 <= len(room.points) <= 200 and (outline != "0 0; 90 60" or len(room.points) > 100)


def test_room__of_pieces_that_overlap_counts_no_place_twice() -> None:
    row = "rooms room=MR9 floor=MF0 outline='20 0; 24 4 | 22 0; 26 4' grade=seen by=TEC at=2026-03-01"
    room = next(r for r in scene(add=row).rooms if r.name == "MR9")
    assert area(room.pieces) == pytest.approx(24) and len(set(room.points)) == len(room.points) == 24


def test_sender__where_it_hangs_with_the_power_of_its_model() -> None:
    (sender,) = scene().senders
    assert sender.spot == pytest.approx((2, 2, 2.5)) and sender.room == "MR1" and not sender.planned
    assert dict(sender.eirp_dbm) == {"2.4 GHz": 17, "5 GHz": 22}
    assert (sender.antenna, sender.tilt_deg) == ("ceiling", -90)


def moved(spot, *, x: float, y: float, z: float, turn_deg: float):
    a = math.radians(turn_deg)
    return (
        x + spot[0] * math.cos(a) - spot[1] * math.sin(a),
        y + spot[0] * math.sin(a) + spot[1] * math.cos(a),
        z + spot[2],
    )


def test_house_turned_and_shifted__every_place_turns_with_it() -> None:
    """The building's three numbers change; every point lies where turning by hand puts it, and all else stays."""
    place = {"x_m=<0> y_m=<0> z_m=<0> angle_deg=0": "x_m=<100> y_m=<-40> z_m=<7> angle_deg=30"}
    here, there = scene(), scene(swap=place)
    for a, b in zip(here.rooms, there.rooms, strict=True):
        expected = [moved(p, x=100, y=-40, z=7, turn_deg=30) for p in a.points]
        assert np.allclose(expected, b.points, atol=1e-9)
    for a, b in zip(here.walls, there.walls, strict=True):
        assert b.start == pytest.approx(moved((*a.start, 0), x=100, y=-40, z=0, turn_deg=30)[:2])
        assert (b.name, b.skin, b.z0_m, b.z1_m) == (a.name, a.skin, a.z0_m + 7, pytest.approx(a.z1_m + 7))
        assert [(o.u0_m, o.u1_m, o.skin) for o in a.openings] == [(o.u0_m, o.u1_m, o.skin) for o in b.openings]
    assert there.senders[0].spot == pytest.approx(moved(here.senders[0].spot, x=100, y=-40, z=7, turn_deg=30))
    assert there.senders[0].azimuth_deg == pytest.approx(here.senders[0].azimuth_deg + 30)


def test_house_renamed_and_shuffled__the_same_but_for_names() -> None:
    def other(rows: list[str]) -> list[str]:
        rows = renamed(rows)
        head = [r for r in rows if not r.startswith(("walls", "rooms", "openings"))]
        rest = [r for r in rows if r not in head]
        random.Random(4).shuffle(rest)
        order = {"rooms": 0, "walls": 1, "openings": 2}
        things = [r for r in head if not r.startswith(("slabs", "models", "units", "measurements"))]
        return [*things, *sorted(rest, key=lambda r: order[r.split()[0]]), *[r for r in head if r not in things]]

    here, there = scene(), scene(lines=other)
    assert [w.name for w in here.walls] != [w.name for w in there.walls]
    assert [len(w.openings) for w in here.walls] == [len(w.openings) for w in there.walls]
    assert [r.points for r in here.rooms] == [r.points for r in there.rooms]
    assert [(w.start, w.end, w.z0_m, w.z1_m) for w in here.walls] == [
        (w.start, w.end, w.z0_m, w.z1_m) for w in there.walls
    ]
    assert [(s.z_m, s.pieces, s.holes) for s in here.slabs] == [(s.z_m, s.pieces, s.holes) for s in there.slabs]
    assert [here.skins[w.skin].loss_db for w in here.walls] == [there.skins[w.skin].loss_db for w in there.walls]
    assert [s.spot for s in here.senders] == [s.spot for s in there.senders]


def test_house_in_feet__the_same() -> None:
    here, there = scene(), scene(feet=True)
    assert here == there


def test_house_in_feet__is_really_written_in_feet() -> None:
    """Six metres are 19.685 international feet."""
    assert LENGTHS.sub(in_feet, "outline='<6 4>'") == "outline='19.68503937008 13.12335958005ft'"


def test_floors_without_height__three_metres_a_floor_and_said_so() -> None:
    made = made_scene(house(swap={"level=1 z_m=<3>": "level=1"}), doors="usual", step_m=1.0)
    assert {s.name: s.z_m for s in made.scene.slabs}["MS1"] == 3
    assert taken(made)["floor_height_assumed"] == ["floor:MF1"]


def test_planned_and_removed__planned_walls_do_not_stand_removed_rooms_are_gone() -> None:
    gone = """
walls wall=MW5 floors=MF0 line='0 4; 6 4' state=removed grade=seen by=TEC at=2026-03-03
walls wall=MW8 floors=MF0 line='0 5; 6 5' wall_type=MT2 state=planned grade=seen by=TEC at=2026-03-03
rooms room=MR2 state=removed grade=seen by=TEC at=2026-03-03
"""
    made = made_scene(house(add=gone), doors="usual", step_m=1.0)
    assert not {"MW5", "MW8"} & {w.name for w in made.scene.walls} and "MR2" not in {r.name for r in made.scene.rooms}


def test_room_not_drawn__is_named_and_the_rest_is_answered() -> None:
    row = "rooms room=MR9 floor=MF0 name=Cellar grade=told by=OWN at=2026-03-01"
    made = made_scene(house(add=row), doors="usual", step_m=1.0)
    assert [str(r) for r in made.undrawn] == ["room:MR9"] and len(made.scene.rooms) == 3


def test_doors_asked_in_another_word__is_refused() -> None:
    with pytest.raises(ValueError, match="usual, open or shut"):
        scene_of(house(), doors="ajar", step_m=1.0)


def test_every_code__of_what_is_taken_and_why_not_has_a_sentence() -> None:
    """Read from the source: no code without words, no words without a code."""
    source = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "radio").glob("scene_*.py"))
    source += (ROOT / "radio" / "readings_of.py").read_text(encoding="utf-8")
    codes = {w for w in re.findall(r'"([a-z]+(?:_[a-z]+)+)"', source)}
    assert set(SCENE_TAKEN) <= codes and set(READING_TEACHES_NOTHING) - {"stranger"} <= codes
    given = set(re.findall(r'Taken\(\s*"(\w+)"', source)) | set(re.findall(r'"(\w+_assumed)"\]', source))
    assert given and given <= set(SCENE_TAKEN)
    said = set(re.findall(r'return "(\w+)"', source[source.index("def _why_not") :]))
    assert said and said <= set(READING_TEACHES_NOTHING)
