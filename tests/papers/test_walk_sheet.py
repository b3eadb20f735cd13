"""The walk sheet: every act once and in its order, room to write where something is read, cautions at their step, black only."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image

from pullstring.papers.walk_sheet import data_of, walk_pdf
from tests.journeys.printed import flat, pages

DAY = "2026-11-20"


def act(kind: str, at: str, room: str, *, what: object = None, caution: tuple[str, ...] = ()) -> dict[str, Any]:
    place = {"room": f"room:{room}", "room_name": f"Room {room}", "floor": room[0]}
    return {"kind": kind, "at": at, "what": what, "caution": list(caution), "seconds": 15.0, "travel_s": 20.0, **place}


WALK = [
    act("place remote", "outlet:P7", "A1", what=3, caution=("mains", "key", "season")),
    act("place remote", "outlet:P9", "A1", what=4),
    act("read", "outlet:P2", "B2", caution=("ladder", "way_up_not_noted")),
    act("clip", "end:Q5", "C9"),
    act("place remote", "outlet:P1", "A1", what=5),
]
CODES = {
    "clip": [
        {"outlet": "outlet:P7", "room": "room:A1", "room_name": "Room A1", "ohm": 1200.0},
        {"outlet": "outlet:P9", "room": "room:A1", "room_name": "Room A1", "ohm": 47000.0},
    ],
    "baseline": ["end:Q5", "end:Q6", "end:Q8"],
}


def sheet(folder: Path, acts: list[dict[str, Any]], codes: dict[str, Any] | None = None) -> Path:
    walk = {"acts": acts, "seconds": 1300.0, "travel_s": 300.0}
    out = folder / "w.pdf"
    out.write_bytes(walk_pdf(site="MLH", name="Mill house", day=DAY, walk=walk, codes=codes))
    return out


def test_walk_sheet__acts_in_order_grouped_by_where_one_stands() -> None:
    data = data_of(
        site="MLH", name="Mill house", day=DAY, walk={"acts": WALK, "seconds": 1, "travel_s": 1}, first=(), codes=None
    )
    stops = [(s["place"], [a["step"] for a in s["acts"]]) for s in data["stops"]]
    # P1 is in the room of the first stop, but one comes back to it at the end: the order of walking is kept
    assert stops == [
        ("A1 Room A1, floor A", ["1", "2"]),
        ("B2 Room B2, floor B", ["3"]),
        ("C9 Room C9, floor C", ["4"]),
        ("A1 Room A1, floor A", ["5"]),
    ]
    assert [a["reads"] for s in data["stops"] for a in s["acts"]] == [False, False, True, True, False]


def test_walk_sheet__a_reader_finds_every_act_and_its_caution(tmp_path: Path) -> None:
    text = flat(" ".join(pages(sheet(tmp_path, WALK))))
    for words in (
        "Put remote 3 on outlet P7",
        "Put remote 4 on outlet P9",
        "tester at outlet P2",
        "the reader on end Q5",
    ):
        assert text.count(words) == 1
    assert text.index("outlet P7") < text.index("Mains in the same box") < text.index("outlet P9")
    assert text.index("Ladder:") < text.index("end Q5")
    assert "key" not in text.replace("no keys", "") and "let:" not in text  # paper is left behind
    assert "MLH Mill house" in text and "20 November 2026" in text and "about 22 min, of which 5 min walking" in text


def test_walk_sheet__values_to_clip_and_room_for_the_first_readings(tmp_path: Path) -> None:
    text = flat(" ".join(pages(sheet(tmp_path, WALK, CODES))))
    assert "P7 A1 Room A1 1.2 kohm" in text and "P9 A1 Room A1 47 kohm" in text
    assert "before anything is clipped on, read the ohms of each end: Q5, Q6, Q8" in text


def test_walk_sheet__nothing_to_do_is_said(tmp_path: Path) -> None:
    assert "nothing to walk for" in flat(" ".join(pages(sheet(tmp_path, []))))


def test_walk_sheet__more_than_a_page_bears_its_number_on_each(tmp_path: Path) -> None:
    many = [act("clip", f"end:Q{n}", "C9") for n in range(60)]
    told = [flat(p) for p in pages(sheet(tmp_path, many))]
    assert len(told) >= 3
    assert all(f"{n} / {len(told)}" in page and "SHEET-W-20261120-1" in page for n, page in enumerate(told, 1))
    assert sum(page.count("the reader on end") for page in told) == 60


def test_walk_sheet__black_only_and_its_code_is_read(tmp_path: Path, pdftoppm: str) -> None:
    sheet(tmp_path, WALK, CODES)
    subprocess.run([pdftoppm, "-r", "150", "-png", "w.pdf", "p"], check=True, cwd=tmp_path)
    first = Image.open(sorted(tmp_path.glob("p*.png"))[0])
    hues = [max(rgb) - min(rgb) for _, rgb in first.convert("RGB").getcolors(maxcolors=1 << 24) or []]
    assert max(hues) == 0
    assert [c.text for c in zxingcpp.read_barcodes(first.convert("L"))] == ["MLH/SHEET-W-20261120-1"]


@pytest.mark.parametrize("words", ["#let x = 1", "*bold* $x$ \\ ] }", "Zimmer Öß 学"])
def test_walk_sheet__what_a_person_wrote_is_never_markup(tmp_path: Path, words: str) -> None:
    acts = [{**act("clip", "end:Q5", "C9"), "room_name": words}]
    text = flat(" ".join(pages(sheet(tmp_path, acts))))
    assert words.split()[0] in text
