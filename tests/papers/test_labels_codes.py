"""Codes: what labels say is read back at 203 dpi, dot or no dot, by another program, and held against the register."""

from __future__ import annotations

import pathlib

import pytest

from pullstring.model.asbuilt import Site
from pullstring.papers.identifiers import register
from pullstring.papers.labels_code import code_text
from pullstring.papers.labels_for import labels_for
from tests.papers.labelled_house import (
    SMALL,
    TODAY,
    Told,
    black_and_white,
    grey,
    pages_of,
    read_back,
    site,
)

TAPE_PPI = 203  # dots per inch of a common tape printer


def generated(ends: int) -> Site:
    """A house of two buildings with closets in each, names of 40 letters, and tags with spaces, dots and small letters."""
    told: list[Told] = [*SMALL, ("building:S 2", {}), ("floor:S0", {"building": "building:S 2", "level": 0})]
    told += [
        (f"room:S{n}", {"floor": "floor:S0", "name": f"Großes Müllerzimmer über der Wassermühle {n}"}) for n in range(4)
    ]
    told.append(("room:S0", {"closet": "yes"}))
    for n in range(4, ends):
        closet = "room:R5" if n % 3 else "room:S0"
        tag = (f"E{n:02d}", f"wire {n}", f"x{n}.b", f"F-{n}/a")[n % 4]
        far = f"room:S{n % 4}" if n % 3 == 0 else "room:R1"
        told += [(f"cable:K{n}", {}), (f"end:{tag}", {"cable": f"cable:K{n}", "room": closet, "label": f"ALT {n}"})]
        told.append((f"end:far {n}", {"cable": f"cable:K{n}", "room": far}))
    return site(*told)


@pytest.mark.parametrize("on", ["a4", "a4-40", "tape12", "tape24"])
def test_codes__of_a_generated_house_are_the_register(on: str, pdftoppm: str, tmp_path: pathlib.Path) -> None:
    found = generated(32)
    made = labels_for(found, "ends", on=on, today=TODAY)
    read = read_back([black_and_white(p) for p in pages_of(made.data, pdftoppm, tmp_path, ppi=TAPE_PPI)])
    cables = [one for one in register(found) if one.what in ("link", "backbone", "between buildings", "end", "cable")]
    assert {text for _, text, *_ in read} == {f"MLH/{one.identifier.upper()}" for one in cables}
    assert len(read) == len(made.spots) == 2 * len(cables), "both ends of each"
    where = {(s.page, s.code, round(s.x_mm)) for s in made.spots}
    assert {(p, text) for p, text, *_ in read} == {(p, text) for p, text, _ in where}
    dot = 25.4 / TAPE_PPI
    for page, text, x, y in read:
        near = [s for s in made.spots if s.page == page and s.code == text and s.code_mm]
        apart = [max(abs(x * dot - s.code_mm[0]), abs(y * dot - s.code_mm[1])) for s in near if s.code_mm]
        assert min(apart) < 4, "each code lies on its own label: its white is 1 to 3 mm wide"


def test_codes__of_one_sheet_as_the_program_itself_draws_it() -> None:
    found = site(*SMALL)
    made = labels_for(found, "ends", on="a4", today=TODAY, form="png", ppi=TAPE_PPI)
    codes = sorted(text for _, text, *_ in read_back([black_and_white(grey(made.data))]))
    assert codes == sorted(["MLH/0A-A01"] * 2 + ["MLH/0A-A02"] * 2 + ["MLH/0A-A03"] * 2)


@pytest.mark.parametrize(
    ("identifier", "text"),
    [
        ("0A-A07", "MLH/0A-A07"),
        ("wire 3", "MLH/WIRE 3"),
        ("M-0A/S-0B-46", "MLH/M-0A/S-0B-46"),
        ("unit:7", "MLH/UNIT:7"),
        ("Büro", None),
        ("Straße", None),  # raised it would be STRASSE, another tag
        ("ﬁ1", None),  # one sign that would become two
        ("ı1", None),
        ("E_1", None),
        ("E(1)", None),
        ("中", None),
    ],
)
def test_code__holds_property_and_identifier_in_the_small_alphabet_or_is_none(
    identifier: str, text: str | None
) -> None:
    """ISO/IEC 18004, alphanumeric mode: 0-9 A-Z space $ % * + - . / :"""
    assert code_text("MLH", identifier) == text


def test_codes__a_tag_that_no_code_holds_gets_a_label_without_one_and_is_told() -> None:
    found = site(("property:MLH", {}), ("outlet:Büro 1", {}), ("outlet:O2", {}))
    made = labels_for(found, "outlets", on="a4", today=TODAY, form="png", ppi=TAPE_PPI)
    assert [text for _, text, *_ in read_back([grey(made.data)])] == ["MLH/O2"]
    assert len(made.spots) == 2
    assert [s for s in made.left if s.startswith("Büro 1: printed without a code")]


def test_codes__a_property_that_no_code_holds() -> None:
    made = labels_for(
        site(("property:Mühle", {}), ("outlet:O1", {}), ("outlet:O2", {})), "outlets", on="a4", today=TODAY
    )
    assert made.data and not any(s.code for s in made.spots) and len(made.left) == 2


def test_codes__hold_nothing_but_the_identifier() -> None:
    """The same code whatever stands beside it."""
    plain = labels_for(site(*SMALL), "ends", on="tape24", today=TODAY)
    named = labels_for(
        site(*SMALL, ("room:R1", {"name": "Other"}), ("end:E03", {"found": "loose", "label": "X"})),
        "ends",
        on="tape24",
        today=TODAY,
    )
    assert [s.code for s in plain.spots] == [s.code for s in named.spots]


def test_codes__a_long_tag_is_coded_where_there_is_room_and_told_where_not() -> None:
    tag = "E " + "LONG TAG " * 12 + "1"
    house = site(("property:MLH", {}), (f"outlet:{tag}", {}))
    large = labels_for(house, "outlets", on="a4-10", today=TODAY, form="png", ppi=TAPE_PPI)
    assert [text for _, text, *_ in read_back([grey(large.data)])] == [f"MLH/{tag}"]
    small = labels_for(house, "outlets", on="100x30 1x2 40x9 left 6 top 6", today=TODAY)
    assert any("printed without a code, for it does not fit" in said for said in small.left)
