"""Sealed secrets: what opens them, what does not, and what a seal looks like."""

import base64
import secrets

import pytest

from pullstring.log import seal as sealing
from pullstring.log.refusals import RecordError, SecretRefused
from pullstring.log.seal import BadPassphrase, place_of, seal, unseal
from pullstring.log.secret_names import is_secret_field
from pullstring.model.entries import Did, Evidence, Noted
from pullstring.model.refs import Ref
from pullstring.model.sealed import PREFIX, is_sealed, sealed_bytes, sealed_text
from tests.log.records import ENVELOPE, begin

PLACE = place_of(site_code="HUT", kind="unit", field="password")
PHRASE = "four plain words here"


@pytest.fixture
def cheap(monkeypatch):
    """The same with less work, for what does not depend on how much work it is."""
    monkeypatch.setattr(sealing, "LOG2_N", 4)


def test_seal__costs_what_is_common_practice():
    """scrypt with N = 2^17, r = 8, p = 1: the first of the settings commonly advised for passwords in 2025 (memory)."""
    raw = sealed_bytes(seal("Trout-99", PHRASE, place=PLACE))
    assert tuple(raw[:3]) == (17, 8, 1)


@pytest.mark.parametrize(
    "secret", ["x", "Trout-99", "z" * 31, "z" * 32, "z" * 5000, "\0", "a\0\0", "\x80", "né \U0001f41f", "\n"]
)
def test_seal__opens_to_the_same_letters(cheap, secret):
    text = seal(secret, PHRASE, place=PLACE)
    assert is_sealed(text) and unseal(text, PHRASE, place=PLACE) == secret
    assert len(secret) < 4 or secret not in text


def test_seal__by_the_standards_own_words(cheap):
    """Opened with the library's functions straight from the form as documented, not by our own code."""
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    inner = seal("Trout-99", PHRASE, place=PLACE).removeprefix("sealed:1:")
    raw = base64.urlsafe_b64decode(inner + "=" * (-len(inner) % 4))
    assert raw[:3] == bytes((4, 8, 1))
    key = Scrypt(salt=raw[3:19], length=32, n=16, r=8, p=1).derive(PHRASE.encode())
    plain = AESGCM(key).decrypt(raw[19:31], raw[31:], b"pullstring seal 1\nhut\nunit.password\n" + raw[:31])
    assert plain == b"Trout-99\x80" + b"\0" * 23


def test_seal__never_twice_the_same_and_length_does_not_show(cheap):
    texts = {seal(secret, PHRASE, place=PLACE) for secret in ("a", "a", "Trout-99", "z" * 31)}
    assert len(texts) == 4 and len({len(text) for text in texts}) == 1


@pytest.mark.parametrize("phrase", ["", " ", "short", "1234567", " " * 20, "\t" * 9])
def test_passphrase__empty_or_short_is_refused_in_a_sentence(phrase):
    with pytest.raises(BadPassphrase, match="too short; take one of 8 letters or more"):
        seal("Trout-99", phrase, place=PLACE)


def test_passphrase__eight_letters_pass_and_keyboards_may_differ(cheap):
    text = seal("Trout-99", "caf\u00e9 no 7", place=PLACE)
    assert unseal(text, "cafe\u0301 no 7", place=PLACE) == "Trout-99"


@pytest.mark.parametrize("phrase", ["", PHRASE + " ", PHRASE[:-1], PHRASE.upper()])
def test_wrong_passphrase__one_sentence(cheap, phrase):
    with pytest.raises(BadPassphrase, match="does not open") as refused:
        unseal(seal("Trout-99", PHRASE, place=PLACE), phrase, place=PLACE)
    assert "\n" not in str(refused.value) and "Trout" not in str(refused.value)


@pytest.mark.parametrize("moved", [{"site_code": "MILL"}, {"kind": "network"}, {"field": "settings"}])
def test_moved__to_another_site_kind_or_field_does_not_open(cheap, moved):
    text = seal("Trout-99", PHRASE, place=PLACE)
    other = place_of(**{"site_code": "HUT", "kind": "unit", "field": "password", **moved})
    with pytest.raises(BadPassphrase):
        unseal(text, PHRASE, place=other)


def test_site_code__in_other_letters_is_the_same_site(cheap):
    text = seal("Trout-99", PHRASE, place=PLACE)
    assert unseal(text, PHRASE, place=place_of(site_code=" hut", kind="unit", field="password")) == "Trout-99"


def test_every_byte__bent_does_not_open(cheap):
    raw = bytearray(sealed_bytes(seal("Trout-99", PHRASE, place=PLACE)))
    for at in range(3, len(raw)):
        bent = bytes(b ^ (at == k) for k, b in enumerate(raw))
        with pytest.raises(BadPassphrase):
            unseal(sealed_text(bent), PHRASE, place=PLACE)


@pytest.mark.parametrize("work", [(30, 8, 1), (17, 255, 1), (17, 8, 200), (0, 8, 1), (17, 0, 1), (17, 8, 0)])
def test_forged__work_beyond_reason_is_refused_before_it_is_done(cheap, work):
    raw = sealed_bytes(seal("Trout-99", PHRASE, place=PLACE))
    with pytest.raises(RecordError, match="more work than any"):
        unseal(sealed_text(bytes(work) + raw[3:]), PHRASE, place=PLACE)


def test_nothing_to_seal_or_to_open__one_sentence():
    with pytest.raises(RecordError, match="there is no secret"):
        seal("", PHRASE, place=PLACE)
    with pytest.raises(RecordError, match="nothing to open"):
        unseal("Trout-99", PHRASE, place=PLACE)


HEAD = 3 + 16 + 12
WHOLE = sealed_text(bytes(HEAD + 32 + 16))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "sealed",
        PREFIX,
        PREFIX + "Trout-99",
        PREFIX + base64.urlsafe_b64encode(b"my password is Trout-99").decode(),
        WHOLE + "A",
        WHOLE + "=",
        WHOLE[:-1],
        WHOLE + " ",
        " " + WHOLE,
        WHOLE.upper(),
        WHOLE.replace("sealed:1:", "sealed:2:"),
        sealed_text(bytes(HEAD + 16)),
        sealed_text(bytes(HEAD + 31 + 16)),
        None,
        7,
        WHOLE.encode(),
    ],
)
def test_is_sealed__what_only_looks_like_it_is_not(text):
    assert not is_sealed(text)


def test_is_sealed__one_spelling_only():
    raw = secrets.token_bytes(HEAD + 64 + 16)
    assert is_sealed(sealed_text(raw)) and sealed_bytes(sealed_text(raw)) == raw
    assert set("+/") & set(sealed_text(raw)) == set()


def noted(kind, **fields):
    return Noted(Ref(kind, "X1"), fields, Evidence("seen"))


def test_record__takes_a_secret_only_sealed_and_names_all_that_are_not(cheap, tmp_path):
    text = seal("Trout-99", PHRASE, place=PLACE)
    with begin(tmp_path / "s") as store:
        store.append([noted("unit", password=text), noted("key", code="none"), noted("key", opens="gate")], **ENVELOPE)
        before = store.entries()
        bad = [
            noted("unit", password="Trout-99"),
            noted("key", code="4711"),
            noted("network", password="sealed:1:Trout-99"),
            Did("set mode", Ref("port", "U1.1"), None, {"pin": "4711"}, Evidence("seen")),
        ]
        with pytest.raises(SecretRefused) as refused:
            store.append([noted("unit", name="x"), *bad], **ENVELOPE)
        told = str(refused.value).splitlines()
        assert [line.partition(" is a secret")[0] for line in told] == [
            "unit:X1: 'password'",
            "key:X1: 'code'",
            "network:X1: 'password'",
            "port:U1.1: 'pin'",
        ]
        assert "Trout" not in str(refused.value) and "4711" not in str(refused.value)
        assert store.entries() == before


@pytest.mark.parametrize(
    ("kind", "field", "secret"),
    [
        ("key", "code", True),  # by the type of its column
        ("unit", "password", True),
        ("cable", "code", False),  # no column of that kind, and no name of a secret
        ("cable", "wifi_key", True),
        ("unit", "login", False),
        ("nothing", "colour_code", False),
    ],
)
def test_secret_field__by_column_or_by_name(kind, field, secret):
    assert is_secret_field(kind, field) is secret
