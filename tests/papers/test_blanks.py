"""Blank sheets: ruled every 8 mm, with a code that another program reads, filled in only when asked."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from pullstring.papers.blanks import FORM_NAMES, ROWS, blanks, known_rows, sheets_of
from pullstring.papers.sentences_book import FORMS
from tests.journeys.printed import flat, pages
from tests.papers.house import ROWS as HOUSE
from tests.papers.house import changed, entries, house

DAY = "2026-11-20"


def pictures(data: bytes, pdftoppm: str, folder: Path, *, ppi: int) -> list[Image.Image]:
    (folder / "a.pdf").write_bytes(data)
    subprocess.run([pdftoppm, "-r", str(ppi), "-gray", "-png", "a.pdf", "p"], check=True, cwd=folder)
    return [Image.open(p).convert("L") for p in sorted(folder.glob("p*.png"))]


def test_blanks__one_sheet_a_form_and_its_code_is_read_as_its_number(tmp_path: Path, pdftoppm: str) -> None:
    data = blanks(house(), day=DAY)
    shown = pictures(data, pdftoppm, tmp_path, ppi=150)
    read = [[c.text for c in zxingcpp.read_barcodes(p)] for p in shown]
    wanted = [f"MLH/{s.number}" for s in sheets_of(house(), day=DAY, forms=FORM_NAMES, filled=())]
    assert read == [[text] for text in wanted] and len(set(wanted)) == len(FORMS)
    for page, text in zip(pages(tmp_path / "a.pdf"), wanted, strict=True):
        assert text in page


def test_blanks__lines_are_8_mm_apart(tmp_path: Path, pdftoppm: str) -> None:
    """At 254 dots an inch a millimetre is ten dots; down the left edge of the table each rule is a dark dot."""
    picture = pictures(blanks(house(), day=DAY, forms=["tone"]), pdftoppm, tmp_path, ppi=254)[0]
    x = 170 + 60  # 17 mm of edge and 6 mm into the first column
    dark = [y for y in range(picture.height) if picture.getpixel((x, y)) < 128]  # type: ignore[operator]
    lines = [y for y in dark if y - 1 not in dark]
    steps = [b - a for a, b in zip(lines, lines[1:], strict=False)]
    assert sum(abs(step - 80) <= 1 for step in steps) >= ROWS - 1


def test_blanks__empty_unless_asked_then_with_every_tag(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(blanks(house(), day=DAY, forms=["plates"]))
    (tmp_path / "b.pdf").write_bytes(blanks(house(), day=DAY, forms=["plates"], filled=["plates"]))
    empty, full = (flat(" ".join(pages(tmp_path / name))) for name in ("a.pdf", "b.pdf"))
    standing = [o.ref.tag for o in house().of_kind("outlet") if o.stands]
    assert all(f"{tag} " in full and f"{tag} " not in empty for tag in standing)
    assert "O5 " not in full  # only planned


def test_blanks__wires_that_only_others_may_touch_are_on_no_sheet_for_work() -> None:
    site = changed(end_E1={"cable": "cable:C1"}, end_E2={"cable": "cable:C2"}, cable_C1={}, cable_C2={})
    guarded = {"end:E1": "ALM"}
    assert [row[0] for row in known_rows(site, "tone", guarded)] == ["E2"]
    assert [row[0] for row in known_rows(site, "readings", guarded)] == ["E2"]
    assert [row[0] for row in known_rows(site, "ends", guarded)] == ["E1", "E2"]


def test_blanks__more_than_a_sheet_goes_on_with_its_number() -> None:
    rows = {**HOUSE, **{f"end:Z{n}": {"found": "coil"} for n in range(2 * ROWS + 1)}}
    from pullstring.model.replay import replay

    told = sheets_of(replay(entries(rows), today=DAY), day=DAY, forms=["ends"], filled=["ends"])
    assert [s.number for s in told] == [f"SHEET-E-20261120-{n}" for n in (1, 2, 3)]
    assert [len(s.rows) for s in told] == [ROWS, ROWS, 1]


def test_blanks__a_house_whose_code_no_label_holds_has_its_number_in_letters(tmp_path: Path, pdftoppm: str) -> None:
    rows = {("property:Mühle" if k == "property:MLH" else k): v for k, v in HOUSE.items()}
    from pullstring.model.replay import replay

    data = blanks(replay(entries(rows), today=DAY), day=DAY, forms=["ports"])
    assert zxingcpp.read_barcodes(pictures(data, pdftoppm, tmp_path, ppi=150)[0]) == []
    assert "Mühle/SHEET-P-20261120-1" in pages(tmp_path / "a.pdf")[0]


@pytest.mark.parametrize("form", FORM_NAMES)
def test_forms__columns_fill_the_sheet(form: str) -> None:
    """A4 of 210 mm less the edges of 17 and 13 mm of the template."""
    assert sum(float(c.rpartition(" ")[2]) for c in FORMS[form]["columns"].split("|")) == 210 - 17 - 13


def test_blanks__same_bytes() -> None:
    assert blanks(house(), day=DAY) == blanks(house(), day=DAY)
