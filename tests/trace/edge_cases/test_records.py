"""Edge cases of the record: what counts once, what was left on, what was struck out, what nobody looked for."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pullstring.model.replay import replay
from pullstring.trace import readings as reading
from pullstring.trace.assumed import assumed_sure
from pullstring.trace.evidence import traced
from pullstring.trace.explain import to_repeat
from pullstring.trace.findings import findings
from pullstring.trace.proposals import proposals
from pullstring.trace.standing import State, standings
from tests.trace.houses import CLOSET, doubts, entries_of, goes, house, odds, plain, read, rows, struck


def test_same_reading_twice_in_one_placement__counts_once() -> None:
    once = plain(2, 3) + read("end:W1", "tone", "loud from outlet:P1", key="t1")
    twice = once + read("end:W1", "tone", "loud from outlet:P1", key="t1", minute=3)
    other = once + read("end:W1", "tone", "loud from outlet:P1", key="t2", minute=3)
    assert goes(house(once)) == goes(house(twice))
    assert goes(house(other))["P1"][1] > goes(house(once))["P1"][1], "another placement is another reading"


def test_order_of_the_log__does_not_matter() -> None:
    told = plain(3, 4)
    for n, (end, level) in enumerate((("W1", "loud"), ("W2", "faint"), ("W3", "none"), ("W4", "none"))):
        told += read(f"end:{end}", "tone", f"{level} from outlet:P2", key=f"a{n}", minute=n)
    told += read("outlet:P1", "remote placed", "3", minute=10) + read("end:W2", "remotes heard", "3 of 1-4", minute=20)
    straight = odds(traced(house(told)))
    for seed in range(6):
        turned = odds(traced(house(told, seed=seed)))
        assert np.allclose(straight.own, turned.own, atol=1e-9)


def test_undo__leaves_no_trace() -> None:
    before = plain(2, 3) + read("end:W1", "tone", "loud from outlet:P1", key="t1")
    wrong = before + read("end:W2", "tone", "loud from outlet:P1", key="t2")
    last = len(entries_of(rows(wrong))) - 1
    assert "P1" in goes(house(wrong)) and goes(house(wrong)) != goes(house(before))
    assert goes(struck(wrong, last)) == goes(house(before))


@pytest.mark.parametrize(("outlets", "ends"), [(0, 0), (0, 3), (3, 0), (5, 2), (1, 1)])
def test_few_or_none__are_answered(outlets: int, ends: int) -> None:
    site = house(plain(outlets, ends))
    given = traced(site)
    found = odds(given)
    assert found.own.shape == (outlets, ends + 1) and math.isfinite(found.log_evidence)
    assert np.allclose(found.own.sum(axis=1), 1.0)
    if not ends:
        assert np.allclose(found.own[:, -1], 1.0), "with no end, no outlet has a cable here"
    told = findings(given, found)
    assert len(told.outlets) == outlets and len(told.ends) == ends


def test_empty_record__has_nothing_to_trace() -> None:
    given = traced(replay([], today="2026-05-10"))
    assert (given.outlets, given.ends, given.readings, given.left_out) == ((), (), (), ())


def test_not_looked__is_never_not_there() -> None:
    """Three ends of which two were not looked at: what was not looked at stays as likely as before."""
    looked = plain(1, 3) + read("end:W1", "tone", "none from outlet:P1", key="t1")
    rest = read("end:W2", "tone", "not looked from outlet:P1", key="t2")
    silent = read("end:W2", "tone", "none from outlet:P1", key="t2")
    assert odds(traced(house(looked))).own.tolist() == odds(traced(house(looked + rest))).own.tolist()
    assert odds(traced(house(looked + silent))).own[0, 1] < 0.2 * odds(traced(house(looked))).own[0, 1]


def test_all_ends_dead__is_said_of_outlets_and_not_guessed() -> None:
    told = plain(2, 3)
    n = 0
    for outlet in ("P1", "P2"):
        for placement in range(4):
            for end in ("W1", "W2", "W3"):
                n += 1
                told += read(f"end:{end}", "tone", f"none from outlet:{outlet}", key=f"{placement}{n}", minute=n)
    found = goes(house(told))
    assert found["P1"][0] == found["P2"][0] == "" and min(found["P1"][1], found["P2"][1]) > 0.95


def test_outlet_seen_empty__has_no_cable() -> None:
    told = plain(2, 3) + "outlets: outlet=P1, condition=empty, grade=seen, at=2026-05-02\n"
    found = goes(house(told))
    assert found["P1"][0] == "" and found["P1"][1] > 0.85
    assert found["P2"][0] != ""
    by_words = plain(2, 3) + "outlets: outlet=P1, found=empty box, grade=seen, at=2026-05-02\n"
    assert goes(house(by_words))["P1"] < ("", found["P1"][1]), "words of a note weigh a little less"
    assert goes(house(plain(2, 3) + "outlets: outlet=P1, found=good, grade=seen, at=2026-05-02\n"))["P1"][0] != ""


def test_daisy_of_three__is_one_chain() -> None:
    told = plain(4, 4)
    for n, outlet in enumerate(("P1", "P2", "P3")):
        told += read(f"outlet:{outlet}", "tone", "loud from end:W2 isolated confirmed", key=f"t{n}", minute=n)
    site = house(told)
    assert {goes(site)[p][0] for p in ("P1", "P2", "P3")} == {"W2"}
    found = findings(given := traced(site), odds(given))
    assert [f.main.what for f in found.outlets] == ["chain", "chain", "chain", "unknown"]
    stand = next(s for f in found.ends if f.thing.tag == "W2" for s in f.stands)
    assert (stand.what, {r.tag for r in stand.about}) == ("goes to", {"P1", "P2", "P3"})


CLIPS = "rows: row=B1.1, clip_to=B1.2, grade=seen\nrows: row=B1.2, clip_to=B1.3, grade=seen\n"


def test_whole_block_bridged__an_unisolated_tone_speaks_of_the_group() -> None:
    told = plain(2, 4, rows_on="B1") + CLIPS
    for n, end in enumerate(("W1", "W2", "W3")):
        told += read(f"end:{end}", "tone", "loud from outlet:P1", key=f"t{n}", minute=n)
    given = traced(house(told))
    [block] = given.blocks
    assert [e.tag for e in block.ends] == ["W1", "W2", "W3"]
    found = odds(given)
    whole = frozenset((0, 1, 2))
    assert found.nets[0][whole] > 0.99
    assert max(found.own[0, :3]) < 0.4, "which of the three it is nobody can tell while the clips are on"


def test_block_opened_midway__older_readings_keep_their_meaning() -> None:
    told = plain(2, 4, rows_on="B1") + "rows: row=B1.1, clip_to=B1.2, grade=seen, at=2026-05-01\n"
    told += read("end:W1", "tone", "loud from outlet:P1", key="t1", minute=0)
    told += read("end:W2", "tone", "loud from outlet:P1", key="t2", minute=1)
    told += "acts: act=part, subject=row:B1.1, object=row:B1.2, grade=seen, at=2026-05-02T09:00+00:00\n"
    told += read("end:W1", "tone", "none from outlet:P1", key="t3", minute=90)
    told += read("end:W2", "tone", "loud from outlet:P1", key="t4", minute=91)
    given = traced(house(told))
    tones = {r.key.split()[-1]: r.opened for r in given.readings if isinstance(r, reading.Tone)}
    assert [bool(tones[k]) for k in ("t1", "t2", "t3", "t4")] == [False, False, True, True]
    found = odds(given)
    assert found.nets[0][frozenset((0, 1))] > 0.95 and found.own[0, 1] > 0.95
    assert not doubts(given).doubts
    stands = {s.what for f in findings(given, found).ends if f.thing.tag == "W1" for s in f.stands}
    assert "clip lifted" in stands


def test_isolated_pair__speaks_of_its_own_end_though_the_clip_is_on() -> None:
    told = plain(2, 4, rows_on="B1") + "rows: row=B1.1, clip_to=B1.2, grade=seen\n"
    told += read("outlet:P1", "tone", "loud from end:W1 isolated", key="t1")
    told += read("outlet:P1", "tone", "none from end:W2 isolated", key="t2")
    found = odds(traced(house(told)))
    assert found.own[0, 0] > 0.9
    without = told.replace(" isolated", "")
    assert odds(traced(house(without))).own[0, 0] < found.own[0, 0], "on the block both ends would sound"


def test_flat_battery_for_a_whole_placement__is_doubted() -> None:
    told = plain(8, 9) + "kit: kit=S1, style=tone set\n"
    minute = 0
    for o in range(1, 9):
        for e in range(1, 10):
            minute += 1
            level = "loud" if o == e and o not in (4, 5, 6) else "none"
            told += read(
                f"end:W{e}",
                "tone",
                f"{level} from outlet:P{o}",
                key=f"{o} {e}",
                minute=minute,
                instrument="tone set and probe",
            )
    given = traced(house(told))
    found = doubts(given)
    [doubt] = found.doubts
    assert (doubt.source, doubt.what) == ("kit:S1", "silent")
    assert {given.outlets[r.outlet].tag for r in doubt.readings} == {"P4", "P5", "P6"}
    assert max(found.posterior.own[o, -1] for o in (3, 4, 5)) < 0.5
    checked = told + "".join(read("kit:S1", "self-check", "works", key=f"c{at}", minute=at) for at in (27, 36, 45, 54))
    after = doubts(traced(house(checked)))
    assert min(after.posterior.own[o, -1] for o in (3, 4, 5)) > max(found.posterior.own[o, -1] for o in (3, 4, 5))


def test_a_self_check_that_was_silent__discounts_what_was_not_heard() -> None:
    told = plain(3, 4) + "kit: kit=S1, style=tone set\nkit: kit=S2, style=probe\n"
    for e in range(1, 5):
        told += read(f"end:W{e}", "tone", "none from outlet:P1", key=f"t{e}", minute=e, instrument="tone set and probe")
    silent = told + read("kit:S2", "self-check", "silent", minute=6)
    plainly, discounted = (odds(traced(house(x))).own[0, -1] for x in (told, silent))
    assert discounted < 0.3 * plainly, "the probe was dead: nothing heard is not nothing there"


def test_label_already_trusted__is_strong_and_never_certain() -> None:
    base = plain(3, 5)
    label = "claims: subject=end:W3, relation=goes_to, object=outlet:P2, grade={}, at=2026-05-01\n"
    chances = [goes(house(base + label.format(g)))["P2"] for g in ("assumed", "told", "seen", "toned", "pinned out")]
    assert [end for end, _ in chances] == ["W3"] * 5
    assert [c for _, c in chances] == sorted(c for _, c in chances), "a better grade is a better chance"
    assert chances[0][1] > 0.5 and 0.9 < chances[-1][1] < 0.9999


def test_an_old_label__weighs_less() -> None:
    label = "claims: subject=end:W3, relation=goes_to, object=outlet:P2, grade=told, at={}\n"
    old, new = (goes(house(plain(3, 9) + label.format(at)))["P2"] for at in ("1994", "2026-05-01"))
    assert old[0] == new[0] == "W3" and old[1] < new[1]


def test_does_not_go_there__counts_against() -> None:
    no = "claims: subject=end:W1, relation=goes_to, object=outlet:P1, holds=no, grade=seen, at=2026-05-01\n"
    before, after = (odds(traced(house(plain(1, 2) + x))).own[0, 0] for x in ("", no))
    assert after < 0.25 * before


def test_contradictory_claims__both_count() -> None:
    base = plain(2, 4)
    one = "claims: subject=end:W1, relation=goes_to, object=outlet:P1, grade=told, at=2026-05-01\n"
    other = "claims: subject=end:W2, relation=goes_to, object=outlet:P1, grade=told, at=2026-05-01\n"
    found = odds(traced(house(base + one + other))).own[0]
    assert found[0] == pytest.approx(found[1], rel=1e-6) and found[0] > 3 * found[2]
    state = standings(odds(traced(house(base + one + other))).nets, sure=assumed_sure())[0]
    assert state.state is State.TIE, "two labels alike are a tie, and none is picked"


def test_contradictory_log__is_told_with_the_reading_to_repeat() -> None:
    """Three times loud, once nothing: a connected end is silent in 3 of 100 (assumed), so that one is to be read again."""
    told = plain(2, 4)
    for n in range(3):
        told += read("end:W1", "tone", "loud from outlet:P1", key=f"a{n}", minute=n)
    told += read("end:W1", "tone", "none from outlet:P1", key="odd", minute=9)
    found = doubts(traced(house(told)))
    assert math.isfinite(found.posterior.log_evidence) and not np.isnan(found.posterior.own).any()
    repeat = to_repeat(found.table, found.posterior, found.doubts)
    assert [r.reading.key.split()[-1] for r in repeat] == ["odd"]


def test_evidence_near_zero__gives_odds_all_the_same() -> None:
    """Everything loud everywhere and denied everywhere: nothing fits, and nothing breaks."""
    told = plain(3, 4)
    for o in range(1, 4):
        for e in range(1, 5):
            told += read(f"end:W{e}", "tone", f"loud from outlet:P{o} isolated confirmed", key=f"{o}{e}", minute=e)
            told += f"claims: subject=end:W{e}, relation=goes_to, object=outlet:P{o}, holds=no, grade=pinned out\n"
    found = odds(traced(house(told)))
    assert math.isfinite(found.log_evidence) and np.isfinite(found.own).all() and np.allclose(found.own.sum(axis=1), 1)


def test_more_remotes_than_outlets__do_no_harm() -> None:
    told = plain(2, 3)
    for n in range(1, 6):
        told += read(f"outlet:P{1 + n % 2}" if n < 3 else f"end:W{n - 2}", "remote placed", str(n), minute=n)
    told += read("end:W2", "remotes heard", "1 of 1-9", minute=20)
    found = goes(house(told))
    assert found["P2"][0] == "W2" and found["P2"][1] > 0.99


def test_retrieval_forgotten__a_remote_still_placed_is_still_read() -> None:
    told = plain(3, 4) + read("outlet:P1", "remote placed", "7", minute=0)
    told += read("outlet:P2", "remote placed", "8", minute=5)
    told += "measurements: subject=end:W3, quantity=remotes heard, value=7 of 7-8, grade=metered, at=2026-05-09\n"
    site = house(told)
    assert goes(site)["P1"][0] == "W3" and goes(site)["P1"][1] > 0.98
    assert {p.written for p in traced(site).placed} == {"7", "8"}
    off = told + read("outlet:P1", "remote placed", "none", minute=30)
    assert {p.written for p in traced(house(off)).placed} == {"8"}
    assert [n.why for n in traced(house(off)).not_used] == [], "remote 8 was looked for and not heard, which counts"


def test_a_remote_taken_elsewhere__is_no_longer_where_it_was() -> None:
    told = plain(3, 4) + read("outlet:P1", "remote placed", "7", minute=0)
    told += read("outlet:P2", "remote placed", "7", minute=30) + read("end:W2", "remotes heard", "7 of 7", minute=40)
    assert goes(house(told))["P2"][0] == "W2"
    assert [given.spot.outlet for given in traced(house(told)).placed] == [1], "it sits on P2 alone"
    assert goes(house(told))["P1"][0] != "W2" or goes(house(told))["P1"][1] < 0.5


def test_ends_of_two_closets__are_one_scene() -> None:
    """Decided: an outlet has one cable, whichever closet it ends in; so the ends of all closets are rivals."""
    told = plain(2, 2) + "rooms: room=R9, closet=yes\ncables: cable=K9\nends: end=W9, cable=K9, room=R9, grade=seen\n"
    told += read("outlet:P1", "tone", "loud from end:W9 isolated confirmed", key="t1")
    given = traced(house(told))
    assert [e.tag for e in given.ends] == ["W1", "W2", "W9"]
    assert goes(house(told))["P1"][0] == "W9"


def test_an_end_moved_into_another_closet__stays_the_same_end() -> None:
    told = plain(1, 2) + read("outlet:P1", "tone", "loud from end:W1 isolated confirmed", key="t1")
    moved = told + "rooms: room=R9, closet=yes\nends: end=W1, room=R9, grade=seen, at=2026-05-04\n"
    assert goes(house(moved)) == goes(house(told))


def test_lost_end__takes_no_part_and_is_named() -> None:
    told = plain(2, 3) + "ends: end=W2, ends_at=stop:lost, grade=seen, at=2026-05-02\n"
    given = traced(house(told))
    assert [e.tag for e in given.ends] == ["W1", "W3"]
    assert [(x.thing.tag, x.why) for x in given.left_out] == [("W2", "lost")]
    assert findings(given, odds(given)).of(given.left_out[0].thing).main.what == "lost"


def test_taken_out_and_planned__take_no_part() -> None:
    told = plain(2, 3) + "acts: act=take out, subject=end:W1, at=2026-05-03\nends: end=W8, room=R1, state=planned\n"
    told += "acts: act=take out, subject=outlet:P2, at=2026-05-03\n"
    given = traced(house(told))
    assert {(x.thing.tag, x.why) for x in given.left_out} == {("W1", "removed"), ("W8", "planned"), ("P2", "removed")}


def test_nothing_weighs_that_cannot_be_understood__and_it_is_said_why() -> None:
    told = plain(2, 3) + "jottings: jotting=J1, what=tone, about=P1, heard=loud, sent_on=W1\n"
    told += "jottings: jotting=J2, what=tone, about=P1, heard=loud, sent_on=W1, sorted=yes\n"
    told += "ends: end=W3, ends_at=stop:lost, grade=seen\n"
    told += read("end:W1", "remotes heard", "3 of 1-4", key="a") + read(
        "outlet:P1", "tone", "loud from outlet:P2", key="b"
    )
    told += read("end:W3", "tone", "loud from outlet:P2", key="c") + read("end:W1", "continuity", "closed", key="d")
    given = traced(house(told))
    assert sorted(n.why for n in given.not_used) == [
        "between outlets",
        "nothing placed",
        "nothing placed",
        "unsorted",
        "untraced",
    ]


def test_a_sure_pairing__is_proposed_with_its_tone() -> None:
    told = plain(2, 3) + read("outlet:P1", "tone", "loud from end:W1 isolated confirmed", key="t1")
    told += read("outlet:P1", "tone", "loud from end:W1 isolated confirmed", key="t2", minute=5)
    given = traced(house(told))
    found = doubts(given)
    stands = standings(found.posterior.nets, sure=assumed_sure())
    careful = frozenset({"isolated", "confirmed"})
    made = proposals(
        stands, found.posterior, given.readings, scene=given.scene, care=lambda entry: careful, sure_net=0.99
    )
    assert [(given.ends[p.end].tag, given.outlets[p.outlet].tag, p.how) for p in made] == [("W1", "P1", "tone")]
    hasty = proposals(
        stands, found.posterior, given.readings, scene=given.scene, care=lambda entry: frozenset(), sure_net=0.99
    )
    assert [p.how for p in hasty] == ["tone heard"], "stopped by a short but not off the block: no more than told"


def test_rooms_without_a_closet__ends_away_from_outlets_are_traced() -> None:
    told = CLOSET.replace(", closet=yes", "") + "outlets: outlet=P1, room=R2\ncables: cable=K1\n"
    told += "ends: end=W1, cable=K1\nends: end=F1, cable=K1, ends_at=P1, grade=seen\n"
    assert goes(house(told))["P1"][0] == "W1"
