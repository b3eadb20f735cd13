"""What may be given away: what is left out, what stays, and that neither is by chance."""

import pytest

from pullstring.log.shared import shareable, speaks_of_a_secret
from pullstring.model.sealed import sealed_text

CODES = [
    "gate code 4711",
    "4711 opens, that is the code of the gate",
    "PIN is 12 34",
    "pin 4711",
    "pin: 99",
    "password: hunter2",
    "the password is sesame",
    "Passphrase = open up",
    "WPA2 Trout99",
    "key-safe by the back door, 1066",
    "key safe 9 4 1",
    "lockbox 33",
    "combination 12-8-40",
    "passcode x7",
    "PUK 12345678",
]
ORDINARY = [
    "pins 4 and 5 open",
    "pin 3 corroded",
    "pin 1 to pin 8 short",
    "WPA2 only",
    "colour code on the jacket",
    "no password needed",
    "safe to touch after 230 V is off",
    "spinning 1000 times",
    "barcode label, torn",
    "230 V, 16 A, 4 rows",
]


@pytest.mark.parametrize("text", CODES)
def test_speaks__a_code_in_a_note(text):
    assert speaks_of_a_secret(text)


@pytest.mark.parametrize("text", ORDINARY)
def test_speaks__ordinary_notes_stay(text):
    assert not speaks_of_a_secret(text)


def note_of(text, **rows):
    """What is left of a note beside other rows."""
    shared = shareable({"rooms": [{"room": "R1", "note": text}], **rows}, {})
    return shared.rows["rooms"][0]["note"], shared.left_out


@pytest.mark.parametrize(
    "text",
    [
        "ask quill@example.org",
        "ring +00 555 0101 22",
        "57.1295, -3.0412 is the mast",
        "57° 7' 46\" N, by the gate",
        "serial zz-1234-q on its back",  # the private column has it in other letters
        "hangs Behind the Blue barrel",
        "Ms Quill was there",
        "told by Quill",
    ],
)
def test_texts__that_reach_a_person_tell_a_position_or_repeat_what_is_private(text):
    private = {
        "units": [{"unit": "U1", "serial": "ZZ-1234-Q"}],
        "keys": [{"key": "K1", "kept": "behind the blue barrel"}],
        "incoming_lines": [{"incoming_line": "L1", "account": "Owner (Ms Quill)"}],
    }
    assert note_of(text, **private)[0] == ""
    assert note_of(text, **private)[1]["rooms, column note"] == 1


@pytest.mark.parametrize("text", ["the owner was told", "blue barrel", "quill pen in a drawer", "90° bend, 45 deg", ""])
def test_texts__that_only_look_alike_stay(text):
    private = {
        "keys": [{"key": "K1", "kept": "behind the blue barrel"}],
        "incoming_lines": [{"incoming_line": "L1", "account": "Owner"}, {"incoming_line": "L2", "account": "Ms Quill"}],
    }
    assert note_of(text, **private) == (text, {"incoming_lines, column account": 2, "keys: the whole table": 1})


def test_every_text_column__evidence_too():
    row = {
        "subject": "end:E1",
        "relation": "ends_at",
        "object": "row:B1.1",
        "detail": "code 4711",
        "method": "gate code 4711",
        "conditions": "code 4711",
        "instrument": "lockbox 4711",
        "by": "code 4711",
        "grade": "seen",
        "at": "2026-03-01",
    }
    shared = shareable({"claims": [row]}, {})
    assert shared.rows["claims"][0] == {
        **dict.fromkeys(row, ""),
        **{k: row[k] for k in ("subject", "relation", "object", "grade", "at")},
    }
    assert sum(shared.left_out.values()) == 5


def photo(tag, privacy, **more):
    return {"photo": tag, "privacy": privacy, "sha256": "", "file": f"{tag}.jpg", **more}


def test_hidden__a_photograph_is_open_only_when_said_and_nobody_said_otherwise():
    rows = [photo("F1", "open"), photo("F2", ""), photo("F3", "open"), photo("f03", "private"), photo("F4", "site")]
    shared = shareable({"photos": rows}, {})
    assert [r["photo"] for r in shared.rows["photos"]] == ["F1"]
    assert shared.left_out == {"photos: rows that are not open": 4}


def test_hidden__what_names_it_goes_but_no_more():
    rows = {
        "photos": [photo("F1", "open"), photo("F2", "private")],
        "hazards": [{"hazard": "H1", "where": "photo:F1 & photo:F2 & room:R1"}, {"hazard": "H2", "where": "photo:F02"}],
        "claims": [
            {"subject": "photo:F2", "relation": "in", "object": "room:R1"},
            {"subject": "photo:F1", "relation": "in", "object": "room:R1"},
            {"subject": "unit:F2", "relation": "in", "object": "room:R1"},
        ],
    }
    shared = shareable(rows, {})
    assert [r["where"] for r in shared.rows["hazards"]] == ["photo:F1 & room:R1", ""]
    assert [r["subject"] for r in shared.rows["claims"]] == ["photo:F1", "unit:F2"]
    assert shared.left_out["hazards, column where"] == 2


def test_photographs__that_cannot_be_cleaned_are_said_and_two_of_one_name_stay_two():
    from tests.log.test_pictures import FORMS

    first, second = FORMS["jpeg"], FORMS["jpeg turned"]
    rows = [photo("F 1", "open", sha256="a"), photo("F_1", "open", sha256="b"), photo("F3", "open", sha256="c")]
    rows += [photo("F4", "open", sha256="d"), photo("F5", "open", sha256="a")]
    held = {"a": ("open", first), "b": ("open", second), "c": ("open", b"GIF89a"), "d": ("site", first)}
    shared = shareable({"photos": rows}, held)
    assert [r["file"] for r in shared.rows["photos"]] == ["F_1.jpg", "F_1_2.jpg", "", "", "F_1.jpg"]
    assert [name for name, _ in shared.photos] == ["F_1.jpg", "F_1_2.jpg"]
    assert all(b"Snarkford" not in data for _, data in shared.photos)
    assert any("unknown form" in what for what in shared.left_out)


def test_sealed_values_and_names_of_secrets__go_wherever_they_stand():
    sealed = sealed_text(bytes(3 + 16 + 12 + 32 + 16))
    rows = {
        "rooms": [{"room": "R1", "note": sealed, "name": "Loft"}],
        "units": [{"unit": "U1", "password": sealed, "wifi_key": "Trout"}],  # a field that is no column of ours
    }
    shared = shareable(rows, {})
    assert shared.rows == {
        "rooms": [{"room": "R1", "note": "", "name": "Loft"}],
        "units": [{"unit": "U1", "password": "", "wifi_key": ""}],
    }
    assert sum(shared.left_out.values()) == 3
