"""`--codes`, `--plugs`, `--two-trips` and `--decode`: what to clip where, how far it is told apart, and what was read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from tests.journeys.lime_house import USUAL, lime_house, reading, rows
from tests.journeys.printed import flat
from tests.journeys.sites import ASKED, make

EIGHT = "1 %: 1.2k 2.2k 3.9k 4.7k 6.8k 12k 18k 33k"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lime_house(tmp_path_factory.mktemp("lime"))


def many_outlets(
    folder: Path, *, values: str = EIGHT, count: int = 8, bend: dict[str, dict[str, str]] | None = None
) -> Path:
    """The house with so many outlets of which nothing was read."""
    tables = rows(read=[])
    first = tables["outlets"][0]
    tables["outlets"] = [
        {**first, "outlet": f"P{n}", "shares_box_with_mains": "", **(bend or {}).get(f"P{n}", {})}
        for n in range(1, count + 1)
    ]
    tables["services"] = [s for s in tables["services"] if not s["arrives_at"]]
    tables["kit"] = [{**k, "note": values} if k["style"] == "resistors" else k for k in tables["kit"]]
    return make(folder, tables, code="LH")


def plan(path: Path, *tags: str, up_to: int = 2) -> dict[str, Any]:
    return dict(api.trace_codes(path, Request(today=ASKED.today, tags=tags), up_to=up_to).answer["codes"])


def words(answer: Any) -> str:
    return flat(text_page(page_of(answer), width=120))


def test_codes__eight_values_are_told_apart_in_pairs_and_not_in_threes(tmp_path: Path) -> None:
    """Worked by hand: 8 singles and 28 pairs are 36 readings; 12k with 3.9k is 2943.4 ohm, 18k with 3.9k less 2.92 %."""
    path = many_outlets(tmp_path)
    said = plan(path)
    kept = {k["order"]: k for k in said["kept"]}
    assert [kept[n]["readings"] for n in (1, 2, 3)] == [8, 36, 92]
    assert kept[2]["gap"] == pytest.approx(0.0292, abs=0.00005)
    assert (kept[1]["apart"], kept[2]["apart"], kept[3]["apart"]) == ("surely", "nearly", "no")
    assert sorted(c["ohm"] for c in said["clip"]) == [1200, 2200, 3900, 4700, 6800, 12000, 18000, 33000]
    text = words(api.trace_codes(path, ASKED))
    assert "up to two 36 2.92 % nearly" in text and "up to three 92" in text


def test_codes__readings_name_the_outlets_of_their_parts(house: Path) -> None:
    said = plan(house)
    at = {c["outlet"]: c["ohm"] for c in said["clip"]}
    for row in said["readings"]:
        whole = 1 / sum(1 / at[o] for o in row["outlets"])
        assert row["ohm"]["low"] < whole < row["ohm"]["high"]
    assert len({tuple(r["outlets"]) for r in said["readings"]}) == len(said["readings"])


def test_codes__only_outlets_that_are_open_unless_named(house: Path) -> None:
    assert {c["outlet"] for c in plan(house)["clip"]} == {"outlet:P4", "outlet:P6"}, "the till of P5 must stay"
    assert {c["outlet"] for c in plan(house, "P1")["clip"]} == {"outlet:P1"}


def test_codes__what_may_not_bear_a_resistor_is_listed_with_its_reason(tmp_path: Path) -> None:
    path = many_outlets(tmp_path, bend={"P2": {"shares_box_with_mains": "yes"}})
    said = plan(path)
    refused = {row["thing"]: row["why"] for row in said["not"]}
    assert "mains in box" in refused["outlet:P2"]
    assert all(c["outlet"] != "outlet:P2" for c in said["clip"])
    assert "end:W6" not in said["baseline"]
    assert "it shares its box with mains" in words(api.trace_codes(path, ASKED))


def test_codes__a_live_outlet_and_its_end_get_none(tmp_path: Path) -> None:
    read = [*USUAL, reading("end:W1", "volts DC", "48 V", at="2026-03-06")]
    said = plan(lime_house(tmp_path, read=read), "P1", "P5")
    why = {row["thing"]: row["why"] for row in said["not"]}
    assert all(c["outlet"] != "outlet:P1" for c in said["clip"]) and "end:W1" not in said["baseline"]
    assert (why["end:W1"], why["outlet:P1"]) == (["live"], ["likely live"])  # P1 is on W1 by odds alone


def test_codes__volts_come_first_where_nobody_read_them(house: Path) -> None:
    said = plan(house)
    assert said["volts"] == [c["outlet"] for c in said["clip"]]
    text = words(api.trace_codes(house, ASKED))
    assert text.index("Meter volts DC, then AC, on every pair of outlets") < text.index("Clip these on")


def test_codes__every_end_is_read_before_anything_is_clipped_on(house: Path) -> None:
    assert plan(house)["baseline"] == [f"end:W{n}" for n in (1, 2, 3, 4, 5, 7, 8)]
    text = words(api.trace_codes(house, ASKED))
    assert "it may be an alarm loop" in text and text.index("First read the ohms") < text.index("Clip these on")


def test_codes__more_outlets_than_values_wait_for_the_next_walk(tmp_path: Path) -> None:
    path = many_outlets(tmp_path, values="1 %: 1.2k 4.7k", count=3)
    said = plan(path)
    assert len(said["clip"]) == 2 and len(said["left"]) == 1
    assert "No value is left for outlet" in words(api.trace_codes(path, ASKED))


def test_codes__without_resistors_one_sentence_what_to_note(tmp_path: Path) -> None:
    path = lime_house(tmp_path, without=("kit",))
    with pytest.raises(api.BadRequest, match="no resistors are noted as at hand; note them in the table kit"):
        api.trace_codes(path, ASKED)


def test_plugs__every_end_its_own_word_and_the_clip_told_from_its_ends(house: Path) -> None:
    said = api.trace_words(house, ASKED, pairs=4).answer["words"]
    [walk] = said["walks"]
    given = {w["end"]: frozenset(w["pairs"]) for w in walk}
    assert set(given) == {f"end:W{n}" for n in (1, 2, 3, 4, 5, 7, 8)} and all(given.values())
    shown = [*given.values(), given["end:W3"] | given["end:W4"]]
    assert len(set(shown)) == len(shown) and said["alike"] == []


def test_plugs__two_pairs_need_more_walks(house: Path) -> None:
    """Two pairs make three words a walk; seven ends and 'no cable' are eight: two walks at least (4 x 4 codes)."""
    said = api.trace_words(house, ASKED, pairs=2).answer["words"]
    assert len(said["walks"]) == 2


@pytest.mark.parametrize(
    ("wires", "possible"), [(1, True), (2, None), (3, True), (5, False), (9, False), (10, True), (25, True)]
)
def test_two_trips__every_number_but_2_5_and_9(house: Path, wires: int, possible: bool | None) -> None:
    if possible is None:
        with pytest.raises(api.BadRequest, match="take another conductor"):
            api.trace_two_trips(house, ASKED, wires=wires)
        return
    answer = api.trace_two_trips(house, ASKED, wires=wires)
    said = answer.answer["two_trips"]
    assert said["possible"] is possible
    if possible:
        assert len({tuple(k) for k, _ in said["key"]}) == wires
    else:
        assert "cannot be told apart in two trips by counting" in words(answer)
    assert "Only on wires without volts" in words(answer)


def decoded(path: Path, read: dict[str, str], placed: dict[str, str]) -> dict[str, dict[str, Any]]:
    answer = api.trace_decode(
        path, ASKED, read=[f"{k}={v}" for k, v in read.items()], placed=[f"{k}={v}" for k, v in placed.items()]
    )
    assert words(answer)
    return {e["end"].partition(":")[2]: e for e in answer.answer["decode"]["ends"]}


PLACED = {"P1": "1.2k", "P2": "2.2k", "P3": "3.9k", "P4": "4.7k"}


def test_decode__a_run_a_chain_and_nothing(house: Path) -> None:
    """2.2k with 3.9k in parallel is 1406.6 ohm."""
    found = decoded(house, {"W1": "1203", "W2": "1409", "W5": "open"}, PLACED)
    assert (found["W1"]["what"], found["W1"]["ways"][0]["outlets"]) == ("run", ["outlet:P1"])
    assert (found["W2"]["what"], found["W2"]["ways"][0]["outlets"]) == ("chain", ["outlet:P2", "outlet:P3"])
    assert found["W5"]["what"] == "bare"


def test_decode__the_same_on_two_ends_of_the_clip_is_a_bridge_and_on_others_a_ring(house: Path) -> None:
    found = decoded(house, {"W3": "4704", "W4": "4704", "W1": "1203", "W5": "1203"}, PLACED)
    assert (found["W3"]["what"], found["W3"]["others"]) == ("bridge", ["end:W4"])
    assert (found["W1"]["what"], found["W1"]["others"]) == ("ring", ["end:W5"])


def test_decode__something_else_is_never_forced_into_ours(house: Path) -> None:
    found = decoded(house, {"W5": "560"}, {"P1": "1.2k", "P2": "2.2k"})
    assert (found["W5"]["what"], found["W5"]["stop"]) == ("something else", False) or found["W5"]["stop"]
    found = decoded(house, {"W5": "5600"}, PLACED)
    assert found["W5"]["stop"]
    answer = api.trace_decode(house, ASKED, read=["W5=5600"], placed=["P1=1.2k"])
    assert "stop, it may be an alarm loop; its company first" in words(answer)


def test_decode__what_fits_two_names_the_one_clip_that_parts_them(house: Path) -> None:
    """2.2k alone, or 3.9k with 4.7k (2131.4 ohm): a reading between them fits both."""
    found = decoded(house, {"W2": "2140"}, PLACED)
    act = found["W2"]["act"]
    fits = [set(w["outlets"]) for w in found["W2"]["ways"][:2]]
    assert {"outlet:P2"} in fits and {"outlet:P3", "outlet:P4"} in fits
    assert act["do"] == "take off" and act["outlet"] in ("outlet:P2", "outlet:P3", "outlet:P4")
    then = {tuple(t["outlets"]): t["ohm"] for t in act["then"]}
    assert then[("outlet:P2",)] != then[("outlet:P3", "outlet:P4")]
    text = words(api.trace_decode(house, ASKED, read=["W2=2140"], placed=[f"{k}={v}" for k, v in PLACED.items()]))
    assert f"Take our clip off {act['outlet'][7:]} and read W2 again" in text


def test_decode__from_the_record_as_from_the_line(tmp_path: Path) -> None:
    read = [
        *(
            reading(f"outlet:{o}", "resistor placed", v + "ohm", at="2026-03-06T09:00+00:00")
            for o, v in (("P1", "1200 "), ("P2", "2200 "))
        ),
        reading("end:W1", "resistance", "1203 ohm", at="2026-03-06T09:30+00:00", conditions="pair 1"),
        reading("end:W2", "resistance", "2204 ohm", at="2026-03-06T09:31+00:00", conditions="pair 1"),
    ]
    answer = api.trace_decode(lime_house(tmp_path, read=read), ASKED).answer["decode"]
    assert answer["from"] == "record" and answer["placed"] == {"outlet:P1": 1200, "outlet:P2": 2200}
    assert [(e["end"], e["ways"][0]["outlets"]) for e in answer["ends"]] == [
        ("end:W1", ["outlet:P1"]),
        ("end:W2", ["outlet:P2"]),
    ]
