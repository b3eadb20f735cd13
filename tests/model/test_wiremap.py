"""Pins and conductors by the published orders: TIA-568 for eight positions, the centre pins for telephones."""

from __future__ import annotations

import pytest

from pullstring.model.damage import pin_of, wire_of
from pullstring.model.norms import T568A, T568B
from pullstring.model.wiremap import SCHEMES, parse_wiremap

COLOUR = {1: "blue", 2: "orange", 3: "green", 4: "brown"}


@pytest.mark.parametrize(("name", "pins"), [("T568A", T568A), ("T568B", T568B)])
def test_orders__agree_with_the_colours_of_the_standard(name: str, pins: dict[int, str]) -> None:
    for number, couple in enumerate(SCHEMES[name], 1):
        assert {pins[p].removeprefix("white/") for p in couple} == {COLOUR[number]}
    assert sorted(p for couple in SCHEMES[name] for p in couple) == list(range(1, 9))


def test_telephone__line_one_on_the_centre_pins_line_two_around_them() -> None:
    assert [set(couple) for couple in SCHEMES["telephone"]] == [{3, 4}, {2, 5}]


@pytest.mark.parametrize("name", SCHEMES)
def test_pins_and_wires__there_and_back(name: str) -> None:
    for couple in SCHEMES[name]:
        for pin in couple:
            wire = wire_of(pin, name)
            assert wire is not None and pin_of(wire, name) == pin
    assert wire_of(9, name) is None and pin_of((5, "a"), name) is None


def test_map__what_is_named_and_what_is_the_rest() -> None:
    found = parse_wiremap("whole 1 2; open 3; touch 5+7+8; goes 4>6")
    assert [found.reaches(p) for p in (1, 3, 4, 6)] == [{1}, frozenset(), {6}, None]
    assert found.touched_by(5) == {7, 8} and found.touched_by(1) == frozenset()
    assert found.clean(1) and not found.clean(3) and not found.clean(5) and not found.clean(6)
    assert found.faulty == {3, 4, 5, 7, 8}
    rest = parse_wiremap("whole; open 8")
    assert rest.reaches(6) == {6} and rest.reaches(8) == frozenset()
