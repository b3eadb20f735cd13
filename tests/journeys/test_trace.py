"""`trace` on a record: where outlets and ends belong, how sure, why; ties; what may be accepted; what is refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from tests.journeys.lime_house import USUAL, lime_house, tone
from tests.journeys.sites import ASKED, HAND
from tests.journeys.test_cli import run

ACCEPTED = {("end:W1", "outlet:P1"), ("end:W2", "outlet:P2"), ("end:W2", "outlet:P3")}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lime_house(tmp_path_factory.mktemp("lime"))


def by_outlet(path: Path, **asked: Any) -> dict[str, dict[str, Any]]:
    answer = api.trace(path, Request(today=ASKED.today, **asked))
    return {row["outlet"].partition(":")[2]: row for row in answer.answer["outlets"]}


def best(row: dict[str, Any]) -> tuple[list[str], float]:
    first = row["goes"][0]
    return [e.partition(":")[2] for e in first["ends"]], first["odds"]["chance"]


def told(path: Path, *, width: int = 140, **asked: Any) -> str:
    return text_page(page_of(api.trace(path, Request(today=ASKED.today, **asked))), width=width)


def test_trace__what_was_toned_is_settled_and_the_chain_named(house: Path) -> None:
    found = by_outlet(house)
    for outlet, end in (("P1", "W1"), ("P2", "W2"), ("P3", "W2")):
        ends, chance = best(found[outlet])
        assert (ends, found[outlet]["state"]) == ([end], "sure") and chance >= 0.99
    assert found["P2"]["with"] == ["outlet:P3"] and found["P3"]["with"] == ["outlet:P2"]
    assert found["P1"]["with"] == []


def test_trace__a_clip_is_a_clip(house: Path) -> None:
    """W3 and W4 are noted as joined: an isolated tone from W3 says that P4 is on W3's side of the clip."""
    found = by_outlet(house)
    assert "W3" in best(found["P4"])[0]
    ends = {row["end"]: row for row in api.trace(house, ASKED).answer["ends"]}
    assert any(s["what"] in ("clip", "bridged") for s in ends["end:W3"]["stands"])


def test_trace__what_nobody_tried_is_not_called_known(house: Path) -> None:
    found = by_outlet(house)
    assert found["P6"]["state"] not in ("sure", "no cable")
    assert "P6" in told(house)


def test_trace__the_alarm_takes_no_part(house: Path) -> None:
    answer = api.trace(house, ASKED).answer
    assert any(row["thing"] == "end:W6" for row in answer["left_out"])
    assert all("end:W6" not in g["ends"] for o in answer["outlets"] for g in o["goes"])


def test_trace__chances_add_up_to_at_most_one(house: Path) -> None:
    for row in by_outlet(house).values():
        assert sum(g["odds"]["chance"] for g in row["goes"]) <= 1 + 1e-9
        assert all(
            a["odds"]["chance"] >= b["odds"]["chance"] for a, b in zip(row["goes"], row["goes"][1:], strict=False)
        )


def test_trace__two_ends_that_fit_alike_are_a_tie_and_none_is_picked(tmp_path: Path) -> None:
    """P6 hears the same from W7 and W8, which nothing else parts."""
    heard = [tone("outlet:P6", f"end:{e}", care="", minute=30 + n) for n, e in enumerate(("W7", "W8"))]
    path = lime_house(tmp_path, read=[*USUAL, *heard])
    row = by_outlet(path)["P6"]
    if row["state"] == "tie":
        assert {tuple(t) for t in row["tie"]} >= {("end:W7",), ("end:W8",)}
        assert "a tie" in told(path)
    assert row["state"] != "sure"
    assert all(p["object"] != "outlet:P6" for p in api.trace(path, ASKED).answer["proposed"])


def test_trace__a_contradiction_names_the_reading_to_repeat(tmp_path: Path) -> None:
    """Three readings have P1 on W1; one loud tone from W2, alone and off the block, stands against them."""
    more = [
        tone("end:W1", "outlet:P1", care="isolated confirmed", minute=40),
        tone("outlet:P1", "end:W2", care="isolated", minute=41),
    ]
    path = lime_house(tmp_path, read=[*USUAL, *more])
    repeat = api.trace(path, ASKED).answer["repeat"]
    assert [(r["said"]["subject"], r["said"]["value"]) for r in repeat] == [("outlet:P1", "loud from end:W2 isolated")]
    assert "Does not fit together, so read it again: loud tone from end W2, isolated at outlet P1" in " ".join(
        told(path).split()
    )


def test_trace__tags_narrow_the_answer(house: Path) -> None:
    answer = api.trace(house, Request(today=ASKED.today, tags=("P1",))).answer
    assert [o["outlet"] for o in answer["outlets"]] == ["outlet:P1"]
    assert [e["end"] for e in answer["ends"]] == ["end:W1"]
    answer = api.trace(house, Request(today=ASKED.today, tags=("W2",))).answer
    assert {o["outlet"] for o in answer["outlets"]} == {"outlet:P2", "outlet:P3"}


def test_trace__as_of_the_day_before_nothing_was_heard(house: Path) -> None:
    found = by_outlet(house, as_of="2026-03-04")
    assert all(row["state"] not in ("sure",) for row in found.values())


def test_trace__a_house_without_outlets_or_ends_is_said_so(tmp_path: Path) -> None:
    path = lime_house(tmp_path, read=[], without=("outlets", "services"))
    answer = api.trace(path, ASKED).answer
    assert answer["outlets"] == [] and answer["proposed"] == []
    assert "No outlet is noted" in told(path)


def test_trace__first_lines_are_few_and_say_what_matters(house: Path) -> None:
    page = page_of(api.trace(house, ASKED))
    first = []
    for block in page.blocks:
        if type(block).__name__ != "Para":
            break
        first.append(block.text)
    assert 2 <= len(first) <= 5
    assert any("outlets are settled" in line for line in first)
    assert any("Next:" in line or "Stop" in line or "Enough" in line for line in first[-1:])


def test_trace__words_are_for_people(house: Path) -> None:
    import re

    text = told(house) + text_page(page_of(api.trace_why(house, ASKED, why="P1")), width=120)
    assert not re.search(r"\b(posterior|bits|entropy|event|schema|None|nan)\b", text)


def test_why__entries_by_weight_and_they_are_the_ones(house: Path) -> None:
    answer = api.trace_why(house, ASKED, why="P1").answer
    weights = [w["weight"] for w in answer["for"]]
    assert weights == sorted(weights, reverse=True) and weights[0] > 2
    first = answer["for"][0]["said"][0]
    assert (first["subject"], first["value"]) == ("outlet:P1", "loud from end:W1 isolated confirmed")


def test_why__an_entry_stands_once(house: Path) -> None:
    """A tone that a short stopped is a tone and a short to the odds, and one entry to whoever reads it."""
    found = api.trace_why(house, ASKED, why="P1").answer
    entries = [tuple(s["entry"] for s in w["said"]) for side in ("for", "against") for w in found[side]]
    assert entries and len(set(entries)) == len(entries)


def test_why__without_a_listed_entry_the_odds_change(tmp_path: Path) -> None:
    path = lime_house(tmp_path)
    before = best(by_outlet(path)["P1"])[1]
    entry = api.trace_why(path, ASKED, why="P1").answer["for"][0]["said"][0]["entry"]
    api.strike(path, ASKED, entry=entry, why="heard on another plate", redact=False, **HAND)
    after = by_outlet(path)["P1"]
    assert after["state"] != "sure" and before >= 0.99
    listed = api.trace_why(path, ASKED, why="P1").answer
    assert entry not in [s["entry"] for side in ("for", "against") for w in listed[side] for s in w["said"]]


def test_why__of_an_end_names_the_outlets(house: Path) -> None:
    answer = api.trace_why(house, ASKED, why="W2").answer
    assert {g["outlet"] for g in answer["goes"][:2]} == {"outlet:P2", "outlet:P3"}
    assert {s["subject"] for w in answer["for"][:2] for s in w["said"]} == {"outlet:P2", "outlet:P3"}


def test_accept__writes_what_is_sure_once_with_the_grade_it_earned(tmp_path: Path) -> None:
    path = lime_house(tmp_path)
    dry = api.trace_accept(path, ASKED, dry=True, **HAND).answer
    assert {(p["subject"], p["object"]) for p in dry["accepted"]} >= ACCEPTED
    count = len(api.history(path, ASKED, about=None).answer["entries"])
    made = api.trace_accept(path, ASKED, **HAND).answer
    assert len(made["entries"]) == len(dry["accepted"]) == len(made["accepted"]) and made["decided"]
    site = api.load(path, ASKED)
    claims = {(str(c.subject), str(c.object)): c.support for c in site.claims if c.relation == "goes_to"}
    assert all(claims[pair] == "toned" for pair in ACCEPTED)
    after = len(api.history(path, ASKED, about=None).answer["entries"])
    again = api.trace_accept(path, ASKED, **HAND).answer
    assert again["accepted"] == [] and again["entries"] == []
    assert len(api.history(path, ASKED, about=None).answer["entries"]) == after > count


def test_accept__odds_do_not_feed_on_themselves(tmp_path: Path) -> None:
    """What was accepted rests on the same readings: every chance stays as it was."""
    path = lime_house(tmp_path)
    before = {o: row["goes"] for o, row in by_outlet(path).items()}
    assert api.trace_accept(path, ASKED, **HAND).answer["entries"]
    assert {o: row["goes"] for o, row in by_outlet(path).items()} == before


def test_accept__tags_pick(tmp_path: Path) -> None:
    path = lime_house(tmp_path)
    made = api.trace_accept(path, Request(today=ASKED.today, tags=("P1",)), **HAND).answer
    assert [(p["subject"], p["object"]) for p in made["accepted"]] == [("end:W1", "outlet:P1")]
    assert "traced with odds of 0.99" in api.load(path, ASKED).about(relation="goes_to")[0].sayings[0].evidence.method


def test_accept__dry_changes_no_byte(tmp_path: Path) -> None:
    path = lime_house(tmp_path)
    before = path.read_bytes()
    api.trace_accept(path, ASKED, dry=True, **HAND)
    assert path.read_bytes() == before


def test_accept__an_unconfirmed_tone_is_never_toned(tmp_path: Path) -> None:
    heard = [tone("outlet:P1", "end:W1", care="", minute=n) for n in range(1, 4)]
    path = lime_house(tmp_path, read=heard)
    rows = api.trace_accept(path, ASKED, dry=True, **HAND).answer["accepted"]
    assert {p["grade"] for p in rows} <= {"told", "assumed"}


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("P9",), "there is nothing tagged 'P9' in this site"),
        (("--why", "P99"), "there is nothing tagged 'P99'"),
        (("--why", "P1", "--next"), "--why and --next are different questions; ask one at a time"),
        (("--at", "K1"), "--at belongs to --next; name that too"),
        (("--dry",), "--dry belongs to --accept; name that too"),
        (("--decode", "--read", "W1"), "'W1' is no reading; write it as TAG=OHM"),
        (("--decode", "--read", "W1=1.2x", "--placed", "P1=1.2k"), "'x' is no unit of resistance"),
        (("--decode", "--read", "W1=1200"), "nothing is placed; give it as --placed OUTLET=OHM"),
        (("--decode", "--read", "W1=1200", "--placed", "P1=open"), "a resistor that is placed has a value"),
        (("--decode", "--read", "W1=1200", "--placed", "W2=1k"), "'W2' is end:W2; what can be named here: outlet"),
        (("--decode", "--read", "W1=1e-320", "--placed", "P1=1k"), "no meter shows that"),
        (
            ("--decode", "--read", "W1=1k", "--read", "W1=2k", "--placed", "P1=1k"),
            "W1 stands twice; give one value for each",
        ),
        (("--decode", "--read", "W1=<5k", "--placed", "P1=1k"), "without < or >"),
        (("--codes", "W1"), "'W1' is end:W1; what can be named here: outlet"),
        (("--plugs", "4", "P1"), "'P1' is outlet:P1; what can be named here: end"),
        (("--two-trips", "7", "P1"), "leave out P1"),
        (("--two-trips", "2"), "2 wires cannot be told apart by touch alone"),
        (("--decode",), "no resistor was placed in this record"),
        (("K1",), "'K1' is room:K1; what can be named here: outlet or end"),
    ],
)
def test_wrong_request__one_sentence_exit_2_and_no_byte_changed(house: Path, args: tuple[str, ...], words: str) -> None:
    before = house.read_bytes()
    done = run("trace", house, "--today", ASKED.today, *args)
    assert done.returncode == 2 and words in done.stderr and "Traceback" not in done.stderr
    assert house.read_bytes() == before


def test_wrong_request__all_faults_at_once(house: Path) -> None:
    done = run("trace", house, "--decode", "--read", "W1", "--read", "W99=5", "--placed", "P1=-3")
    assert len(done.stderr.strip().splitlines()) == 3


def test_cli__as_typed(house: Path) -> None:
    done = run("trace", house, "--today", ASKED.today, "--json")
    answer = json.loads(done.stdout)
    assert (done.returncode, answer["verb"], answer["answer"]["counts"]["outlets"]) == (0, "trace", 6)
    assert answer["assumed"][:2] == ["trace_constants", "trace_prior"]
    text = run("trace", house, "--today", ASKED.today).stdout
    assert "P1" in text and "W1" in text and "nobody measured them" in " ".join(text.split())
