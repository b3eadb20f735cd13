"""Sealing secrets by a passphrase, and opening them again.

The key comes from the passphrase by scrypt (RFC 7914); the secret is closed by AES-256 in Galois/counter mode (NIST SP
800-38D), with a fresh salt and nonce each time. The secret is padded, so that its length does not show.

A seal is bound to the code of the site and to kind and field, such as `unit.password`. It is not bound to the tag: tags are
written anew on things, and a seal must still open then. So a seal that is moved to another site, kind or field does not
open; one that is moved to another thing of the same kind does.
"""

from __future__ import annotations

import os
import unicodedata

from pullstring.log.refusals import RecordError
from pullstring.model.sealed import BLOCK_BYTE, HEAD_BYTE, NONCE_BYTE, SALT_BYTE, sealed_bytes, sealed_text

LOG2_N, R, P = 17, 8, 1  # 128 MiB and about a third of a second on a laptop; common practice in 2025, from memory
MOST_LOG2_N, MOST_R, MOST_P = 20, 8, 4  # ours: at most 1 GiB, so that a forged seal does not take all memory
LEAST_LETTERS = 8  # ours, assumed: shorter passphrases are guessed
KEY_BYTE = 32
_END = b"\x80"  # the padding of ISO/IEC 7816-4: this byte, then zeros


class BadPassphrase(RecordError):
    """A passphrase is too short, or not the one a seal was closed with."""


def place_of(*, site_code: str, kind: str, field: str) -> bytes:
    """What a seal is bound to, as bytes."""
    return "\n".join(("pullstring seal 1", site_code.strip().casefold(), f"{kind}.{field}")).encode()


def seal(secret: str, passphrase: str, *, place: bytes) -> str:
    """A secret as a sealed text; raises BadPassphrase when the passphrase is too short."""
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM

    check_passphrase(passphrase)
    if not secret:
        raise RecordError("there is no secret to seal; type it, or leave the column out")
    plain = secret.encode() + _END
    plain += b"\0" * (-len(plain) % BLOCK_BYTE)
    salt, nonce = os.urandom(SALT_BYTE), os.urandom(NONCE_BYTE)
    head = bytes((LOG2_N, R, P)) + salt + nonce
    return sealed_text(head + AESGCM(_key(passphrase, head)).encrypt(nonce, plain, place + b"\n" + head))


def unseal(text: str, passphrase: str, *, place: bytes) -> str:
    """The secret of a sealed text; raises BadPassphrase when it does not open."""
    from cryptography.exceptions import InvalidTag
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM

    raw = sealed_bytes(text)
    if raw is None:
        raise RecordError("this value is not sealed; there is nothing to open")
    head, nonce = raw[:HEAD_BYTE], raw[HEAD_BYTE - NONCE_BYTE : HEAD_BYTE]
    if not (1 <= head[0] <= MOST_LOG2_N and 1 <= head[1] <= MOST_R and 1 <= head[2] <= MOST_P):
        raise RecordError("this seal asks for more work than any that this program makes; take another copy of it")
    try:
        plain = AESGCM(_key(passphrase, head)).decrypt(nonce, raw[HEAD_BYTE:], place + b"\n" + head)
    except InvalidTag as error:
        raise BadPassphrase(
            "the seal does not open: the passphrase is another one, or the value was moved here from another field or site"
        ) from error
    return plain.rstrip(b"\0").removesuffix(_END).decode()


def check_passphrase(passphrase: str) -> None:
    """Raise BadPassphrase when a passphrase is empty or very short."""
    if len(_normal(passphrase)) < LEAST_LETTERS or not passphrase.strip():
        raise BadPassphrase(
            f"the passphrase is too short; take one of {LEAST_LETTERS} letters or more, better four words"
        )


def _key(passphrase: str, head: bytes) -> bytes:
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    salt = head[3 : 3 + SALT_BYTE]
    kdf = Scrypt(salt=salt, length=KEY_BYTE, n=2 ** head[0], r=head[1], p=head[2])
    return kdf.derive(_normal(passphrase).encode())


def _normal(passphrase: str) -> str:
    """The same letters whichever keyboard wrote them: normal form C."""
    return unicodedata.normalize("NFC", passphrase)
