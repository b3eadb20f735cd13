"""How a phone gets the right to write: six digits from the laptop's own page, once, for ten minutes."""

from __future__ import annotations

import dataclasses
import hmac
import secrets
import threading
import time

MINUTES = 10  # ours: how long a code holds
TRIES = 5  # ours: wrong codes until it is void


@dataclasses.dataclass
class Pairing:
    """The code that holds now. It is void once used, after ten minutes, and after five wrong ones."""

    _code: str = ""
    _until: float = 0.0
    _wrong: int = 0
    _lock: threading.Lock = dataclasses.field(default_factory=threading.Lock)

    def code(self) -> str:
        """The code to show; a new one where none holds."""
        with self._lock:
            if not self._holds():
                self._code, self._wrong = f"{secrets.randbelow(10**6):06d}", 0
                self._until = time.monotonic() + 60 * MINUTES
            return self._code

    def take(self, said: str) -> bool:
        """Whether a phone said the code that holds; it holds no longer then."""
        with self._lock:
            if not self._holds():
                return False
            right = hmac.compare_digest(self._code.encode(), said.encode())
            if right:
                self._code = ""
            else:
                self._wrong += 1
            return right

    def _holds(self) -> bool:
        return bool(self._code) and self._wrong < TRIES and time.monotonic() < self._until


def new_token() -> str:
    """What a phone proves itself by."""
    return secrets.token_urlsafe(32)


def new_device() -> str:
    """The id of a phone in the entries it makes."""
    return f"phone-{secrets.token_hex(4)}"
