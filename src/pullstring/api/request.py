"""What all verbs share: the site as asked for, what tags name, and what is wrong with a request."""

from __future__ import annotations

import datetime as dt
import hashlib
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.model.answers import USUAL_RULES, Answer, Problem, Request, Severity, plain
from pullstring.model.asbuilt import once_a_site

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site, Thing
    from pullstring.model.refs import Ref


CAUTIONS_WORK = ("volts_first", "local_trades")


class BadRequest(ValueError):
    """What was asked cannot be answered; all that is wrong, one sentence each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


MOST_GUESSES = 10  # ours: for how many unknown tags of one request the nearest known one is looked for
KEPT = 6  # ours: how many states of a record are kept ready between questions
_kept: dict[tuple[object, ...], Site] = {}
_keeping = threading.Lock()


def load(path: Path, request: Request) -> Site:
    """The site as the request wants it; the same one again while nothing was written since."""
    from pullstring.log.store import open_store
    from pullstring.model.replay import replay

    with open_store(path, read_only=True) as store:
        held = store.rows("SELECT group_concat(id), (SELECT group_concat(id) FROM redactions) FROM entries")[0]
        state = hashlib.sha256(
            repr(held).encode()
        ).digest()  # not a count: another copy may lie in the place of this one
        key = (str(path.resolve()), store.site_code, state, request.today, request.as_of, request.known_by)
        with _keeping:  # two who ask for the same state wait for one replay
            if key not in _kept:
                site = replay(store.entries(), today=request.today, as_of=request.as_of, known_by=request.known_by)
                while len(_kept) >= KEPT:
                    _kept.pop(next(iter(_kept)))
                _kept[key] = site
            return _kept[key]


def rules_of(site: Site | None, request: Request) -> str:
    """Name of the set of local rules: as asked, else as the property's row has it, else the usual one."""
    return request.rules or (site.rule_set if site else "") or USUAL_RULES


def answered(verb: str, site: Site, request: Request, answer: Mapping[str, Any], **more: Any) -> Answer:
    return Answer(
        verb,
        site.property_tag,
        plain(answer),
        as_of=request.as_of,
        known_by=request.known_by,
        rules=rules_of(site, request),
        **more,
    )


@once_a_site
def problems_of(site: Site) -> tuple[Problem, ...]:
    """All that is wrong or dangerous, worst first: of the record itself and what a veteran notices."""
    from pullstring.model.checks import record_problems
    from pullstring.model.problems import worst_first
    from pullstring.notice.noticed import noticed

    return worst_first((*record_problems(site), *noticed(site)))


def asked_for(site: Site, tags: Sequence[str], kinds: Sequence[str]) -> list[Ref]:
    """The things that tags name; raises BadRequest with every tag that names none or several."""
    from pullstring.model.columns import did_you_mean
    from pullstring.model.refs import BadName, Ref, parse_ref

    found, faults = [], []
    for tag in tags:
        try:
            tried = [parse_ref(tag)] if ":" in tag else [Ref(k, tag) for k in kinds]
        except BadName as error:
            faults.append(str(error))
            continue
        there = [site.things[r].ref for r in tried if r in site.things]
        there = there or [site.other_names[r] for r in tried if site.other_names.get(r) in site.things]
        if len(there) == 1:
            found += there
        elif there:
            faults.append(f"{tag!r} may be {' or '.join(str(r) for r in there)}; write the one that is meant")
        elif other := _of_another_kind(site, tag.rpartition(":")[2]):
            wanted = " or ".join(k.replace("_", " ") for k in kinds) if len(kinds) < 5 else "thing"
            faults.append(f"{tag!r} is {other}; what can be named here: {wanted}")
        else:
            near = [r.tag for r in site.things if r.kind in kinds] if len(faults) < MOST_GUESSES else []
            close = did_you_mean(tag, near)
            faults.append(f"there is nothing tagged {tag!r} in this site{close}")
    if faults:
        raise BadRequest(faults)
    return list(dict.fromkeys(found))


def _of_another_kind(site: Site, tag: str) -> Ref | None:
    """A thing that bears a tag, whatever it is: one written just so before one that only compares alike."""
    from pullstring.model.refs import tag_key

    alike = [r for r in site.things if r.key == tag_key(tag)]
    return min(alike, key=lambda r: r.tag != tag, default=None)


def day(text: str) -> str:
    """A date argument, checked: YYYY-MM-DD."""
    try:
        return dt.date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise BadRequest([f"{text!r} is no day; write it as 2026-11-03"]) from error


def worst(answer: Answer) -> Severity | None:
    """The worst problem of an answer, for strict exit codes."""
    return min((p.severity for p in answer.problems), default=None)


def floors(path: Path, request: Request) -> list[Thing]:
    """Floors that have rooms to draw, in their order."""
    found = load(path, request)
    drawn = {r.ref_of("floor") for r in found.of_kind("room") if r.text("outline")}
    return [f for f in found.of_kind("floor") if f.ref in drawn]
