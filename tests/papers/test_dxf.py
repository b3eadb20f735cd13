"""A floor as DXF, read back by the library: clean, in metres, with the model's areas, points and letters."""

from __future__ import annotations

import io
import os
import subprocess
import sys

import ezdxf
import pytest
import shapely

from pullstring.model.geometry import floor_plan
from pullstring.model.refs import Ref
from pullstring.papers import dxf_floor, symbols, walls
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.dxf_floor import LAYERS, NoDxf, floor_dxf
from tests.papers.house import FLOOR, changed, house


def read(made: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(made.decode("utf-8")))  # type: ignore[attr-defined]


def test_dxf__audit_finds_nothing() -> None:
    doc = read(floor_dxf(house(), FLOOR))
    audit = doc.audit()
    assert audit.errors == [] and audit.fixes == []
    assert doc.units == 6  # metre, by the DXF reference
    assert {e.dxf.layer for e in doc.modelspace()} <= set(LAYERS)


def test_dxf__areas_of_rooms_and_walls_are_those_of_the_model() -> None:
    space = read(floor_dxf(house(), FLOOR)).modelspace()
    plan = floor_plan(house(), FLOOR)

    def areas(layer: str) -> list[float]:
        found = [
            shapely.Polygon([p[:2] for p in e.get_points()]).area for e in space.query(f'LWPOLYLINE[layer=="{layer}"]')
        ]
        assert all(e.closed for e in space.query(f'LWPOLYLINE[layer=="{layer}"]'))
        return sorted(found)

    pieces = [shapely.Polygon(p).area for r in plan.rooms for p in r.pieces]
    assert areas("rooms") == pytest.approx(sorted(pieces))
    assert sum(pieces) == pytest.approx(5 * 4 + 4 * 4 + 9 * 1.4 + 2 * 2.6 + 5 * 2.6 + 2 * 2.6)
    bodies = walls.bodies(plan.walls, frozenset(), k=1.0)
    rings = [shapely.Polygon(r).area for b in bodies for r in walls.rings(b.area)]
    assert areas("walls") == pytest.approx(sorted(rings))


def test_dxf__points_tags_and_turns_of_things() -> None:
    space = read(floor_dxf(house(), FLOOR)).modelspace()
    plan = floor_plan(house(), FLOOR)
    placed = {e.get_attrib_text("TAG"): e for e in space.query("INSERT")}
    found = symbols.on_floor(house(), plan, plan.walls).symbols
    assert set(placed) == {s.tag + (" (out of use)" if s.gone else "") for s in found}
    for symbol in found:
        insert = placed[symbol.tag + (" (out of use)" if symbol.gone else "")].dxf.insert
        assert (insert.x, insert.y) == pytest.approx(symbol.at)
    assert placed["O1"].dxf.rotation % 360 == pytest.approx(270)  # its flat on the west wall, its round to the east
    assert placed["A1"].dxf.layer == "access points" and placed["A2"].dxf.layer == "to add"
    assert placed["A1"].dxf.insert.x == pytest.approx(3.2)  # as noted
    words = [e.dxf.text for e in space.query("TEXT")]
    assert "not drawn, no point noted: O6" in words and "R1, 20.0 m²" in words


def test_dxf__umlauts_and_brackets_are_kept() -> None:
    made = floor_dxf(changed(room_R1={"name": "Räucherkammer (Süd) – <alt>"}), FLOOR)
    assert "Räucherkammer (Süd) – <alt>" in [e.dxf.text for e in read(made).modelspace().query("TEXT")]


def test_dxf__door_leaf_reaches_from_its_hinge_to_the_far_jamb() -> None:
    space = read(floor_dxf(house(), FLOOR)).modelspace()
    doors = [o for w in floor_plan(house(), FLOOR).walls for o in w.openings if o.fill == "door"]
    leaves = sum(1 if o.u1_m - o.u0_m <= walls.LEAF_M else 2 for o in doors)
    arcs = list(space.query('ARC[layer=="openings"]'))
    assert len(arcs) == leaves
    assert all((a.dxf.end_angle - a.dxf.start_angle) % 360 == pytest.approx(90) for a in arcs)


def test_dxf__same_bytes_in_another_process_with_another_hash_seed() -> None:
    script = (
        "import sys; from tests.papers.house import house, FLOOR; from pullstring.papers.dxf_floor import floor_dxf;"
        "sys.stdout.buffer.write(floor_dxf(house(), FLOOR))"
    )
    for seed in ("1", "7"):  # two under which the library lists its classes in different orders
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": "Asia/Tokyo"}
        other = subprocess.run([sys.executable, "-c", script], check=True, stdout=subprocess.PIPE, env=env)
        assert other.stdout == floor_dxf(house(), FLOOR)


def test_dxf__missing_part_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf", None)  # what an import finds where it is not installed
    with pytest.raises(NoDxf, match="pip install"):
        floor_dxf(house(), FLOOR)
    assert "ezdxf" not in vars(dxf_floor)


def test_dxf__nothing_noted_says_what_to_note() -> None:
    with pytest.raises(NothingToDraw, match="note an outline"):
        floor_dxf(house(), Ref("floor", "B9"))
