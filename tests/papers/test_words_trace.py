"""The words of tracing: chances as people say them, an entry as one line, an act as one sentence."""

from __future__ import annotations

import pytest

from pullstring.papers import sentences_trace
from pullstring.papers.words_trace_acts import act_says, seconds
from pullstring.papers.words_trace_codes import part
from pullstring.papers.words_trace_said import chance, entry, listed, strength, tags

ENTRY = {
    "entry": "a" * 32,
    "kind": "reading",
    "subject": "outlet:Q4",
    "what": "tone",
    "value": "loud from end:P2 isolated confirmed",
    "holds": True,
    "at": "2026-11-20T08:49+01:00",
    "grade": "metered",
    "method": "",
    "conditions": "",
    "instrument": "",
}


@pytest.mark.parametrize(
    ("value", "words"),
    [(1.0, "nearly certain"), (0.99, "nearly certain"), (0.8, "4 in 5"), (0.5, "1 in 2"), (0.0, "hardly possible")],
)
def test_chance__as_people_say_it(value, words):
    assert chance({"chance": value, "assumed": True}) == words


def test_chance__never_certain():
    """Odds rest on assumed constants, so not even 1 is called certain."""
    assert "nearly" in chance({"chance": 1.0, "assumed": True})


@pytest.mark.parametrize(
    ("changed", "line"),
    [
        ({}, "loud tone from end P2, isolated and confirmed at outlet Q4, 20 November 2026 08:49 (+01:00)"),
        ({"value": "none from end:P2", "at": "2026-11-20"}, "no tone from end P2 at outlet Q4, 20 November 2026"),
        ({"value": "not looked from end:P2", "at": "2026"}, "tone not looked for from end P2 at outlet Q4, 2026"),
        (
            {"value": "faint from outlet:Q1 over end:P1 end:P2", "at": "2026"},
            "faint tone from outlet Q1 over end P1 end P2 at outlet Q4, 2026",
        ),
        (
            {"what": "resistance", "value": "2131 ohm", "conditions": "clip on", "at": "2026"},
            "2131 ohm read at outlet Q4 (clip on), 2026",
        ),
        ({"what": "remotes heard", "value": "3 of 1-8", "at": "2026"}, "remotes heard at outlet Q4: 3 of 1-8, 2026"),
        (
            {
                "kind": "claim",
                "what": "goes_to",
                "value": "outlet:Q4",
                "subject": "end:P1",
                "grade": "told",
                "method": "old label",
                "at": "1994",
            },
            "told: end P1 goes to outlet Q4, old label, 1994",
        ),
        (
            {
                "kind": "claim",
                "what": "goes_to",
                "value": "outlet:Q4",
                "subject": "end:P1",
                "grade": "seen",
                "holds": False,
                "at": "1994",
            },
            "seen: end P1 does not go to outlet Q4, 1994",
        ),
        (
            {"kind": "note", "what": "label", "value": "BAR", "subject": "end:P1", "at": "before 2026-03-01"},
            "label of end P1: BAR",
        ),
        (
            {"kind": "act", "what": "part", "value": "row:B1.2", "subject": "row:B1.1", "at": "2026"},
            "done: part row B1.1, row B1.2, 2026",
        ),
    ],
)
def test_entry__is_one_line(changed, line):
    assert entry({**ENTRY, **changed}) == line


def test_tags__the_kind_is_told_once():
    assert tags(["end:P1", "end:P2", "end:P3"]) == "ends P1, P2 and P3"
    assert tags(["end:P1"]) == "end P1"
    assert tags(["end:P1", "outlet:Q1"]) == "end P1 and outlet Q1"
    assert listed(["a", "b"], last="or") == "a or b" and listed([]) == ""


def test_strength__falls_with_the_weight():
    """A hundred times likelier is 4.6 as a natural log, ten times 2.3, twice 0.69."""
    assert [strength(w) for w in (9, 4.7, 3, 1, 0.2, 0.01, -3)] == [
        "speaks strongly",
        "speaks strongly",
        "speaks clearly",
        "speaks",
        "speaks a little",
        "hardly speaks",
        "speaks clearly",
    ]


@pytest.mark.parametrize(
    ("value", "words"),
    [(0, "0 s"), (3, "5 s"), (42, "40 s"), (89, "90 s"), (90, "2 min"), (5340, "89 min"), (5400, "1 h 30 min")],
)
def test_seconds__rounded_as_one_would_say(value, words):
    assert seconds(value) == words


@pytest.mark.parametrize(
    ("kind", "what", "at", "says"),
    [
        ("place remote", 3, "outlet:Q4", "Put remote 3 on outlet Q4"),
        ("touch set", ["end:P1", "end:P2"], "", "Touch ends P1 and P2 together with the probe"),
        ("clip", None, "end:P1", "Clip the reader on end P1: which numbers?"),
        ("meter", None, "end:P1", "Meter volts DC, then AC, on every pair of end P1"),
    ],
)
def test_act__is_one_sentence(kind, what, at, says):
    assert act_says({"kind": kind, "what": what, "at": at, "ends": []}) == says


@pytest.mark.parametrize(
    ("ohm", "words"), [(1200.0, "1.2 kohm"), (47.0, "47 ohm"), (33000.0, "33 kohm"), (687.5, "688 ohm")]
)
def test_part__as_on_its_bag(ohm, words):
    assert part(ohm) == words


def test_sentences__have_every_field_that_is_filled_in_and_no_word_of_the_workshop():
    import re

    texts = [v for table in vars(sentences_trace).values() if isinstance(table, dict) for v in table.values()]
    texts += [v for v in vars(sentences_trace).values() if isinstance(v, str)]
    assert len(texts) > 60
    bad = re.compile(r"\b(posterior|bits?|entropy|event|schema|evidence|likelihood|sentinel|closure)\b", re.IGNORECASE)
    assert [t for t in texts if bad.search(str(t))] == []
