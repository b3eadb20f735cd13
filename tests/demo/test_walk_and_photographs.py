"""The walk holds bare readings that follow from a truth no program reads; the photographs are drawn and small."""

import collections
import importlib.util
import pathlib
import re
import sys

import PIL.Image
import pytest

from tests.demo.test_demo_tables import FOLDERS, LAMPS, SRC, demo, key, things


def test_walk__holds_readings_and_what_is_seen_but_no_place_to_which_an_end_goes():
    walk = demo("2_walk")
    assert set(walk) == {"measurements", "ends", "photos"}
    assert "cable" not in walk["ends"][0] and "goes_to" not in walk["ends"][0]
    assert {row["grade"] for rows in walk.values() for row in rows} == {"metered", "seen", "ran"}


def test_walk__protected_ends_have_no_reading_and_one_only_volts():
    read_on = collections.defaultdict(set)
    for row in demo("2_walk")["measurements"]:
        read_on[row["subject"]].add(row["quantity"])
        assert not re.search(r"from end:E(04|05|06|26|27)\b", row["value"])
    for tag in ("04", "05", "26", "27"):
        assert not {s for s in read_on if s == f"end:E{tag}" or s.startswith(f"pair:C{tag}.")}
    assert read_on["end:E06"] == {"volts DC", "volts AC"}


def test_walk__volts_come_before_tone_and_ohms():
    """A tone set or an ohmmeter on a live pair does harm, so both kinds of volts are read first and found without."""
    volts: dict[str, dict[str, str]] = collections.defaultdict(dict)
    checked = 0
    for row in sorted(demo("2_walk")["measurements"], key=lambda r: r["at"]):
        source = row["value"].split()[2].removeprefix("end:") if row["quantity"] == "tone" else ""
        if row["quantity"].startswith("volts"):
            volts[row["subject"].removeprefix("end:")][row["quantity"]] = row["value"]
        elif row["subject"].startswith("end:E") and row["quantity"] in ("resistance", "loop resistance", "capacitance"):
            source = row["subject"].removeprefix("end:")
        if source:
            assert volts[source] == {"volts DC": "none", "volts AC": "none"}, source
            checked += 1
    assert checked > 50


def test_walk__follows_from_the_truth_byte_by_byte(tmp_path):
    tool("make_walk").make(tmp_path)
    for table in ("measurements", "ends"):
        assert (tmp_path / f"{table}.csv").read_bytes() == (FOLDERS["2_walk"] / f"{table}.csv").read_bytes()


def test_truth__is_read_by_no_program():
    assert [p for p in SRC.rglob("*.py") if re.search(r"truth(_far_ends)?\.csv", p.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("name", LAMPS[2:])
def test_after_a_visit__what_is_only_planned_says_so(name):
    """New rows of things that are not there yet: a later folder or an act puts them in."""
    acted = {row["subject"] for row in demo(name)["acts"] if row["act"] == "put in"}
    before = things({t: rows for f in LAMPS[: LAMPS.index(name)] for t, rows in demo(f).items()})
    for row in demo(name)["units"]:
        new = key(row["unit"]) not in before["unit"] and row.get("model")
        if new and row.get("state") != "planned":
            assert f"unit:{row['unit']}" in acted or row["unit"] == "INJ6", row["unit"]


def tool(name: str):
    path = SRC.parents[1] / "tools" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def pictures() -> list[pathlib.Path]:
    return sorted((SRC / "demo").glob("*/*/photos/*"))


def test_photographs__are_eight_small_ones_and_each_has_its_row():
    rows = {(name, row["file"]): row for name in LAMPS for row in demo(name).get("photos", [])}
    assert set(rows) == {(p.parents[1].name, p.name) for p in pictures()}
    assert len(rows) == 8
    assert all(p.stat().st_size < 40_000 and p.read_bytes().startswith(b"\xff\xd8\xff") for p in pictures())
    assert all("drawn stand-in, invented" in row["note"] and row["of"] for row in rows.values())
    assert [row["photo"] for row in rows.values() if row["privacy"] == "private"] == ["PH7"]
    assert {row["privacy"] for row in rows.values()} == {"open", "site", "private"}


def test_photographs__one_has_a_position_in_the_sea():
    """0 N 0 E lies in the Gulf of Guinea, some 600 km from land."""
    found = {p.name: dict(PIL.Image.open(p).getexif().get_ifd(0x8825)) for p in pictures()}
    assert [name for name, position in found.items() if position] == ["mast_from_yard.jpg"]
    position = found["mast_from_yard.jpg"]
    north, east = ([float(x) for x in position[n]] for n in (2, 4))
    assert (position[1], position[3]) == ("N", "E")
    assert north[0] + north[1] / 60 + north[2] / 3600 < 0.1
    assert east[0] + east[1] / 60 + east[2] / 3600 < 0.1


def test_photographs__drawn_again_are_the_same(tmp_path):
    drawing = tool("draw_photos")
    for picture in drawing.PICTURES:
        one, two = drawing.write(picture, tmp_path / "a"), drawing.write(picture, tmp_path / "b")
        assert one.read_bytes() == two.read_bytes()
        committed = PIL.Image.open(SRC / "demo" / "three_lamps" / picture.stage / "photos" / picture.file)
        assert committed.size == PIL.Image.open(one).size
