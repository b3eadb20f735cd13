"""What a floor plan marks as not to be touched, and what must stay alive: from the record and from the answer on cutting."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping

from pullstring.model.asbuilt import Site
from pullstring.model.refs import BadName, Ref, parse_ref
from pullstring.papers.plan_runs import holder

TOUCH, KEEP = "do not touch", "must stay alive"


@dataclasses.dataclass(frozen=True)
class Guarded:
    """Things with their word, the stricter one where both hold."""

    word: Mapping[Ref, str]

    def of(self, ref: Ref) -> str:
        """The word for a thing; empty when it is free."""
        return self.word.get(ref, "")

    @property
    def untouchable(self) -> frozenset[Ref]:
        """All things that may not be touched."""
        return frozenset(r for r, word in self.word.items() if word == TOUCH)


def guarded(site: Site, untouchable: Iterable[str] | None) -> Guarded:
    """Services with what carries them, units that are not ours, and what the caller names."""
    words: dict[Ref, str] = {}

    def mark(refs: Iterable[Ref | None], word: str) -> None:
        for ref in refs:
            for each in (ref, holder(ref)) if ref is not None and ref.kind in ("port", "jack") else (ref,):
                if each is not None and words.get(each) != TOUCH:
                    words[each] = word

    for service in site.of_kind("service"):
        if service.text("state") == "removed" or service.text("ceased") == "yes":
            continue
        word = TOUCH if service.ref_of("protected_by") else KEEP if service.text("keep") == "yes" else ""
        if word:
            mark(service.refs_of("carried_on"), word)
            mark((service.ref_of("arrives_at"), service.ref_of("from")), KEEP)
    for unit in site.of_kind("unit"):
        if unit.text("login") == "not ours" or unit.ref_of("protected_by"):
            mark((unit.ref,), TOUCH)
    for name in untouchable or ():
        try:
            mark((parse_ref(str(name)),), TOUCH)
        except BadName:
            continue
    return Guarded(dict(sorted(words.items())))
