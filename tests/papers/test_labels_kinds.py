"""Kinds of labels: what stands on them is read out of the PDF by another program."""

from __future__ import annotations

import itertools
import pathlib
import re
import subprocess

import numpy as np
import pytest
from PIL import ImageFont

from pullstring import api
from pullstring.api.labelling import label_facts
from pullstring.model.answers import Request
from pullstring.model.entries import Claimed, Entry, Evidence
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when
from pullstring.papers.ink import font_folder
from pullstring.papers.labels import BadLabel
from pullstring.papers.labels_face import FACES, SANS, lacking, letters, lines_of, printable
from pullstring.papers.labels_for import KINDS, Made, labels_for
from tests.journeys.sites import make, packaged
from tests.papers.labelled_house import SMALL, TODAY, Told, entries, grey, site

NAME40 = "Übergroßes Müllerzimmer am Wehr, Südseite"


def words(made: Made, pdftotext: str, folder: pathlib.Path) -> str:
    """All words of the PDF, in the order in which they were set."""
    (folder / "made.pdf").write_bytes(made.data)
    asked = [pdftotext, "-raw", folder / "made.pdf", "-"]
    said = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    return " ".join(said.split())


GUARDED: tuple[Told, ...] = (
    *SMALL,
    ("company:ALM", {"name": "alarm company", "hours": "Mo-Fr 8-17", "phone": "555 0100"}),
    ("role:OWN", {"name": "owner, abroad"}),
    ("unit:D1", {"name": "fire panel", "room": "room:R5"}),
)


def test_protected__says_whom_to_call_and_never_a_person_or_a_number(pdftotext: str, tmp_path: pathlib.Path) -> None:
    touch = {"end:E03": "ALM", "unit:D1": "Jane Roe", "end:E01": "owner", "end:E02": "OWN", "cable:C3": "ALM"}
    made = labels_for(site(*GUARDED), "protected", on="a4", today=TODAY, do_not_touch=touch)
    said = words(made, pdftotext, tmp_path)
    assert said.count("DO NOT TOUCH") == 4, "the cable is tagged at its end"
    assert "Call first: alarm company (Mo-Fr 8-17)" in said and "the owner" in said
    assert "Jane" not in said and "555" not in said and "LIB 2" in said


def test_protected__is_told_by_its_bars_and_its_band_without_colour() -> None:
    """The frame is bars and gaps by turns on all four sides, and the band more black than white."""
    made = labels_for(
        site(*GUARDED),
        "protected",
        on="a4-10",
        today=TODAY,
        do_not_touch={"end:E03": "ALM"},
        black_only=True,
        form="png",
        ppi=254,
    )
    (spot,) = made.spots
    ink = grey(made.data) < 128
    x0, y0, x1, y1 = (
        round(v * 10) for v in (spot.x_mm, spot.y_mm, spot.x_mm + spot.width_mm, spot.y_mm + spot.height_mm)
    )
    for line in (ink[y0 + 20, x0:x1], ink[y1 - 20, x0:x1], ink[y0:y1, x0 + 20], ink[y0:y1, x1 - 20]):
        changes = np.count_nonzero(np.diff(line.astype(int)))
        assert changes > 16 and 0.3 < line.mean() < 0.7
    band = ink[y0 + 60 : y0 + 120, x0 + 60 : x1 - 60]
    assert band.mean() > 0.5


def test_protected__is_red_where_there_is_red_ink() -> None:
    made = labels_for(site(*GUARDED), "protected", on="a4-10", today=TODAY, do_not_touch={"end:E03": "ALM"})
    black = labels_for(
        site(*GUARDED), "protected", on="a4-10", today=TODAY, do_not_touch={"end:E03": "ALM"}, black_only=True
    )
    assert made.data != black.data


RESERVED: tuple[Told, ...] = (
    *SMALL,
    ("role:TEC", {"name": "technician"}),
    ("cable:C3", {"reserved": "yes"}),
    ("cable:C2", {"reserved": "yes", "state": "removed"}),
)


def test_reserved__with_its_day_and_the_role(pdftotext: str, tmp_path: pathlib.Path) -> None:
    given = labels_for(site(*RESERVED), "reserved", on="tape24", today=TODAY, day="2027-03-11", role="TEC")
    said = words(given, pdftotext, tmp_path)
    assert "0A-A03" in said and "11 March 2027" in said and "technician" in said and "0A-A02" not in said
    noted = words(labels_for(site(*RESERVED, by="TEC"), "reserved", on="tape24", today=TODAY), pdftotext, tmp_path)
    assert "3 November 2026" in noted and "technician" in noted


def test_reserved__a_name_that_is_no_role_does_not_print(pdftotext: str, tmp_path: pathlib.Path) -> None:
    said = words(labels_for(site(*RESERVED, by="Jane Roe"), "reserved", on="tape24", today=TODAY), pdftotext, tmp_path)
    assert "RESERVED" in said and "Jane" not in said


def unit(tag: str, model: str, **fields: str) -> Told:
    return (f"unit:{tag}", {"model": f"model:{model}", **fields})


UNITS: tuple[Told, ...] = (
    *SMALL,
    ("model:M24", {"takes": "24 V always-on"}),
    ("model:MAF", {"takes": "802.3af"}),
    ("model:MP", {"takes": "plug"}),
    unit("SW", "MP", health="works"),
    ("port:SW.1", {"gives": "24 V always-on"}),
    ("port:SW.2", {"gives": "802.3at"}),
    unit("OLD", "MP"),
    ("port:OLD.1", {"gives": "24 V always-on"}),
    unit("A", "M24", health="works"),
    unit("B", "MAF", health="tested"),
    unit("C", "M24", health="untested"),
    unit("D", "M24"),
    unit("DEAD24", "M24", health="called dead", tried_on="port:SW.1"),
    unit("DEADAF", "MAF", health="called dead", tried_on="port:SW.2", state="removed"),
    unit("WRONG", "M24", health="called dead", tried_on="port:SW.2"),
    unit("UNSURE", "M24", health="called dead", tried_on="port:OLD.1"),
    unit("SAID", "M24", health="called dead"),
    unit("NEW", "M24", health="works", state="planned"),
)
STICKERS = {
    "A": "24 V ONLY",
    "B": "STANDARD POWER",
    "DEAD24": "DEAD",
    "DEADAF": "DEAD",
}


def test_units__stickers_only_for_what_is_known(pdftotext: str, tmp_path: pathlib.Path) -> None:
    """Dead is said only after it failed on a port that fits and is known to be good; untested gets nothing and is told."""
    made = labels_for(site(*UNITS), "units", on="a4", today=TODAY)
    assert {s.says.removeprefix("label ") for s in made.spots} == set(STICKERS)
    for tag, band in STICKERS.items():
        one = labels_for(site(*UNITS), "units", on="tape24", today=TODAY, only=[Ref("unit", tag)])
        assert band in words(one, pdftotext, tmp_path)
    left = " ".join(made.left)
    assert all(f"unit {tag}: no sticker" in left for tag in ("C", "D", "WRONG", "UNSURE", "SAID"))
    assert "not powered over data wires: OLD, SW" in left and "NEW" not in left


def test_units__a_port_on_which_something_runs_is_good() -> None:
    power = {"ports": [{"port": "OLD.1", "works": "likely", "device": "A", "hazard": False}]}
    made = labels_for(site(*UNITS), "units", on="a4", today=TODAY, power=power)
    assert "label UNSURE" in {s.says for s in made.spots}


def test_temporary__with_day_and_owner(pdftotext: str, tmp_path: pathlib.Path) -> None:
    told: tuple[Told, ...] = (
        *SMALL,
        ("role:TEC", {"name": "technician"}),
        ("visit:V2", {"arrives": "2027-03-08"}),
        ("temporary:X1", {"what": "cord along the skirting", "must_end": "2027-03-12", "known_to": "TEC, Jane"}),
        ("temporary:X2", {"what": "second", "until_visit": "visit:V2"}),
        ("temporary:X3", {"what": "third", "ended": "yes"}),
        ("temporary:X4", {"what": "fourth"}),
    )
    said = words(labels_for(site(*told, by="TEC"), "temporary", on="a4", today=TODAY), pdftotext, tmp_path)
    assert said.count("TEMPORARY") == 3 and "third" not in said and "Jane" not in said
    assert "12 March 2027" in said and "8 March 2027" in said and "no day is noted" in said and "technician" in said


def test_outlets__bear_the_links_that_arrive_there(pdftotext: str, tmp_path: pathlib.Path) -> None:
    told = (*SMALL, ("outlet:O2", {"room": "room:R6", "label": "STUDY"}), ("outlet:O3", {"state": "planned"}))
    made = labels_for(site(*told), "outlets", on="tape24", today=TODAY)
    assert [s.code for s in made.spots] == ["MLH/0A-A01", "MLH/O2"]
    assert "STUDY" in words(made, pdftotext, tmp_path)


def test_outlets__what_is_only_told_is_printed_as_told(pdftotext: str, tmp_path: pathlib.Path) -> None:
    told = entries([*SMALL, ("outlet:O2", {"room": "room:R6"})])
    claim = Claimed(parse_ref("end:E02"), "goes_to", parse_ref("outlet:O2"), True, Evidence("told"))
    told.append(Entry("z", "t", "bench", 99, 99, parse_when("2026-11-03"), "2026-11-03T10:00+00:00", claim))
    said = words(labels_for(replay(told, today=TODAY), "outlets", on="tape24", today=TODAY), pdftotext, tmp_path)
    assert said.count("told, not tested") == 1


@pytest.fixture(scope="module")
def cottage(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    return make(tmp_path_factory.mktemp("cottage"), packaged("two_rooms"))


def asked(path: pathlib.Path, what: str, on: str, **more: object) -> Made:
    found, only, facts = label_facts(path, Request(today="2026-03-10"), what)
    return labels_for(found, what, on=on, today="2026-03-10", only=only, **facts, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("size", ["a5", "a4"])
def test_card__port_mode_unit_room_and_link(
    cottage: pathlib.Path, size: str, pdftotext: str, tmp_path: pathlib.Path
) -> None:
    """Every port of the answer of `power` stands on the card, with its mode, the unit on it and that unit's room."""
    said = words(asked(cottage, "card", size), pdftotext, tmp_path)
    (card,) = api.power(cottage, Request(today="2026-03-10")).answer["card"]
    for port in card["ports"]:
        number = port["port"].rpartition(".")[2]
        row = re.search(rf"(?:^| ){number} {re.escape(port['gives'])}[^–]*", said)
        assert row, number
        assert all(device in row[0] for device in port["devices"])
    assert "24 V always-on. Nothing but 24 V units" in said and "0A-A01" in said


def test_ports__a_cell_for_each_port_at_the_pitch(
    cottage: pathlib.Path, pdftotext: str, tmp_path: pathlib.Path
) -> None:
    made = asked(cottage, "ports", "tape12", pitch_mm=16.5)
    (folder := tmp_path / "x").mkdir()
    (folder / "made.pdf").write_bytes(made.data)
    page = subprocess.run(
        [pdftotext, "-bbox", folder / "made.pdf", "-"], check=True, capture_output=True, text=True
    ).stdout
    boxes = [
        (float(a), float(b), w) for a, b, w in re.findall(r'xMin="([\d.]+)".*?xMax="([\d.]+)".*?>([^<]+)</word>', page)
    ]
    middles = [(a + b) / 2 / 72 * 25.4 for a, b, word in boxes if word in {"1", "2", "3", "4"}]
    assert len(middles) >= 4
    assert np.diff(middles[:4]) == pytest.approx([16.5] * 3, abs=0.1)


@pytest.mark.parametrize("pitch_mm", [None, 7.9, 41.0])
def test_ports__without_a_pitch_it_asks_for_one(pitch_mm: float | None) -> None:
    with pytest.raises(BadLabel, match="measure from the middle of one port"):
        labels_for(site(*SMALL), "ports", on="tape12", today=TODAY, pitch_mm=pitch_mm)


@pytest.mark.parametrize("what", KINDS)
def test_every_kind__of_an_empty_record_is_a_sentence_and_no_page(what: str) -> None:
    made = labels_for(site(), what, on="a5" if what == "card" else "tape12", today=TODAY, pitch_mm=16.0)
    assert made.data == b"" and made.left[-1].startswith(f"{what}: nothing to print;")


@pytest.mark.parametrize("what", KINDS)
def test_every_kind__same_record_same_bytes(what: str, cottage: pathlib.Path) -> None:
    on = "a5" if what == "card" else "a4"
    assert asked(cottage, what, on, pitch_mm=16.0) == asked(cottage, what, on, pitch_mm=16.0)


def test_only__what_was_asked_for_and_the_rest_told() -> None:
    made = labels_for(site(*SMALL), "ends", on="a4", today=TODAY, only=[Ref("end", "E01"), Ref("outlet", "O1")])
    assert [s.code for s in made.spots] == ["MLH/0A-A01"]
    assert "O1: no label of the kind “ends” is made for it." in made.left


def test_only__a_cable_stands_for_both_its_ends(cottage: pathlib.Path) -> None:
    found, only, _ = label_facts(cottage, Request(today="2026-03-10", tags=("C1",)), "ends")
    made = labels_for(found, "ends", on="a4", today="2026-03-10", only=only)
    assert len(made.spots) == 2 and len({s.code for s in made.spots}) == 1


@pytest.mark.parametrize(
    ("what", "more", "says"),
    [
        ("windows", {}, "there are no such labels"),
        ("card", {"on": "a7"}, "no size of a card"),
        ("outlets", {"cable_mm": 5.0}, "flags are made for ends only"),
        ("ends", {"cable_mm": 20.0}, "3 to 8 mm"),
    ],
)
def test_request__what_cannot_be_is_refused(what: str, more: dict[str, object], says: str) -> None:
    with pytest.raises(BadLabel, match=says):
        labels_for(site(*SMALL), what, **{"on": "a4", "today": TODAY, **more})  # type: ignore[arg-type]


LONG: tuple[Told, ...] = (
    ("property:MLH", {}),
    ("floor:B0", {"level": 0}),
    ("room:R1", {"floor": "floor:B0", "name": NAME40}),
    ("room:R5", {"floor": "floor:B0", "name": NAME40[::-1], "closet": "yes"}),
    ("cable:Kabel über Putz", {"reserved": "yes"}),
    ("end:Ende im Kasten", {"cable": "cable:Kabel über Putz", "room": "room:R5", "label": "W" * 40}),
    ("end:Ende oben", {"cable": "cable:Kabel über Putz", "room": "room:R1"}),
)


def inked_box(box: list[float], word: str) -> tuple[float, float, float, float]:
    """What a word covers of its box, which reaches from the highest to the lowest letter that its face could have."""
    up, down = ImageFont.truetype(str(font_folder() / FACES[SANS]), 1000).getmetrics()
    size = (box[3] - box[1]) / (up + down) * 1000
    base = box[3] - down / 1000 * size
    high = 0.95 if set(word) & set("ÄÖÜ") else 0.76
    low = 0.24 if set(word) & set("gjpqy,;()[]/Q") else 0.02
    return box[0], base - high * size, box[2], base + low * size


@pytest.mark.parametrize("on", ["tape12", "tape24", "a4", "a4-40", "a4-10"])
@pytest.mark.parametrize("what", ["ends", "reserved"])
def test_words__stand_apart_and_inside_or_are_cut_and_told(
    what: str, on: str, pdftotext: str, tmp_path: pathlib.Path
) -> None:
    """Boxes of the words as another program finds them: none lies on another, none leaves its label."""
    made = labels_for(site(*LONG), what, on=on, today=TODAY, day="2027-03-11")
    (tmp_path / "made.pdf").write_bytes(made.data)
    said = subprocess.run(
        [pdftotext, "-bbox", tmp_path / "made.pdf", "-"], check=True, capture_output=True, text=True
    ).stdout
    found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]+)<', said)
    boxes = [([float(v) / 72 * 25.4 for v in four], word) for *four, word in found]
    spots = [(s.x_mm, s.y_mm, s.x_mm + s.width_mm, s.y_mm + s.height_mm) for s in made.spots]
    for (x0, _, x1, y1), word in boxes:
        if "rule" in word or y1 > spots[-1][3] + 10 or x0 > max(s[2] for s in spots):
            continue
        assert any(s[0] <= x0 and x1 <= s[2] + 0.05 for s in spots), word
    inked = [(inked_box(box, word), word) for box, word in boxes]
    for (a, word), (b, other) in itertools.combinations(inked, 2):
        over_x = min(a[2], b[2]) - max(a[0], b[0])
        over_y = min(a[3], b[3]) - max(a[1], b[1])
        assert over_x <= 0.05 or over_y <= 0.05, (word, other)
    if "W" * 40 not in " ".join(word for _, word in boxes):
        assert any("did not fit and was cut" in told for told in made.left)


def test_letters__widths_are_those_of_another_reader_of_the_faces() -> None:
    """Advances of FreeType at 1000 units, without kerning."""
    for face, name in FACES.items():
        font = ImageFont.truetype(str(font_folder() / name), 1000, layout_engine=ImageFont.Layout.BASIC)
        for sample in ("W", "i", "Ü", "0A-A07", "…"):
            exact = sum(font.getlength(c) for c in sample) / 1000
            assert letters(face).width(sample) == pytest.approx(exact, abs=0.002 * len(sample)), (face, sample)


@pytest.mark.parametrize(
    ("text", "missing", "plain", "exact"),
    [
        ("Müller & Söhne ß", "", "Müller & Söhne ß", "Müller & Söhne ß"),
        ("Růžová", "ůž", "Ruzová", "R??ová"),
        ("łódź", "łź", "?ódz", "?ód?"),
        ("中", "中", "?", "?"),
        ("a  b\tc", "", "a b c", "a b c"),
        ("e\u0301", "", "é", "é"),
    ],
)
def test_letters__what_the_faces_lack_is_known(text: str, missing: str, plain: str, exact: str) -> None:
    """U+016F, U+017E, U+0142 are not among the 590 signs that all four files share."""
    assert lacking(" ".join(text.split())) == missing
    assert printable(text, exact=False) == plain and printable(text, exact=True) == exact


def test_letters__that_lack_are_told_and_printed_without_their_sign(pdftotext: str, tmp_path: pathlib.Path) -> None:
    told = (("property:P", {}), ("outlet:Ů1", {"room": "room:R"}), ("room:R", {"name": "Růžová"}))
    made = labels_for(site(*told), "outlets", on="a4", today=TODAY)
    assert any(said.startswith("Ů1: the packaged letters lack Ů ů ž") for said in made.left)
    said = words(made, pdftotext, tmp_path)
    assert "Ruzová" in said and "?1" in said, "in a tag no letter may quietly become another"


def test_lines__hold_every_word_once() -> None:
    text = "one two three four five six seven"
    assert " ".join(lines_of(text, SANS, width_mm=18, size_mm=3)) == text


def test_secret__never_prints_and_is_told(pdftotext: str, tmp_path: pathlib.Path) -> None:
    told = (*SMALL, ("temporary:X1", {"what": "router open, password: oranges"}))
    made = labels_for(site(*told), "temporary", on="a4", today=TODAY)
    assert "oranges" not in words(made, pdftotext, tmp_path)
    assert any("looks like a secret was left out" in said for said in made.left)
