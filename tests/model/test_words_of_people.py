"""Tags, dates, quantities and outlines as people write them; and entries as lines."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.model.entries import BadEntry, Decided, Evidence, Measured, StruckOut, from_json, to_json
from pullstring.model.geometry import BadOutline, Frame, area_m2, as_polygon, contains, outline_text, parse_outline
from pullstring.model.refs import BadName, Ref, parse_ref
from pullstring.model.units import BadQuantity, parse_quantity
from pullstring.model.when import BadDate, parse_when
from tests.model.make import claimed, did, entry, noted


def test_tags__without_case_and_leading_zeros() -> None:
    assert Ref("end", "E07") == Ref("end", "e7") == Ref("end", "E007")
    assert len({Ref("end", "E70"), Ref("end", "E7"), Ref("cable", "E7"), Ref("room", "M101"), Ref("room", "M11")}) == 5
    assert [r.tag for r in sorted([Ref("end", "E29"), Ref("end", "E3"), Ref("end", "E10")])] == ["E3", "E10", "E29"]
    for wrong in ("", " E1", "a:b", "E1;"):
        with pytest.raises(BadName):
            Ref("end", wrong)
    with pytest.raises(BadName, match="kind:TAG"):
        parse_ref("E01")


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1994", "1994-01-01", "1994-12-31"),
        ("2026-02", "2026-02-01", "2026-02-28"),
        ("1990s", "1990-01-01", "1999-12-31"),
        ("2024-02-29", "2024-02-29", "2024-02-29"),
        ("before 2006", "0001-01-01", "2006-12-31"),
        ("2026-12", "2026-12-01", "2026-12-31"),
        ("after 1999", "1999-01-01", "9999-12-31"),
        ("about 1994", "1991-01-01", "1997-12-28"),
    ],
)
def test_dates__vague_ones_are_spans(text: str, first: str, last: str) -> None:
    when = parse_when(text)
    assert (when.earliest.date().isoformat(), when.latest.date().isoformat()) == (first, last)


def test_dates__a_moment_needs_its_offset() -> None:
    assert parse_when("2026-11-03T16:10+01:00").latest.isoformat() == "2026-11-03T15:10:00+00:00"
    for wrong in ("2026-11-03T16:10", "yesterday", "2026-13-01", "2026-02-30", "03/11/26", "1994s"):
        with pytest.raises(BadDate):
            parse_when(wrong)


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("12 ft", "length", 3.6576),
        ("5' 6\"", "length", 1.6764),
        ("0,36 nF", "capacitance", 3.6e-10),
        ("24 AWG", "gauge", 24),
        ("1000 Mb/s", "rate", 1e9),
        ("1 Gb/s", "rate", 1e9),
        ("-4 C", "temperature", -4),
        ("41 °F", "temperature", 5),
        ("1.2k", "resistance", 1200),
        ("1k2", "resistance", 1200),
        ("4R7", "resistance", 4.7),
        ("2M2", "resistance", 2.2e6),
        ("2h", "time", 120),
        ("3,5", "length", 3.5),
        ("8.42 ohm", "resistance", 8.42),
    ],
)
def test_quantities__international_foot_and_prefixes(text: str, quantity: str, value: float) -> None:
    assert math.isclose(parse_quantity(text, quantity).value, value, rel_tol=1e-11)


def test_quantities__signs_and_refusals() -> None:
    assert parse_quantity("< 3 ohm", "resistance").sign == "<"
    for wrong in ("zwölf", "3 bananas", "1.000,5", "", "3 V m"):
        with pytest.raises(BadQuantity):
            parse_quantity(wrong, "length")


def test_outlines__rectangles_pieces_units() -> None:
    pieces = parse_outline("0 4; 24 5,4 | 6 5.4; 10.5 9")
    assert sum(area_m2(as_polygon(p)) for p in pieces) == pytest.approx(24 * 1.4 + 4.5 * 3.6)
    assert parse_outline(outline_text(pieces)) == pieces
    assert area_m2(as_polygon(parse_outline("0 0; 10 10 ft")[0])) == pytest.approx(9.290304)
    assert contains(((0, 0), (4, 0), (0, 4)), (1, 1)) and not contains(((0, 0), (4, 0), (0, 4)), (3, 3))
    for wrong in ("1 2", "1; 2", "a b; c d"):
        with pytest.raises(BadOutline):
            parse_outline(wrong)


def test_frame__a_quarter_turn_by_hand() -> None:
    x, y, z = Frame(100, 50, 2, 90).to_site((3, 1), 1)
    assert (x, y, z) == (pytest.approx(99), pytest.approx(53), 3)


words = st.text(min_size=1, max_size=12).filter(str.strip)
tags = st.from_regex(r"[A-Z][0-9]{1,3}", fullmatch=True)
all_bodies = st.one_of(
    st.builds(
        lambda t, f: noted(f"end:{t}", f, over={"found": ("x",)}),
        tags,
        st.dictionaries(words, st.one_of(words, st.integers(), st.booleans(), st.none()), max_size=3),
    ),
    st.builds(lambda a, b, h: claimed(f"end:{a}", "goes_to", f"outlet:{b}", holds=h), tags, tags, st.booleans()),
    st.builds(
        lambda t, v: Measured(Ref("cable", t), "length", "=", v, "m", "x", Evidence("metered")), tags, st.floats(0, 1e6)
    ),
    st.builds(lambda a, b: did("plug in", f"end:{a}", f"port:{b}"), tags, tags),
    st.builds(lambda i, h: Decided("ab12", tuple(i), True, "OWN", h), st.lists(words, max_size=3), words),
    st.builds(StruckOut, words, words, st.booleans()),
)


@given(all_bodies, st.integers(1, 99))
def test_entries__a_line_and_back(body, tick: int) -> None:
    before = entry("id1", body, tick=tick)
    line = to_json(before)
    assert from_json(line) == before
    assert to_json(from_json(line)) == line


@pytest.mark.parametrize("line", ["", "{}", "[]", "null", '{"kind":"noted"}', '{"kind":"sung","body":{}}', "\0"])
def test_entries__anything_else_is_refused_in_a_sentence(line: str) -> None:
    with pytest.raises(BadEntry, match="no entry"):
        from_json(line)


def test_evidence__no_grade_of_ones_own() -> None:
    with pytest.raises(BadEntry, match="a grade is one of"):
        Evidence("quite sure")
