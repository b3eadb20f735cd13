"""One page, three renderings: the same figures on the terminal, in the browser and on paper."""

from __future__ import annotations

import html.parser
import pathlib
import re
import shutil
import subprocess

import pytest
import typst

from pullstring.model.answers import Interval
from pullstring.papers import figures
from pullstring.papers.blocks import Drawing, Heading, Page, Para, Table
from pullstring.papers.drawing import floor_svg
from pullstring.papers.html import html_page
from pullstring.papers.ink import DAY, FACES, NIGHT, SECOND_FACES, font_folder
from pullstring.papers.terminal import text_page
from pullstring.papers.typst_page import TooLarge, drawing_sheet, pdf_page
from tests.papers.house import FLOOR, house

FIGURES = (
    figures.interval(Interval(3.3, 3.7, "ohm")), figures.nanofarads(18.5e-9), figures.volts(44.25), figures.watts(25.5),
    figures.metres(41.0), figures.date("2026-11-03"),
)  # fmt: skip
HOSTILE = "<script>alert(1)</script> *bold* #let x = 1 $x$ \\ @ref // & {{ page }}"
PAGE = Page(
    "Runs of Mill house",
    (
        Heading("What each run can carry"),
        Para(f"The run to the parlour has {FIGURES[0]} and {FIGURES[1]}; seen on {FIGURES[5]}."),
        Para("Row 18 is on the alarm line; nobody unplugs it.", tone="caution"),
        Para("Which end is E07?", tone="ask"),
        Heading("By port", level=2),
        Table(("port", "at the device", "power", "length"), (("D04.3", FIGURES[2], FIGURES[3], FIGURES[4]),), "mrrr"),
        Para(HOSTILE),
    ),
    footer="Mill house (invented), as of 3 November 2026",
)


class Words(html.parser.HTMLParser):
    """The text of a document, style and script left out, and the names of all its elements."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.names: list[str] = []
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)

    def handle_data(self, data: str) -> None:
        if self.names and self.names[-1] != "style":
            self.words.append(data)


def flat(text: str) -> str:
    return " ".join(text.split())


def pdf_text(pdf: bytes, program: str, folder: pathlib.Path) -> str:
    (folder / "page.pdf").write_bytes(pdf)
    command = [program, "-layout", folder / "page.pdf", "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def test_page__same_figures_three_ways(pdftotext: str, tmp_path: pathlib.Path) -> None:
    shown = {
        "terminal": flat(text_page(PAGE, width=100)),
        "html": flat("".join(Words(html_page(PAGE, font_base="/faces")).words)),
        "pdf": flat(pdf_text(pdf_page(PAGE), pdftotext, tmp_path)),
    }
    tones = ["D04.3", "Caution: Row 18 is on the alarm line", "To find out: Which end is E07?"]
    texts = [*FIGURES, PAGE.title, PAGE.footer, *tones]
    missing = {(where, text) for where, words in shown.items() for text in texts if text not in words}
    assert not missing


def test_pdf__what_people_write_is_never_markup(pdftotext: str, tmp_path: pathlib.Path) -> None:
    assert HOSTILE in flat(pdf_text(pdf_page(PAGE), pdftotext, tmp_path))


def test_html__text_is_escaped_and_nothing_is_fetched() -> None:
    source = html_page(PAGE)
    parsed = Words(source)
    assert "script" not in parsed.names
    assert HOSTILE in flat(" ".join(parsed.words))
    assert not re.search(r"(src|href)\s*=|@import|https?://", source)
    assert set(re.findall(r"url\(\"?([a-z]+:)", source)) == {"data:"}


def test_html__night_is_one_attribute_and_day_has_none() -> None:
    day, night = html_page(PAGE, font_base="/faces"), html_page(PAGE, night=True, font_base="/faces")
    assert '<html lang="en">' in day
    assert night == day.replace('<html lang="en">', '<html lang="en" data-print="night">')


def test_html__drawing_stands_in_the_page_unescaped() -> None:
    page = Page("t", (Drawing(floor_svg(house(), FLOOR), "ground floor"),))
    assert "svg" in Words(html_page(page, font_base="/f")).names


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.2 definition."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("inks", [DAY, NIGHT])
def test_inks__every_ink_reads_on_the_sheet(inks: object) -> None:
    """WCAG 2.2 success criterion 1.4.3 asks 4.5:1 for text."""
    sheet = luminance(inks.sheet)  # type: ignore[attr-defined]
    for name in ("ink", "ink_2", "red", "blue"):
        ink = luminance(getattr(inks, name))
        assert (max(ink, sheet) + 0.05) / (min(ink, sheet) + 0.05) >= 4.5, name


def test_terminal__columns_line_up_and_nothing_is_wider_than_asked() -> None:
    rows = (("C09", "a long reason " * 8, "3.3"), ("C10", "short", "12.5"))
    table = Table(("run", "deciding reason", "ohm"), rows, "mlr")
    lines = text_page(Page("t", (table,)), width=60).splitlines()
    assert max(map(len, lines)) <= 60
    firsts = [line for line in lines if line.startswith(("run", "C09", "C10"))]
    assert len({line.index(word) for line, word in zip(firsts, ("deciding", "a long", "short"), strict=True)}) == 1
    assert len({len(line) for line in firsts}) == 1


def test_terminal__too_narrow_for_columns_stacks_the_cells() -> None:
    table = Table(("run", "reason", "resistance"), (("C09", "unbroken", "12.5 ohm"),))
    said = text_page(Page("t", (table,)), width=20)
    assert "resistance: 12.5 ohm" in flat(said)
    assert max(map(len, said.splitlines())) <= 20


def test_terminal__plain_text_without_codes() -> None:
    assert "\x1b" not in text_page(PAGE, width=72)


def test_table__wrong_row_is_refused() -> None:
    with pytest.raises(ValueError, match="row 2"):
        Table(("a", "b"), (("1", "2"), ("1",)))


def test_pdf__equal_bytes_twice_and_in_another_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    first = pdf_page(PAGE)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    monkeypatch.setenv("LANG", "tr_TR.UTF-8")
    assert pdf_page(PAGE) == first
    svg = floor_svg(house(), FLOOR)
    assert drawing_sheet(svg, title="B0") == drawing_sheet(svg, title="B0")


def test_pdf__only_the_packaged_faces(tmp_path: pathlib.Path, pdftotext: str) -> None:
    (tmp_path / "a.pdf").write_bytes(drawing_sheet(floor_svg(house(), FLOOR), title="B0"))
    (tmp_path / "b.pdf").write_bytes(pdf_page(PAGE))
    program = shutil.which("pdffonts")
    assert program, "pdffonts comes with pdftotext"
    for name in ("a.pdf", "b.pdf"):
        listed = subprocess.run([program, tmp_path / name], capture_output=True, text=True, check=True).stdout
        faces = {line.split()[0].partition("+")[2].removesuffix("-Identity-H") for line in listed.splitlines()[2:]}
        assert faces and faces <= {file.removesuffix(".otf") for file in FACES.values()}
        assert all(" yes " in line for line in listed.splitlines()[2:])


def test_faces__each_is_found_under_its_own_name_and_weight() -> None:
    """Programs that read only the first names of a face must tell the fixed-width from the other."""
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(font_folder())])
    assert {(f.family, f.weight): pathlib.Path(f.path).name for f in fonts.fonts()} == FACES | SECOND_FACES
    assert (font_folder() / "OFL.txt").read_text(encoding="utf-8").count("SIL OPEN FONT LICENSE") == 1
    beside = (font_folder() / "DejaVu-LICENSE.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in beside and "Copyright (c) 2003 by Bitstream" in beside


def test_pdf__letters_of_the_east_print_and_others_are_told_as_codes(tmp_path: pathlib.Path, pdftotext: str) -> None:
    """The first faces have none of these (their character map ends at Latin 1 and some signs); the second have all but the last."""
    page = Page("Łódź", (Para("Őrség č ł Ωμέγα Жуков 中"), Table(("tag", "name"), (("Ł1.2", "Őr 中"),), "ml")))
    (tmp_path / "a.pdf").write_bytes(pdf_page(page))
    words = flat(pdf_text(pdf_page(page), pdftotext, tmp_path))
    assert "Łódź" in words and "Őrség č ł Ωμέγα Жуков [U+4E2D]" in words and "Őr [U+4E2D]" in words
    program = shutil.which("pdffonts")
    assert program
    listed = subprocess.run([program, tmp_path / "a.pdf"], capture_output=True, text=True, check=True).stdout
    faces = {line.split()[0].partition("+")[2].removesuffix("-Identity-H") for line in listed.splitlines()[2:]}
    assert faces <= {pathlib.Path(f).stem for f in (FACES | SECOND_FACES).values()} and any(
        "DejaVu" in f for f in faces
    )


def test_page__drawing_wider_than_the_page_is_refused_not_shrunk() -> None:
    wide = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="20mm" viewBox="0 0 20 2"></svg>'
    with pytest.raises(TooLarge, match="sheet of its own"):
        pdf_page(Page("t", (Drawing(wide, "hall"),)))
