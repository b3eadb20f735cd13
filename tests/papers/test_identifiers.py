"""Identifiers: the forms of the administration standard (from memory, verify locally), and that nothing later renames anything."""

from __future__ import annotations

import random

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.model.replay import replay
from pullstring.papers.identifiers import Identified, identified, register, site_class
from tests.papers.labelled_house import SMALL, TODAY, Told, entries, site


def names(found: Site) -> dict[str, str]:
    """Identifier by what bears it."""
    return {str(one.ref): one.identifier for one in register(found)}


def of(found: Site, ref: str) -> Identified:
    one = identified(found, parse_ref(ref))
    assert one is not None, ref
    return one


def test_register__forms_of_the_standard() -> None:
    """Floor 0, first space A; the number is that of the found-tag, as the example 2A-C07 of the standard's form shows it."""
    found = names(site(*SMALL))
    assert found["room:R5"] == "0A"
    assert {ref: found[f"cable:{ref}"] for ref in ("C1", "C2", "C3")} == {
        "C1": "0A-A01",
        "C2": "0A-A02",
        "C3": "0A-A03",
    }
    assert found["outlet:O1"] == "O1"


def test_register__both_ends_bear_the_name_of_their_cable_and_keep_what_was_found() -> None:
    found = site(*SMALL)
    assert of(found, "end:E01") == of(found, "end:F01") == of(found, "cable:C1")
    assert of(found, "end:E03").found_as == ("E03", "C3") and of(found, "end:E03").old_labels == ("LIB 2",)


CLASSES = [
    ((), 1),
    ((("room:R7", {"floor": "floor:B1", "closet": "yes"}),), 2),
    ((("block:K1", {"room": "room:R6"}),), 2),
    ((("building:S", {}),), 3),
    ((("building:S", {"state": "planned"}),), 1),
    ((("building:S", {}), ("property:XYZ", {})), 4),
]


@pytest.mark.parametrize(("more", "number"), CLASSES)
def test_class__by_rooms_buildings_and_sites(more: tuple[Told, ...], number: int) -> None:
    """1 one equipment room, 2 one building with several, 3 several buildings, 4 several sites (ANSI/TIA-606, from memory)."""
    assert site_class(site(*SMALL, *more)).number == number


def test_class__tells_its_counts() -> None:
    said = site_class(site(*SMALL, ("building:S", {}), ("building:T", {})))
    assert (said.sites, said.buildings, said.spaces) == (1, 3, 1)


LATER: tuple[Told, ...] = (
    ("room:R5", {"closet": "yes"}),
    ("end:D99", {"cable": "cable:C99", "room": "room:R5"}),  # before E by its letter
    ("end:A03", {"cable": "cable:C98", "room": "room:R5"}),  # the same number as E03, and earlier in the alphabet
    ("end:blue", {"cable": "cable:C97", "room": "room:R5"}),
    ("room:R0", {"floor": "floor:B0", "closet": "yes"}),
    ("block:K1", {"room": "room:R6"}),
    ("rack:RK", {"room": "room:R1"}),
    ("building:A", {}),
    ("floor:A0", {"building": "building:A", "level": 0}),
    ("room:A1", {"floor": "floor:A0", "closet": "yes"}),
    ("end:F02", {"cable": "cable:C2", "room": "room:A1"}),
    ("end:E01", {"found": "loose"}),
    ("end:E03", {"room": "room:R5"}),
    ("pathway:V1", {"rooms": "room:R5", "fire_stop": "2 h"}),
    ("cable:C1", {"state": "removed"}),
    ("end:E01", {"state": "removed"}),
    ("outlet:E02", {"room": "room:R1"}),
)


@pytest.mark.parametrize("many", range(1, len(LATER) + 1))
def test_register__what_is_noted_later_renames_nothing(many: int) -> None:
    """A cable whose other end turns up in another building becomes a cable between buildings: a correction, so C2 is left out."""
    before, after = names(site(*SMALL)), names(site(*SMALL, *LATER[:many]))
    assert {ref: after[ref] for ref in before if ref != "cable:C2"} == {
        ref: name for ref, name in before.items() if ref != "cable:C2"
    }
    told = [one.identifier.casefold() for one in register(site(*SMALL, *LATER[:many]))]
    assert len(told) == len(set(told))


def test_register__once_the_labels_are_noted_nothing_moves_them() -> None:
    """The closet noted anew after other spaces would change its letter; labels hold it."""
    labels: tuple[Told, ...] = tuple((f"end:E0{n}", {"label": f"0A-A0{n}"}) for n in (1, 2, 3))
    after = names(site(*SMALL, *LATER, *labels, ("room:R5", {"closet": "yes"})))
    assert {ref: after[ref] for ref in ("room:R5", "cable:C1", "cable:C2", "cable:C3")} == {
        "room:R5": "0A", "cable:C1": "0A-A01", "cable:C2": "0A-A02", "cable:C3": "0A-A03",
    }  # fmt: skip


def test_register__equal_numbers_go_by_the_order_of_making() -> None:
    made = [("end:Z07", {"room": "room:R5"}), ("end:A07", {"room": "room:R5"}), ("end:M007", {"room": "room:R5"})]
    found = names(site(*SMALL, *made))
    assert [found[f"end:{tag}"] for tag in ("Z07", "A07", "M007")] == ["0A-A07", "0A-B07", "0A-C07"]


def test_register__order_is_by_tick_and_not_by_arrival() -> None:
    told = entries([*SMALL, *LATER])
    straight = register(replay(told, today=TODAY))
    for seed in range(5):
        mixed = list(told)
        random.Random(seed).shuffle(mixed)
        assert register(replay(mixed, today=TODAY)) == straight


def test_register__a_room_noted_late_does_not_renumber_those_before_it() -> None:
    early = (*SMALL[:7], ("end:X07", {}), *SMALL[7:], ("end:E07", {"cable": "cable:C7", "room": "room:R5"}))
    before = names(site(*early))
    after = names(site(*early, ("end:X07", {"room": "room:R5"})))
    assert before["end:X07"] == "X07" and before["cable:C7"] == after["cable:C7"]
    assert after["end:X07"] != after["cable:C7"]


def test_register__removed_things_keep_their_identifier() -> None:
    found = site(*SMALL, ("cable:C3", {"state": "removed"}), ("end:N03", {"room": "room:R5"}))
    assert of(found, "cable:C3").identifier == "0A-A03" and not of(found, "cable:C3").stands
    assert of(found, "end:N03").identifier == "0A-B03"


@pytest.mark.parametrize(
    ("label", "name"), [("0A-C47", "0A-C47"), ("C47", "0A-C47"), ("0a-c47", "0A-C47"), ("LIB 2", "0A-A01")]
)
def test_register__a_label_in_the_form_is_respected(label: str, name: str) -> None:
    found = of(site(*SMALL, ("end:E01", {"label": label})), "cable:C1")
    assert found.identifier == name
    assert found.by == ("counted" if label == "LIB 2" else "stated")


def test_register__one_label_on_two_links_is_told_and_given_once() -> None:
    found = site(*SMALL, ("end:E01", {"label": "0A-C47"}), ("end:E02", {"label": "C47"}))
    assert of(found, "end:E01").identifier == "0A-C47"
    assert of(found, "end:E02").identifier == "0A-A02" and of(found, "end:E02").why == ("stated_twice",)


def test_register__a_stated_name_pushes_the_counted_one_aside() -> None:
    found = site(*SMALL, ("end:E01", {"label": "0A-A02"}))
    assert of(found, "end:E01").identifier == "0A-A02"
    assert of(found, "end:E02").identifier == "0A-B02"


def test_register__a_label_that_names_another_space_is_respected_and_told() -> None:
    found = of(site(*SMALL, ("end:E01", {"label": "3C-A01"})), "end:E01")
    assert found.identifier == "3C-A01" and found.why == ("stated_elsewhere",)


def test_register__the_space_takes_the_letter_that_labels_give_it() -> None:
    found = names(site(*SMALL, ("end:E01", {"label": "0D-A01"})))
    assert found["room:R5"] == "0D" and found["cable:C2"] == "0D-A02"


def test_register__between_closets_and_between_buildings() -> None:
    more: tuple[Told, ...] = (
        ("block:K1", {"room": "room:R6"}),
        ("end:F02", {"cable": "cable:C2", "room": "room:R6"}),
        ("building:S", {}),
        ("floor:S2", {"building": "building:S", "level": 2}),
        ("room:S7", {"floor": "floor:S2"}),
        ("end:F03", {"cable": "cable:C3", "room": "room:S7"}),
    )
    found = site(*SMALL, *more)
    assert (of(found, "cable:C2").identifier, of(found, "cable:C2").what) == ("0A/1B-02", "backbone")
    assert (of(found, "cable:C3").identifier, of(found, "cable:C3").what) == ("B-0A/S-2C-03", "between buildings")


def test_register__fire_stops_and_earthing_bars() -> None:
    more: tuple[Told, ...] = (
        ("pathway:V1", {"rooms": "room:R1 & room:R5"}),
        ("pathway:V2", {"rooms": "room:R6", "fire_stop": "sealed, 2 h"}),
        ("pathway:V3", {"rooms": "room:R6", "fire_stop": "none"}),
        ("rack:RK", {"room": "room:R5"}),
        ("rack:RL", {"room": "room:R6"}),
        ("bond:B1", {"joins": "rack:RK", "electrode": "copper bar on the wall", "conductor": "6 AWG"}),
        ("bond:B2", {"joins": "rack:RL", "electrode": "bar"}),
        ("bond:B3", {"joins": "rack:RL", "electrode": "water pipe"}),
    )
    found = {one.identifier: one for one in register(site(*SMALL, *more))}
    assert {name for name, one in found.items() if one.what == "fire-stop"} == {"1-FSL02"}
    assert found["1-FSL02"].beside == "sealed, 2 h"
    assert {name for name, one in found.items() if one.what == "earthing bar"} == {"0A-PBB", "1B-SBB"}
    assert "B3" in found


@pytest.mark.parametrize("floor", [{}, {"building": "building:B"}])
def test_register__without_a_floor_the_found_tag_is_the_identifier(floor: dict[str, str]) -> None:
    found = site(
        ("property:P", {}),
        ("floor:F", dict(floor)),
        ("room:R", {"closet": "yes", "floor": "floor:F"}),
        ("end:E7", {"room": "room:R"}),
    )
    assert of(found, "end:E7").identifier == "E7"
    assert of(found, "end:E7").by == "found tag" and of(found, "end:E7").why == ("own_tag",)


def test_register__a_cellar_has_a_floor_too() -> None:
    found = site(
        ("floor:U", {"level": -1}), ("room:R", {"floor": "floor:U", "closet": "yes"}), ("end:E7", {"room": "room:R"})
    )
    assert of(found, "end:E7").identifier == "B1A-A07"


def test_register__one_tag_of_two_kinds_is_told_apart() -> None:
    found = site(("unit:7", {}), ("outlet:7", {}), ("block:7", {}))
    assert [one.identifier for one in register(found)] == ["7", "outlet:7", "block:7"]


def test_register__nothing_known_at_all() -> None:
    assert register(site()) == () and site_class(site()).number == 1


def test_register__more_spaces_than_letters() -> None:
    told: list[Told] = [("building:B", {}), ("floor:F", {"building": "building:B", "level": 0})]
    told += [(f"room:R{n}", {"floor": "floor:F", "closet": "yes"}) for n in range(700)]
    found = [one.identifier for one in register(site(*told))]
    assert len(set(found)) == 700 and found[0] == "0A" and found[24] == "0AA"
    assert not any("I" in name or "O" in name for name in found), "these read as 1 and 0"
