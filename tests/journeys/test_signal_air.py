"""Channels, airtime, links and what-if of `signal`, on the invented Tarn House: from tables to the answer."""

import dataclasses
import json
import subprocess
import sys

import pytest

from pullstring import api
from pullstring.model.answers import plain
from tests.journeys.sites import ASKED, make, packaged
from tests.journeys.tarn_house import BY, DAY, FOOT_M, rows

DATE = ("--today", "2026-03-10")


def pullstring(*words):
    return subprocess.run([sys.executable, "-m", "pullstring", *map(str, words)], capture_output=True, text=True)


UNITS = {
    "A1": ("HALL", 6, 10, 8),
    "A2": ("STUD", 32, 10, 7),
    "A3": ("BEDR", 10, 10, 8),
    "A4": ("PARL", 20, 10, 8),
}


def unit(tag, channel="", state="", model="MA", at=None):
    room, x, y, z = at or UNITS[tag]
    row = {"unit": tag, "model": model, "name": tag, "room": room, "channel": channel, "state": state, **BY}
    return {**row, "x_m": f"{x * FOOT_M:.6g}", "y_m": f"{y * FOOT_M:.6g}", "z_m": f"{z * FOOT_M:.6g}"}


def stranger(room, channel, dbm, number):
    said = f"stranger on channel {channel}; doors shut"
    row = {"subject": f"room:{room}", "quantity": "level 2.4 GHz", "value": f"{dbm} dBm", "key": f"S{number}"}
    return {
        **row,
        "conditions": said,
        "instrument": "phone",
        "grade": "metered",
        "by": "TEC",
        "at": f"{DAY}T10:00+00:00",
    }


def house(folder, units, more=(), models=(), rules=None, **others):
    tables = {n: c for n, c in rows(read=()).items() if c}
    if rules is not None:
        tables["property"] = [{**p, "rule_set": rules} for p in tables["property"]]
    tables |= others
    tables["units"] = [dict.fromkeys(unit("A1"), "") | u for u in units]
    tables["measurements"] = list(more)
    blank = dict.fromkeys((name for m in models for name in m), "")
    tables["models"] = [blank | m for m in (*tables["models"], *models)]
    return make(folder, {n: c for n, c in tables.items() if c}, code="TH")


def asked(path, **how):
    return plain(api.signal(path, ASKED, **how).answer)


def channels(answer, band="2.4 GHz"):
    return {c["name"]: c["channel"] for c in answer["channels"][band]["choices"]}


def test_channels__three_that_hear_each_other_part(tmp_path):
    answer = asked(house(tmp_path, [unit("A1"), unit("A2"), unit("A3")]))
    assert sorted(channels(answer).values(), key=int) == ["1", "11", "6"] or len(set(channels(answer).values())) == 3
    assert answer["channels"]["2.4 GHz"]["overlap_db"] == 0
    assert answer["channels"]["2.4 GHz"]["overlap_proven"]


def test_channels__four_on_three_overlap_and_it_is_proven(tmp_path):
    # Rule set example-A holds 1 to 11 at 2.4 GHz: three channels apart, so of four in one house two must share.
    four = asked(house(tmp_path, [unit(t) for t in UNITS]))["channels"]["2.4 GHz"]
    assert four["overlap_db"] > 0
    assert four["overlap_proven"]
    assert len({c["channel"] for c in four["choices"]}) == 3


def test_channels__all_on_one_channel_now_is_told_as_worse(tmp_path):
    answer = asked(house(tmp_path, [unit(t, channel="6") for t in ("A1", "A2", "A3")]))["channels"]["2.4 GHz"]
    assert answer["present_db"] > answer["overlap_db"] == 0
    assert sum(c["moved"] for c in answer["choices"]) == 2  # one of the three may stay
    assert {c["present"] for c in answer["choices"]} == {"6"}


def test_channels__a_loud_stranger_is_left_its_channel(tmp_path):
    two = [unit("A1"), unit("A2")]
    for loud in (1, 6, 11):
        heard = [stranger("HALL", loud, -45, 1)]
        assert str(loud) not in channels(asked(house(tmp_path / str(loud), two, heard))).values()


def test_channels__a_channel_nobody_noted_is_none(tmp_path):
    answer = asked(house(tmp_path, [unit("A1", channel="11"), unit("A2")]))["channels"]["2.4 GHz"]
    assert {c["name"]: c["present"] for c in answer["choices"]} == {"A1": "11", "A2": None}
    assert answer["present_db"] is None  # the sum is not known while one of them is not


LOUD = {"model": "MB", "what": "access point", "eirp_2g4_dbm": "26", "eirp_5g_dbm": "23", "antenna": "omni", **BY}


@pytest.mark.parametrize(("rules", "channel", "expected"), [
    ("example-A", "2.4: 6, 5: 36", []),  # 36 dBm in both
    ("example-B", "2.4: 6, 5: 36", [("power", "6", 26.0, 20.0)]),
    ("example-A", "2.4: 13, 5: 36", [("channel", "13", 26.0, None)]),  # 1 to 11
    ("example-B", "2.4: 13, 5: 36", [("power", "13", 26.0, 20.0)]),  # 1 to 13
])  # fmt: skip
def test_powers_and_channels__are_held_against_the_rules(tmp_path, rules, channel, expected):
    path = house(tmp_path, [unit("A1", channel=channel, model="MB")], models=[LOUD], rules=rules)
    found = asked(path)["channels"]
    told = [(r["why"], r["channel"], r["noted_dbm"], r["most_dbm"]) for r in found["2.4 GHz"]["over_rules"]]
    assert [t for t in told if t[1] == channel[5:].partition(",")[0]] == expected
    assert found["5 GHz"]["over_rules"] == []
    words = " ".join(pullstring("signal", path, *DATE).stdout.split())
    assert ("turn it down, and verify locally" in words) == any(t[0] == "power" for t in told)
    assert ("do not allow: set another, and verify locally" in words) == any(t[0] == "channel" for t in told)


@pytest.mark.parametrize(("rules", "channel", "width", "present", "told"), [
    ("example-A", "165", "", "165", []),  # the last of its rules: there is no wider block round it that they allow
    ("example-B", "140", "", "140", []),
    ("example-B", "132", "", "132 to 136", []),
    ("example-A", "165", "80", "165 to 177", ["165 to 177"]),  # so wide as somebody noted, it is not allowed
    ("example-A", "2.4: 14, 5: 36", "", "36 to 48", ["14"]),
    ("example-A", "999", "", "999", ["999"]),
    ("example-A", "0", "", None, ["0"]),
    ("example-A", "six", "", None, []),
])  # fmt: skip
def test_channels__that_are_noted_and_not_allowed_are_told_and_no_others(
    tmp_path, rules, channel, width, present, told
):
    """Nobody noted a width, so none is held against the access point; a number that is no channel is none that is allowed."""
    path = house(tmp_path, [{**unit("A1", channel=channel), "width_mhz": width}, unit("A2")], rules=rules)
    found = asked(path)["channels"]
    assert [r["channel"] for of in found.values() for r in of["over_rules"] if r["why"] == "channel"] == told
    [a1] = [c for c in found["5 GHz"]["choices"] if c["name"] == "A1"]
    assert a1["present"] == present
    assert a1["moved"] or present not in told


def test_powers__what_is_allowed_is_told_to_a_tenth_of_a_decibel(tmp_path):
    """At 6 GHz example-A allows 5 dBm in each MHz: 5 + 10 log10(80) = 24.03 dBm on 80 MHz."""
    wide = {"model": "MB", "what": "access point", "eirp_6g_dbm": "29.5", "antenna": "omni", **BY}
    path = house(tmp_path, [unit("A1", channel="6: 5", model="MB")], models=[wide])
    words = " ".join(pullstring("signal", path, *DATE).stdout.split())
    assert "A1 is noted with 29.5 dBm on 6 GHz; the rules example-A allow 24 on channel 1 to 13" in words


def test_powers__that_nobody_noted_are_not_judged(tmp_path):
    quiet = {"model": "MB", "what": "access point", "antenna": "omni", **BY}
    found = asked(house(tmp_path, [unit("A1", channel="6", model="MB")], models=[quiet], rules="example-B"))["channels"]
    assert all(of["over_rules"] == [] for of in found.values())


@pytest.mark.parametrize("said", ["2.4:6, 5:36", "2.4: 6, 5: 36", "2.4 GHz 6; 5 GHz 36", "2.4=6 5=36", "6, 36"])
def test_channels__a_channel_noted_for_two_bands(tmp_path, said):
    answer = asked(house(tmp_path, [unit("A1", channel=said)]))
    assert answer["channels"]["2.4 GHz"]["choices"][0]["present"] == "6"
    assert answer["channels"]["5 GHz"]["choices"][0]["present"] == "36 to 48"  # 80 MHz wide, as it comes


def test_next__spots_are_told_in_the_axes_in_which_a_reading_is_written(tmp_path):
    # The shed stands 300 ft east of the house and has axes of its own.
    for place in asked(house(tmp_path, [unit("A1")]))["next"]:
        shift = 300 * FOOT_M if place["room"] == "SHED" else 0
        assert place["own_m"] == pytest.approx([place["x_m"] - shift, place["y_m"]], abs=0.01)


def test_air__needs_hang_on_the_access_point_that_serves_them(tmp_path):
    answer = asked(house(tmp_path, [unit("A1", channel="36"), unit("A2", channel="149")]))
    hangs = {(a["sender"], need) for a in answer["air"] for need in a["needs"]}
    assert ("A1", "N1") in hangs  # the call in the hall, in which A1 hangs
    assert ("A2", "N3") in hangs  # the television in the study, in which A2 hangs
    for one in answer["air"]:
        assert 0 <= one["low_percent"] <= one["percent"] + 1e-6 <= one["high_percent"] + 2e-6


def test_air__on_one_channel_they_take_turns_and_apart_they_do_not(tmp_path):
    same = asked(house(tmp_path / "same", [unit("A1", channel="36"), unit("A2", channel="36")]))
    apart = asked(house(tmp_path / "apart", [unit("A1", channel="36"), unit("A2", channel="149")]))
    turns = {a["sender"]: a["waits_for"] for a in same["air"] if a["band"] == "5 GHz"}
    assert turns == {"A1": ["A2"], "A2": ["A1"]}
    assert all(a["waits_for"] == [] for a in apart["air"])


def test_planned__counts_only_when_asked(tmp_path):
    path = house(tmp_path, [unit("A1"), unit("A2", state="planned")])
    now, then = asked(path), asked(path, planned=True)
    level = {
        k: next(r for r in a["rooms"] if r["room"] == "STUD")["bands"]["5 GHz"]
        for k, a in (("now", now), ("then", then))
    }
    assert level["now"]["server"] == "A1"
    assert level["then"]["server"] == "A2"
    assert level["then"]["level_dbm"] > level["now"]["level_dbm"] + 10
    assert [s["planned"] for s in now["senders"]] == [False, True]


def test_doors__shut_weakens_only_what_comes_through_them(tmp_path):
    path = house(tmp_path, [unit("A1")])
    room = {d: {r["room"]: r for r in asked(path, doors=d)["rooms"]} for d in ("usual", "open", "shut")}
    kitchen = {d: r["KITC"]["bands"]["5 GHz"]["median_dbm"] for d, r in room.items()}
    assert kitchen["open"] > kitchen["shut"] + 1  # a door in metal lath
    assert kitchen["usual"] == pytest.approx(kitchen["shut"], abs=0.2)  # it is noted as shut
    hall = {d: r["HALL"]["bands"]["5 GHz"]["median_dbm"] for d, r in room.items()}
    assert hall["open"] == pytest.approx(hall["shut"], abs=0.5)


def test_moved__to_where_it_stands_is_the_same(tmp_path):
    path = house(tmp_path, [unit("A1"), unit("A2")])
    before = {r["room"]: r for r in asked(path)["rooms"]}
    after = plain(api.signal_moved(path, ASKED, sender="A2", x_m=32 * FOOT_M, y_m=10 * FOOT_M, floor="T1").answer)
    for room in after["rooms"]:
        for band, of in room["bands"].items():
            # 64 worlds instead of 200: the middle of a spread of some 5 dB moves by less than 1.5
            assert of["median_dbm"] == pytest.approx(before[room["room"]]["bands"][band]["median_dbm"], abs=1.5)
            assert of["server"] == before[room["room"]]["bands"][band]["server"]


def test_moved__nothing_is_written(tmp_path):
    path = house(tmp_path, [unit("A1"), unit("A2")])
    held = path.read_bytes()
    api.signal_moved(path, ASKED, sender="A2", x_m=1.0, y_m=1.0, floor="T0")
    assert path.read_bytes() == held


def test_moved__by_the_command_line_in_feet_too(tmp_path):
    path = house(tmp_path, [unit("A1"), unit("A2")])
    metres = pullstring(
        "signal", path, "--move", "A2", "T1", f"{32 * FOOT_M:.4f}", f"{10 * FOOT_M:.4f}", *DATE, "--json"
    )
    feet = pullstring("signal", path, "--move", "A2", "T1", "32 ft", "10 ft", *DATE, "--json")
    assert json.loads(metres.stdout)["answer"]["rooms"] == json.loads(feet.stdout)["answer"]["rooms"]
    words = pullstring("signal", path, "--move", "A2", "T1", "1", "1", *DATE).stdout
    assert "if A2 stood on floor T1 at x 1 m, y 1 m" in words.replace("\n", " ")
    wrong = pullstring("signal", path, "--move", "A2", "T1", "wide", "1", *DATE)
    assert wrong.returncode == 2
    assert "--move" in wrong.stderr and "'wide'" in wrong.stderr


def test_moved__of_what_is_not_there_says_what_is(tmp_path):
    path = house(tmp_path, [unit("A1")])
    with pytest.raises(api.BadRequest, match="there is no access point 'A9' to move; there are A1"):
        api.signal_moved(path, ASKED, sender="A9", x_m=1.0, y_m=1.0, floor="T0")


DISH = {"model": "MD", "what": "radio", "eirp_5g_dbm": "30", "antenna": "dish", **BY}


def masts(tmp_path, height_ft=12):
    # House and shed stand 300 ft apart; both antennas above their roofs.
    ends = [
        unit("N1", model="MD", at=("STUD", 43, 10, height_ft)),
        unit("N2", model="MD", at=("SHED", 1, 5, height_ft)),
    ]
    model = dict.fromkeys(rows(read=())["models"][0], "") | DISH
    return house(tmp_path, [unit("A1"), *ends], models=[model])


def test_links__named_ends_give_level_zone_and_height(tmp_path):
    (link,) = asked(masts(tmp_path), links=("N1", "N2"))["links"]
    assert {link["near"], link["far"]} == {"N1", "N2"}
    far_m = ((300 + 1 - 43) ** 2 + 5**2 + 10**2) ** 0.5 * FOOT_M  # the study is one storey, 10 ft, higher
    assert link["length_m"] == pytest.approx(far_m, abs=0.1)
    # Both antennas see each other over walls only: with more height they never need more.
    assert link["rise"]["both_m"] is None or link["rise"]["both_m"] >= 0


def test_links__an_end_that_is_not_there(tmp_path):
    with pytest.raises(api.BadRequest, match="'N9'.*name two of these: A1"):
        asked(house(tmp_path, [unit("A1")]), links=("A1", "N9"))


@pytest.mark.parametrize(("noted", "taken", "says"), [
    ("example-B", "example-B", "By the rules example-B (modelled on European rules"),
    ("EXAMPLE-b", "example-B", "By the rules example-B"),
    ("", "example-A", "names no rule set, so example-A is taken"),
    ("none", "example-A", "names no rule set, so example-A is taken"),
    ("  example-B ", "example-B", "By the rules example-B"),
    ("Land\n of  Nod", "example-A", "No channels are held for the rules Land of Nod that"),
    ("Land of Nod", "example-A", "No channels are held for the rules Land of Nod that"),
])  # fmt: skip
def test_rules__as_the_property_has_them_and_else_the_usual_ones_said_so(tmp_path, noted, taken, says):
    path = house(tmp_path, [unit("A1")], rules=noted)
    answer = api.signal(path, ASKED)
    assert {of["rules"] for of in plain(answer.answer)["channels"].values()} == {taken}
    assert answer.rules == (" ".join(noted.split()) if noted not in ("", "none") else "example-A")
    assert says in " ".join(pullstring("signal", path, *DATE).stdout.split())


def test_rules__that_are_asked_for_win(tmp_path):
    path = house(tmp_path, [unit("A1")], rules="example-A")
    answer = plain(api.signal(path, dataclasses.replace(ASKED, rules="example-B")).answer)
    assert answer["channels"]["5 GHz"]["rules"] == answer["air_rules"]["rules"] == "example-B"


def test_faults_of_the_plan__five_first_and_all_when_asked(tmp_path):
    heard = [stranger("HALL", 6, -60, n) | {"conditions": f"heard from X{n}"} for n in range(7)]
    path = house(tmp_path, [unit("A1")], heard)
    first, every = (pullstring("signal", path, *more, *DATE).stdout for more in ((), ("--all",)))
    assert "All of them: signal --all" in first
    assert first.count("Remedy:") == 5
    assert every.count("Remedy:") >= 7 and "--all" not in every


def test_over_air__the_repeater_of_the_demo_has_no_wire_and_all_others_have(tmp_path):
    """The invented inn at arrival: a repeater plugged into the mains upstairs, two routers below on the line."""
    answer = asked(make(tmp_path, packaged("three_lamps/1_arrival"), code="TL"))
    [row] = answer["over_air"]
    assert row["sender"] == "D07" and row["way"][-1] == "D07" and row["way"][0] in ("D03", "D05")
    assert not row["taken_as_fed"] and not row["planned"]
    assert row["low_dbm"] < row["high_dbm"] and row["low_mbps"] <= row["alone_low_mbps"]
    assert len(row["way"]) > 2 or (row["low_mbps"], row["high_mbps"]) == (row["alone_low_mbps"], row["alone_high_mbps"])


def far_apart(folder, middle):
    """A1 in the hall has a wire, A2 in the far corner above has none; A3 between them is there or planned. All send little."""
    weak = {"model": "MB", "what": "access point", "eirp_2g4_dbm": "0", "eirp_5g_dbm": "0", "antenna": "omni", **BY}
    units = [unit("A1", model="MB"), unit("A2", model="MB", at=("STUD", 40, 18, 7))]
    units.append(unit("A3", model="MB", at=("PARL", 28, 16, 8), state=middle))
    net = {"service": "NET", "arrives_at": "unit:A1", "needs": "data", "source": "feed", "from": "unit:A1", **BY}
    return house(folder, units, models=[weak], services=[net])


@pytest.mark.parametrize(
    ("middle", "planned", "by"), [("", False, True), ("planned", False, False), ("planned", True, True)]
)
def test_over_air__what_is_there_is_not_reached_by_what_is_only_planned(tmp_path, middle, planned, by):
    answer = asked(far_apart(tmp_path, middle), planned=planned)
    ways = {row["sender"]: row["way"] for row in answer["over_air"]}
    assert ways["A2"] == (["A1", "A3", "A2"] if by else ["A1", "A2"])
    assert ways["A3"] == ["A1", "A3"]


def test_over_air__where_all_are_planned_nobody_is_fed_and_nothing_is_said(tmp_path):
    path = house(tmp_path, [unit("A1", state="planned"), unit("A2", state="planned")])
    assert asked(path)["over_air"] == []
    assert "taken as fed" not in pullstring("signal", path, *DATE).stdout


def test_over_air__where_no_wire_is_noted_those_that_are_there_are_taken_as_fed(tmp_path):
    """One in the hall, one planned in the study beyond: a single hop, at a level that the link between them has too."""
    path = house(tmp_path, [unit("A1"), unit("A2", state="planned")])
    answer = asked(path)
    [row] = answer["over_air"]
    assert (row["sender"], row["way"], row["taken_as_fed"], row["planned"]) == ("A2", ["A1", "A2"], True, True)
    assert row["high_mbps"] > 0 and row["band"] in answer["bands"]
    words = " ".join(pullstring("signal", path, *DATE).stdout.split())
    assert "A1 to A2" in words and "are taken as fed" in words
