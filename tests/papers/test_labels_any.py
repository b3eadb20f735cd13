"""Any record gets labels or sentences: strange tags, nonsense in fields, things without a place, removed and planned ones."""

from __future__ import annotations

import random

import pytest

from pullstring.papers.identifiers import register
from pullstring.papers.labels import BadLabel
from pullstring.papers.labels_for import KINDS, labels_for
from tests.papers.labelled_house import TODAY, Told, site
from tests.tiers import FRESH_SEED

TAGS = (
    "E01",
    "e 2",
    "Büro",
    "x.1",
    "0",
    "007",
    "A-B/c",
    "ł",
    "W" * 40,
    "1A-C07",
    "中文",
    "a" * 70,
    "E_3",
    "(1)",
    "B0",
    "0A",
)
THINGS = (
    "property", "building", "floor", "room", "end", "cable", "outlet", "unit", "block", "row", "rack", "bond", "pathway",
    "temporary", "model", "port", "company", "role", "part", "visit", "jack",
)  # fmt: skip
REFERS = {
    "cable": "cable", "room": "room", "floor": "floor", "building": "building", "model": "model", "tried_on": "port",
    "unit": "unit", "until_visit": "visit",
}  # fmt: skip
FIELDS = (
    "label", "level", "closet", "reserved", "fire_stop", "style", "health", "takes", "gives", "name", "state", "what",
    "must_end", "known_to", "electrode", "conductor", "ended", "old_names",
)  # fmt: skip
VALUES = (
    "none", "yes", "no", "W" * 60, "Růžová", "0A-A07", "A07", "24 V always-on", "802.3af", "called dead", "works",
    "2027-03-01", "before 2006", "1990s", -3, 2.5, 0, "copper bar", "panel", "removed", "planned", "out of use",
)  # fmt: skip
MEDIA = ("tape12", "tape24", "a4", "a4-40", "letter-30", "100x30 1x2 40x9 left 6 top 6")


def any_record(dice: random.Random) -> tuple[list[Told], list[str]]:
    """Things with fields that refer to each other or say anything, and claims between any two of them."""
    refs = [
        f"{kind}:{dice.choice(TAGS)}{dice.choice(('', '1', '22', 'b'))}"
        for kind in THINGS
        for _ in range(dice.randint(0, 4))
    ]
    told: list[Told] = []
    for ref in refs:
        fields = {name: dice.choice(VALUES) for name in FIELDS if dice.random() < 0.4}
        for name, kind in REFERS.items():
            others = [r for r in refs if r.startswith(kind + ":")]
            if others and dice.random() < 0.6:
                fields[name] = dice.choice(others)
        told.append((ref, fields))
    told += [(dice.choice(refs), dice.choice(("ends_at", "goes_to", "plugged")), dice.choice(refs)) for _ in range(25)]
    return told, refs


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5, 6, FRESH_SEED])
def test_any_record__gets_labels_or_sentences_and_no_identifier_twice(seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(3):
        told, refs = any_record(dice)
        found = site(*told)
        names = [one.identifier.casefold() for one in register(found)]
        assert len(names) == len(set(names))
        touch = {r: dice.choice(("ALM", "owner", "", "x:y", "a, b")) for r in refs if dice.random() < 0.4}
        for what in KINDS:
            on = "a5" if what == "card" else dice.choice(MEDIA)
            try:
                made = labels_for(found, what, on=on, today=TODAY, do_not_touch=touch, pitch_mm=16.0)
            except BadLabel as error:
                assert what == "ports" and "holds no cell" in str(error)
                continue
            assert made.data or made.left
            assert not any("None" in said for said in made.left)
