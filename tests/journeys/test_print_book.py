"""The book on paper: every tag, no empty page, no split row, a right index, our faces only, no secret; for any house."""

from __future__ import annotations

import itertools
import random
import re
import zipfile
from pathlib import Path

import pytest

from pullstring import api
from pullstring.api.on_paper import NEVER
from pullstring.cli.group import program
from pullstring.model.columns import tables
from pullstring.model.refs import parse_ref
from pullstring.papers.ink import FACES, SECOND_FACES
from tests.journeys.printed import faces, flat, pages
from tests.journeys.sites import ASKED, Rows, make, packaged
from tests.tiers import FRESH_SEED, slow

TODAY = ["--today", ASKED.today]


def book(site: Path, folder: Path, *options: str) -> Path:
    assert program(["print", str(site), str(folder), *TODAY, "--only", "book", *options]) == 0
    return folder / "book.pdf"


@pytest.fixture(scope="module")
def inn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("inn"), packaged("three_lamps/1_arrival"), code="IN")


@pytest.fixture(scope="module")
def printed(inn: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return book(inn, tmp_path_factory.mktemp("book"))


@pytest.fixture(scope="module")
def text(printed: Path) -> list[str]:
    return pages(printed)


def test_book__archive_form_and_only_our_faces(printed: Path) -> None:
    """ISO 19005-2: the metadata names part 2, conformance B."""
    data = printed.read_bytes()
    assert b"<pdfaid:part>2</pdfaid:part>" in data and b"<pdfaid:conformance>B</pdfaid:conformance>" in data
    names, embedded = faces(printed)
    assert embedded and names <= {Path(f).stem for f in (FACES | SECOND_FACES).values()}


def test_book__holds_every_tag_but_those_of_keys_seasons_and_people(inn: Path, text: list[str]) -> None:
    words = set(re.split(r"[\s,;:()]+", flat(" ".join(text))))
    site = api.load(inn, ASKED)
    tags = {t.ref.tag for t in site.things.values() if t.ref.kind not in NEVER and t.text("privacy") != "private"}
    assert len(tags) > 400
    assert {tag for tag in tags if " " not in tag and tag not in words} == set()


def test_book__no_none_and_no_page_with_less_than_a_heading_and_a_row(text: list[str]) -> None:
    assert len(text) > 25
    for number, page in enumerate(text, 1):
        assert not re.search(r"\b(None|nan|NaN)\b|\{\}|\[\]|Interval\(", page), number
        assert len([line for line in page.splitlines() if line.strip()]) >= 4, number


def test_book__the_index_sends_to_pages_where_the_tag_stands(text: list[str], printed: Path) -> None:
    raw = pages(printed, layout=False)
    start = next(n for n, page in enumerate(raw) if "Every tag in this book" in page)
    one = r"(?m)^([A-Z][\w.]*) (end|outlet|cable|port|unit|room): ((?:[^\n]|\n(?![A-Za-z][\w.-]* [a-z ]+: ))+)"
    entries = re.findall(one, "\n".join(raw[start:]))
    assert len(entries) > 200
    wrong = []
    for tag, kind, places in entries:
        numbers = [int(n) for n in re.findall(r"(?:[a-z])[ \xa0](\d+)(?=[,\n]|$)", places)]
        assert numbers, (tag, places)
        wrong += [(tag, kind, n) for n in numbers if tag not in re.split(r"[\s,;:()]+", flat(text[n - 1]))]
    drawn = {n for n, page in enumerate(text, 1) if "at 1:" in page or "sheet" in page}
    assert [w for w in wrong if w[2] not in drawn] == []


def test_book__contents_name_the_page_on_which_a_chapter_begins(text: list[str]) -> None:
    told = re.findall(r"(?m)^ *(\S[^\n]*?) {3,}(\d+)$", text[0])
    assert len(told) >= 12
    for title, number in told:
        page = text[int(number) - 1]
        assert title in page or "at 1:" in page or "sheet" in page, title


def test_book__register_pages_bear_their_first_and_last_tag(text: list[str]) -> None:
    heads = [re.search(r"^ *Register of ends +(\S+) – (\S+)$", p, re.MULTILINE) for p in text]
    ranges = [(m[1], m[2], page) for m, page in zip(heads, text, strict=True) if m]
    assert len(ranges) >= 2
    for first, last, page in ranges:
        starts = [line.split()[0] for line in page.splitlines() if line.split()]
        assert first in starts and last in starts


def test_book__a_stranger_with_an_end_in_the_hand(inn: Path, text: list[str]) -> None:
    """From paper alone: the cover sends to the register, whose row names cable, outlet or port, and who alone may touch it."""
    number = int(re.search(r"register of ends, page (\d+)", flat(text[0]))[1])  # type: ignore[index]
    lines = "\n".join(text[number - 1 : number + 4]).splitlines()
    at = next(n for n, line in enumerate(lines) if line.split()[:1] == ["E01"])
    row = [lines[at], *itertools.takewhile(lambda line: line.startswith("       "), lines[at + 1 :])]
    words = flat(" ".join(row))
    assert "C01" in words and "D02.radio" in words and "only ISP" in words
    page = int(re.search(r"Before you touch anything: page (\d+)", flat(text[0]))[1])  # type: ignore[index]
    assert "only" in text[page - 1] and "E01" in text[page - 1] and "Caution" in text[page - 1]


def test_book__no_row_is_split_between_pages(tmp_path: Path) -> None:
    """Each end's row holds words that stand nowhere else; all of a row's words are on one page."""
    rows: Rows = {
        "property": [{"property": "LG", "name": "Long words"}],
        "ends": [
            {"end": f"E{n}", "found": " ".join(f"w{n}x{k}" for k in range(30 + n % 20)), "label": f"mark {n} " * (n % 9)}
            for n in range(60)
        ],
    }  # fmt: skip
    text = pages(book(make(tmp_path, rows, code="LG"), tmp_path / "out"))
    register = [p for p in text if re.search(r"^ *Register of ends", p, re.MULTILINE)]
    assert len(register) > 3
    for n in range(60):
        holding = [i for i, page in enumerate(register) if re.search(rf"\bw{n}x\d+\b", page)]
        assert len(holding) == 1, n


STRANGE = ("Größe 7", "łodź", "Жук", "Ω1", "中文", "x" * 60, "A-B/c d", "007", "(1)", "e\u202ee", "ﬁ", "😀")


def test_book__any_letters_any_tags(tmp_path: Path) -> None:
    rows: Rows = {
        "property": [{"property": "XY", "name": "Haus Ő 中"}],
        "rooms": [{"room": t, "name": f"Raum {t} " * 3} for t in STRANGE],
        "cables": [{"cable": t} for t in STRANGE],
        "ends": [{"end": t, "cable": t, "room": t, "found": f"gesehen: {t}"} for t in STRANGE],
    }
    path = book(make(tmp_path, rows, code="XY"), tmp_path / "out")
    text = flat(" ".join(pages(path, layout=False)))
    for tag in ("Größe 7", "łodź", "Жук", "Ω1", "x" * 60, "A-B/c d", "007", "[U+4E2D][U+6587]", "e[U+202E]e"):
        assert tag in text, tag
    assert "Letters that no face of this book has" in text and "U+4E2D" in text
    names, embedded = faces(path)
    assert embedded and names <= {Path(f).stem for f in (FACES | SECOND_FACES).values()}


SECRETS = ("4711", "hunter2", "Zeno Quist", "winter closed", "behind the stone", "0555 1234567", "SN-998877", "918.50")


def test_print__no_secret_on_any_paper(tmp_path: Path) -> None:
    from pullstring.log.seal import place_of, seal

    sealed = seal("hunter2", "long enough words", place=place_of(site_code="SE", kind="network", field="password"))
    rows: Rows = {
        "property": [{"property": "SE", "name": "Secret house"}],
        "rooms": [
            {"room": "R1", "name": "Hall", "access": "door code 4711", "outline": "0 0; 4 4", "floor": "F0", "closet": "yes"},
        ],
        "buildings": [{"building": "B"}],
        "floors": [{"floor": "F0", "building": "B", "name": "ground"}],
        "networks": [{"network": "LAN", "name": "house", "password": sealed}],
        "keys": [{"key": "KEY1", "kept": "behind the stone"}],
        "seasons": [{"season": "SEA1", "name": "winter closed", "from_day": "11-01", "until_day": "03-01"}],
        "persons": [{"person": "PERS1", "note": "Zeno Quist", "phone": "0555 1234567"}],
        "units": [{"unit": "U1", "serial": "SN-998877", "name": "router", "settings": "login admin 4711", "room": "R1"}],
        "outlets": [{"outlet": "O1", "room": "R1", "found": "pin 4711 written on the plate", "label": "alarm off 4711"}],
        "ends": [{"end": "E1", "room": "R1", "found": "label says password is 4711", "label": "pin: 4711"}],
        "photos": [{"photo": "PHOTO9", "privacy": "private", "of": "outlet:O1", "shows": "Zeno Quist at the door"}],
        "prices": [{"price": "PRICE7", "what": "two days", "amount": "918.50 EUR"}],
        "temporary_works": [{"temporary": "X1", "what": "key box code 4711", "on": "unit:U1"}],
    }  # fmt: skip
    site = make(tmp_path, rows, code="SE")
    assert program(["print", str(site), str(tmp_path / "out"), *TODAY]) == 0
    for paper in sorted((tmp_path / "out").iterdir()):
        if paper.suffix == ".pdf":
            words = flat(" ".join(pages(paper)))
        elif paper.suffix == ".xlsx":
            with zipfile.ZipFile(paper) as book_file:
                words = "".join(book_file.read(n).decode() for n in book_file.namelist())
        else:
            words = re.sub(r"base64,[A-Za-z0-9+/=]+", "", paper.read_text(encoding="utf-8"))
        found = [s for s in (*SECRETS, "KEY1", "SEA1", "PERS1", "PRICE7", "PHOTO9", "sealed:") if s in words]
        assert found == [], paper.name


def test_book__of_nothing_is_a_book_of_sentences(tmp_path: Path) -> None:
    site = tmp_path / "empty.site"
    hand = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
    api.new(site, ASKED, code="NIL", name="", **hand)
    text = pages(book(site, tmp_path / "out"))
    said = flat(" ".join(text))
    assert "No end is tagged yet" in said and "no plan is drawn" in said and "None" not in said


@pytest.mark.parametrize("scale", ["50", "100"])
def test_book__plan_is_at_its_true_scale(scale: str, tmp_path: Path, pdftoppm: str) -> None:
    """A wall of 6 m is 60 mm long at 1:100 and 120 mm at 1:50; measured between the drawn corners of the floor itself."""
    import subprocess

    from PIL import Image

    rows: Rows = {
        "property": [{"property": "SC", "name": "Scale"}],
        "buildings": [{"building": "B"}],
        "floors": [{"floor": "F0", "building": "B", "name": "ground"}],
        "rooms": [{"room": "R1", "floor": "F0", "name": "Hall", "outline": "0 0; 6 4"}],
        "wall_types": [{"wall_type": "W1", "hatch": "none", "thickness_m": "0.1"}],
        "walls": [
            {"wall": "a", "floors": "F0", "line": line, "wall_type": "W1", "thickness_m": "0.1"} | {"wall": tag}
            for tag, line in (("a", "0 0; 6 0"), ("b", "6 0; 6 4"), ("c", "6 4; 0 4"), ("d", "0 4; 0 0"))
        ],
    }
    path = book(make(tmp_path, rows, code="SC"), tmp_path / "out", "--scale", scale)
    at = next(n for n, page in enumerate(pages(path), 1) if f"at 1:{scale}" in page)
    command = [pdftoppm, "-r", "254", "-gray", "-f", str(at), "-l", str(at), "-png", str(path), str(tmp_path / "p")]
    subprocess.run(command, check=True, capture_output=True)
    picture = Image.open(next(tmp_path.glob("p*.png"))).convert("L")
    wide, dots = picture.width, picture.tobytes()
    lines = (
        dots[y * wide : (y + 1) * wide] for y in range(0, picture.height // 2, 2)
    )  # the upper wall is in the upper half
    runs = (len(run) for line in lines for run in re.findall(rb"[\x00-\x59]+", line))  # dark dots side by side
    longest = max(run for run in runs if run < 1450)  # the frame of the drawing is 150 mm wide
    expected = 10 * 6.1 * 1000 / int(scale)  # dots: 10 a millimetre; the outer face is longer by the wall's thickness
    assert longest == pytest.approx(expected, abs=4)


LOOSE = ("claims", "measurements", "plugged", "joints", "services", "openings", "tasks", "photos")
"""Tables that no other table names."""


def bent(rows: Rows, dice: random.Random) -> Rows:
    """A house in which some tables and many cells are missing."""
    out = {t: [dict(r) for r in content] for t, content in rows.items() if t not in LOOSE or dice.random() < 0.7}
    for table, content in out.items():
        needed = {c.name for c in tables()[table].columns if c.required}
        for row in content:
            for name in sorted(row.keys() - needed):
                if dice.random() < 0.3:
                    row[name] = ""
    return out


@pytest.mark.parametrize("seed", [1, FRESH_SEED])
def test_print__half_a_cottage_gives_all_its_papers(seed: int, tmp_path: Path) -> None:
    site = make(tmp_path, bent(packaged("two_rooms"), random.Random(seed)))
    assert program(["print", str(site), str(tmp_path / "out"), *TODAY]) == 0
    assert {"book.pdf", "first_page.pdf", "tables.xlsx"} <= {p.name for p in (tmp_path / "out").iterdir()}
    assert not re.search(r"\b(None|nan)\b", flat(" ".join(pages(tmp_path / "out" / "book.pdf"))))


@slow("60 s, half an inn in ten ways")
@pytest.mark.parametrize("seed", range(10))
def test_print__half_an_inn_gives_all_its_papers(seed: int, tmp_path: Path) -> None:
    site = make(tmp_path, bent(packaged("three_lamps/1_arrival"), random.Random(seed)), code="IN")
    assert program(["print", str(site), str(tmp_path / "out"), *TODAY]) == 0
    assert not re.search(r"\b(None|nan)\b", flat(" ".join(pages(tmp_path / "out" / "book.pdf"))))


def test_names__that_never_print_are_names_of_kinds() -> None:
    assert [parse_ref(f"{kind}:X").kind for kind in NEVER] == list(NEVER)
