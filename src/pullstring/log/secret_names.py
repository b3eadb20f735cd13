"""Fields that hold a secret, told by the type of their column or by their name; they enter the record only sealed.

The names are ours, from common practice. A name counts alone or at the end of a longer one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from pullstring.log.refusals import SecretRefused
from pullstring.model.columns import kinds
from pullstring.model.entries import NONE_SAID, Did, Entry, Noted
from pullstring.model.sealed import is_sealed

SECRET_NAMES = (
    "password",
    "passwd",
    "passphrase",
    "passcode",
    "pin",
    "pin_code",
    "puk",
    "alarm_code",
    "door_code",
    "gate_code",
    "key_code",
    "safe_code",
    "entry_code",
    "wpa",
    "wpa2",
    "wpa3",
    "wpa_key",
    "wifi_key",
    "psk",
    "pre_shared_key",
    "private_key",
    "secret",
)
_NO_SECRET = (None, "", NONE_SAID)
_WORD_BORDER = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|[^A-Za-z0-9]+")


def is_secret_name(field: str) -> bool:
    """Whether a field of this name would hold a secret, whatever its case and however its words are joined."""
    words = "_".join(word for word in _WORD_BORDER.split(field) if word).casefold()
    joined = words.replace("_", "")
    return any(words == name or words.endswith("_" + name) or joined == name.replace("_", "") for name in SECRET_NAMES)


def is_secret_field(kind: str, field: str) -> bool:
    """Whether a field of a kind of thing holds a secret: by its column's type, or by its name."""
    table = kinds().get(kind)
    column = table.column(field) if table else None
    return (column is not None and column.type == "secret") or is_secret_name(field)


def refuse_secrets(entries: Iterable[Entry]) -> None:
    """Raise SecretRefused when secrets stand there in plain; a sealed one may pass, and so may "none"."""
    plain: dict[tuple[str, str], None] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, Noted | Did):
            fields = body.fields if isinstance(body, Noted) else body.values
            for field, value in fields.items():
                if is_secret_field(body.subject.kind, field) and not (value in _NO_SECRET or is_sealed(value)):
                    plain[str(body.subject), field] = None
    if plain:
        raise SecretRefused(list(plain))
