"""What a browser sends, made strict once: days, tags, rows, entries. What cannot be read is one sentence."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.requests import Request as Asked

from pullstring import api
from pullstring.model.answers import Request

LONGEST = 8000  # ours: letters in one cell
LONGEST_NAME = 80
MOST_CELLS = 100  # ours: in one row
_UNKEPT = re.compile(r"[\0-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""Letters that no drawing can hold: XML 1.0, section 2.2."""


@dataclasses.dataclass(frozen=True)
class Desk:
    """The site that is served: its file, what every page is asked with, and who writes on the laptop."""

    path: Path
    request: Request
    author: str
    device: str
    fixed_day: bool

    def asked(self, asked: Asked | None = None, *, tags: tuple[str, ...] = ()) -> Request:
        """The request behind a page: today, and the day and knowledge that its address names."""
        today = self.request.today if self.fixed_day else dt.date.today().isoformat()
        query: Mapping[str, str] = asked.query_params if asked else {}
        as_of = query.get("as_of", "").strip() or self.request.as_of
        known_by = query.get("known_by", "").strip() or self.request.known_by
        as_of = api.day(as_of) if as_of else None
        return dataclasses.replace(self.request, today=today, as_of=as_of, known_by=known_by, tags=tags)

    def hand(self, author: object = None) -> dict[str, str]:
        """Who writes now, on this machine."""
        said = "" if author is None else text({"author": author}, "author", most=LONGEST_NAME).strip()
        return {"author": said or self.author.strip()[:LONGEST_NAME], "device": self.device, "wrote": now()}


def now() -> str:
    """The laptop's clock."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


async def json_of(asked: Asked) -> dict[str, Any]:
    """The body as one JSON object; raises BadRequest."""
    if asked.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise api.BadRequest(["what is sent here is JSON; name it so in Content-Type"])
    try:
        raw = json.loads(await asked.body(), parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise api.BadRequest(["this is no JSON that can be read; nothing was written"]) from error
    if not isinstance(raw, dict):
        raise api.BadRequest(["one JSON object is wanted here; nothing was written"])
    return raw


def _no_constant(word: str) -> float:
    raise ValueError(word)


def text(raw: Mapping[str, Any], name: str, *, most: int = LONGEST, default: str | None = None) -> str:
    """A text of the body; raises BadRequest when it is none, or too long."""
    value = raw.get(name, default)
    if not isinstance(value, str) or len(value) > most:
        raise api.BadRequest([f"{name} is to be a text of at most {most} letters; nothing was written"])
    if _UNKEPT.search(value):
        raise api.BadRequest([f"{name} holds a letter that cannot be kept; nothing was written"])
    return value


def listed(raw: Mapping[str, Any], name: str) -> list[Any]:
    """A list of the body; raises BadRequest."""
    value = raw.get(name)
    if not isinstance(value, list):
        raise api.BadRequest([f"{name} is to be a list; nothing was written"])
    return value


def rows(raw: Mapping[str, Any]) -> list[api.Row]:
    """Rows of tables; raises BadRequest with every row that is none."""
    made, faults = [], []
    for number, row in enumerate(listed(raw, "rows"), 1):
        try:
            if not isinstance(row, dict) or not isinstance(row.get("cells"), dict):
                raise api.BadRequest(["it needs a table and its cells"])
            if len(row["cells"]) > MOST_CELLS:
                raise api.BadRequest([f"it has {len(row['cells'])} cells; no table has more than {MOST_CELLS} columns"])
            cells = {
                text({"name of a cell": c}, "name of a cell", most=LONGEST_NAME): text(row["cells"], c)
                for c in row["cells"]
            }
            made.append(api.Row(text(row, "table", most=LONGEST_NAME), cells, row.get("new") is True))
        except api.BadRequest as error:
            faults += [f"row {number}: {fault}" for fault in error.faults]
    if faults:
        raise api.BadRequest(faults)
    return made
