"""The verb `site`: the as-built state and its problems, and why one thing is as it is."""

from __future__ import annotations

import collections
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load, problems_of
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site


def site(path: Path, request: Request, *, why: str | None = None, listed: bool = True) -> Answer:
    """The as-built site and its problems, with all things, claims and readings if `listed`; or why one thing is as it is."""
    found = load(path, request)
    if why is not None:
        return _why(found, request, why)
    kinds = collections.Counter(ref.kind for ref in found.things)
    states = collections.Counter(str(c.support if c.status == "holds" else c.status) for c in found.claims)
    answer = {"counts": kinds, "claim_counts": states, **(_listing(found) if listed else {})}
    return answered("site", found, request, answer, problems=problems_of(found))


def _listing(found: Site) -> dict[str, Any]:
    """Every thing with its accounts, every claim, every reading."""
    things = {
        str(t.ref): {n: [_account(h) for h in f.heads] for n, f in t.fields.items()} for t in found.things.values()
    }
    claims = [
        {
            "subject": str(c.subject),
            "relation": c.relation,
            "object": str(c.object),
            "grade": c.support,
            "against": c.against,
            "status": c.status,
            "because": list(c.entries),
        }
        for c in found.claims
    ]
    readings = [
        {
            "subject": str(r.measured.subject),
            "quantity": r.measured.quantity,
            "value": r.measured.value_si,
            "unit": r.measured.unit_si,
            "sign": r.measured.sign,
            "written": r.measured.written,
            "at": r.at.text,
        }
        for r in found.readings
    ]
    return {"things": things, "claims": claims, "readings": readings}


def _account(head: Any) -> dict[str, Any]:
    return {"value": head.value, "grade": head.evidence.grade, "at": head.at.text, "entry": head.entry}


def _why(found: Site, request: Request, why: str) -> Answer:
    from pullstring.model.columns import kinds

    name, dot, field = why.rpartition(".")
    try:
        ref = asked_for(found, [why], list(kinds()))[0]
        field = ""
    except BadRequest:
        if not dot:
            raise
        ref = asked_for(found, [name], list(kinds()))[0]
    thing = found.things[ref]
    fields = {n: [_account(h) for h in f.heads] for n, f in thing.fields.items() if field in ("", n)}
    about = [c for c in found.claims if c.subject == ref and field in ("", c.relation)]
    claims = [
        {
            "relation": c.relation,
            "object": str(c.object),
            "grade": c.support,
            "status": c.status,
            "because": list(c.entries),
        }
        for c in about
    ]
    if not fields and not claims:
        raise BadRequest([f"nothing is noted of {field!r} for {ref}"])
    because = [h["entry"] for accounts in fields.values() for h in accounts] + [e for c in about for e in c.entries]
    return answered(
        "site",
        found,
        request,
        {"thing": str(ref), "fields": fields, "claims": claims},
        because=tuple(dict.fromkeys(because)),
    )
