"""Colours of pairs, pins of jacks, the rack unit and the link identifier.

Sources: 25-pair code, T568A and T568B, EIA-310 rack unit (read in published texts); 50-pin connector and the
ANSI/TIA-606 identifier (from memory); rows of a 50-row block, tip first (common practice).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.model.norms import (
    QUAD_PAIRS,
    RACK_UNIT_M,
    T568A,
    T568B,
    LinkId,
    block_rows,
    link_id,
    pair_colours,
    pair_number,
    rack_height_m,
    rj21_pins,
)


@pytest.mark.parametrize(
    ("number", "colours"),
    [
        (1, "white/blue"), (5, "white/slate"), (6, "red/blue"), (9, "red/brown"), (13, "black/green"),
        (14, "black/brown"), (19, "yellow/brown"), (25, "violet/slate"),
    ],
)  # fmt: skip
def test_pair_colours__25_pair_code(number, colours):
    assert "/".join(pair_colours(number)) == colours


def test_pair_number__is_the_inverse_and_all_25_differ():
    assert [pair_number(tip=tip, ring=ring) for tip, ring in map(pair_colours, range(1, 26))] == list(range(1, 26))


@pytest.mark.parametrize("number", [0, 26, -1])
def test_pair_colours__outside_the_code(number):
    with pytest.raises(ValueError, match="1 to 25"):
        pair_colours(number)


def test_pair_number__tip_and_ring_swapped_is_refused():
    with pytest.raises(ValueError, match="tip is one of"):
        pair_number(tip="blue", ring="white")


@pytest.mark.parametrize(("number", "pins"), [(1, (26, 1)), (25, (50, 25))])
def test_rj21_pins__first_and_last(number, pins):
    assert rj21_pins(number) == pins


def test_block_rows__last_pair_fills_the_last_two_of_fifty():
    assert block_rows(25) == (49, 50)
    assert sorted(row for n in range(1, 26) for row in block_rows(n)) == list(range(1, 51))


def test_t568__printed_pins():
    a = "white/green, green, white/orange, blue, white/blue, orange, white/brown, brown"
    b = "white/orange, orange, white/green, blue, white/blue, green, white/brown, brown"
    assert list(T568A) == list(T568B) == list(range(1, 9))
    assert ", ".join(T568A.values()) == a
    assert ", ".join(T568B.values()) == b


def test_quad__line_1_is_green_and_red():
    assert QUAD_PAIRS == (("green", "red"), ("black", "yellow"))


@pytest.mark.parametrize(("units", "mm"), [(1, 44.45), (12, 533.4), (42, 1866.9)])
def test_rack_height__eia_310(units, mm):
    assert rack_height_m(units=units) * 1e3 == pytest.approx(mm, abs=1e-9)


def test_rack_unit__one_and_three_quarter_inches():
    assert pytest.approx(1.75 * 0.0254) == RACK_UNIT_M


@pytest.mark.parametrize(
    ("text", "floor", "space", "panel", "port", "number"),
    [
        ("2A-C07", 2, "A", "C", "07", 7),
        ("12B-AA118", 12, "B", "AA", "118", 118),
        ("A47", None, None, "A", "47", 47),
    ],
)
def test_link_id__the_three_shapes(text, floor, space, panel, port, number):
    read = link_id(text)
    assert read == LinkId(floor, space, panel, port)
    assert read.port_number == number
    assert str(read) == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2A-C7",
        "2A-C00007",
        "A-C07",
        "2-C07",
        "2A-ABC07",
        "2AC07",
        "2A-07",
        "2A-C07 x",
        "47",
        "2A-C\u0660\u0667",
    ],
)
def test_link_id__other_shapes_are_refused_with_an_example(text):
    with pytest.raises(ValueError, match="2A-C07"):
        link_id(text)


@given(
    closet=st.none() | st.tuples(st.integers(0, 199), st.sampled_from("ABCXYZ")),
    panel=st.from_regex(r"[A-Z]{1,2}", fullmatch=True),
    port=st.from_regex(r"[0-9]{2,4}", fullmatch=True),
)
def test_link_id__writing_and_reading_gives_the_same(closet, panel, port):
    floor, space = closet or (None, None)
    wanted = LinkId(floor, space, panel, port)
    assert link_id(str(wanted)) == wanted
    assert link_id(f" {str(wanted).lower()} ") == wanted
