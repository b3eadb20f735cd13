"""Nothing overprints: measured from the drawing alone, by the faces' own outlines, over made-up houses."""

from __future__ import annotations

import random

import hypothesis
import hypothesis.strategies as st
import pytest

from pullstring.model.entries import Scalar
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.papers.drawing import floor_svg
from pullstring.papers.ink import BLACK_ONLY
from tests.papers.house import FLOOR, TODAY, changed, entries, house
from tests.papers.plan_measures import clashes, outside, symbols, texts
from tests.tiers import slow

Rows = dict[str, dict[str, Scalar]]
WORDS = ("Hall", "Television and games room", "Gästezimmer mit Blick auf den unteren Garten", "WC", "Övre våningens trapphus",
         "Donaudampfschifffahrtsgesellschaftskapitänszimmer", "", "Store <old> & cellar", "A")  # fmt: skip


def house_of(seed: int, *, rooms: int, per_room: int, angle_deg: float, room_m: float) -> Rows:
    """Rooms in rows along a corridor, some with notches, things by chance: most on one wall, some on one point."""
    dice = random.Random(seed)
    rows: Rows = {
        "property:P": {"name": "A house made by chance, with a name that no cell of a title block ever holds in one line"},
        "building:B": {"angle_deg": angle_deg},
        "floor:F": {"building": "building:B", "name": "Ground floor of the long house", "z_m": 0},
        "floor:G": {"building": "building:B", "name": "Upper floor", "z_m": 3},
        "room:UP": {"floor": "floor:G", "name": "Loft", "outline": "0 0; 5 5"},
        "wall_type:W": {"name": "Rubble stone", "hatch": "rubble", "thickness_m": 0.5, "loss_2g4_db": 18},
        "wall_type:V": {"name": "Stud on wood lath", "hatch": "lath", "thickness_m": 0.12},
        "model:AP": {"what": "access point"}, "model:SW": {"what": "switch"},
        "company:C": {"name": "Fire watch"},
        "service:S": {"name": "line", "protected_by": "company:C", "carried_on": "end:X1", "keep": "yes"},
    }  # fmt: skip
    across = max(1, round(rooms**0.5))
    tags = []
    for n in range(rooms):
        x, y = (n % across) * room_m, (n // across) * (room_m * 0.8 + 1.5)
        w, h = room_m, room_m * 0.8
        outline = f"{x} {y}; {x + w} {y + h}"
        if dice.random() < 0.3:
            a, b = w * 0.4, h * 0.5
            outline = (
                f"{x} {y}; {x + w} {y}; {x + w} {y + h - b}; {x + w - a} {y + h - b}; {x + w - a} {y + h}; {x} {y + h}"
            )
        tag = f"R{n}"
        tags.append(tag)
        rows[f"room:{tag}"] = {"floor": "floor:F", "name": dice.choice(WORDS), "outline": outline}
        build = f"wall_type:{dice.choice('WV')}"
        rows[f"wall:{tag}a"] = {"floors": "floor:F", "line": f"{x} {y}; {x + w} {y}", "wall_type": build}
        rows[f"wall:{tag}b"] = {"floors": "floor:F", "line": f"{x} {y}; {x} {y + h}", "wall_type": build}
        rows[f"opening:{tag}d"] = {
            "wall": f"wall:{tag}a",
            "u0_m": w * 0.3,
            "u1_m": w * 0.3 + 0.8,
            "fill": dice.choice(["door", "window"]),
        }
        for i in range(per_room):
            at = {"room": f"room:{tag}", "x_m": round(x + dice.choice([0.2, 0.2, w * 0.5, dice.random() * w]), 2),
                  "y_m": round(y + dice.random() * h, 2)}  # fmt: skip
            kind = dice.choice(["outlet", "outlet", "outlet", "unit", "block"])
            own = f"{dice.choice(['O', 'Büro ', 'T-'])}{n}-{i}"
            state = {"state": dice.choice(["there", "planned", "out of use"])}
            more = (
                {"positions": 2}
                if kind == "outlet"
                else {"model": f"model:{dice.choice(['AP', 'SW'])}"}
                if kind == "unit"
                else {"rows": 10}
            )
            if kind == "unit":
                more |= {"login": dice.choice(["not ours", "unknown"])}
            rows[f"{kind}:{own}"] = {**at, **state, **more}
            if kind == "outlet":
                rows[f"cable:C{n}-{i}"] = {"jacket": "cat5e", "state": dice.choice(["there", "planned"])}
                rows[f"end:X{n}-{i}"] = {"cable": f"cable:C{n}-{i}", "room": "room:R0"}
        if dice.random() < 0.3:
            rows[f"joint:J{n}"] = {
                "room": f"room:{tag}",
                "style": dice.choice(["splice", "tap", "clip", "loop", "series"]),
            }
    some = tags[::2] if dice.random() < 0.5 else tags
    rows["pathway:V1"] = {"rooms": " & ".join(f"room:{t}" for t in some), "style": "void"}
    rows["pathway:V2"] = {"rooms": "room:R0 & room:UP", "style": "shaft"}
    return rows


def rows_of_runs(rows: Rows) -> list[dict[str, object]]:
    """The answer on runs for such a house, as far as a drawing reads it: each outlet's end goes to it."""
    outlets = {ref.rpartition(" ")[2].split(":")[-1].lstrip("OT-"): ref for ref in rows if ref.startswith("outlet:")}
    return [
        {
            "end": f"X{key}",
            "cables": [f"C{key}"],
            "to": [ref],
            "ran_at": "2026-11-01" if n % 3 else "",
            "opens": [[1]] if n % 7 == 0 else [],
        }
        for n, (key, ref) in enumerate(sorted(outlets.items()))
    ]


def told(svg: str) -> str:
    return "; ".join(f"{a.kind} {a.says!r} on {b.kind} {b.says!r}" for a, b in clashes(svg)[:5])


@pytest.mark.parametrize("scale", [50, 100, 200])
def test_plan__house_keeps_letters_and_symbols_apart(scale: int) -> None:
    for floor in (FLOOR, Ref("floor", "B1")):
        svg = floor_svg(house(), floor, scale=scale)
        assert not clashes(svg), told(svg)
        assert not outside(svg)


def test_plan__measure_sees_a_clash() -> None:
    """The same drawing with one number moved onto its neighbour is found out."""
    svg = floor_svg(house(), FLOOR)
    first, second = [t for t in texts(svg) if t.says in ("O1", "K1")]
    assert not clashes(svg)
    moved = svg.replace(">O1<", ">O1 W W W W W W W W W W W W W W W W W W W W W W W W<")
    assert first and second and clashes(moved)
    assert outside(svg.replace(">O1<", f">{'O1 ' * 200}<"))


@hypothesis.settings(max_examples=15)
@hypothesis.given(
    seed=st.integers(0, 10_000), rooms=st.integers(1, 12), per_room=st.integers(0, 8),
    angle_deg=st.sampled_from([0.0, 90.0, 17.5]), scale=st.sampled_from([50, 100]), room_m=st.sampled_from([1.2, 3.0, 5.5]),
)  # fmt: skip
def test_plan__made_up_houses_keep_letters_and_symbols_apart(
    seed: int, rooms: int, per_room: int, angle_deg: float, scale: int, room_m: float
) -> None:
    rows = house_of(seed, rooms=rooms, per_room=per_room, angle_deg=angle_deg, room_m=room_m)
    svg = floor_svg(
        replay(entries(rows), today=TODAY), Ref("floor", "F"), scale=scale, runs=rows_of_runs(rows), inks=BLACK_ONLY,
        untouchable=["outlet:O0-0", "block:T-1-1", "nonsense"], to_remove=["cable:C0-1"],
    )  # fmt: skip
    assert not clashes(svg), told(svg)
    assert not outside(svg)


@slow("80 s, a hundred and twenty houses of up to forty rooms")
@hypothesis.settings(max_examples=120)
@hypothesis.given(
    seed=st.integers(0, 10_000), rooms=st.integers(1, 40), per_room=st.integers(0, 12),
    angle_deg=st.sampled_from([0.0, 90.0, 17.5]), scale=st.sampled_from([50, 100]), room_m=st.sampled_from([1.0, 3.0, 5.5, 9.0]),
)  # fmt: skip
def test_plan__many_large_houses_keep_letters_and_symbols_apart(
    seed: int, rooms: int, per_room: int, angle_deg: float, scale: int, room_m: float
) -> None:
    rows = house_of(seed, rooms=rooms, per_room=per_room, angle_deg=angle_deg, room_m=room_m)
    svg = floor_svg(
        replay(entries(rows), today=TODAY), Ref("floor", "F"), scale=scale, runs=rows_of_runs(rows), inks=BLACK_ONLY,
        untouchable=["outlet:O0-0"], to_remove=["cable:C0-1"],
    )  # fmt: skip
    assert not clashes(svg), told(svg)
    assert not outside(svg)


def test_plan__every_thing_is_drawn_or_named() -> None:
    """Forty outlets on one point of a small room: each tag is on the sheet, beside its symbol or in the key."""
    many: dict[str, dict[str, Scalar]] = {
        f"outlet_Q{n}": {"room": "room:R5", "x_m": 6, "y_m": 7.8, "positions": 1} for n in range(40)
    }
    svg = floor_svg(changed(**many), FLOOR)
    said = " ".join(t.says for t in texts(svg)).replace(",", " ").split()
    assert not [f"Q{n}" for n in range(40) if f"Q{n}" not in said]
    assert not clashes(svg), told(svg)
    assert len([s for s in symbols(svg) if s.ref.startswith("outlet:Q")]) > 5
