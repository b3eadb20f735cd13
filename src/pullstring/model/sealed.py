"""How a sealed value looks: a secret that only its passphrase opens, written as one word of text.

`sealed:1:` and base64 (alphabet of RFC 4648, section 5, without padding) of: log2 of scrypt's N, r and p (one byte each),
salt (16), nonce (12), and what AES-GCM gives (at least one padded block and its tag of 16). Ours; the next form counts 2.
"""

from __future__ import annotations

import base64
import binascii

PREFIX = "sealed:1:"
SALT_BYTE, NONCE_BYTE, TAG_BYTE, BLOCK_BYTE = 16, 12, 16, 32
HEAD_BYTE = 3 + SALT_BYTE + NONCE_BYTE


def sealed_bytes(text: object) -> bytes | None:
    """The bytes of a sealed value; None when it is not written as one."""
    if not isinstance(text, str) or not text.startswith(PREFIX):
        return None
    inner = text.removeprefix(PREFIX)
    try:
        raw = base64.b64decode(inner + "=" * (-len(inner) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        return None
    body = len(raw) - HEAD_BYTE - TAG_BYTE
    whole = body >= BLOCK_BYTE and body % BLOCK_BYTE == 0
    return raw if whole and sealed_text(raw) == text else None


def sealed_text(raw: bytes) -> str:
    """Bytes of a sealed value as its text."""
    return PREFIX + base64.urlsafe_b64encode(raw).decode().rstrip("=")


def is_sealed(text: object) -> bool:
    """Whether a value is written as a sealed one."""
    return sealed_bytes(text) is not None
