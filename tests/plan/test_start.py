"""What a start asks for and how large it calls the work; the expected figures follow from the rule named beside each."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullstring.model.answers import plain
from pullstring.model.pasted import read_pasted
from pullstring.papers import words_start_fixed
from pullstring.plan.start import provenance, started


def start(text: str) -> dict[str, Any]:
    told = read_pasted(text)
    return started(told, told.rooms)


def codes(text: str, part: str = "questions") -> list[str]:
    return [q["code"] for q in start(text)[part]]


def span(text: str, what: str) -> tuple[float, float]:
    value = start(text)["size"][what]
    return value.low, value.high


def test_nothing__asks_for_rooms_first_and_still_has_a_size() -> None:
    assert codes("")[0] == "rooms"
    assert span("", "rooms") == (5, 15)  # the rule for rooms nobody named
    assert len(codes("")) == 12
    assert start("")["tags"] == {"first": 1, "last": 12, "basis": "nothing", "count": 0}


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("kitchen", "rooms"),
        ("the alarm", "guards"),
        ("no lift", "guards"),
        ("caretaker is away", "caretaker"),
        ("wifi is slow", "complaints"),
        ("brick walls", "walls"),
        ("8 telephone sockets", "sockets"),
        ("leave Thursday 14:00", "dates"),
        ("no drilling", "drilling"),
        ("fibre", "medium"),
        ("100 down", "speed"),
        ("router in the study", "line_place"),
        ("patch panel in the cellar", "closet"),
    ],
)
def test_question__never_what_was_said(said: str, code: str) -> None:
    before = "" if code in codes("") else "stone walls, caretaker away, leave Monday. "  # only twelve are asked
    assert code in codes(before)
    assert code not in codes(before + said)


def test_question__doubts_that_the_text_itself_leaves() -> None:
    assert "first_floor" in codes("library on the first floor")
    assert "first_floor" not in codes("hall on the ground floor, library on the first floor")
    assert "guard_company" in codes("burglar alarm") and "guard_company" not in codes("no alarm")
    assert "outbuilding_distance" in codes("barn") and "outbuilding_distance" not in codes("barn 40 m away")


@pytest.mark.parametrize(
    ("walls", "units"),
    [
        ("stone walls", (5, 5)),
        ("metal lath", (10, 10)),
        ("stone, metal lath", (10, 10)),
        ("timber", (3, 5)),
        ("", (4, 10)),
    ],
)
def test_size__ten_rooms_by_wall(walls: str, units: tuple[float, float]) -> None:
    """Two rooms a unit behind masonry, one behind metal lath, two to four in timber, one to three if unknown; the worst counts."""
    assert span(f"10 rooms. {walls}", "access_points") == units


def test_size__an_outbuilding_is_one_unit_more_and_small_rooms_are_none() -> None:
    assert span("10 rooms, stone. barn 40 m", "access_points") == (6, 6)
    assert span("kitchen, hall, bathroom, wc, corridor; stone", "access_points") == (1, 1)  # two rooms that need signal


def test_size__hours_are_the_sum_of_the_rules() -> None:
    """10 rooms behind stone, 8 sockets: 2 + 5 x 1.5 + 8 x 0.3 + 3 hours at least, 4 + 5 x 4 + 8 x 0.8 + 5 at most."""
    low, high = span("10 rooms, stone, 8 telephone sockets", "hours")
    assert low == pytest.approx(14.9) and high == pytest.approx(35.4)
    assert span("10 rooms, stone, 8 telephone sockets", "days") == (2, 6)  # 14.9 / 8 and 35.4 / 6, rounded up
    assert start("10 rooms, stone, 8 telephone sockets")["size"]["class"] == "middle"
    assert start("200 rooms")["size"]["class"] == "very large"
    assert start("kitchen, hall; stone; no telephone sockets")["size"]["class"] == "small"


def test_size__names_the_inputs_that_spread_it_and_their_provenance() -> None:
    size = start("10 rooms, stone, 8 telephone sockets")["size"]
    assert set(size["hours"].inputs) == {"hours_per_unit", "hours_per_socket", "hours_first", "hours_last"}
    assert all(r["provenance"].startswith(("assumed", "common practice")) for r in size["rules"])
    assert provenance("rooms_per_unit:metal lath").startswith("common practice")


def test_photos__each_room_guard_and_building_once() -> None:
    wanted = start("kitchen, tower room, kitchen; alarm; barn; router in the study")["photos"]
    assert [p["number"] for p in wanted] == list(range(1, len(wanted) + 1))
    assert [p["about"] for p in wanted if p["code"] == "room"] == [["Kitchen"], ["Tower room"], ["Study"]]
    assert [p["about"] for p in wanted if p["code"] in ("guard", "outbuilding", "router")] == [
        ["Study"],
        ["alarm"],
        ["barn"],
    ]
    assert all(p["cautions"] for p in wanted)


def test_photos__two_hundred_rooms_are_not_two_hundred_requests() -> None:
    wanted = start("\n".join(f"bedroom {n}" for n in range(1, 201)))["photos"]
    rooms = [p["about"] for p in wanted if p["code"] == "room"]
    assert len(rooms) == 41 and sum(map(len, rooms)) == 200


@pytest.mark.parametrize(
    ("text", "last"),
    [
        ("20 telephone sockets", 20),
        ("telephone sockets in 14 rooms", 14),
        ("3 telephone sockets", 12),
        ("bedrooms 1-15", 15),
        ("900 phone jacks", 240),
    ],
)
def test_tags__as_many_as_sockets_else_rooms_but_twelve_at_least(text: str, last: int) -> None:
    assert start(text)["tags"]["last"] == last


def test_untouched__told_first_denied_last_and_denied_still_stands() -> None:
    rows = start("never touch the alarm. no lift")["untouched"]
    assert (rows[0]["code"], rows[0]["state"]) == ("alarm", "told")
    assert (rows[-1]["code"], rows[-1]["state"]) == ("lift", "denied")
    assert "incoming_line" in [r["code"] for r in rows if r["state"] == "possible"]
    assert [r["words"] for r in start("never unplug the flurb")["untouched"] if r["code"] == "words"] == [
        "never unplug the flurb"
    ]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("built 1870", "old_materials"),
        ("asbestos in the cellar", "hazard"),
        ("burglar alarm", "guards"),
        ("barn", "between_buildings"),
        ("barn 120 m", "far_outbuilding"),
        ("metal lath", "metal_lath"),
        ("30 rooms. two days on site", "too_little_time"),
        ("hall on the ground floor. cellar above the hall", "above_but_not_higher"),
    ],
)
def test_concern__fires(text: str, code: str) -> None:
    assert code in codes(text, "concerns")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("built 1995", "old_materials"),
        ("no alarm", "guards"),
        ("barn 80 m", "far_outbuilding"),
        ("2 rooms, stone, no telephone sockets. nine days on site", "too_little_time"),
        ("hall on the ground floor. cellar below the hall", "above_but_not_higher"),
    ],
)
def test_concern__near_miss_is_silent(text: str, code: str) -> None:
    assert code not in codes(text, "concerns")


def test_concerns__worst_first_and_five_at_most() -> None:
    found = start("built 1870, asbestos, damp, dogs, alarm, lift, barn 300 m, metal lath, 30 rooms, one day on site")[
        "concerns"
    ]
    assert len(found) == 5
    order = ["hurt", "outage", "money", "tidy"]
    assert [order.index(c["severity"]) for c in found] == sorted(order.index(c["severity"]) for c in found)
    assert found[0]["severity"] == "hurt"


def test_words__every_code_has_its_sentence() -> None:
    from pullstring.plan.start import _rows

    assert {r["code"] for r in _rows("start_questions.csv")} == set(words_start_fixed.QUESTIONS)
    assert {r["code"] for r in _rows("start_photos.csv")} == set(words_start_fixed.PHOTOS)
    assert {c for r in _rows("start_photos.csv") for c in r["cautions"].split()} == set(
        words_start_fixed.PHOTO_CAUTIONS
    )


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=300))
def test_any_text__ends_in_an_answer(text: str) -> None:
    answer = start(text)
    assert plain(answer) == plain(start(text))
    assert len(answer["questions"]) <= 12 and len(answer["concerns"]) <= 5
    assert answer["photos"] and answer["size"]["hours"].low > 0
