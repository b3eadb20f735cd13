"""The packaged example tables are whole: known columns, valid choices, references that resolve, the right counts."""

import collections
import csv
import functools
import math
import pathlib
import re

import pytest

from pullstring.demo import STAGES

SRC = pathlib.Path(__file__).resolve().parents[2] / "src" / "pullstring"
LAMPS = tuple(folder for folder, _ in STAGES)
FOLDERS = {"two_rooms": SRC / "demo" / "two_rooms"} | {name: SRC / "demo" / "three_lamps" / name for name in LAMPS}
WHOLE = ("two_rooms", LAMPS[0])
"""Folders that can be read alone; the others stand on those before them."""
ALWAYS_THERE = {"use": {"idle", "silent"}, "stop": {"cut", "coil", "lost", "bare"}}
HOLDERS = {
    "pair": ("cable", re.compile(r"(.+)\.\d+")),
    "port": ("unit", re.compile(r"(.+)\.[^.]+")),
    "row": ("block", re.compile(r"(.+)\.\w+")),
}
LEARNT_LATER = (
    "J1",
    "J2",
    "J3",
    "J4",
    "J5",
    "J6",
    "J7",
    "shorted",
    "staple",
    "toned",
    "pinned out",
    "metered",
    "qualified",
    "cut inside",
    "downstream",
    "ceased",
    "bell board",
    "call point",
    "keypad",
    "aerial",
    "ring chain",
    "tail of the ring",
    "coil above",
    "speakers",
    "abandoned",
    "idle",
    "dead",
    "bridged",
    "chained",
    "49 V",
    "48 V",
)
"""Words that only tracing or a meter could have put there. They may not stand in the inn on arrival."""

Row = dict[str, str]


def read(path: pathlib.Path) -> list[Row]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


@functools.cache
def columns() -> dict[str, dict[str, Row]]:
    """Columns by table; evidence columns belong to all, `state` and `note` to tables of things."""
    own: dict[str, dict[str, Row]] = collections.defaultdict(dict)
    for row in read(SRC / "model" / "data" / "columns.csv"):
        own[row["table"]][row["column"]] = row
    everywhere = own.pop("*")
    for table, named in own.items():
        for name, row in everywhere.items():
            if kinds().get(table) or name not in ("state", "note"):
                named.setdefault(name, row)
    return own


@functools.cache
def kinds() -> dict[str, str]:
    return {row["table"]: row["kind"] for row in read(SRC / "model" / "data" / "tables.csv")}


@functools.cache
def demo(name: str) -> dict[str, list[Row]]:
    return {path.stem: read(path) for path in sorted(FOLDERS[name].glob("*.csv"))}


@functools.cache
def so_far(name: str) -> dict[str, list[Row]]:
    """Tables of a folder with those of all folders before it."""
    before = LAMPS[: LAMPS.index(name) + 1] if name in LAMPS else (name,)
    found: dict[str, list[Row]] = collections.defaultdict(list)
    for folder in before:
        for table, rows in demo(folder).items():
            found[table] += rows
    return found


@pytest.fixture(params=sorted(FOLDERS))
def folder(request) -> str:
    return request.param


@pytest.fixture
def tables(folder) -> dict[str, list[Row]]:
    found = demo(folder)
    assert found, "no tables; a test that reads none would pass for nothing"
    return found


@pytest.fixture(params=WHOLE)
def whole(request) -> dict[str, list[Row]]:
    return demo(request.param)


def key(tag: str) -> str:
    """Tags are compared without case and leading zeros."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", tag.strip().casefold())


def things(tables: dict[str, list[Row]]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = collections.defaultdict(set)
    for table, rows in tables.items():
        for row in rows:
            if kinds().get(table):
                found[kinds()[table]].add(key(row[tag_column(table)]))
    return found


def tag_column(table: str) -> str:
    return next(name for name, column in columns()[table].items() if column["type"] == "tag")


def resolves(kind: str, tag: str, there: dict[str, set[str]]) -> bool:
    if key(tag) in there[kind] or tag in ALWAYS_THERE.get(kind, ()):
        return True
    holder = HOLDERS.get(kind)
    found = holder[1].fullmatch(tag) if holder and kind != "port" else None
    return bool(found and holder and key(found[1]) in there[holder[0]])


def cells(tables: dict[str, list[Row]]):
    for table, rows in tables.items():
        for number, row in enumerate(rows, start=2):
            for name, text in row.items():
                if text:
                    yield f"{table} row {number} {name}: {text}", columns()[table][name], text


def by_tag(rows: list[Row], tag: str) -> dict[str, Row]:
    """Rows that speak of one thing laid together."""
    found: dict[str, Row] = collections.defaultdict(dict)
    for row in rows:
        found[row[tag]].update({name: text for name, text in row.items() if text})
    return found


def pieces(outline: str) -> list[tuple[float, float, float, float]]:
    """Rectangles of an outline; every outline here is written by opposite corners."""
    found = []
    for piece in outline.split("|"):
        corners = [tuple(map(float, p.split())) for p in piece.split(";")]
        assert len(corners) == 2, outline
        (x0, y0), (x1, y1) = corners
        found.append((x0, y0, x1, y1))
    return found


def test_columns__all_known_and_rows_whole(tables):
    for table, rows in tables.items():
        assert rows, table
        for number, row in enumerate(rows, start=2):
            assert None not in row and None not in row.values(), f"{table} row {number}: cells and columns differ"
            assert set(row) <= set(columns()[table]), table


def test_required__filled(tables):
    for table, rows in tables.items():
        for name in (n for n, c in columns()[table].items() if c["required"] == "yes"):
            assert all(row.get(name) for row in rows), f"{table}.{name}"


def test_choices__valid(tables):
    bad = [
        where
        for where, column, text in cells(tables)
        if column["type"] == "choice" and text not in column["of"].split("|")
    ]
    assert bad == []


def test_numbers__are_numbers(tables):
    bad = [
        where
        for where, column, text in cells(tables)
        if column["type"] in ("number", "whole") and text != "none" and not re.fullmatch(r"-?\d+(\.\d+)?", text)
    ]
    assert bad == []


def test_references__resolve(folder, tables):
    there, bad = things(so_far(folder)), []
    for where, column, text in cells(tables):
        form = column["type"].partition(":")[0]
        if form == "anyref":
            refs = [text]
        elif form in ("ref", "refs", "anyrefs", "relation") and text != "none":
            refs = text.split() if form in ("refs", "anyrefs") else [text]
        else:
            continue
        for ref in refs:
            named, colon, tag = ref.partition(":")
            allowed = [named] if colon else column["of"].split("|")
            right_kind = form in ("anyref", "anyrefs") or not colon or named in column["of"].split("|")
            if not right_kind or sum(resolves(kind, tag if colon else ref, there) for kind in allowed) != 1:
                bad.append(where)
    assert bad == []


def test_every_row__has_a_grade_and_things_a_date(tables):
    for table, rows in tables.items():
        assert all(row["grade"] for row in rows), table
        if columns()[table]["at"]["type"] == "when":
            assert all(row["at"] for row in rows), table


def test_every_opening__lies_in_its_wall_and_no_two_overlap(whole):
    walls = by_tag(whole["walls"], "wall")
    taken = collections.defaultdict(list)
    for row in whole["openings"]:
        ((x0, y0, x1, y1),) = pieces(walls[row["wall"]]["line"])
        u0, u1, z0, z1 = (float(row[n]) for n in ("u0_m", "u1_m", "z0_m", "z1_m"))
        assert 0 <= u0 < u1 <= math.hypot(x1 - x0, y1 - y0) and 0 <= z0 < z1, row["opening"]
        for a0, a1, b0, b1 in taken[row["wall"]]:
            assert u1 <= a0 or a1 <= u0 or z1 <= b0 or b1 <= z0, row["opening"]
        taken[row["wall"]].append((u0, u1, z0, z1))


def test_one_plug_one_port(whole):
    named = [row["plugged"] for row in whole["ends"] if row.get("plugged")]
    named += [row[side] for row in whole["plugged"] for side in ("plug", "into")]
    held = collections.Counter(key(port.removeprefix("port:")) for port in named)
    assert {port: n for port, n in held.items() if n > 1} == {}


def test_no_cable__has_more_than_two_ends(folder):
    ends = by_tag(so_far(folder)["ends"], "end")
    count = collections.Counter(key(row["cable"]) for row in ends.values() if row.get("cable"))
    assert max(count.values()) == 2
    if folder in WHOLE:
        assert set(count) == {key(row["cable"]) for row in so_far(folder)["cables"]}


def test_three_lamps__counts_of_the_scenario():
    """27 rooms, 1006.2 square metres, 30 outlets, 40 closet ends, 52 walls: the sums written down with the scenario."""
    inn = demo("1_arrival")
    rooms = by_tag(inn["rooms"], "room")
    area = sum((x1 - x0) * (y1 - y0) for room in rooms.values() for x0, y0, x1, y1 in pieces(room["outline"]))
    assert len(rooms) == 27
    assert area == pytest.approx(1006.2, abs=1e-6)
    assert [tag for tag, room in rooms.items() if room.get("closet") == "yes"] == ["M004"]
    assert len(by_tag(inn["outlets"], "outlet")) == 30
    ends = by_tag(inn["ends"], "end")
    assert sorted(t for t, e in ends.items() if e.get("room") == "M004") == [f"E{n:02d}" for n in range(1, 41)]
    assert len(by_tag(inn["cables"], "cable")) == 40
    assert len(by_tag(inn["walls"], "wall")) == 52


def test_three_lamps__every_outlet_within_0_3_m_of_an_edge_of_its_room():
    """All but the tin on a joist (O21), the socket on the desk (O23) and the one outdoors (O24)."""
    rooms = by_tag(demo("1_arrival")["rooms"], "room")
    far = set()
    for row in demo("1_arrival")["outlets"]:
        if row["outdoors"] == "yes":
            far.add(row["outlet"])
            continue
        x, y = float(row["x_m"]), float(row["y_m"])
        inside = [p for p in pieces(rooms[row["room"]]["outline"]) if p[0] <= x <= p[2] and p[1] <= y <= p[3]]
        assert inside, f"{row['outlet']} stands outside {row['room']}"
        if min(min(x - x0, x1 - x, y - y0, y1 - y) for x0, y0, x1, y1 in inside) > 0.3 + 1e-9:
            far.add(row["outlet"])
    assert far == {"O21", "O23", "O24"}


def test_three_lamps__an_end_is_on_a_cable_of_its_own_number():
    """That two closet ends belong to one cable is learnt by tone, so on arrival each has its own."""
    for tag, end in by_tag(demo("1_arrival")["ends"], "end").items():
        assert not tag.startswith("E") or end["cable"] == "C" + tag[1:]


def test_three_lamps__nothing_that_only_tracing_could_tell():
    inn = demo("1_arrival")
    assert "joints" not in inn and "acts" not in inn
    assert {row["quantity"] for row in inn["measurements"]} <= {"level 2.4 GHz", "level 5 GHz", "down", "up"}
    told = {name: rows for name, rows in inn.items() if name != "measurements"}
    text = "\n".join(where for where, _, _ in cells(told))
    assert [w for w in LEARNT_LATER if re.search(rf"(?<!\w){re.escape(w)}(?!\w)", text, re.IGNORECASE)] == []
    assert {row["grade"] for rows in told.values() for row in rows} == {"seen", "told", "assumed"}


def test_three_lamps__where_an_end_goes_is_only_told_or_assumed():
    goes = [row for row in demo("1_arrival")["claims"] if row["relation"] == "goes_to"]
    assert goes
    assert {row["grade"] for row in goes} <= {"told", "assumed"}


def test_three_lamps__label_rows_are_told_and_older():
    labels = [row for table in ("ends", "rows") for row in demo("1_arrival")[table] if row["label"]]
    assert len(by_tag([row for row in labels if "end" in row], "end")) == 26
    assert all(row["grade"] == "told" and 1994 <= int(row["at"]) <= 2006 for row in labels)


def test_three_lamps__what_is_invented_says_so():
    for row in demo("1_arrival")["openings"]:
        assert "invented for the demo" in row["note"] and row["grade"] == "assumed"
    assert all(row["grade"] == "assumed" for row in demo("1_arrival")["wall_types"])


def test_two_rooms__read_capacitance_and_loop_are_the_noted_lengths():
    """52 pF/m (usual telephone value) and 0.08421 ohm/m of 24 AWG (ASTM B258 diameter at 20 C), out and back."""
    cottage = demo("two_rooms")
    length = {row["cable"]: float(row["length_m"] or "nan") for row in cottage["cables"]}
    read_as = {row["quantity"]: float(row["value"].split()[0]) for row in cottage["measurements"]}
    assert read_as["capacitance"] == pytest.approx(length["C2"] * 0.052, abs=0.005)
    assert read_as["loop resistance"] == pytest.approx(length["C3"] * 2 * 0.08421, abs=0.005)
    assert (length["C1"], length["C4"] + length["C4b"]) == (10, 100)
