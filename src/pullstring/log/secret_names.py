"""Names of fields that would hold a secret. Ours, from common practice.

A name counts alone or at the end of a longer one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from pullstring.log.refusals import SecretRefused
from pullstring.model.entries import Did, Entry, Noted

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
_WORD_BORDER = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|[^A-Za-z0-9]+")


def is_secret_name(field: str) -> bool:
    """Whether a field of this name would hold a secret, whatever its case and however its words are joined."""
    words = "_".join(word for word in _WORD_BORDER.split(field) if word).casefold()
    joined = words.replace("_", "")
    return any(words == name or words.endswith("_" + name) or joined == name.replace("_", "") for name in SECRET_NAMES)


def refuse_secrets(entries: Iterable[Entry]) -> None:
    """Raise SecretRefused at the first field named like a secret."""
    for entry in entries:
        body = entry.body
        fields = body.fields if isinstance(body, Noted) else body.values if isinstance(body, Did) else {}
        for field in fields:
            if is_secret_name(field):
                raise SecretRefused(str(body.subject) if isinstance(body, Noted | Did) else entry.id, field)
