"""Lines of other programs: an entry, or one sentence; nothing in between reaches replay."""

from __future__ import annotations

import json
import re

import pytest

from pullstring.model.entries import BadEntry, Body, Decided, Measured, StruckOut, from_json, to_json
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from tests.model.make import SEEN, claimed, did, entry, noted

BODIES: list[Body] = [
    noted("end:E1", {"found": "x"}, over={"found": ("q",)}, new=True),
    claimed("end:E1", "goes_to", "outlet:O1"),
    Measured(Ref("cable", "C1"), "length", "=", 9.0, "m", "9 m", SEEN),
    did("plug in", "end:E1", "port:U1.1"),
    Decided("ab", ("i",), True, "OWN", "by voice"),
    StruckOut("z", "never so"),
]
WEIRD = [5, None, [], {}, "", "x", True, ["a"], {"a": [1]}]


@pytest.mark.parametrize("body", BODIES, ids=lambda b: type(b).__name__)
def test_line_with_one_wrong_value__is_refused_or_replays(body: Body) -> None:
    good = json.loads(to_json(entry("i1", body, tick=1)))
    other = entry("i9", noted("end:E2", {"found": "y"}, new=True), tick=1)
    refused = 0
    for inside in (False, True):
        for name in good["body"] if inside else good:
            for value in WEIRD:
                bad = json.loads(json.dumps(good))
                (bad["body"] if inside else bad)[name] = value
                try:
                    read = from_json(json.dumps(bad))
                except BadEntry:
                    refused += 1
                else:
                    assert Ref("end", "E2") in replay([read, other], today="2026-04-01").things
    assert refused > 50


def test_line_too_deep_to_read__is_refused() -> None:
    with pytest.raises(BadEntry, match="no entry"):
        from_json("[" * 200_000)


@pytest.mark.parametrize(
    "line",
    ['"\\u0000"', "null", "3", "[[]]", "{}", '{"kind":"noted"}', '{"kind":"noted","body":null}', '{"kind":["x"],"body":{}}',
     '{"kind":"noted","body":{"\\u0000":1}}', '{"kind":"noted","body":{"evidence":3}}',
     '{"kind":"noted","body":{"subject":"end:E1","fields":"x"}}'],
)  # fmt: skip
def test_line_of_another_form__is_refused_in_our_words(line: str) -> None:
    with pytest.raises(BadEntry, match="^this is no entry of a record") as caught:
        from_json(line)
    said = str(caught.value)
    assert not re.search(r"object|attribute|argument|NoneType|__init__|\\u0000|\0|unhashable|sequence", said), said


def test_line__has_sorted_keys_and_no_spaces() -> None:
    """Equal entries are equal bytes, else two copies of one record could not be compared by hash."""
    line = to_json(entry("i1", noted("end:E1", {"b": 1, "a": 2}), tick=1))
    assert line == json.dumps(json.loads(line), sort_keys=True, separators=(",", ":"))
    assert line == to_json(entry("i1", noted("end:E1", {"a": 2, "b": 1}), tick=1))


@pytest.mark.parametrize(
    "bent",
    [
        {"over": {"words": [{}]}},
        {"under": {"words": [1]}},
        {"fields": {"words": []}},
        {"fields": {"words": {"a": "b"}}},
        {"evidence": {"grade": "seen", "by": 5}},
    ],
)
def test_lines__a_bent_part_is_no_entry(bent: dict[str, object]) -> None:
    """One such line, taken in, would make the whole record unreadable at replay."""
    whole = {
        "subject": "room:R1",
        "fields": {"words": "x"},
        "evidence": {"grade": "seen"},
        "over": {},
        "under": {},
        "new": True,
    }
    line = {
        "id": "a", "author": "T", "device": "d", "n": 1, "tick": 1, "at": "2026-01-01", "wrote": "2026-01-01", "visit": "",
        "photos": [],
        "key": "", "schema": 1, "kind": "noted", "body": whole,
    }  # fmt: skip
    assert from_json(json.dumps(line)).id == "a"
    with pytest.raises(BadEntry):
        from_json(json.dumps({**line, "body": {**whole, **bent}}))
    with pytest.raises(BadEntry):
        from_json(json.dumps({**line, "photos": [5]}))
