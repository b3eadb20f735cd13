"""Pasted lines: each text and what a person reads in it, written down before the program saw it. All texts are invented."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullstring.model.pasted import figure, read_pasted, sentences

DOC = Path(__file__).parents[2] / "docs" / "start.md"


def said(text: str) -> set[str]:
    """All that was understood, each thing as one line; figures short, a dash for a figure that is not said before one that is."""
    pasted = read_pasted(text)
    lines = {f"room {r.name} {r.floor}".strip() for r in pasted.rooms}
    for f in pasted.found:
        figures = ["-" if f.low is None and f.high is not None else f.low, f.high]
        parts = [
            f.what,
            f.name,
            f.other,
            f.room,
            f.to,
            *(p if isinstance(p, str) else f"{p:g}" for p in figures if p is not None),
        ]
        lines.add(" ".join(p for p in parts if p))
    return lines


def examples() -> list[tuple[str, set[str]]]:
    block = DOC.read_text("utf-8").split("```examples\n")[1].split("```")[0]
    pairs = [line.split(" | ") for line in block.splitlines()]
    return [(text, set(wanted.split("; "))) for text, wanted in pairs]


@pytest.mark.parametrize(("text", "wanted"), examples())
def test_guide__each_example_is_understood(text: str, wanted: set[str]) -> None:
    assert said(text) == wanted
    assert read_pasted(text).left == ()


TELEGRAM = "TOWER ROOM WIFI DEAD STOP HOUSE STONE STOP 100/20 MBIT STOP LEAVE THU 14:00 STOP"
LETTER = """Dear all, we bought the old place last spring. It was built around 1890 and the walls are brick.
The kitchen is on the ground floor next to the pantry, and my study is above it. There are four bedrooms on the first floor.
The housekeeper is there every day. Please don't touch the burglar alarm."""
BULLETS = """* hall (GF)
* library - 1st floor
• attic
- one router in the study"""
AMERICAN = (
    "Living room, den, basement. Barn is 120 feet from the house, garage 40 ft. Fiber, 500 Mbps down. No elevator."
)
GERMAN = "Bibliothek! Barn 12,5 m. 16,5 Mbit/s down, 2,4 Mbit/s up. Kitchen Erdgeschoss."
EMOJI = "🏰 kitchen 🔥 no wifi in library 😡"
HEBREW = "שלום kitchen מטבח"
FLIGHT = "arrive Monday 9am, leave Wednesday 5 pm; flight 18.20 on 3 March"
BULLETED_LETTER = """• 3 floors + attic, rubble walls
• Owners abroad
• reception w/ card machine, gate phone at the lodge (about 60 yards)
• ADSL 16/2, router sits in reception
• guests complain: wifi drops in bedrooms 4, 5 and 7
• old switchboard in the cellar, wires to every bedroom (11 bedrooms)
• listed building: no drilling in panelling!
• I land Tuesday 11:20, fly back Friday 18:05"""
LATH = "12 rooms, metal lath, three floors, cell signal nowhere"
NUMBERED = "rooms 1-4 on the second floor, room 12, bathroom 2"
DENIED = "No lift or alarm, no caretaker"
ASBESTOS = "Asbestos board behind the boiler, damp cellar, two dogs"
HEADING = "First floor\nlibrary\nstudy\n\ngarden room"
BOTH = "internet is slow in bedroom 3 and the library"
SOCKETS = "2 phone jacks in the den; three ethernet sockets in the office"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (TELEGRAM, {"room Tower room", "need no signal Tower room", "wall stone", "speed 100 20", "leave thu 14:00"}),
        (
            LETTER,
            {"built about 1890", "wall brick", "room Kitchen 0", "beside Kitchen Pantry", "room Study"}
            | {f"room Bedroom {n} 1" for n in range(1, 5)}
            | {"person caretaker there", "guard alarm"},
        ),
        (BULLETS, {"room Hall 0", "room Library 1", "room Attic attic", "gear router Study 1"}),
        (
            AMERICAN,
            {
                "room Living room",
                "room Den",
                "room Basement -1",
                "outbuilding barn 36.6",
                "outbuilding garage 12.2",
                "speed 500",
            }
            | {"medium fibre", "guard lift none"},
        ),
        (GERMAN, {"outbuilding barn 12.5", "speed 16.5", "speed - 2.4", "room Kitchen 0"}),
        (EMOJI, {"room Kitchen", "room Library", "need no signal Library"}),
        (HEBREW, {"room Kitchen"}),
        (FLIGHT, {"arrive monday 09:00", "leave wednesday 17:00", "leave 3 march 18:20"}),
        (LATH, {"rooms 12", "wall metal lath", "storeys 3"}),
        (NUMBERED, {"room Room 1 2", "room Room 4 2", "room Room 12", "room Bathroom 2"}),
        (DENIED, {"guard lift none", "guard alarm none", "person caretaker none"}),
        (ASBESTOS, {"hazard asbestos", "hazard damp", "hazard animals", "room Cellar -1"}),
        (HEADING, {"room Library 1", "room Study 1", "room Garden room"}),
        (BOTH, {"room Bedroom 3", "room Library", "need slow Bedroom 3", "need slow Library"}),
        (SOCKETS, {"gear telephone sockets Den 2", "gear data sockets Office 3"}),
        (BULLETED_LETTER, {"storeys 3", "wall stone", "person owner away", "guard card terminal", "guard door phone"}),
        (BULLETED_LETTER, {"speed 16 2", "medium copper", "gear router Reception", "constraint no drilling"}),
        (BULLETED_LETTER, {f"need drops out Bedroom {n}" for n in (4, 5, 7)} | {"gear telephone block Cellar"}),
        (BULLETED_LETTER, {"outbuilding lodge 54.9", "arrive tuesday 11:20", "leave friday 18:05", "room Bedroom 11"}),
        ("", set()),
    ],
)
def test_text__what_a_person_reads_in_it(text: str, wanted: set[str]) -> None:
    assert wanted - said(text) == set()


@pytest.mark.parametrize(
    ("text", "never"),
    [
        ("alarm went off two days ago", "stay"),  # not the length of a visit
        ("open 24/7", "speed"),  # not a line of 24 Mb/s
        ("no lift", "guard lift\n"),  # said to be absent
        ("12 May 1994", "built"),
        ("call 555 1234", "people"),
        ("wires to every bedroom", "room"),
    ],
)
def test_text__what_nobody_reads_in_it(text: str, never: str) -> None:
    assert not [line for line in said(text) if (line + "\n").startswith(never)]


def test_unknown_word__its_piece_is_kept_whole() -> None:
    pasted = read_pasted("Kitchen, the flurb is wobbly, library")
    assert pasted.left == ("the flurb is wobbly",)
    assert read_pasted("the kitchen has a flurb").left == ("the kitchen has a flurb",)  # one word of it is unknown
    assert read_pasted("7 8 telephone sockets").left == ("7 8 telephone sockets",)  # nobody knows what the 7 is
    assert read_pasted("we have 7 gizmos").left == ("we have 7 gizmos",)  # the number is not swallowed


@pytest.mark.parametrize("line", ["wifi password: heron77", "door code 4711", "the PIN is 1234", "WLAN passwort = abc"])
def test_secret__is_kept_nowhere(line: str) -> None:
    pasted = read_pasted(f"kitchen\n{line}\nhall")
    assert pasted.withheld == 1
    assert line not in "\n".join((*pasted.lines, *pasted.pieces, *pasted.left))
    assert {r.name for r in pasted.rooms} == {"Kitchen", "Hall"}


@pytest.mark.parametrize(
    ("text", "value"),
    [("12,5", 12.5), ("1,200", 1200), ("1.200", 1200), ("0.500", 0.5), ("3", 3), ("1,5", 1.5), ("1.234,5", 1234.5)],
)
def test_figure__commas_and_points(text: str, value: float) -> None:
    assert figure(text) == value


def test_sentence__a_short_form_does_not_end_it() -> None:
    assert sentences("Barn is approx. 40 m away. Hall.") == ["Barn is approx. 40 m away.", "Hall."]


WORDS = st.sampled_from(
    [
        "kitchen",
        "hall",
        "next to",
        "above",
        "3",
        "100/20",
        "no",
        "wifi",
        "alarm",
        "ft",
        "flurb",
        ",",
        "\n",
        ". ",
        "the",
        "and",
        "bedrooms",
    ]
    + [
        "ground floor",
        "1st",
        "leave",
        "14:00",
        "-",
        "12,5",
        "m",
        "barn",
        "people",
        "of",
        "five",
        "🏰",
        "שלום",
        "STOP",
        "²",
        "'",
        "à",
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.text(max_size=200), st.lists(WORDS, max_size=30).map(" ".join)))
def test_any_text__every_piece_is_understood_or_kept(text: str) -> None:
    pasted = read_pasted(text)
    assert read_pasted(text) == pasted
    found = {f.piece for f in pasted.found}
    kept = " ".join(pasted.pieces)
    if not pasted.withheld:
        for word in re.findall(r"[^\W_]+", text.replace("STOP", " ")):
            assert word in kept
    for piece in pasted.left:
        assert piece in pasted.pieces
    assert all(p in pasted.pieces or not p for p in found) or pasted.withheld


@pytest.mark.parametrize(
    ("text", "guards"),
    [
        ("I'm not sure about the lift.", {"lift": ""}),
        ("There is no lift or alarm.", {"lift": "none", "alarm": "none"}),
        ("No alarm, lift by the stairs", {"alarm": "none", "lift": ""}),
        ("The house has no lift but there is an alarm", {"lift": "none", "alarm": ""}),
        ("We could not find who looks after the fire alarm", {"fire panel": ""}),
    ],
)
def test_guards__denied_only_by_a_word_right_before_them(text: str, guards: dict[str, str]) -> None:
    """A lift that is only doubted may never be recorded as absent: it would not be looked for."""
    found = {f.name: f.other for f in read_pasted(text).found if f.what == "guard"}
    assert found == guards


def test_rooms__numbers_headings_and_counted_sockets() -> None:
    told = read_pasted("attic: study and box room")
    assert [(r.name, r.floor) for r in told.rooms] == [("Study", "attic"), ("Box room", "attic")]
    told = read_pasted("Bedroom 3 above kitchen")
    assert [(f.what, f.room, f.to) for f in told.found] == [("above", "Bedroom 3", "Kitchen")]
    assert [r.name for r in read_pasted("kitchen 2 sockets").rooms] == ["Kitchen"]
