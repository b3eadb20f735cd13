"""Small invented records for the tests of this room."""

import itertools
import pathlib

from pullstring.log.store import Store, create
from pullstring.model.entries import Entry, Evidence, Noted
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when

DAY = parse_when("2025-03-01")
WROTE = "2025-03-01T10:00+01:00"
EYE = Evidence("seen")
ENVELOPE = {"at": DAY, "wrote": WROTE, "author": "ann"}


def noted(tag: str, **fields: str) -> Noted:
    return Noted(Ref("cable", tag), fields or {"colour": "grey"}, EYE)


def entry(name: str, *, tick: int, device: str = "d1", n: int = 1, key: str = "", body=None) -> Entry:
    return Entry(
        id=name,
        author="ann",
        device=device,
        n=n,
        tick=tick,
        at=DAY,
        wrote=WROTE,
        body=body or noted("C01"),
        key=key,
    )


def begin(path: pathlib.Path, device: str = "d1") -> Store:
    return create(path, site_code="HUT", device=device, author="ann")


def counted(prefix: str):
    """Ids that can be foretold: a1, a2, a3."""
    numbers = itertools.count(1)
    return lambda: f"{prefix}{next(numbers)}"


def folder_bytes(folder: pathlib.Path) -> dict[str, bytes | None]:
    """Every name in a folder with its bytes: what "untouched" means, side files included."""
    return {p.name: p.read_bytes() if p.is_file() else None for p in sorted(folder.iterdir())}
