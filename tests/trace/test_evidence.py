"""From entries to readings: each kind of evidence becomes what it says, with the entries it stands in."""

from __future__ import annotations

import math

import pytest

from pullstring.trace import readings as reading
from pullstring.trace.assumed import assumed_noise
from pullstring.trace.evidence import Traced, traced
from pullstring.trace.evidence_blocks import Joined
from tests.trace.houses import goes, house, odds, plain, read


def told(given: Traced, kind: type) -> list[object]:
    return [r for r in given.readings if isinstance(r, kind)]


def the(given: Traced, kind: type) -> object:
    [one] = told(given, kind)
    return one


@pytest.mark.parametrize(
    ("subject", "value"),
    [("outlet:P2", "faint from end:W3"), ("end:W3", "faint from outlet:P2"), ("row:B1.3", "faint from outlet:P2")],
)
def test_tone__either_way_and_at_the_row(subject: str, value: str) -> None:
    given = traced(house(plain(2, 3, rows_on="B1") + read(subject, "tone", value, key="t")))
    tone = the(given, reading.Tone)
    assert (tone.outlet, tone.end, tone.level, tone.opened) == (1, 2, 1, frozenset())
    [measured] = given.ground.site.readings
    assert tone.because == (measured.entry,)


def test_tone_at_a_jack__is_one_at_its_outlet() -> None:
    text = plain(1, 2) + "jacks: jack=P1.1\n" + read("jack:P1.1", "tone", "loud from end:W2")
    assert the(traced(house(text)), reading.Tone).end == 1


def test_tone_at_a_far_end__is_one_at_its_outlet() -> None:
    text = plain(1, 2) + "ends: end=F1, ends_at=P1, room=R2, grade=seen\n" + read("end:F1", "tone", "loud from end:W2")
    assert the(traced(house(text)), reading.Tone).outlet == 0


def test_bundle__touches_all_the_ends_it_names() -> None:
    text = plain(1, 4) + read("end:W2", "tone", "faint from outlet:P1 over end:W2 end:W4")
    bundle = the(traced(house(text)), reading.Bundle)
    assert (bundle.outlet, bundle.ends, bundle.level) == (0, frozenset((1, 3)), 1)


def test_confirmed__is_a_short_that_was_seen() -> None:
    """A loud tone on the wrong end in 5 of 1000, a short seen where there is none in 1 of 100 (assumed): both must go wrong."""
    base = plain(1, 6)
    loud = odds(traced(house(base + read("outlet:P1", "tone", "loud from end:W1", key="t"))))
    sure = odds(traced(house(base + read("outlet:P1", "tone", "loud from end:W1 confirmed", key="t"))))
    noise = assumed_noise()
    ratio = (sure.own[0, 0] / sure.own[0, 1]) / (loud.own[0, 0] / loud.own[0, 1])
    assert ratio == pytest.approx(noise.pair_hit / noise.pair_false, rel=1e-6)


def test_remotes__heard_and_not_heard_count_and_unlooked_do_not() -> None:
    text = plain(3, 3) + read("outlet:P1", "remote placed", "1") + read("outlet:P2", "remote placed", "2", minute=1)
    text += read("outlet:P3", "remote placed", "3", minute=2) + read("end:W1", "remotes heard", "2 of 1-2", minute=5)
    given = traced(house(text))
    assert {(r.outlet, r.end, r.hit, r.source) for r in told(given, reading.Remote)} == {
        (0, 0, False, "remote 1"),
        (1, 0, True, "remote 2"),
    }
    first = given.readings[[r.key for r in given.readings].index("end:w1 " + _entry(given, "end:W1") + " 1")]
    assert len(first.because) == 2, "what was heard, and what had been placed"


def _entry(given: Traced, subject: str) -> str:
    return next(r.entry for r in given.ground.site.readings if str(r.measured.subject) == subject)


def test_remotes_on_ends__are_heard_at_outlets() -> None:
    text = plain(2, 2) + read("end:W2", "remote placed", "5") + read("outlet:P1", "remotes heard", "5", minute=2)
    remote = the(traced(house(text)), reading.Remote)
    assert (remote.outlet, remote.end, remote.hit) == (0, 1, True)


def test_words__are_read_over_the_pairs_looked_for() -> None:
    text = plain(1, 2) + read("end:W1", "word placed", "1 3") + read("end:W2", "word placed", "2", minute=1)
    text += read("outlet:P1", "word read", "1 3 of 1-4", minute=5)
    plugs = the(traced(house(text)), reading.Plugs)
    assert (dict(plugs.words), plugs.pairs, plugs.bits) == ({0: 0b101, 1: 0b010}, 4, 0b101)
    assert goes(house(text))["P1"][0] == "W1" and goes(house(text))["P1"][1] > 0.99


def test_words__a_plug_taken_off_is_no_longer_there() -> None:
    text = plain(1, 2) + read("end:W1", "word placed", "1") + read("end:W2", "word placed", "2", minute=1)
    text += read("end:W1", "word placed", "none", minute=3) + read("outlet:P1", "word read", "2 of 1-2", minute=5)
    assert dict(the(traced(house(text)), reading.Plugs).words) == {1: 0b10}


def test_shorts__named_or_in_place() -> None:
    base = plain(3, 2) + read("outlet:P1", "short placed", "on") + read("outlet:P2", "short placed", "on", minute=1)
    in_place = the(traced(house(base + read("end:W1", "continuity", "closed", minute=4))), reading.Short)
    assert (in_place.outlets, in_place.end, in_place.closed) == (frozenset((0, 1)), 0, True)
    named = the(traced(house(base + read("end:W2", "continuity", "open with outlet:P3", minute=4))), reading.Short)
    assert (named.outlets, named.end, named.closed) == (frozenset((2,)), 1, False)


def test_ohms__with_what_the_end_read_before() -> None:
    text = plain(2, 2) + read("end:W1", "resistance", "10 kohm") + read("end:W2", "resistance", "none", minute=1)
    text += read("outlet:P1", "resistor placed", "1 kohm", minute=5, instrument="5 % part")
    text += read("end:W1", "resistance", "912 ohm", minute=9) + read("end:W2", "resistance", "> 20 Mohm", minute=10)
    given = traced(house(text))
    one, two = told(given, reading.Ohms)
    assert (one.end, one.ohm, dict(one.placed), one.baseline) == (0, 912.0, {0: 1000.0}, 10_000.0)
    assert (two.end, two.ohm, two.baseline) == (1, None, None)
    assert one.off == pytest.approx(math.hypot(0.05, 0.01) / math.sqrt(3)), "5 % part and 1 % meter, both evenly spread"
    assert goes(house(text))["P1"][0] == "W1", "1 kohm beside 10 kohm is 909 ohm"
    assert len(one.because) == 3


def test_ohms__a_loop_shorted_at_its_far_end_is_no_resistor() -> None:
    text = plain(1, 1) + read("outlet:P1", "resistor placed", "1 kohm")
    text += read("end:W1", "resistance", "3 ohm", minute=5, conditions="shorted at the outlet")
    assert told(traced(house(text)), reading.Ohms) == []


def test_ohms__long_after_the_resistors_are_not_held_against_them() -> None:
    text = plain(1, 1) + read("outlet:P1", "resistor placed", "1 kohm")
    text += "measurements: subject=end:W1, quantity=resistance, value=1 kohm, grade=metered, at=2026-05-08\n"
    assert told(traced(house(text)), reading.Ohms) == []


def test_equal_ohms_at_two_ends__make_a_block_that_nobody_noted() -> None:
    """3900 || 4700 = 2131.4 ohm at both: joined; each its own value: not."""
    base = (
        plain(2, 3)
        + read("outlet:P1", "resistor placed", "3900 ohm")
        + read("outlet:P2", "resistor placed", "4700 ohm")
    )
    both = (
        base + read("end:W1", "resistance", "2132 ohm", minute=5) + read("end:W2", "resistance", "2133 ohm", minute=6)
    )
    given = traced(house(both))
    [block] = given.blocks
    assert [e.tag for e in block.ends] == ["W1", "W2"] and block.touches[0].how is Joined.HEARD
    assert odds(given).joined[0, 1] > 0.95
    apart = (
        base + read("end:W1", "resistance", "3905 ohm", minute=5) + read("end:W2", "resistance", "4710 ohm", minute=6)
    )
    assert traced(house(apart)).blocks == ()


def test_tone_from_end_to_end__is_a_ring() -> None:
    base = plain(2, 4)
    ring = base + read("end:W2", "tone", "loud from end:W1 isolated confirmed", key="t")
    given = traced(house(ring))
    assert odds(given).joined[0, 1] > 0.85
    weak = traced(house(base + read("end:W2", "tone", "faint from end:W1", key="t")))
    assert odds(weak).joined[0, 1] < 0.1, "a faint tone bleeds over"
    cable = base + "ends: end=W2, cable=K1, grade=seen, at=2026-05-02\n"
    assert odds(traced(house(cable))).joined[0, 1] == pytest.approx(0.9, abs=0.02), "one tag of cable, by eye"


def test_two_wires_on_one_row__are_joined() -> None:
    text = plain(2, 3, rows_on="B1") + "ends: end=W2, ends_at=B1.1, grade=seen, at=2026-05-02\n"
    [block] = traced(house(text)).blocks
    assert [e.tag for e in block.ends] == ["W1", "W2"]


def test_clips__as_sure_as_they_were_seen_and_no_more() -> None:
    for grade, chance in (("told", 0.7), ("seen", 0.9)):
        text = plain(2, 3, rows_on="B1") + f"rows: row=B1.1, clip_to=B1.2, grade={grade}\n"
        assert odds(traced(house(text))).joined[0, 1] == pytest.approx(chance, abs=0.02)
    assert traced(house(plain(2, 3, rows_on="B1"))).blocks == ()
    assert "trace_no_clip_unless_noted" in traced(house(plain(2, 3, rows_on="B1"))).assumed


def test_a_clip_joint_taken_out__opens_the_block_from_then_on() -> None:
    text = (
        plain(2, 3, rows_on="B1")
        + "joints: joint=J1, style=clip, ends=row:B1.1 & row:B1.2, grade=seen, at=2026-05-01\n"
    )
    text += "acts: act=take out, subject=joint:J1, grade=seen, at=2026-05-02T09:00+00:00\n"
    text += read("end:W1", "tone", "loud from outlet:P1", key="a", minute=0)
    text += read("end:W1", "tone", "loud from outlet:P1", key="b", minute=90)
    before, after = told(traced(house(text)), reading.Tone)
    assert (before.opened, after.opened) == (frozenset(), frozenset((0,)))


def test_same_jacket__speaks_for_and_another_against() -> None:
    jackets = "".join(
        f"cables: cable=K{n}, jacket={j}, grade=seen\n" for n, j in ((1, "cat5"), (2, "quad"), (3, "cat3"))
    )
    text = plain(1, 3) + jackets + "ends: end=F1, ends_at=P1, room=R2, jacket=quad, grade=seen\n"
    found = odds(traced(house(text))).own[0]
    assert found[1] > 0.9 and found[0] == pytest.approx(found[2])


def test_pairs__speak_where_no_jacket_is_known() -> None:
    text = plain(1, 2) + "cables: cable=K1, pairs=4\ncables: cable=K2, pairs=2\n"
    text += "ends: end=F1, ends_at=P1, room=R2, pairs=2, grade=seen\n"
    found = odds(traced(house(text))).own[0]
    assert found[1] > 2 * found[0]


PLACES = """
    buildings: building=H
    floors: floor=G, building=H, z_m=0
    rooms: room=R1, floor=G
    rooms: room=R2, floor=G
    blocks: block=B9, room=R1, x_m=0, y_m=0, z_m=1
    outlets: outlet=P1, room=R2, x_m=10, y_m=4, z_m=1
    outlets: outlet=P2, room=R2, x_m=40, y_m=4, z_m=1
"""


def test_capacitance__speaks_for_the_outlet_that_is_as_far() -> None:
    """1.04 nF at 52 pF a metre is 20 m: P1 is 14 m off along the walls, P2 44 m, and no wire is shorter than its way."""
    text = plain(2, 2) + PLACES + "cables: cable=K1, jacket=cat5, grade=seen\n"
    text += read("end:W1", "capacitance", "1.04 nF", conditions="pair 1 and far end open")
    found = odds(traced(house(text)))
    assert found.own[0, 0] > 3 * found.own[1, 0]


def test_marks__of_one_jacket_at_both_ends() -> None:
    """Marks 412 and 439 are 27 m apart: a run along a way of 14 m may be so long; 412 and 80 are of two cables."""
    text = plain(2, 3) + PLACES
    text += "".join(f"ends: end=W{n}, mark_m={m}, grade=seen\n" for n, m in ((1, 412), (2, 80), (3, 900)))
    text += "ends: end=F1, ends_at=P1, room=R2, mark_m=430, grade=seen\n"
    found = odds(traced(house(text)))
    assert found.own[0, 0] > 0.8


def test_another_building__wants_a_cable_for_outdoors() -> None:
    text = plain(1, 2) + PLACES + "buildings: building=S\nfloors: floor=SG, building=S\nrooms: room=R2, floor=SG\n"
    text += "cables: cable=K2, outdoors=yes, grade=seen\ncables: cable=K1, outdoors=no, grade=seen\n"
    text += "outlets: outlet=P2, room=R1, at=2026-05-02\n"
    assert goes(house(text))["P1"][0] == "W2" and goes(house(text))["P1"][1] > 0.8


def test_volts_and_other_wires__lean_away_from_outlets() -> None:
    free, live = plain(1, 2), plain(1, 2) + read("end:W1", "volts DC", "48 V")
    bell = plain(1, 2) + "cables: cable=K1, jacket=bell wire, grade=seen\n"
    chances = [odds(traced(house(text))).own[0, 0] for text in (free, live, bell)]
    assert chances[1] < 0.7 * chances[0] and chances[2] < 0.4 * chances[0]


def test_a_loop_shorted_there__says_that_an_outlet_is_on_it() -> None:
    text = plain(1, 2) + read("end:W1", "loop resistance", "3.4 ohm", conditions="shorted at the outlet")
    assert odds(traced(house(text))).own[0, 0] > 0.8


def test_a_protected_end__takes_part_only_where_somebody_says_it_goes_to_an_outlet() -> None:
    guard = plain(1, 2) + "companies: company=G\nservices: service=S1, needs=line, protected_by=G, carried_on=end:W1\n"
    given = traced(house(guard))
    assert [(x.thing.tag, x.why, x.says) for x in given.left_out] == [("W1", "protected", "G")]
    said = guard + "claims: subject=end:W1, relation=goes_to, object=outlet:P1, grade=told\n"
    assert traced(house(said)).left_out == () and goes(house(said))["P1"][0] == "W1"


def test_elsewhere__is_left_out_when_seen_and_leans_when_told() -> None:
    base = plain(1, 2) + "units: unit=U1\nports: port=U1.1\n"
    for grade, out in (("told", []), ("toned", ["W1"])):
        text = base + f"claims: subject=end:W1, relation=goes_to, object=port:U1.1, grade={grade}\n"
        given = traced(house(text))
        assert [x.thing.tag for x in given.left_out] == out
        assert goes(house(text))["P1"][0] == "W2"


def test_the_far_end_of_its_own_cable__is_as_good_as_a_claim() -> None:
    text = plain(2, 4) + "ends: end=F2, cable=K3, ends_at=P2, room=R2, grade=seen\n"
    assert goes(house(text))["P2"][0] == "W3" and goes(house(text))["P2"][1] > 0.85


def test_beside__makes_bundles_in_order() -> None:
    beside = "".join(
        f"claims: subject=end:W{a}, relation=beside, object=end:W{b}, grade=seen\n" for a, b in ((3, 1), (1, 4))
    )
    [bundle] = traced(house(plain(1, 4) + beside)).scene.bundles
    assert bundle in ((2, 0, 3), (3, 0, 2))


def test_labels_that_name_a_room__lean_to_its_outlets() -> None:
    text = plain(1, 3) + "rooms: room=R2, name=Guest 5\nrooms: room=R3, name=Guest 6\noutlets: outlet=P2, room=R3\n"
    text += "ends: end=W2, label=GUEST 5, grade=told, at=1999\n"
    found = odds(traced(house(text)))
    assert found.own[0, 1] > 2 * found.own[0, 0] and found.own[1, 1] < found.own[1, 0]


def test_a_ring__has_no_clip_to_lift_so_a_pair_off_the_block_is_still_on_it() -> None:
    text = plain(1, 3) + "ends: end=W2, cable=K1, grade=seen, at=2026-05-02\n"
    text += read("outlet:P1", "tone", "loud from end:W1 isolated", key="a")
    text += read("outlet:P1", "tone", "loud from end:W2 isolated", key="b")
    given = traced(house(text))
    assert [r.opened for r in told(given, reading.Tone)] == [frozenset(), frozenset()]
    assert odds(given).nets[0][frozenset((0, 1))] > 0.97


def test_a_tone_while_the_clip_was_off__says_nothing_of_the_clip() -> None:
    clip = plain(2, 3, rows_on="B1") + "rows: row=B1.1, clip_to=B1.2, grade=seen\n"
    off = clip + read("end:W2", "tone", "none from end:W1 isolated")
    on = clip + read("end:W2", "tone", "none from end:W1")
    usual, lifted, still = (odds(traced(house(text))).joined[0, 1] for text in (clip, off, on))
    assert lifted == pytest.approx(usual) and still < 0.5 * usual


def test_a_clip_seen_long_ago__is_less_sure() -> None:
    """Seen is stale after 1825 days; then six tenths of what it is above even are left: 0.5 + 0.4 * 0.6."""
    text = plain(2, 3, rows_on="B1") + "rows: row=B1.1, clip_to=B1.2, grade=seen, at=2015-01-01\n"
    assert odds(traced(house(text))).joined[0, 1] == pytest.approx(0.74, abs=0.02)


def test_a_tone_that_reached_a_coil__takes_the_end_from_the_outlets() -> None:
    base = plain(1, 2) + "ends: end=F1, room=R2, ends_at=stop:coil, grade=seen\n"
    loud = base + read("end:F1", "tone", "loud from end:W1")
    sure = base + read("end:F1", "tone", "loud from end:W1 confirmed")
    chances = [odds(traced(house(text))).own[0, 0] for text in (base, loud, sure)]
    assert chances[1] < 0.05 * chances[0] and chances[2] < 0.1 * chances[1]


def test_a_tone_heard_in_a_room__leans_away_from_outlets() -> None:
    base = plain(1, 2)
    chances = [odds(traced(house(base + x))).own[0, 0] for x in ("", read("room:R2", "tone", "loud from end:W1"))]
    assert chances[1] < 0.6 * chances[0]
