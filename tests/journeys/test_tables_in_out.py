"""Tables in and out: CSV and workbook alike, against rows written by hand; maps for foreign sheets; nothing passed over."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from pullstring import api
from pullstring.log import attachments
from pullstring.log.refusals import RecordError
from pullstring.log.store import open_store
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from tests.journeys.sites import ASKED, HAND, make, packaged, write

DOC = Path(__file__).parents[2] / "docs" / "foreign_sheets.md"


def begun(folder: Path) -> Path:
    path = folder / "a.site"
    api.new(path, ASKED, code="WM", name="", **HAND)
    return path


def site_of(path: Path):
    with open_store(path, read_only=True) as store:
        return replay(store.entries(), today=ASKED.today)


def book(path: Path, sheets: dict[str, list[list[object]]], **options: object) -> Path:
    made = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, **options})
    day = made.add_format({"num_format": "yyyy-mm-dd"})
    for name, rows in sheets.items():
        sheet = made.add_worksheet(name)
        for r, row in enumerate(rows):
            for c, cell in enumerate(row):
                if isinstance(cell, dt.date):
                    sheet.write_datetime(r, c, cell, day)
                elif isinstance(cell, str) and cell.startswith("{="):
                    sheet.write_formula(r, c, cell[1:-1], value="")
                else:
                    sheet.write(r, c, cell)
    made.close()
    return path


BY_HAND = {
    "Rooms": [["room", "name", "height_m"], ["R1", "Wheel house", 3], ["R2", "=1+1", 2.75]],
    "cables": [
        [],
        ["cable", "length_ft", "pairs", "at"],
        ["C1", 82, 4, dt.date(2026, 3, 3)],
        ["C2", "120,5", 4.0, "1994"],
    ],
    "measurements": [["subject", "quantity", "value", "key"], ["cable:C1", "capacitance", "2,6 nF", "k1"]],
}


def test_workbook__cells_written_by_hand_arrive_as_they_were_meant(tmp_path: Path) -> None:
    path = begun(tmp_path)
    said = api.import_(path, ASKED, folder=book(tmp_path / "s.xlsx", BY_HAND), **HAND).answer
    assert (said["tables"], said["rows"]) == (3, 5)
    found = site_of(path)
    room, one, two = found.things[Ref("room", "R2")], found.things[Ref("cable", "C1")], found.things[Ref("cable", "C2")]
    assert (room.get("name"), room.get("height_m")) == ("=1+1", 2.75)
    assert one.number("length_m") == pytest.approx(82 * 0.3048) and one.number("pairs") == 4
    assert two.number("length_m") == pytest.approx(120.5 * 0.3048)
    assert [one.fields["pairs"].last.at.text, two.fields["pairs"].last.at.text] == ["2026-03-03", "1994"]
    assert [(r.measured.value_si, r.measured.key) for r in found.readings] == [(pytest.approx(2.6e-9), "k1")]
    again = api.import_(path, ASKED, folder=tmp_path / "s.xlsx", **HAND).answer
    assert again["entered"] == 0 and again["already"] == said["entered"] + said["already"]


@pytest.mark.parametrize("name", ["two_rooms", "three_lamps/1_arrival"])
def test_workbook_and_csv__say_the_same(tmp_path: Path, name: str) -> None:
    path = make(tmp_path, packaged(name), code="TLH" if "lamps" in name else "KC")
    api.export(path, ASKED, folder=tmp_path / "out.xlsx")
    api.export(path, ASKED, folder=tmp_path / "csv")
    sites = []
    for number, source in enumerate((tmp_path / "out.xlsx", tmp_path / "csv")):
        other = tmp_path / f"{number}.site"
        api.new(other, ASKED, code=site_of(path).property_tag, name="", **HAND)
        api.import_(other, ASKED, folder=source, **HAND)
        sites.append(site_of(other))
        crossed = api.import_(other, ASKED, folder=tmp_path / "csv", **HAND).answer
        assert crossed["entered"] == 0, "the CSV files after the workbook add nothing"
    plain = [
        [(str(t.ref), {n: [h.value for h in f.heads] for n, f in t.fields.items()}) for t in s.things.values()]
        for s in sites
    ]
    assert plain[0] == plain[1]
    claims = [[(str(c.subject), c.relation, str(c.object), c.support, c.status) for c in s.claims] for s in sites]
    assert (
        claims[0]
        == claims[1]
        == [(str(c.subject), c.relation, str(c.object), c.support, c.status) for c in site_of(path).claims]
    )


def test_workbook__same_site_same_bytes_and_the_file_is_whole(tmp_path: Path) -> None:
    path = make(tmp_path, packaged("two_rooms"))
    for name in ("a.xlsx", "b.xlsx"):
        api.export(path, ASKED, folder=tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    assert zipfile.ZipFile(tmp_path / "a.xlsx").testzip() is None
    assert not list(tmp_path.glob("*.part"))


WRONG: dict[str, tuple[object, str]] = {
    "no table": ({"rums": [["room"], ["R1"]]}, "there is no table 'rums'; did you mean rooms?"),
    "moment": ({"rooms": [["room", "at"], ["R1", dt.datetime(2026, 3, 3, 14, 5)]]}, "without its offset"),
    "formula": ({"rooms": [["room", "name"], ["R1", "{=A1}"]]}, "never worked out"),
    "empty file": (b"", "the file is empty"),
    "no workbook": (b"PK\x03\x04 nothing", "no workbook"),
    "locked": (bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600), "password"),
}


@pytest.mark.parametrize("name", WRONG)
def test_workbook__what_is_wrong_is_told_and_nothing_entered(tmp_path: Path, name: str) -> None:
    content, words = WRONG[name]
    path, file = begun(tmp_path), tmp_path / "s.xlsx"
    if isinstance(content, bytes):
        file.write_bytes(content)
    else:
        book(file, content)
    before = path.read_bytes()
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=file, **HAND)
    assert len(refused.value.faults) == 1 and words in refused.value.faults[0] and "s.xlsx" in refused.value.faults[0]
    assert path.read_bytes() == before


def test_folder__nothing_is_passed_over_in_silence(tmp_path: Path) -> None:
    path, folder = begun(tmp_path), tmp_path / "in"
    write(folder, {"rooms": [{"room": "R1"}]})
    book(folder / "more.xlsx", {"Cables": [["cable"], ["C1"]]})
    (folder / "letter.pdf").write_bytes(b"%PDF-1.4")
    (folder / "~$more.xlsx").write_bytes(b"lock")
    said = api.import_(path, ASKED, folder=folder, **HAND).answer
    assert said["unread"] == ["letter.pdf"] and said["tables"] == 2
    (folder / "old.ods").write_bytes(b"PK")
    with pytest.raises(api.BadRequest, match="save it as .xlsx"):
        api.import_(path, ASKED, folder=folder, **HAND)


NASTY = ["=1+1", "+49 30 1", "-", "@cmd", "'quoted", "''=x", "line\nbreak", 'say "no"', "a;b,c", "007", "1e5"]
NASTY += ["ÄÖ 漢字 🐙", "x" * 5000]


@pytest.mark.parametrize("form", ["csv", "out.xlsx"])
def test_nasty_cells__out_and_in_unchanged(tmp_path: Path, form: str) -> None:
    path = begun(tmp_path)
    for n, text in enumerate(NASTY):
        api.add(path, ASKED, table="rooms", cells={"room": f"R{n}", "note": text}, **HAND)
    api.export(path, ASKED, folder=tmp_path / form)
    other = tmp_path / "b.site"
    api.new(other, ASKED, code="WM", name="", **HAND)
    api.import_(other, ASKED, folder=tmp_path / form, **HAND)
    assert [site_of(other).things[Ref("room", f"R{n}")].get("note") for n in range(len(NASTY))] == NASTY


def test_csv__no_cell_that_a_spreadsheet_would_run(tmp_path: Path) -> None:
    path = begun(tmp_path)
    api.add(path, ASKED, table="rooms", cells={"room": "R1", "note": '=HYPERLINK("x")', "height_m": "-0"}, **HAND)
    api.export(path, ASKED, folder=tmp_path / "csv")
    cells = re.split(r"[,\n]", (tmp_path / "csv" / "rooms.csv").read_text("utf-8"))
    assert not [c for c in cells if c.strip('"')[:1] in ("=", "@")]


def test_encodings__told_with_their_remedy(tmp_path: Path) -> None:
    path, folder = begun(tmp_path), tmp_path / "in"
    folder.mkdir()
    (folder / "rooms.csv").write_bytes("room;name\nR1;Küche\n".encode("latin-1"))
    (folder / "cables.csv").write_bytes("cable\nC1\n".encode("utf-16"))
    (folder / "ends.csv").write_bytes(b"end\nE1\x00\n")
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=folder, **HAND)
    told = "\n".join(refused.value.faults)
    assert all(w in told for w in ("is not UTF-8", "UTF-16", "NUL")) and len(refused.value.faults) == 3
    (folder / "rooms.csv").write_bytes("\ufeffroom;height_m\nR1;2,5\n".encode())
    (folder / "cables.csv").unlink(), (folder / "ends.csv").unlink()
    api.import_(path, ASKED, folder=folder, **HAND)
    assert site_of(path).things[Ref("room", "R1")].get("height_m") == 2.5


def documented(tmp_path: Path) -> tuple[Path, Path]:
    """The sheet and the map that the guide shows."""
    text = DOC.read_text("utf-8")
    sheet, toml = (re.search(rf"```{kind}\n(.*?)```", text, re.DOTALL)[1] for kind in ("csv", "toml"))
    folder = tmp_path / "foreign"
    folder.mkdir()
    (folder / "patch list.csv").write_text(sheet, "utf-8")
    (tmp_path / "patch_map.toml").write_text(toml, "utf-8")
    return folder, tmp_path / "patch_map.toml"


def test_foreign_sheet__the_documented_example(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder, by = documented(tmp_path)
    said = api.import_(path, ASKED, folder=folder, map_file=by, **HAND).answer
    assert (said["tables"], said["rows"]) == (3, 3 + 3 + 2), "three cables, three ends, two rooms named"
    found = site_of(path)
    one, two = found.things[Ref("cable", "C1")], found.things[Ref("cable", "C2")]
    assert (one.get("jacket"), one.get("state"), one.get("note")) == ("cat5", "there", "Remark: screws loose")
    assert one.number("length_m") == pytest.approx(24.9936) and two.get("state") == "out of use"
    assert {r.tag for r in found.things if r.kind == "room"} == {"Pantry", "Loft"}
    end = found.things[Ref("end", "E1")]
    assert (end.get("cable"), end.get("room")) == ("cable:C1", "room:Pantry"), "one column may give several of ours"
    assert api.import_(path, ASKED, folder=folder, map_file=by, **HAND).answer["entered"] == 0


def test_foreign_sheet__an_unmentioned_column_and_a_bad_cell_are_told_by_their_own_names(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder, by = documented(tmp_path)
    sheet = folder / "patch list.csv"
    sheet.write_text(sheet.read_text("utf-8").replace("Old nr", "Drawer").replace("82", "82 kg"), "utf-8")
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=folder, map_file=by, **HAND)
    told = refused.value.faults
    assert any("column Drawer" in t and "says nothing of this column" in t for t in told)
    assert any("row 2" in t and "Run (ft)" in t and "no unit of length" in t for t in told)


BAD_MAP = """
colour = "red"
[[sheet]]
table = "cabels"
[[sheet]]
file = "x.csv"
table = "cables"
colums = 3
note = "Remark"
[sheet.columns]
"A" = "lenght_m"
"B" = { column = "length_m", unit = "kg" }
"C" = { column = "cable", prefx = "C" }
"D" = "cable"
"E" = 7
[sheet.constants]
grad = "told"
"""


def test_map__all_that_is_wrong_in_it_at_once(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder, by = documented(tmp_path)
    by.write_text(BAD_MAP, "utf-8")
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=folder, map_file=by, **HAND)
    told = "\n".join(refused.value.faults)
    for words in ("colour", "did you mean cables?", "did you mean columns?", "did you mean length_m?", "no unit of length",
                  "did you mean prefix?", "two columns give cable", "names no column", "did you mean grade?", "this is missing",
                  'write it as ["one", "two"]'):  # fmt: skip
        assert words in told, (words, told)
    by.write_text("[[sheet]\n", "utf-8")
    with pytest.raises(api.BadRequest, match="no TOML"):
        api.import_(path, ASKED, folder=folder, map_file=by, **HAND)


def test_what_fits__says_it_and_changes_nothing_and_its_map_is_one(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder = write(tmp_path / "in", {"wires": [{"cable": "C1", "length_ft": "12", "colour of it": "red"}]})
    before = path.read_bytes()
    said = api.what_fits(path, ASKED, folder=folder).answer
    (sheet,) = said["sheets"]
    assert (sheet["table"], sheet["named"]) == ("cables", False)
    assert sheet["understood"] == [["cable", "cable", ""], ["length_ft", "length_m", "ft"]]
    assert [h for h, _ in sheet["strange"]] == ["colour of it"]
    made = tomllib.loads(said["map"])
    assert made["sheet"][0]["columns"]["length_ft"] == {"column": "length_m", "unit": "ft"}
    assert path.read_bytes() == before
    by = tmp_path / "m.toml"
    by.write_text(said["map"].replace("ignore = []", 'ignore = ["colour of it"]'), "utf-8")
    assert api.import_(path, ASKED, folder=folder, map_file=by, **HAND).answer["entered"] == 1


def test_photos__bytes_come_with_their_rows_and_go_out_again(tmp_path: Path) -> None:
    path, folder = begun(tmp_path), tmp_path / "in"
    write(folder, {"photos": [{"photo": "F1", "file": "a.jpg"}, {"photo": "F2", "file": "b.png"}]})
    (folder / "photos").mkdir()
    (folder / "photos" / "a.jpg").write_bytes(b"\xff\xd8\xff\xe0 drawn")
    with pytest.raises(api.BadRequest, match="there is no file 'b.png'"):
        api.import_(path, ASKED, folder=folder, **HAND)
    (folder / "b.png").write_bytes(b"text")
    with pytest.raises(api.BadRequest, match="no photograph that is known"):
        api.import_(path, ASKED, folder=folder, **HAND)
    with open_store(path, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM attachments") == [(0,)], "on any fault nothing is attached"
    (folder / "b.png").write_bytes(b"\x89PNG\r\n\x1a\n drawn")
    assert api.import_(path, ASKED, folder=folder, **HAND).answer["photos"] == 2
    api.export(path, ASKED, folder=tmp_path / "out")
    assert (tmp_path / "out" / "photos" / "a.jpg").read_bytes() == b"\xff\xd8\xff\xe0 drawn"
    other = tmp_path / "b.site"
    api.new(other, ASKED, code="WM", name="", **HAND)
    assert api.import_(other, ASKED, folder=tmp_path / "out", **HAND).answer["photos"] == 2
    bad = write(tmp_path / "bad", {"photos": [{"photo": "F3", "file": "../in/b.png"}]})
    with pytest.raises(api.BadRequest, match="no plain file name"):
        api.import_(path, ASKED, folder=bad, **HAND)


def jpeg(words: str) -> bytes:
    return b"\xff\xd8\xff\xe0 " + words.encode()


def test_photos__two_of_one_name_go_out_apart_and_come_in_again(tmp_path: Path) -> None:
    """Names that differ by case only are one name on many disks; the cells stay as they were noted."""
    path = begun(tmp_path)
    for folder, photo, name in (("a", "F1", "Front.jpg"), ("b", "F2", "front.jpg"), ("c", "F3", "Front.jpg")):
        write(tmp_path / folder, {"photos": [{"photo": photo, "file": name}]})
        (tmp_path / folder / name).write_bytes(jpeg("one" if folder != "b" else "two"))
        api.import_(path, ASKED, folder=tmp_path / folder, **HAND)
    said = api.export(path, ASKED, folder=tmp_path / "out").answer
    assert said["photos"] == 2
    names = sorted(p.name for p in (tmp_path / "out" / "photos").iterdir())
    assert len({n.casefold() for n in names}) == 2 and names[0] == "Front.jpg"
    assert {p.read_bytes() for p in (tmp_path / "out" / "photos").iterdir()} == {jpeg("one"), jpeg("two")}
    other = tmp_path / "b.site"
    api.new(other, ASKED, code="WM", name="", **HAND)
    assert api.import_(other, ASKED, folder=tmp_path / "out", **HAND).answer["photos"] == 3
    things = [[(t.text("file"), t.text("sha256")) for t in site_of(p).of_kind("photo")] for p in (path, other)]
    assert things[0] == things[1] and [f for f, _ in things[0]] == ["Front.jpg", "front.jpg", "Front.jpg"]
    assert api.import_(path, ASKED, folder=tmp_path / "out", **HAND).answer["entered"] == 0


def test_photos__refused_rows_leave_no_photograph_behind(tmp_path: Path) -> None:
    """The record itself refuses here, after every cell was understood: entries and photographs are one outcome."""
    path, folder = begun(tmp_path), tmp_path / "in"
    write(folder, {"photos": [{"photo": "F1", "file": "a.jpg"}], "rooms": [{"room": "R1"}]})
    (folder / "a.jpg").write_bytes(jpeg("drawn"))
    with pytest.raises(RecordError, match="nothing was written"):
        api.import_(
            path, ASKED, folder=folder, new_id=lambda: site_of(path).things[Ref("property", "WM")].entries[0], **HAND
        )
    with open_store(path, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM attachments") == [(0,)]
    assert Ref("room", "R1") not in site_of(path).things


def test_photos__unused_ones_are_told(tmp_path: Path) -> None:
    path, folder = begun(tmp_path), tmp_path / "in"
    write(folder, {"photos": [{"photo": "F1", "file": "a.jpg", "privacy": "private"}]})
    (folder / "photos").mkdir()
    for name in ("a.jpg", "b.jpg"):
        (folder / "photos" / name).write_bytes(jpeg(name))
    assert api.import_(path, ASKED, folder=folder, **HAND).answer["unread"] == ["b.jpg"]
    with open_store(path, read_only=True) as store:
        (name,) = attachments.names(store)
        assert attachments.get(store, name).privacy == "private"


def test_workbook__three_sheets_of_which_one_is_unknown(tmp_path: Path) -> None:
    path = begun(tmp_path)
    sheets = {"rooms": [["room "], ["R1"]], "Wall Types": [["wall_type"], ["WT1"]], "Kable": [["cable"], ["C1"]]}
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=book(tmp_path / "s.xlsx", sheets), **HAND)
    assert refused.value.faults == ("s.xlsx, sheet Kable: there is no table 'kable'; did you mean cables?",)
    said = api.import_(path, ASKED, folder=book(tmp_path / "t.xlsx", {k: sheets[k] for k in list(sheets)[:2]}), **HAND)
    assert (said.answer["tables"], said.answer["entered"]) == (2, 2)


def test_tags_kept_as_numbers__are_the_same_tags(tmp_path: Path) -> None:
    path = begun(tmp_path)
    api.import_(path, ASKED, folder=write(tmp_path / "a", {"rooms": [{"room": "007"}]}), **HAND)
    rows = {"rooms": [["room", "name"], [7, "Hall"]], "outlets": [["outlet", "room"], [12, 7]]}
    api.import_(path, ASKED, folder=book(tmp_path / "s.xlsx", rows), **HAND)
    found = site_of(path)
    assert [(t.ref.tag, t.get("name")) for t in found.of_kind("room")] == [("007", "Hall")]
    assert found.things[Ref("outlet", "12")].get("room") == "room:007"


def test_table_as_csv_and_as_sheet__both_are_read_and_it_is_said(tmp_path: Path) -> None:
    path, folder = begun(tmp_path), tmp_path / "in"
    write(folder, {"rooms": [{"room": "R1", "name": "Hall"}]})
    book(folder / "z.xlsx", {"rooms": [["room", "name"], ["R1", "Hall"], ["R2", "Loft"]]})
    said = api.import_(path, ASKED, folder=folder, **HAND).answer
    assert [s["code"] for s in said["said"]] == ["table_twice"] and said["entered"] == 2


def test_workbook__text_too_long_is_refused_and_goes_out_as_csv(tmp_path: Path) -> None:
    path = begun(tmp_path)
    api.add(path, ASKED, table="rooms", cells={"room": "R1", "note": "x" * 200_000}, **HAND)
    with pytest.raises(RecordError, match="longer than the 32767"):
        api.export(path, ASKED, folder=tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()
    api.export(path, ASKED, folder=tmp_path / "csv")
    assert api.import_(path, ASKED, folder=tmp_path / "csv", **HAND).answer["entered"] == 0


@pytest.mark.parametrize("name", ["out.csv", "out.xls"])
def test_export__to_a_file_of_another_kind_is_refused(tmp_path: Path, name: str) -> None:
    path = begun(tmp_path)
    with pytest.raises(api.BadRequest, match="ends in .xlsx"):
        api.export(path, ASKED, folder=tmp_path / name)
    assert not (tmp_path / name).exists()


def shell(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "pullstring", *map(str, words)], capture_output=True, text=True)


def test_shell__what_fits_prints_a_map_that_can_be_kept_and_used(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder, _ = documented(tmp_path)
    before = path.read_bytes()
    said = shell("import", path, folder, "--what-fits")
    assert said.returncode == 0 and path.read_bytes() == before
    made = tomllib.loads(said.stdout[said.stdout.index("[[sheet]]") :])
    assert made["sheet"][0]["file"] == "patch list.csv"
    assert "Run (ft)" in said.stdout


def test_shell__a_map_is_not_for_a_record_and_the_map_used_is_not_listed_as_unread(tmp_path: Path) -> None:
    path = begun(tmp_path)
    folder, by = documented(tmp_path)
    by = by.rename(folder / "map.toml")
    told = shell("import", path, folder, "--map", by, "--today", ASKED.today)
    assert told.returncode == 0 and "Not read" not in told.stdout
    refused = shell("import", path, path, "--map", by)
    assert refused.returncode == 2 and "leave out --map" in refused.stderr


@pytest.mark.parametrize("name", ["tables", "tables.xlsx"])
def test_export__again_keeps_what_somebody_wrote_in_between(tmp_path: Path, name: str) -> None:
    """An evening's cells typed into an exported table must not vanish by exporting once more."""
    site = tmp_path / "t.site"
    api.new(site, ASKED, code="T1", name="", **HAND)
    api.add(site, ASKED, table="rooms", cells={"room": "R1"}, **HAND)
    out = tmp_path / name
    api.export(site, ASKED, folder=out)
    mine = next(out.glob("*.csv")) if out.is_dir() else out
    mine.write_bytes(mine.read_bytes() + b"\r\ntyped by hand")
    again = api.export(site, ASKED, folder=out).answer
    kept = mine.with_name(mine.name + ".before")
    assert kept.read_bytes().endswith(b"typed by hand") and again["before"] == [kept.name]
    assert not mine.read_bytes().endswith(b"typed by hand")
    kept.unlink()
    assert api.export(site, ASKED, folder=out).answer["before"] == []
