"""What hangs on what: lines only in lanes, none through a box, power told from data by shape, doubt by a broken line."""

from __future__ import annotations

import random
import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from pullstring.papers.ink import BLACK_ONLY, DAY, NIGHT
from pullstring.papers.riser import riser_svg
from pullstring.papers.riser_layout import BOX_W, laid
from pullstring.papers.typst_page import drawing_sheet
from tests.papers.closet_house import SVG, classes_in, group, outside, overprinted, texts, words_in

Tree = dict[str, Any]


def node(ref: str, **more: Any) -> dict[str, Any]:
    kind, _, tag = ref.partition(":")
    plain = {"name": "", "what": "", "room": "", "floor": "", "building": "", "state": "", "guard": None}
    return {
        "ref": ref,
        "kind": kind,
        "tag": tag,
        **plain,
        "is_off": False,
        "power_not_known": False,
        "services": [],
        **more,
    }


def edge(start: str, to: str, signal: str = "data", grade: str | None = "seen", **more: Any) -> dict[str, Any]:
    plain = {"port": "", "into": "", "gives": "", "cables": [], "planned": False, "contradicted": False, "because": []}
    return {
        "from": start,
        "to": to,
        "signal": signal,
        "grade": grade,
        "unsure": grade in ("told", "assumed"),
        **plain,
        **more,
    }


def tree(nodes: list[dict[str, Any]], edges: list[dict[str, Any]], **more: Any) -> Tree:
    floors = [
        {"tag": f"F{n}", "name": f"floor {n}", "level": n, "building": "B", "building_name": "House"} for n in (1, 0)
    ]
    plain = {"property": "Mill house (invented)", "as_of": "", "floors": floors, "aside": [], "not_arriving": []}
    return {**plain, "nodes": nodes, "edges": edges, **more}


def small() -> Tree:
    on = {"floor": "F0", "building": "B", "room": "Larder"}
    up = {"floor": "F1", "building": "B", "room": "Study"}
    return tree(
        [
            node("circuit:MAIN", name="larder"),
            node("socket:X1", **on),
            node(
                "unit:S1",
                name="switch",
                **on,
                services=[{"ref": "service:N", "name": "bookings", "keep": True, "arrives": True}],
            ),
            node("unit:L1", name="alarm panel", guard="ALC", **on),
            node("end:E9", name="exchange"),
            node("outlet:O1", **up),
            node("unit:A1", name="access point", **up),
            node("unit:A2", name="second access point", state="planned", **up),
        ],
        [
            edge("circuit:MAIN", "socket:X1", "power"),
            edge("socket:X1", "unit:S1", "power"),
            edge("unit:S1", "outlet:O1", "power", port="S1.1", gives="802.3af", cables=["C1"]),
            edge("unit:S1", "outlet:O1", port="S1.1", cables=["C1"]),
            edge("outlet:O1", "unit:A1"),
            edge("unit:S1", "unit:A2", grade="told", planned=True),
            edge("end:E9", "unit:L1", "line", grade="told"),
            edge("unit:A1", "unit:S1", "power", grade="assumed"),
        ],
        aside=[node("outlet:O7", room="Attic")],
    )


def houses() -> list[Tree]:
    """Trees, rings, fans and chains over three buildings with long names."""
    made = []
    for seed in range(12):
        rng = random.Random(seed)
        count = rng.choice([1, 2, 8, 25, 60])
        nodes = [
            node(
                f"{rng.choice(['unit', 'outlet', 'socket', 'circuit'])}:T{n}",
                name=rng.choice(["", "switch", "Wetterstation über dem hinteren Scheunentor, nicht zugänglich"]),
                room=rng.choice(["", "Larder", "Owner's sitting room behind the stairs"]),
                floor=rng.choice(["", "F0", "F1"]),
                building=rng.choice(["", "B", "Barn"]),
                guard=rng.choice([None, None, None, "ALC"]),
                state=rng.choice(["", "", "planned", "out of use"]),
            )
            for n in range(count)
        ]
        edges: dict[tuple[str, str, str], dict[str, Any]] = {}
        for _ in range(2 * count):
            a, b, signal = rng.choice(nodes)["ref"], rng.choice(nodes)["ref"], rng.choice(["data", "power", "line"])
            if a != b:
                edges[a, b, signal] = edge(
                    a,
                    b,
                    signal,
                    rng.choice([None, "seen", "told"]),
                    port="T1.16",
                    cables=["C1", "a very long cable tag"],
                )
        made.append(tree(nodes, list(edges.values())))
    return made


def strokes(svg: str) -> list[tuple[int, tuple[float, float, float, float]]]:
    """Straight pieces of all nets with the number of their net; the white core of the power left out."""
    found = []
    for number, g in enumerate(ET.fromstring(svg).iter(f"{SVG}g")):
        if g.get("data-ref"):
            continue
        for path in g.iter(f"{SVG}path"):
            if path.get("class") == "core":
                continue
            for run in path.get("d", "").split("M")[1:]:
                points = [tuple(float(v) for v in p.split()) for p in run.split("L")]
                found += [(number, (*a, *b)) for a, b in zip(points, points[1:], strict=False)]
    return found


def boxes(svg: str) -> list[tuple[float, float, float, float]]:
    found = []
    for rect in ET.fromstring(svg).iter(f"{SVG}rect"):
        if rect.get("class") in ("face", "new") and float(rect.get("width", 0)) == BOX_W:
            x, y, w, h = (float(rect.get(n, 0)) for n in ("x", "y", "width", "height"))
            found.append((x, y, x + w, y + h))
    return found


@pytest.mark.parametrize("made", [small(), *houses()])
def test_riser__lines_are_square_keep_out_of_boxes_and_off_each_other(made: Tree) -> None:
    svg = riser_svg(made)
    lines, filled = strokes(svg), boxes(svg)
    assert len(filled) == len(made["nodes"])
    for _, (x0, y0, x1, y1) in lines:
        assert x0 == x1 or y0 == y1
        for a, b, c, d in filled:
            assert not (min(x0, x1) < c - 0.01 and a + 0.01 < max(x0, x1) and b < y0 < d), "level through a box"
            assert not (a < x0 < c and min(y0, y1) < d - 0.01 and b + 0.01 < max(y0, y1)), "upright through a box"
    for n, (one, p) in enumerate(lines):
        for other, q in lines[n + 1 :]:
            if one != other and (p[0] == p[2]) == (q[0] == q[2]):
                k = 0 if p[0] == p[2] else 1
                apart = abs(p[k] - q[k]) > 0.8
                lo = max(min(p[1 - k], p[3 - k]), min(q[1 - k], q[3 - k]))
                hi = min(max(p[1 - k], p[3 - k]), max(q[1 - k], q[3 - k]))
                assert apart or hi - lo < 0.01, "two lines on each other"


@pytest.mark.parametrize("made", [small(), *houses(), tree([], [])])
def test_riser__no_words_lie_on_words_or_over_the_frame_or_out_of_their_box(made: Tree) -> None:
    svg = riser_svg(made)
    assert overprinted(svg) == [] and outside(svg) == []
    filled = boxes(svg)
    assert not [
        (a, b)
        for n, a in enumerate(filled)
        for b in filled[n + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


def test_riser__power_is_double_data_single_line_dashed() -> None:
    svg = riser_svg(small())
    by_title = {g.find(f"{SVG}title").text: classes_in(g) for g in ET.fromstring(svg).iter(f"{SVG}g")}  # type: ignore[union-attr]
    assert {"double", "core"} <= by_title["power from MAIN to X1"]
    assert "heavy" in by_title["data from S1 to O1, A2"] and "double" not in by_title["data from S1 to O1, A2"]
    assert {"heavy", "dash"} <= by_title["line from E9 to L1"]


def test_riser__doubt_breaks_the_line_with_a_question_mark_and_words() -> None:
    svg = riser_svg(small())
    nets = {g.find(f"{SVG}title").text: g for g in ET.fromstring(svg).iter(f"{SVG}g")}  # type: ignore[union-attr]
    assert words_in(nets["line from E9 to L1"]) == ["?"] and words_in(nets["power from X1 to S1"]) == []
    assert "line E9 · told ?" in words_in(group(svg, "unit:L1"))
    assert "802.3af S1.1 · C1 · seen" in words_in(group(svg, "outlet:O1"))


def test_riser__planned_is_red_guarded_barred_aside_listed() -> None:
    svg = riser_svg(small())
    assert "new" in classes_in(group(svg, "unit:A2")) and "to be added" in words_in(group(svg, "unit:A2"))
    assert "bars" in classes_in(group(svg, "unit:L1")) and "DO NOT TOUCH: only ALC" in " ".join(
        words_in(group(svg, "unit:L1"))
    )
    assert {"O7", "Attic"} <= set(words_in(group(svg, "outlet:O7")))
    assert "must stay: bookings" in words_in(group(svg, "unit:S1"))
    assert DAY.red in svg and DAY.red not in riser_svg(small(), inks=BLACK_ONLY)


def test_riser__higher_floor_is_higher_and_a_breaker_stands_left() -> None:
    made = laid(small())
    assert made.boxes["unit:A1"].y < made.boxes["unit:S1"].y
    assert made.boxes["circuit:MAIN"].column == 0 < made.boxes["socket:X1"].column
    assert made.boxes["circuit:MAIN"].band == made.boxes["socket:X1"].band


def test_riser__printer_reads_it_in_all_inks_and_same_bytes() -> None:
    for inks in (DAY, NIGHT, BLACK_ONLY):
        svg = riser_svg(small(), inks=inks)
        assert svg == riser_svg(small(), inks=inks)
        assert not re.search(r"font:|var\(|vector-effect|calc\(", svg)
        assert drawing_sheet(svg, title="riser", form="png", ppi=40).startswith(b"\x89PNG")


def test_riser__nothing_noted_says_so() -> None:
    assert "Nothing that hangs on anything is noted yet." in texts(riser_svg(tree([], [])))
