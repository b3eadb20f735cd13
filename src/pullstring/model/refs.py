"""Names of things: a kind and the tag written on it.

Tags are compared without case and without leading zeros, so `E07`, `e7` and `E007` are one tag.
A pair is addressed inside its cable: `pair:C09.3`; a port inside its unit: `port:D04.3`; a row inside its block.
"""

from __future__ import annotations

import dataclasses
import functools
import re

_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")
_PART = re.compile(r"([^0-9]*)([0-9]*)")
_TAG = re.compile(r"[^\s:;|,](?:[^:;|,]*[^\s:;|,])?")


REF_JOIN = " & "  # parts several references in one field


class BadName(ValueError):
    """A tag or a reference is not written as one."""


@functools.lru_cache(maxsize=65536)
def tag_key(tag: str) -> str:
    """The form in which tags are compared: no case, no leading zeros, single spaces."""
    return _ZEROS.sub("", " ".join(tag.split()).casefold())


@functools.lru_cache(maxsize=65536)
def natural(key: str) -> tuple[tuple[str, int], ...]:
    """A compared tag in parts, so that E3 comes before E29: words and the numbers after them."""
    return tuple((word, int(digits or -1)) for word, digits in _PART.findall(key) if word or digits)


@dataclasses.dataclass(frozen=True, order=True, slots=True)
class Ref:
    """One thing by kind and tag, as written; equal when kind and compared tag are equal; E3 is before E29."""

    kind: str
    tag: str = dataclasses.field(compare=False)
    natural: tuple[tuple[str, int], ...] = ()
    key: str = ""
    _hash: int = dataclasses.field(default=0, compare=False, repr=False)

    def __post_init__(self) -> None:
        if not self.kind.islower() or not self.kind.replace("_", "").isalpha():
            raise BadName(f"{self.kind!r} is no kind of thing")
        if not _TAG.fullmatch(self.tag):
            raise BadName(
                f"{self.tag!r} is no tag; a tag has no colon, comma, semicolon or bar and no space at its ends"
            )
        object.__setattr__(self, "key", tag_key(self.tag))
        object.__setattr__(self, "natural", natural(self.key))
        object.__setattr__(self, "_hash", hash((self.kind, self.key)))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        return isinstance(other, Ref) and self.kind == other.kind and self.key == other.key

    def __str__(self) -> str:
        return f"{self.kind}:{self.tag}"

    @property
    def parent_tag(self) -> str | None:
        """Tag of the cable, unit or block that holds this pair, port or row; None for others."""
        head, dot, _ = self.tag.rpartition(".")
        return head if dot and self.kind in PARTS else None


PARTS = {"pair": "cable", "port": "unit", "row": "block", "jack": "outlet"}
"""Kinds that are parts of another thing, with the kind that holds them."""
ALWAYS_THERE = tuple(
    f"{kind}:{tag}"
    for kind, tags in {"use": ("idle", "silent"), "stop": ("cut", "coil", "lost", "bare")}.items()
    for tag in tags
)
"""What every record may name without noting it: a pair carries nothing or is silent; an end stops in the wall."""


@functools.lru_cache(maxsize=65536)
def parse_ref(text: str) -> Ref:
    """`kind:TAG` as a reference; raises BadName with the remedy when it is not written so."""
    kind, colon, tag = text.partition(":")
    if not colon:
        raise BadName(f"{text!r} names no kind; write it as kind:TAG, for example end:E01")
    return Ref(kind.strip().lower(), tag.strip())
