"""The phrase beside a level reading: what can be read counts, what begins well and goes wrong is told, the rest stays."""

from __future__ import annotations

import pytest

from pullstring.radio.conditions import Conditions, parse_conditions


def test_phrase__as_people_write_it() -> None:
    said = parse_conditions("doors shut, same phone, mean of 5; heard from D05")
    assert said == Conditions(heard="D05", doors="shut", count=5, rest=("same phone",))


def test_phrase__the_other_way_round_and_other_words() -> None:
    said = parse_conditions(
        "Heard from unit:ap 3; at 3,5 2.25; all doors were OPEN; average of 3 readings; turning slowly"
    )
    assert said == Conditions(heard="ap 3", doors="open", at_m=(3.5, 2.25), count=3, turned=True)


@pytest.mark.parametrize(
    ("text", "at_m"),
    [
        ("at 3 4", (3, 4)),
        ("at 3 4 1.5", (3, 4, 1.5)),
        ("at x 3 y 4", (3, 4)),
        ("at 3 m 4 m", (3, 4)),
        ("at 10 20 ft", (3.048, 6.096)),
        ("at 10ft 20ft 5ft", (3.048, 6.096, 1.524)),
        ("at -1.5 0", (-1.5, 0)),
    ],
)
def test_place__with_and_without_units(text: str, at_m: tuple[float, ...]) -> None:
    """A foot is 0.3048 m by definition; a unit after the last number holds for all that have none."""
    assert parse_conditions(text).at_m == pytest.approx(at_m) and not parse_conditions(text).faults


def test_stranger__with_its_channel() -> None:
    said = parse_conditions("stranger on channel 36")
    assert said.stranger and said.stranger_channel == 36 and not said.faults


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("doors ajar", "write doors shut or doors open"),
        ("heard from", "names nothing"),
        ("stranger on the road", "names no channel"),
        ("stranger on channel 999", "names no channel"),
        ("at 3", "no place"),
        ("at 3 4 5 6", "no place"),
        ("at 3 parsecs", "no place"),
        ("mean of many", "of how many readings"),
        ("mean of 0", "of how many readings"),
    ],
)
def test_part_that_begins_well_and_goes_wrong__is_told(text: str, says: str) -> None:
    found = parse_conditions(f"doors shut; {text}" if "doors" not in text else text)
    assert len(found.faults) == 1 and says in found.faults[0]
    assert "doors" in text or found.doors == "shut", "the rest of the phrase counts all the same"


@pytest.mark.parametrize(
    "text", ["", " ", ";;", ", ,", "at the window", "attic", "raining; windy, cold", "\u00fc\u00df; 12"]
)
def test_free_words__are_no_fault(text: str) -> None:
    found = parse_conditions(text)
    assert (found.faults, found.heard, found.at_m, found.count) == ((), "", (), 1)
