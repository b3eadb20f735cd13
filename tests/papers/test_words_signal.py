"""The words of signal: levels with their ranges, chances, what contradicts, what comes next."""

from __future__ import annotations

import copy
import re
from typing import Any

import pytest

from pullstring.model.answers import Answer
from pullstring.papers import sentences_signal, words_signal
from pullstring.papers.blocks import Heading, Para, Table
from pullstring.papers.sentences_scene import SCENE_TAKEN
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from pullstring.papers.words_signal import as_read, band_line, chance_of, first_lines, room_sentence, taken
from pullstring.papers.words_signal_page import changed, moved_rows, moved_says, room_rows
from pullstring.papers.words_signal_read import left_out, read_enough, readings
from pullstring.papers.words_signal_said import between, dbm, decibels, level, minutes, rate
from pullstring.papers.words_signal_wires import air, channels, links, uplinks
from tests.journeys.sites import packaged
from tests.papers import signal_house
from tests.papers.house import house

AT: dict[str, Any] = {
    "level_dbm": -66.4, "low_dbm": -71.2, "high_dbm": -60.6, "median_dbm": -60.0, "median_low_dbm": -64.0,
    "median_high_dbm": -56.0, "server": "A1", "second": "A2", "second_dbm": -73.6, "rate_mbps": [120.0, 310.0],
    "read_dbm": -65.0,
}  # fmt: skip


@pytest.fixture
def said() -> dict[str, Any]:
    return copy.deepcopy(signal_house.answer(house()))


def words(said: dict[str, Any]) -> str:
    return text_page(page_of(Answer("signal", "MLH", said)), width=100)


@pytest.mark.parametrize(
    ("value", "text"), [(-66.4, "-66"), (-0.2, "0"), (-100.4, "not heard"), (-250.0, "not heard"), (None, "–")]
)
def test_dbm__whole_and_never_below_what_a_receiver_hears(value: float | None, text: str) -> None:
    assert dbm(value) == text


def test_between__is_four_chances_in_five() -> None:
    assert between(-71.2, -60.6) == "4 in 5 between -71 and -61"
    assert between(-71.2, -60.6, bare=True) == "-71 to -61"
    assert between(-180.0, -90.0) == "4 in 5 between not heard and -90"
    assert between(None, None) == "–"


@pytest.mark.parametrize(
    ("made", "text"),
    [(decibels(4.06), "4.1"), (decibels(4.0), "4"), (decibels(-0.04), "0"), (minutes(0.4), "less than a minute"),
     (minutes(1.0), "1 minute"), (minutes(2.6), "2.6 minutes"),
     (rate([120.0, 310.0], unit=True), "120 to 310 Mb/s"), (rate([54.0, 54.0]), "54"),
     (rate([0.0, 0.0]), ""), (rate(None), "")],
)  # fmt: skip
def test_phrases(made: str, text: str) -> None:
    assert made == text


def test_band_line__level_range_server_second_rate_and_reading() -> None:
    assert band_line("5 GHz", AT) == (
        "5 GHz: about -66 dBm or more in nine tenths of it, 4 in 5 between -71 and -61; served by A1, "
        "A2 could take over at -74 dBm; 120 to 310 Mb/s; read there: -65."
    )
    alone = {**AT, "second": None, "second_dbm": None, "rate_mbps": [0.0, 0.0], "read_dbm": None}
    assert band_line("5 GHz", alone).endswith("served by A1.")


def test_room__chance_of_each_need_or_why_there_is_none(said: dict[str, Any]) -> None:
    room = next(r for r in said["rooms"] if r["room"] == "R2")
    assert "Chance that it is enough: call at 5 GHz: 4 in 5." in room_sentence(room)
    room["needs"][0] |= {"chance": None, "word": "", "why_not": "by_cable"}
    assert "call at 5 GHz: it is served by cable" in room_sentence(room)
    dark = next(r for r in said["rooms"] if r["room"] == "R4")
    assert (
        room_sentence(dark) == "Not known: too little is known of what lies between: one reading there would settle it."
    )


def test_first_lines__at_most_five_and_the_counts_are_those_of_the_rooms(said: dict[str, Any]) -> None:
    lines = first_lines(said)
    assert len(lines) <= 5
    for band in said["bands"]:
        enough = sum(1 for r in said["rooms"] if r["bands"].get(band) and r["bands"][band]["level_dbm"] >= -67)
        assert f"{enough} of 6 at {band}" in lines[0]
    assert "of 2 nothing is known" in lines[0]
    said["edge_dbm"]["2.4 GHz"] = -70.0
    assert "at 2.4 GHz (-70 dBm)" in first_lines(said)[0]


def test_first_lines__a_need_unlikely_to_be_met_comes_before_one_less_so(said: dict[str, Any]) -> None:
    said["rooms"][0]["needs"][0] |= {"chance": 0.5, "word": "1 in 2"}
    said["rooms"][1]["needs"][0] |= {"chance": 0.2, "word": "1 in 5"}
    line = next(w for w in first_lines(said) if w.startswith("Least sure"))
    assert line.index("1 in 5") < line.index("1 in 2")
    said["rooms"][0]["needs"][0] |= {"chance": 0.95, "word": "19 in 20"}
    assert "19 in 20" not in " ".join(first_lines(said))


def test_left_out__is_always_said(said: dict[str, Any]) -> None:
    assert " ".join(words(said).split()).count(left_out(said)) == 2  # among the first lines, and with what was learned
    for off, before in ((None, 7.9), (4.1, None), (None, None)):
        said |= {"leave_one_out_db": off, "before_db": before}
        assert left_out(said) and left_out(said) in first_lines(said)


def test_page__contradiction_next_and_what_was_learned_stand_there(said: dict[str, Any]) -> None:
    text = " ".join(words(said).split())
    assert "read it again: -58 dBm at 5 GHz in room R3 where -72 is predicted" in text
    assert "Read next in room R5 Closet <old>: 1.2 minutes; it narrows the room that gains most by 1.4 dB." in text
    assert "Phone reads 5.1 dB less than a plain antenna would (3.2 to 7)" in " ".join(text.split())
    assert "none heard" in text
    said["next"] = []
    assert sentences_signal.SAID["no next"] in words(said)


def test_offset__that_may_be_none_is_not_told_as_one(said: dict[str, Any]) -> None:
    said["learned"]["offsets"] = [{"device": "laptop", "db": 0.4, "low_db": -1.5, "high_db": 2.3}]
    assert "Laptop reads as predicted, within 2.3 dB." in words(said)


def test_page__nothing_learned_and_no_reading_is_still_a_page(said: dict[str, Any]) -> None:
    said |= {"readings": [], "learned": {}, "leave_one_out_db": None, "before_db": None, "next": [], "senders": []}
    text = words(said)
    assert sentences_signal.LEFT_OUT["none"] in " ".join(text.split())
    said["rooms"] = []
    assert "No room is noted" in words(said)


def test_page__every_code_has_its_sentence(said: dict[str, Any]) -> None:
    for code in sentences_signal.WHY_NOT_KNOWN:
        said["rooms"][-1]["why_not_known"] = code
        assert code not in words(said) and sentences_signal.WHY_NOT_KNOWN[code] in " ".join(words(said).split())


def test_channels__say_who_shares_and_whether_it_is_proven() -> None:
    one = {"channel": "36", "width_mhz": 80, "moved": False, "kept": False, "narrow": False, "overlaps": []}
    shared = [{"other": "A1", "how": "same", "above_db": 12, "counts_db": 12}]
    plan = {
        "choices": [{**one, "name": "A1", "kept": True}, {**one, "name": "A2", "moved": True, "overlaps": shared}],
        "overlap_db": 12, "present_db": 31, "overlap_proven": True,
    }  # fmt: skip
    blocks = channels({"5 GHz": plan})
    [line] = [b.text for b in blocks if isinstance(b, Para)]
    assert line == "5 GHz: overlap 12 dB in all, no plan is better; as it is now 31 dB."
    [table] = [b for b in blocks if isinstance(b, Table)]
    assert table.rows == (
        ("A1", "5 GHz", "36", "80", "must stay", "nobody"),
        ("A2", "5 GHz", "36", "80", "to be changed", "A1 (12 dB too loud)"),
    )
    plan |= {"overlap_proven": False, "overlap_db": 0, "present_db": None}
    told = " ".join(b.text for b in channels({"5 GHz": plan}) if isinstance(b, Para))
    assert told == "5 GHz: no two on one channel hear each other, a better plan was not ruled out."
    assert channels({}) == []


def test_links__say_how_high_and_defer_to_trades() -> None:
    one = {
        "near": "A1", "far": "A2", "length_m": 84.0, "clear_ratio": 0.55, "level_dbm": {"low": -63.4, "high": -58.6},
        "to_spare_db": {"low": 7.0, "high": 12.0}, "rate_mbps": {"low": 80.0, "high": 240.0},
        "rise": {"near_m": 1.5, "far_m": None, "both_m": 0.8}, "cautions": [],
    }  # fmt: skip
    blocks = links([one])
    [table] = [b for b in blocks if isinstance(b, Table)]
    assert table.rows == (
        (
            "A1 to A2",
            "84 m",
            "55 %",
            "1.5 m higher at the first or 0.8 m higher at both",
            "-63 to -59",
            "7 to 12",
            "80 to 240",
        ),
    )
    assert any(isinstance(b, Para) and b.tone == "caution" for b in blocks)
    for rise, says in (
        ({"near_m": 0.0, "far_m": 0.0, "both_m": 0.0}, "high enough"),
        ({"near_m": None, "far_m": None, "both_m": None}, "no height that was looked at is enough"),
    ):
        [table] = [b for b in links([{**one, "rise": rise}]) if isinstance(b, Table)]
        assert table.rows[0][3] == says
    bare = links([{n: one[n] for n in ("near", "far", "length_m")}])
    assert isinstance(bare[0], Heading) and isinstance(bare[1], Table)
    assert bare[1].rows == (("A1 to A2", "84 m", "all", "–", "–", "–", "–"),)
    assert links([]) == []


def test_moved__what_changes_by_less_than_half_a_decibel_is_the_same(said: dict[str, Any]) -> None:
    after = copy.deepcopy({"rooms": said["rooms"]})
    for room, by in zip(after["rooms"], (0.4, 6.2, -3.1, 0, -0.6, 0), strict=True):
        if room["bands"]:
            room["bands"]["5 GHz"]["level_dbm"] += by
    rows = moved_rows(said, after, band="5 GHz")
    assert [rows[r]["change"] for r in ("R1", "R2", "R3", "R5")] == ["same", "+6 dB", "-3 dB", "-1 dB"]
    assert rows["R4"] == {"words": "–", "change": "", "by": ""}
    says = moved_says(said, after, band="5 GHz", sender="A1", x="7", y="2")
    assert says == "If A1 stood at x 7 m, y 2 m: 1 better, 2 worse."
    assert "no room changes" in moved_says(said, said, band="5 GHz", sender="A1", x="7", y="2")
    assert changed(-0.49) == "same"


def test_room_rows__the_floor_shown_comes_first(said: dict[str, Any]) -> None:
    assert room_rows(said, band="5 GHz", floor="B1")[0]["room"] == "R6"
    assert room_rows(said, band="5 GHz", floor="B0")[-1]["room"] == "R6"
    said["rooms"][0]["bands"].pop("2.4 GHz")
    first = room_rows(said, band="2.4 GHz", floor="B0")[0]
    assert (first["known"], first["why"]) == (False, "nobody sends this band there")


def test_read__rooms_are_counted_by_what_was_read_and_not_by_what_is_predicted(said: dict[str, Any]) -> None:
    """R1 read at -49 and R3 at -58 reach -67; R2 at -66 too; in R5 nothing was heard."""
    assert read_enough(said, "5 GHz", edge_dbm=-67.0) == (3, 4)
    assert read_enough(said, "5 GHz", edge_dbm=-60.0) == (2, 4)
    assert "Read there, not predicted: 3 of 4 at 5 GHz." in first_lines(said)[0]
    said["readings"][0]["tells_now"] = False  # an access point came since: what was heard there is of one alone
    assert read_enough(said, "5 GHz", edge_dbm=-67.0) == (2, 3)
    said["readings"] = []
    assert "Read there" not in first_lines(said)[0]


def test_read__the_demo_before_has_three_of_nineteen_rooms_at_minus_seventy() -> None:
    """The readings as they were taken on arrival: the lounge, the hall and one guest room of 19 measured at 5 GHz."""
    rows = [r for r in packaged("three_lamps/1_arrival")["measurements"] if r["quantity"] == "level 5 GHz"]
    told = [
        {"room": r["subject"].removeprefix("room:"), "band": "5 GHz", "tells_now": True,
         "read_dbm": None if r["value"] == "none" else float(r["value"].removesuffix(" dBm"))}
        for r in rows
    ]  # fmt: skip
    assert read_enough({"readings": told}, "5 GHz", edge_dbm=-70.0) == (3, 19)


def test_needs__the_way_back_and_words_not_known_are_said_and_lines_stay_short(said: dict[str, Any]) -> None:
    need = said["rooms"][0]["needs"][0]
    need |= {"chance": 0.4, "limited_by": "up", "unit": "D12", "doubts": []}
    text = words(said)
    assert "the device's way back is" in " ".join(text.split()) and "D12: call" in text
    assert max(map(len, text.splitlines())) <= 100
    need |= {"chance": 0.97}
    assert "way back" not in words(said)
    need |= {"doubts": ["words_not_known"]}
    assert "no known use: its level" in " ".join(words(said).split())


def test_chance__none_is_ever_told_as_certain(said: dict[str, Any]) -> None:
    need = {"chance": 0.0}
    assert chance_of(need) == "less than 1 in 100"
    assert chance_of({"chance": 1.0}) == "more than 99 in 100"


def test_readings__say_from_whom_and_why_one_teaches_nothing(said: dict[str, Any]) -> None:
    for code, why in sentences_signal.READING_WHY.items():
        said["readings"][0] |= {"why_not": code, "from": "A7", "predicted_dbm": None, "low_dbm": None, "high_dbm": None}
        [table] = [b for b in readings(said) if isinstance(b, Table)]
        assert table.rows[0][2] == "A7" and table.rows[0][-1] == f"teaches nothing: {why}"


@pytest.mark.parametrize(
    ("doubt", "says"),
    [
        ({"kind": "alone", "keys": ["g3"], "off_db": 14.0, "aside": True},
         "Read again: -58 dBm at 5 GHz in room R3 does not fit what all others tell, by 14 dB. "
         "Nothing is learned from it until then."),
        ({"kind": "alone", "keys": ["g3", "g2"], "off_db": -14.0, "aside": False},
         "Read again: -58 dBm at 5 GHz in room R3 does not fit, by 14 dB, above all not with -49 dBm in room R1."),
        ({"kind": "pair", "keys": ["g3", "g2"], "off_db": 9.0, "aside": False},
         "Read again: -58 dBm at 5 GHz in room R3 and -49 dBm at the same spot on the same day, 9 dB apart."),
    ],
)  # fmt: skip
def test_again__what_does_not_fit_and_with_what(said: dict[str, Any], doubt: dict[str, Any], says: str) -> None:
    said["repeat"] = [doubt]
    assert [b.text for b in readings(said) if isinstance(b, Para)] == [says]
    said["repeat"] = [{**doubt, "keys": ["gone"]}]
    assert [b for b in readings(said) if isinstance(b, Para)] == []


def test_level__not_heard_is_said_once() -> None:
    assert level(-140.0, -150.0, -120.0) == "not heard"
    assert level(-140.0, -150.0, -97.0) == "not heard (up to -97)"
    assert level(-66.4, -71.2, -60.6) == "-66 (-71 to -61)"


def test_first_lines__without_an_access_point_say_what_to_note(said: dict[str, Any]) -> None:
    said |= {"bands": [], "edge_dbm": {}, "senders": [], "readings": [], "learned": {}, "next": []}
    for room in said["rooms"]:
        room |= {"bands": {}, "needs": [], "known": False, "why_not_known": "no_sender"}
    text = " ".join(words(said).split())
    assert sentences_signal.SAID["nobody sends"] in text and sentences_signal.SAID["or read"] in text
    assert "What the readings taught" not in text


def test_as_read__by_which_device(said: dict[str, Any]) -> None:
    assert as_read({"as_read_by": "phone", "bands": ["5 GHz"]}) == "Levels are told as the phone reads them."
    assert (
        as_read({"as_read_by": "a device nobody noted", "bands": ["5 GHz"]})
        == "Levels are told as a device nobody noted reads them."
    )
    assert as_read({"as_read_by": None, "bands": ["5 GHz"]}) == sentences_signal.SAID["as plain"]


def test_taken__one_sentence_each_and_right_for_one_and_for_many(said: dict[str, Any]) -> None:
    said["taken"] = [{"code": code, "of": tags} for code in SCENE_TAKEN for tags in (["X1"], ["X1", "X2", "X3"])]
    told = [b.text for b in taken(said) if isinstance(b, Para)]
    assert len(told) == 2 * len(SCENE_TAKEN)
    for line in told:
        assert line[0].isupper() and line.endswith(".")
        assert not re.search(r"X3 (is|has|hangs|loses|lies|radiates|stands)\b", line), line


def test_uplinks__shares_of_one_hop_are_no_rates() -> None:
    found = [
        {"hops": [{"hops": 1, "low_share": 1.0, "high_share": 1.0}, {"hops": 3, "low_share": 0.25, "high_share": 0.33}]}
    ]
    [table] = [b for b in uplinks(found) if isinstance(b, Table)]
    [(way, rate_told, so)] = table.rows
    assert (way, rate_told) == ("mesh, 3 hops on one radio", "–")
    assert so.startswith("25 to 33 % of the rate of one hop; ")


def test_air__less_than_one_in_a_hundred_is_said_so() -> None:
    one = {
        "sender": "A1", "band": "5 GHz", "rooms": ["R1"], "needs": ["N1"], "percent": 0.2, "low_percent": 0.1,
        "high_percent": 3.6, "with_others_percent": None, "waits_for": [], "busy": False,
    }  # fmt: skip
    [table] = [b for b in air([one]) if isinstance(b, Table)]
    assert table.rows[0][4:6] == ("under 1 %", "under 1 to 4 %")


def test_words__none_that_is_not_for_users() -> None:
    told = " ".join(
        [
            *(
                s
                for t in vars(sentences_signal).values()
                if isinstance(t, dict)
                for s in t.values()
                if isinstance(s, str)
            ),
            words_signal.__doc__ or "",
        ]
    )
    for word in ("posterior", "covariance", "RSSI", "heat map", "prior "):
        assert word.lower() not in told.lower()
