"""Single conductors: what touches through jacks, rows, clips, splices, taps, loops, devices and cords, and what is damaged."""

from __future__ import annotations

import itertools
import random

import pytest

from pullstring.copper.judged import judged_runs
from pullstring.model.conductors import Point, conductor_nets
from pullstring.model.damage import damage_of, mapped_pairs
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.replay import replay
from pullstring.model.wiremap import BadWireMap, parse_wiremap
from pullstring.model.wiring import nets, runs
from pullstring.power.ports import judged_ports
from tests.notice.lines import TODAY, entries, site

CLOSET = "rooms room=CL closet=yes\nrooms room=R1\nblocks block=B1\n"


def together(text: str, *refs: str, through_devices: bool = True) -> bool:
    """Whether all of the named things lie in one net."""
    wanted = {parse_ref(r) for r in refs}
    return any(wanted <= set(n.members) for n in nets(site(CLOSET + text), through_devices=through_devices))


CABLE = "cables cable=C{n} pairs={pairs}\nends end=E{n} cable=C{n} room=CL\nends end=X{n} cable=C{n} room=R1\n"


def cable(n: int, *, pairs: int = 4) -> str:
    return CABLE.format(n=n, pairs=pairs)


def test_chain__two_jackets_behind_one_jack_touch_pair_by_pair() -> None:
    text = cable(1) + cable(2) + "outlets outlet=O1 room=R1\nends end=X1 ends_at=O1\nends end=X2 ends_at=O1\n"
    assert together(text, "pair:C1.1", "pair:C2.1") and together(text, "pair:C1.4", "pair:C2.4")
    assert not together(text, "pair:C1.1", "pair:C2.2")


def test_twin_plate__two_jackets_with_a_position_each_do_not_touch() -> None:
    text = (
        cable(1) + cable(2) + "outlets outlet=O1 room=R1 positions=2\nends end=X1 ends_at=O1\nends end=X2 ends_at=O1\n"
    )
    assert not together(text, "pair:C1.1", "pair:C2.1")
    looped = text + "joints joint=J1 style=loop ends=outlet:O1\n"
    assert together(looped, "pair:C1.1", "pair:C2.1"), "a noted loop at the plate joins them whatever the plate holds"


def test_splice__pair_to_pair_unless_the_joint_says_which() -> None:
    ends = "joints joint=J1 style=splice ends='end:X1 end:X2'"
    assert together(cable(1) + cable(2, pairs=2) + ends, "pair:C1.2", "pair:C2.2")
    assert not together(cable(1) + cable(2, pairs=2) + ends, "pair:C1.3", "row:B1.1")
    crossed = cable(1) + cable(2, pairs=2) + ends + " pairs='1>2 2>1'"
    assert together(crossed, "pair:C1.1", "pair:C2.2") and not together(crossed, "pair:C1.1", "pair:C2.1")


def test_tap__three_ends_at_one_joint() -> None:
    text = "".join(cable(n) for n in (1, 2, 3)) + "joints joint=J1 style=tap ends='end:X1 end:X2 end:X3'"
    assert together(text, "pair:C1.1", "pair:C2.1", "pair:C3.1")
    removed = text + " state=removed"
    assert not together(removed, "pair:C1.1", "pair:C2.1")


def test_series_jack__touches_through_the_device_and_apart_without_it() -> None:
    text = (
        cable(1, pairs=2)
        + cable(2, pairs=2)
        + "models model=SJ what='series jack' passes=always\nunits unit=U1 model=SJ\n"
        + "ends end=E1 ends_at=port:U1.in\nends end=E2 ends_at=port:U1.out\n"
    )
    assert together(text, "pair:C1.1", "pair:C2.1")
    returned = text.replace("U1.out", "U1.back")
    assert not together(returned, "pair:C1.1", "pair:C2.1"), "what comes back has passed the panel, not the jack"
    assert not together(text, "pair:C1.1", "pair:C2.1", through_devices=False)
    switch = text.replace("what='series jack' passes=always", "what=switch")
    assert not together(switch, "pair:C1.1", "pair:C2.1"), "a switch passes frames, not conductors"


def test_cord__from_port_to_outlet_pin_by_pin() -> None:
    text = (
        cable(1)
        + "outlets outlet=O1 room=R1\nends end=X1 ends_at=O1\nunits unit=U1\nports port=U1.1 plugged=outlet:O1\n"
    )
    assert together(text, "pair:C1.1", "pair:C1.1", "port:U1.1")
    pins = [g for g in conductor_nets(site(CLOSET + text)) if Point(Ref("port", "U1.1"), "4") in g.points]
    assert [str(p.of) for p in pins[0].points if p.of.kind == "pair"] == ["pair:C1.1", "pair:C1.1"], (
        "blue is on 4 and 5"
    )


def test_orders_differ__orange_meets_green() -> None:
    """T568A has green on 1 and 2, T568B orange (TIA-568)."""
    text = (
        cable(1)
        + cable(2)
        + "outlets outlet=O1 room=R1\nends end=X1 ends_at=O1 scheme=T568A\nends end=X2 ends_at=O1 scheme=T568B\n"
    )
    assert together(text, "pair:C1.2", "pair:C2.3") and together(text, "pair:C1.1", "pair:C2.1")
    assert not together(text, "pair:C1.2", "pair:C2.2")


def test_open_pair__its_far_end_is_another_net() -> None:
    text = cable(1, pairs=2) + "outlets outlet=O1\nends end=X1 ends_at=O1\nends end=E1 ends_at=row:B1.1\n"
    found = site(CLOSET + text)
    assert any({Ref("row", "B1.1"), Ref("jack", "O1.1")} <= set(n.members) for n in nets(found))
    cut = conductor_nets(site(CLOSET + text + "pairs pair=C1.1 condition=open\n"))
    near = next(g for g in cut if any(p.of == Ref("row", "B1.1") for p in g.points))
    assert not any(p.of.kind == "jack" for p in near.points)


def test_by_date__a_clip_that_was_lifted() -> None:
    text = "".join(
        f"cables cable=C{n} pairs=1 at=1990\nends end=E{n} cable=C{n} ends_at=row:B1.{n} at=1990\n" for n in (1, 2)
    )
    text += "rows row=B1.1 clip_to=row:B1.2 at=1994\nacts act=part subject=row:B1.1 object=row:B1.2 at=2026-03-04\n"
    assert not together(text, "pair:C1.1", "pair:C2.1")

    def then(day: str) -> bool:
        found = nets(replay(entries(CLOSET + text), today=TODAY, as_of=day))
        return any({Ref("pair", "C1.1"), Ref("pair", "C2.1")} <= set(n.members) for n in found)

    assert [then(day) for day in ("1993-06-01", "2026-03-03", "2026-03-05")] == [False, True, False]


def test_ring__both_ends_in_the_closet() -> None:
    found = site(CLOSET + "cables cable=C1 pairs=2\nends end=E1 cable=C1 room=CL\nends end=E2 cable=C1 room=CL\n")
    assert {str(r.start): str(r.back) for r in runs(found)} == {"end:E1": "end:E2", "end:E2": "end:E1"}


def test_nets_equal_brute_force__on_drawn_rows_and_clips() -> None:
    """Rows and clips at random: the nets are the connected parts, worked out here by plain search."""
    for seed in range(20):
        dice = random.Random(seed)
        ends = {n: dice.randrange(1, 9) for n in range(1, 9)}
        clips = {tuple(sorted(dice.sample(range(1, 9), 2))) for _ in range(dice.randrange(5))}
        text = "".join(
            f"cables cable=C{n} pairs=1\nends end=E{n} cable=C{n} ends_at=row:B1.{r}\n" for n, r in ends.items()
        )
        text += "".join(f"claims subject=row:B1.{a} relation=joined object=row:B1.{b}\n" for a, b in clips)
        found = site(CLOSET + text)
        for a, b in itertools.combinations(ends, 2):
            reached, grown = {ends[a]}, True
            while grown:
                more = {y for x, y in clips if x in reached} | {x for x, y in clips if y in reached}
                grown = not more <= reached
                reached |= more
            wanted = ends[b] in reached
            pairs = {Ref("pair", f"C{a}.1"), Ref("pair", f"C{b}.1")}
            assert any(pairs <= set(n.members) for n in nets(found)) is wanted, (seed, a, b)


def test_net__as_strong_as_its_weakest_claim_and_names_its_entries() -> None:
    text = cable(1) + cable(2) + "ends end=E1 ends_at=row:B1.1 grade=toned\nends end=E2 ends_at=row:B1.1 grade=told\n"
    (net,) = [n for n in nets(site(CLOSET + text)) if Ref("row", "B1.1") in n.members]
    assert net.weakest == "told" and len(net.because) == 2


@pytest.mark.parametrize(
    ("text", "faulty"),
    [
        ("whole", set()),
        ("whole; touch 5+7", {5, 7}),
        ("whole 1 2 3 6; open 4 5", {4, 5}),
        ("goes 1>3 2>6 3>1 6>2", {1, 2, 3, 6}),
    ],
)
def test_wire_map__as_people_write_it(text: str, faulty: set[int]) -> None:
    assert parse_wiremap(text).faulty == faulty


@pytest.mark.parametrize("text", ["", "broken", "touch 5", "open x", "goes 1-3", "whole 1 two"])
def test_wire_map__otherwise_one_sentence(text: str) -> None:
    with pytest.raises(BadWireMap, match="write|parted by spaces"):
        parse_wiremap(text)


STAPLE = cable(1) + (
    "cables cable=C1 jacket=cat5\noutlets outlet=O1\nends end=E1 goes_to=O1 grade='pinned out'\nends end=E1 plugged=port:U1.1\n"
    "measurements subject=end:E1 quantity='wire map' value='whole; touch 5+7'\n"
    "models model=SW what=switch\nunits unit=U1 model=SW\n"
)


def test_staple__blue_and_brown_touch_and_a_hundred_is_left() -> None:
    """Pins 5 and 7 are in the blue and the brown pair by either order (TIA-568); 100BASE-TX needs 1-2 and 3-6 (IEEE 802.3)."""
    found = site(CLOSET + STAPLE)
    damage = damage_of(found, Ref("cable", "C1"))
    assert damage.pairs == {1, 4} and damage.pins() == {frozenset({5, 7})}
    assert mapped_pairs(found, Ref("cable", "C1")) == {1: False, 2: True, 3: True, 4: False}
    (judged,) = judged_runs(found)
    bands = {r.mbps: r.band for r in judged.capability.rates}
    assert judged.whole == 2 and bands[1000] == "no" and bands[100] != "no"
    assert together(STAPLE, "pair:C1.1", "pair:C1.4")


@pytest.mark.parametrize(
    ("gives", "takes", "works", "code"),
    [
        ("24 V always-on", "24 V always-on", "no", "short_between_poles"),
        ("802.3af", "802.3af", "possible", "alternative_unknown"),
    ],
)
def test_staple__24_v_would_be_a_dead_short_and_the_other_alternative_may_work(
    gives: str, takes: str, works: str, code: str
) -> None:
    text = STAPLE + (
        f"ports port=U1.1 gives='{gives}'\nmodels model=AP takes='{takes}' max_w=6 class=1 typical_w=5\nunits unit=U2 model=AP\n"
        "ports port=U2.1 plugged=outlet:O1\n"
    )
    (judged,) = [j for j in judged_ports(site(CLOSET + text)) if j.device]
    assert judged.match is not None and judged.match.code == code and judged.match.works == works


def test_mended__the_map_before_counts_no_more() -> None:
    found = site(CLOSET + STAPLE + "acts act=mend subject=cable:C1 at=2026-04-01\n")
    assert not damage_of(found, Ref("cable", "C1")).any
