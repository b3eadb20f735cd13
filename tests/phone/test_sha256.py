"""The page's own SHA-256 against published vectors and against the hash of Python's library."""

from __future__ import annotations

import hashlib
import random
from typing import TYPE_CHECKING

import pytest

from tests.phone.phone import address

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

    from tests.web.served import Served

# FIPS 180-2, appendix B.1 to B.3 (one block, two blocks, a million times a); the empty message and 896 letters:
# NIST, "Cryptographic Standards and Guidelines: Examples with Intermediate Values", SHA-256 and SHA-2 additional.
PUBLISHED = {
    "": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": (
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    ),
    "abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu": (
        "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1"
    ),
    "a" * 1_000_000: "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
}
ASK = "async (bytes) => (await import('/pocket/sha256.js')).sha256(new Uint8Array(bytes))"
ASK_TEXT = "async (text) => (await import('/pocket/sha256.js')).sha256OfText(text)"


@pytest.fixture
def tab(pocket: BrowserContext, laptop: Served):
    page = pocket.new_page()
    page.goto(address(laptop))
    return page


def test_sha256__published_vectors(tab) -> None:
    for text, wanted in PUBLISHED.items():
        assert tab.evaluate(ASK_TEXT, text) == wanted, text[:20]


def test_sha256__as_the_library_around_every_edge_of_a_block(tab) -> None:
    draw = random.Random(7)
    for length in [*range(50, 70), *range(115, 131), 1000, 4095]:
        data = draw.randbytes(length)
        assert tab.evaluate(ASK, list(data)) == hashlib.sha256(data).hexdigest(), length


def test_sha256__a_part_of_a_larger_buffer(tab) -> None:
    """A view does not begin where its buffer does."""
    ask = "async () => (await import('/pocket/sha256.js')).sha256(new TextEncoder().encode('xyzabc').subarray(3))"
    assert tab.evaluate(ask) == PUBLISHED["abc"]
