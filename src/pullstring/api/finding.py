"""A word in, the things that bear it out: as tag, former tag, label, name or address."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pullstring.api.request import answered, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site

FIELDS = ("label", "name", "address", "serial", "old_names", "found", "place", "about", "words")
MOST = 60  # ours: how many one page shows


def find(path: Path, request: Request, *, word: str) -> Answer:
    """Things by their tag first, then by what is written on them; an exact tag alone when it is one."""
    site = load(path, request)
    found = _found(site, " ".join(word.split()))
    return answered("find", site, request, {"word": word, "found": found[:MOST], "count": len(found)})


def _found(site: Site, word: str) -> list[dict[str, str]]:
    from pullstring.model.refs import tag_key

    if not word:
        return []
    kind, _, tag = word.rpartition(":")
    key, low = tag_key(tag or word), word.casefold()
    ranked = []
    for ref, thing in site.things.items():
        old = [o.tag for o, new in site.other_names.items() if new == ref]
        if kind and ref.kind != kind:
            continue
        named = next((f for f in FIELDS if low in thing.text(f).casefold()), "")
        if ref.key == key or key in [tag_key(o) for o in old]:
            rank, by = 0, "tag" if ref.key == key else "former tag"
        elif ref.key.startswith(key):
            rank, by = 1, "tag"
        elif named and thing.text(named).casefold() == low:
            rank, by = 2, named
        elif named:
            rank, by = 3, named
        else:
            continue
        said = thing.text(by) if by in FIELDS else thing.text("name") or thing.text("label")
        ranked.append(
            (rank, ref, {"ref": str(ref), "kind": ref.kind, "tag": ref.tag, "by": by.replace("_", " "), "says": said})
        )
    ranked.sort(key=lambda r: (r[0], r[1].kind not in ("end", "outlet", "unit", "room"), r[1]))
    exact = [r for r in ranked if r[0] == 0]
    return [r[2] for r in (exact if len(exact) == 1 and exact[0][2]["by"] == "tag" else ranked)]
