"""What pages and phones send to be kept. All of it goes through `api`; a door knows only how to ask and how to refuse."""

from __future__ import annotations

import functools
import re
from collections.abc import Awaitable, Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request as Asked
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from pullstring import api
from pullstring.web.asked import Desk, json_of, listed, now, rows, text
from pullstring.web.guard import is_here
from pullstring.web.pairing import Pairing, new_device, new_token

_HASH = re.compile(r"[0-9a-f]{64}")
Keeping = Callable[[Asked], Awaitable[dict[str, Any]]]


def routes(desk: Desk, pairing: Pairing) -> list[Route]:
    """Everything that is sent rather than asked, and what a phone must know before it sends."""
    return [*_of_the_laptop(desk), *_of_phones(desk, pairing)]


def _of_the_laptop(desk: Desk) -> list[Route]:

    async def add_rows(asked: Asked) -> dict[str, Any]:
        _laptop(asked)
        raw = await json_of(asked)
        work = functools.partial(
            api.add_rows,
            desk.path,
            desk.asked(),
            rows=rows(raw),
            key=text(raw, "key", most=64),
            **desk.hand(raw.get("author")),
        )
        answer = await run_in_threadpool(work)
        return {**answer.answer, "assumed": list(answer.assumed)}

    async def strike(asked: Asked) -> dict[str, Any]:
        _laptop(asked)
        raw = await json_of(asked)
        entries = [text({"entry": e}, "entry", most=200) for e in listed(raw, "entries")]
        work = functools.partial(
            api.strike_all,
            desk.path,
            desk.asked(),
            entries=entries,
            why=text(raw, "why", most=400, default="undone on the page"),
            key=text(raw, "key", most=64),
            **desk.hand(raw.get("author")),
        )
        return dict((await run_in_threadpool(work)).answer)

    async def accept(asked: Asked) -> dict[str, Any]:
        _laptop(asked)
        raw = await json_of(asked)
        outlets = tuple(text({"outlet": o}, "outlet", most=200) for o in listed(raw, "outlets"))
        if not outlets:
            raise api.BadRequest(["no outlet is named; name those whose ends are accepted"])
        key, hand = text(raw, "key", most=64), desk.hand(raw.get("author"))
        work = functools.partial(
            api.trace_accept,
            desk.path,
            desk.asked(tags=outlets),
            key=key,
            author=hand["author"],
            device=hand["device"],
            wrote=hand["wrote"],
        )
        said = (await run_in_threadpool(work)).answer
        already = bool(said["already"]) or not said["accepted"]
        return {"entries": said["entries"], "accepted": len(said["accepted"]), "already": already}

    async def unpair(asked: Asked) -> dict[str, Any]:
        _laptop(asked)
        device = text(await json_of(asked), "device", most=60)
        return {"unpaired": await run_in_threadpool(api.unpair, desk.path, device)}

    return [
        Route("/api/rows", _kept(add_rows), methods=["POST"]),
        Route("/api/strike", _kept(strike), methods=["POST"]),
        Route("/api/trace/accept", _kept(accept), methods=["POST"]),
        Route("/api/unpair", _kept(unpair), methods=["POST"]),
    ]


def _of_phones(desk: Desk, pairing: Pairing) -> list[Route]:
    async def pair(asked: Asked) -> dict[str, Any]:
        raw = await json_of(asked)
        if not pairing.take(text(raw, "code", most=12).strip()):
            raise NotAllowed(
                "this code does not hold (any more); look at the laptop's page Phones for the one that does"
            )
        token, device = new_token(), new_device()
        name = text(raw, "name", most=60, default="").strip() or "a phone"
        made = await run_in_threadpool(
            functools.partial(api.pair, desk.path, desk.asked(), name=name, device=device, token=token)
        )
        return {"token": token, "device": made.id, "short": made.short}

    async def pocket(asked: Asked) -> dict[str, Any]:
        phone = await _phone(desk, asked)
        known = await run_in_threadpool(functools.partial(api.for_pocket, desk.path, desk.asked(), device=phone))
        return {**known, "now": now()}

    async def walk(asked: Asked) -> dict[str, Any]:
        phone = await _phone(desk, asked)
        return await run_in_threadpool(functools.partial(api.walk_for_pocket, desk.path, desk.asked(), device=phone))

    async def entries(asked: Asked) -> dict[str, Any]:
        await _phone(desk, asked)
        given = listed(await json_of(asked), "entries")
        phone = await _phone(desk, asked)  # again: its right may have been taken while the body was coming
        return {
            **await run_in_threadpool(functools.partial(api.take_entries, desk.path, given, device=phone)),
            "now": now(),
        }

    async def photo(asked: Asked) -> dict[str, Any]:
        by_phone = not (is_here(asked.scope) and "authorization" not in asked.headers)
        phone = await _phone(desk, asked) if by_phone else desk.device
        sha256 = asked.path_params["sha256"]
        if not _HASH.fullmatch(sha256):
            raise api.BadRequest(["a photograph is named by its SHA-256, 64 letters of 0-9 and a-f"])
        data = await asked.body()
        phone = await _phone(desk, asked) if by_phone else phone  # again, as above
        work = functools.partial(api.take_photo, desk.path, data, sha256=sha256, device=phone)
        return {"stored": await run_in_threadpool(work)}

    return [
        Route("/api/pair", _kept(pair), methods=["POST"]),
        Route("/api/pocket", _kept(pocket), methods=["GET"]),
        Route("/api/pocket/walk", _kept(walk), methods=["GET"]),
        Route("/api/entries", _kept(entries), methods=["POST"]),
        Route("/api/photos/{sha256}", _kept(photo), methods=["PUT"]),
    ]


class NotAllowed(ValueError):
    """Whoever asks has not the right to."""

    status = 403


class WhoAreYou(NotAllowed):
    """No token, or one that no phone of this record bears."""

    status = 401


def _kept(work: Keeping) -> Callable[[Asked], Awaitable[Response]]:
    """What a work gives as JSON; what it refuses as sentences."""

    async def answered(asked: Asked) -> Response:
        try:
            return JSONResponse(await work(asked))
        except NotAllowed as error:
            return JSONResponse({"error": str(error)}, error.status)
        except api.BadRequest as error:
            return JSONResponse({"error": error.faults[0], "faults": list(error.faults)}, 422)

    return answered


def _laptop(asked: Asked) -> None:
    if not is_here(asked.scope):
        raise NotAllowed("this is done on the laptop itself")


async def _phone(desk: Desk, asked: Asked) -> str:
    """The id of the phone that asks; raises WhoAreYou."""
    scheme, _, token = asked.headers.get("authorization", "").partition(" ")
    known = None
    if scheme.casefold() == "bearer" and token.strip():
        known = await run_in_threadpool(api.phone_of, desk.path, token.strip())
    if known is None:
        raise WhoAreYou("this phone is not paired with this record (any more); pair it with the code on the laptop")
    return known.id
