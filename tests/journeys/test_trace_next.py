"""`trace --next` and the walk sheet: one act, volts before anything, the kit asked once, when to stop, and what stays open."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.api.printing import Wanted, papers_of, print_to
from pullstring.model.answers import Request, silent
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from tests.journeys.lime_house import USUAL, lime_house, reading, rows, tone
from tests.journeys.printed import flat, pages
from tests.journeys.sites import ASKED, make

TOUCHING = {"place tone", "place remote", "read", "touch", "touch set", "clip", "mark"}
BOTH = {"volts DC", "volts AC"}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lime_house(tmp_path_factory.mktemp("lime"))


def asked(path: Path, *, at: str | None = None, today: str = ASKED.today) -> dict[str, Any]:
    return dict(api.trace_next(path, Request(today=today), at=at).answer)


def with_kit(folder: Path, *kit: dict[str, str], read: list[dict[str, str]] | None = None) -> Path:
    tables = rows(read=read)
    blank = {"checked": "", "note": "", "count": "", "grade": "seen", "by": "TEC", "at": "2026-03-05"}
    tables["kit"] = [{"kit": f"KT{n}", **blank, **one} for n, one in enumerate(kit, 1)]
    if not kit:
        del tables["kit"]
    return make(folder, tables, code="LH")


def test_next__one_act_is_the_first_of_its_walk(house: Path) -> None:
    said = asked(house)
    assert said["act"] and said["stop"] == ""
    first = said["walk"]["acts"][0]
    assert {k: v for k, v in first.items() if k != "n"} == {k: v for k, v in said["act"].items() if k != "n"}
    assert [a["n"] for a in said["walk"]["acts"]] == list(range(1, len(said["walk"]["acts"]) + 1))


def test_next__no_tone_nor_remote_on_anything_before_its_volts(house: Path) -> None:
    """Volts of outlets were never read in this house: each is metered right before something is put on it."""
    metered: set[str] = {f"end:W{n}" for n in (1, 2, 3, 4, 5, 7, 8)}
    acts = asked(house)["walk"]["acts"]
    assert any(a["kind"] == "place tone" for a in acts)
    for act in acts:
        if act["kind"] == "meter":
            assert {r["row"]["quantity"] for r in act["answers"]} == BOTH
            metered.add(act["at"])
        elif act["kind"] in TOUCHING:
            assert {*act["ends"], *([act["at"]] if act["at"].startswith("outlet:") else [])} <= metered


def test_next__what_was_metered_is_not_metered_again(tmp_path: Path) -> None:
    read = [*USUAL, *(reading(f"outlet:{o}", f"volts {v}", "none") for o in ("P4", "P5", "P6") for v in ("DC", "AC"))]
    said = asked(lime_house(tmp_path, read=read))
    assert [a["kind"] for a in said["walk"]["acts"]][0] == "place tone"
    assert all(a["kind"] != "meter" for a in said["walk"]["acts"])


def test_next__never_on_what_others_alone_may_touch(house: Path) -> None:
    for act in asked(house)["walk"]["acts"]:
        assert "end:W6" not in (act["at"], *act["ends"])


def test_next__an_answer_is_a_row_that_can_be_entered_and_changes_the_odds(tmp_path: Path) -> None:
    path = lime_house(
        tmp_path,
        read=[*USUAL, *(reading(f"outlet:{o}", f"volts {v}", "none") for o in ("P5", "P6") for v in ("DC", "AC"))],
    )
    act = next(a for a in asked(path)["walk"]["acts"] if a["kind"] == "touch")
    heard = {one["label"]: one["row"] for one in act["answers"]}
    assert list(heard) == ["loud", "faint", "nothing", "not looked"]
    outlet = re.search(r"outlet:(\S+)", heard["loud"]["value"])[1]  # type: ignore[index]

    def odds() -> float:
        [row] = api.trace(path, Request(today=ASKED.today, tags=(outlet,))).answer["outlets"]
        return sum(g["odds"]["chance"] for g in row["goes"] if act["ends"][0] in g["ends"])

    before = odds()
    made = api.add_rows(
        path,
        ASKED,
        rows=[api.Row("measurements", {**heard["loud"], "grade": "metered", "at": "2026-03-06"})],
        key="ab" * 16,
        author="TEC",
        device="laptop",
        wrote="2026-03-06T10:00:00+00:00",
    )
    assert len(made.answer["entries"]) == 1 and odds() > before + 0.05


def test_next__instruments_not_tried_today_are_tried_first(house: Path) -> None:
    assert [a["what"] for a in asked(house)["first"]] == ["tone set KT1", "probe KT2"]
    assert asked(house, today="2026-03-05")["first"] == []  # the day on which they were tried


def test_next__the_kit_is_asked_for_while_none_is_noted_and_only_then(tmp_path: Path, house: Path) -> None:
    path = with_kit(tmp_path)
    answer = api.trace_next(path, ASKED)
    assert answer.ask is not None and answer.answer["stop"] == "no kit" and answer.answer["act"] is None
    text = flat(text_page(page_of(answer), width=100))
    assert "To find out: What is at hand to test with" in text and "Scrap plugs" in text
    assert api.trace_next(house, ASKED).ask is None


@pytest.mark.parametrize(
    ("kit", "kinds"),
    [
        ([{"style": "numbered remotes", "count": "8"}], {"place remote", "clip"}),
        ([{"style": "numbered marks", "count": "12"}], {"mark", "read"}),
        ([{"style": "coded plugs", "count": "10"}], {"mark", "read"}),
    ],
)
def test_next__each_kit_has_its_own_way(tmp_path: Path, kit: list[dict[str, str]], kinds: set[str]) -> None:
    said = asked(with_kit(tmp_path, *kit))
    done = {a["kind"] for a in said["walk"]["acts"]} - {"walk", "meter"}
    assert done <= kinds | {"take off remote", "tag"} and done & kinds
    placed = [n["quantity"] for a in said["walk"]["acts"] for n in a["notes"]]
    assert placed and set(placed) <= {"remote placed", "word placed"}


def test_next__frank_that_one_tone_is_not_quick(house: Path) -> None:
    text = flat(text_page(page_of(api.trace_next(house, ASKED)), width=100))
    assert "One tone is sure, not quick" in text and "several times quicker" in text


def test_next__everything_sure_says_enough(tmp_path: Path) -> None:
    """Each outlet toned twice from either side, and what has no cable seen to be empty."""
    twice = [
        tone(f"outlet:{o}", f"end:{e}", minute=n) for n, (o, e) in enumerate([("P1", "W1"), ("P2", "W2"), ("P3", "W2")])
    ]
    tables = rows(read=twice)
    tables["outlets"] = [o for o in tables["outlets"] if o["outlet"] in ("P1", "P2", "P3")]
    del tables["services"]
    path = make(tmp_path, tables, code="LH")
    said = asked(path)
    assert (said["act"], said["stop"], said["unsure"]) == (None, "all sure", [])
    assert "Enough: everything" in flat(text_page(page_of(api.trace_next(path, ASKED)), width=100))


def test_next__nothing_to_trace_is_said(tmp_path: Path) -> None:
    said = asked(lime_house(tmp_path, read=[], without=("outlets", "services")))
    assert (said["act"], said["stop"]) == (None, "nothing")


def test_next__an_outlet_with_mains_in_its_box_is_left_out_and_said(tmp_path: Path) -> None:
    tables = rows()
    tables["outlets"] = [
        {**o, "shares_box_with_mains": "yes" if o["outlet"] == "P5" else ""} for o in tables["outlets"]
    ]
    path = make(tmp_path, tables, code="LH")
    said = asked(path)
    assert all(a["at"] != "outlet:P5" for a in said["walk"]["acts"])
    why = {u["thing"]: u["why"] for u in said["unsure"]}
    assert why["outlet:P5"] in ("not reachable", "untouchable")


@pytest.mark.parametrize(
    ("at", "outlet", "walked"), [("P6", "P6", False), ("R4", "P6", False), ("K1", "P4", True), ("W1", "P4", True)]
)
def test_next__begins_near_where_one_stands(house: Path, at: str, outlet: str, walked: bool) -> None:
    """P4 and P6 are open; the tone goes on the one where one is, and from the cupboard on the nearer. The till of P5 must stay."""
    first = asked(house, at=at)["act"]
    assert (first["at"], first["travel_s"] > 0) == (f"outlet:{outlet}", walked)


def test_next__every_act_knows_its_room(house: Path) -> None:
    assert all(a["room"] and a["room_name"] for a in asked(house)["walk"]["acts"])


def test_walk_sheet__prints_the_same_acts_and_only_when_asked(house: Path, tmp_path: Path) -> None:
    made, left = papers_of(house, ASKED, Wanted(only=("walk",)), progress=silent)
    assert [p.name for p in made] == ["walk_sheet.pdf"] and left == []
    (tmp_path / "w.pdf").write_bytes(made[0].data)
    text = flat(" ".join(pages(tmp_path / "w.pdf")))
    assert "Lime House, invented" in text
    for act in asked(house)["walk"]["acts"]:
        if act["kind"] == "touch":
            assert f"Touch end {act['at'][4:]} with the probe" in text
    clips = api.trace_codes(house, ASKED).answer["codes"]["clip"]
    assert clips and all(f"{c['ohm'] / 1000:g} kohm" in text for c in clips), (
        "resistors are at hand, so their plan is on it"
    )


def test_walk_sheet__is_not_among_the_papers_unasked(house: Path, tmp_path: Path) -> None:
    files, _ = print_to(house, tmp_path / "out", ASKED, Wanted(only=("first",)), progress=silent)
    assert all("walk" not in name for name, _ in files)


def test_next__with_marks_one_reads_those_that_were_put_on_and_no_others(tmp_path: Path) -> None:
    """Nine marks for seven ends of which W6 is the alarm's: what can be answered names the numbers that this walk puts on."""
    path = lime_house(tmp_path, kit=[{"kit": "M", "style": "numbered marks", "count": "9"}])
    acts = asked(path)["walk"]["acts"]
    on = [int(a["notes"][0]["value"]) for a in acts if a["kind"] == "mark"]
    read = next(a for a in acts if a["kind"] == "read")
    assert on and min(on) == 1
    assert read["answers"][0]["row"]["value"].endswith(" of " + " ".join(map(str, sorted(on))))
