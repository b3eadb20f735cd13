"""The coming walk for the pocket page: its acts in order, each with the rows of the record that its answers would be.

One act, as the phone gets it::

    {"key": "touch end:E12 outlet:O01",          which act this is; the same act twice in a walk has `#2` behind
     "kind": "touch", "room": "K1",            where one then is, as a tag; empty if nobody knows
     "says", "where", "with", "tone", "long",   words, some of them empty
     "cautions": [words],
     "needs": [keys],                            acts without which this one is nothing
     "match": {"about", "quantity", ...},        fields of a jotting that answers this act
     "answers": [{"label", "fields", "care"}],   one button each; `care`: words that are ticked may follow its value
     "checks": [{"word", "label"}],              care that may be ticked
     "pad": {"label", "units", "fields"} | null, a number by keys
     "tiles": {"label", "of", "span", "fields"} | null,   several numbers
     "by": "A12" | ""}                           the jotting that answers it and waits to be sorted

The phone writes what was answered as a jotting with these fields, so that to sort it is one click: the row stands in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site

Facts = Mapping[str, Any]


def walk_for_pocket(path: Path, request: Request, *, device: str) -> dict[str, Any]:
    """The acts of the coming walk, what was jotted of them already, and where the counts of this phone stand."""
    from pullstring.api.pocket_answers import pocket_acts
    from pullstring.log.store import open_store
    from pullstring.papers.words_pocket import no_act

    site = load(path, request)
    with open_store(path, read_only=True) as store:
        last = store.rows("SELECT coalesce(max(n), 0) FROM entries WHERE device = ?", (device,))[0][0]
    acts, stop = _planned(path, request)
    return {
        "site": site.property_tag,
        "last_n": int(last),
        "says": no_act(stop),
        "acts": _jotted(site, pocket_acts(acts)),
    }


def _planned(path: Path, request: Request) -> tuple[list[Facts], str]:
    from pullstring.api.tracing_next import trace_next

    said = trace_next(path, request).answer
    acts = list(said["walk"]["acts"]) or ([said["act"]] if said["act"] else [])
    return [*said["first"], *acts], said.get("stop") or ""


def _jotted(site: Site, acts: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Acts with the jotting that answers each and that nobody has sorted yet; one jotting answers one act."""
    waiting = [j for j in site.of_kind("jotting") if not j.text("sorted") and j.text("state") != "removed"]
    waiting.sort(key=lambda j: j.made.order if j.made else (0, "", 0, ""))
    made = []
    for act in acts:
        found = next((j for j in waiting if all(j.text(name) == said for name, said in act["match"].items())), None)
        if found is not None:
            waiting.remove(found)
        made.append({**act, "by": found.ref.tag if found is not None else ""})
    return made
