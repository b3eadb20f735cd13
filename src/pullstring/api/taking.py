"""What phones bring: entries made on the device, photographs, and what a phone must know to make them.

An entry is made whole on the phone, so its id is the same however often it is sent, and taking it twice changes nothing. Each
stands alone: one that can never be stored is refused with its sentence and holds up no other.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.log.devices import Device
    from pullstring.log.record import Record
    from pullstring.model.asbuilt import Site
    from pullstring.model.entries import Entry

MOST_ENTRIES = 500  # ours: at one sending; a phone sends the rest after it
FARTHEST_TICK = 1_000_000  # ours: how far ahead of the record a phone's count may run before it is taken as broken
LONGEST_WORDS = 8000  # ours: letters in one field, as in a cell of a table
LONGEST_NAME = 80
_ID = re.compile(r"[0-9a-f]{32}")
_HASH = re.compile(r"[0-9a-f]{64}")


def take_entries(path: Path, given: Sequence[object], *, device: str) -> dict[str, Any]:
    """Store what a phone made; gives the ids stored, a sentence for each refused id, and the highest tick.

    Raises
    ------
    BadRequest
        When it is no list of entries at all, or too long a one.
    """
    from pullstring.log.refusals import Corrupted, RecordError, SecretRefused, UnusableEntry
    from pullstring.log.store import open_store
    from pullstring.model.entries import BadEntry

    if len(given) > MOST_ENTRIES:
        raise BadRequest([f"{len(given)} entries are too many at once; send at most {MOST_ENTRIES}"])
    stored: list[str] = []
    refused: dict[str, str] = {}
    with open_store(path, device=device) as store:
        tick, noted = _tick(store), _noted_by(store)
        for number, raw in enumerate(given, 1):
            name = _id_of(raw) or f"number {number}"
            try:
                entry = _entry(raw, device, tick)
                _own(store, entry, noted)
                store.add_entries([entry])
            except (BadEntry, Corrupted, SecretRefused, UnusableEntry) as error:
                refused[name] = _plainly(str(error), store.where)
            except RecordError:
                raise  # the record is busy, its disk full: nothing is wrong with the entry, and the phone keeps it
            except (ValueError, RecursionError) as error:
                refused[name] = _plainly(str(error), store.where)
            else:
                stored.append(entry.id)
                tick = max(tick, entry.tick)
        return {"stored": stored, "refused": refused, "tick": _tick(store)}


def _id_of(raw: object) -> str:
    name = raw.get("id") if isinstance(raw, Mapping) else None
    return name if isinstance(name, str) and _ID.fullmatch(name) else ""


def _entry(raw: object, device: str, tick: int) -> Entry:
    from pullstring.model.entries import BadEntry, Noted, StruckOut, from_json

    entry = from_json(json.dumps(raw))
    if entry.device != device:
        raise BadEntry(f"this entry is of the device {entry.device!r}, and this phone is {device!r}; pair it anew")
    if entry.tick > tick + FARTHEST_TICK or entry.n > FARTHEST_TICK:
        raise BadEntry("the count of this phone has run away; pair it anew and write this again")
    body = entry.body
    made = isinstance(body, Noted) and body.subject.kind in ("jotting", "photo")
    if not made and not (isinstance(body, StruckOut) and not body.redacted):
        raise BadEntry("a phone writes jottings and photographs and takes back its own; write this on the laptop")
    _sound(entry)
    return entry


def _sound(entry: Entry) -> None:
    """What stands in an entry of a phone is words of a length that pages can show, and names that are names."""
    from pullstring.model.entries import ENTRY_SCHEMA, BadEntry, Noted

    body = entry.body
    names: list[object] = [entry.author, entry.visit, entry.wrote]
    words: list[object] = []
    marks: list[object] = [entry.id]
    if isinstance(body, Noted):
        said = body.evidence
        names += [body.subject.tag, *body.fields, *body.over, *body.under]
        words += [*body.fields.values(), said.method, said.conditions, said.instrument, said.by]
        marks += [mark for seen in (*body.over.values(), *body.under.values()) for mark in seen]
    else:
        words = [getattr(body, "why", ""), getattr(body, "entry", "")]
    whole = all(isinstance(w, str) and len(w) <= LONGEST_WORDS and "\0" not in w for w in words)
    named = all(isinstance(n, str) and len(n) <= LONGEST_NAME and "\0" not in n for n in names)
    marked = all(isinstance(m, str) and _ID.fullmatch(m) for m in marks)
    shown = all(isinstance(p, str) and _HASH.fullmatch(p) for p in entry.photos)
    if not (whole and named and marked and shown and entry.schema == ENTRY_SCHEMA and not entry.key):
        raise BadEntry(
            f"this entry is not made as the pocket page makes one; it holds words of at most {LONGEST_WORDS} letters, "
            f"names of at most {LONGEST_NAME}, and an id of 32 letters of 0-9 and a-f"
        )


def _noted_by(store: Record) -> dict[str, set[str]]:
    """Jottings and photographs of the record, each with the devices that ever wrote about it."""
    from pullstring.model.refs import BadName, parse_ref

    subject = "json_extract(line, '$.body.subject')"
    found: dict[str, set[str]] = {}
    for said, device in store.rows(
        f"SELECT DISTINCT {subject}, device FROM entries WHERE {subject} LIKE 'jotting:%' OR {subject} LIKE 'photo:%'"
    ):
        try:
            ref = parse_ref(said)
        except BadName:
            continue
        found.setdefault(f"{ref.kind}:{ref.key}", set()).add(device)
    return found


def _own(store: Record, entry: Entry, noted: Mapping[str, set[str]]) -> None:
    """A phone takes back only what it entered itself, and writes nothing over what others made."""
    from pullstring.model.entries import BadEntry, Noted, StruckOut

    body = entry.body
    if isinstance(body, StruckOut):
        found = store.rows("SELECT device FROM entries WHERE id = ?", (body.entry,))
        if [row[0] for row in found] != [entry.device]:
            raise BadEntry("only what this phone entered can be taken back here; take it back on the laptop")
    elif isinstance(body, Noted):
        there = noted.get(f"{body.subject.kind}:{body.subject.key}", {entry.device})
        if entry.device not in there and not store.rows("SELECT 1 FROM entries WHERE id = ?", (entry.id,)):
            raise BadEntry(f"{body.subject} was made by another hand; change it on the laptop")


def _plainly(says: str, where: str) -> str:
    """A refusal without the place of the file, which is nothing to a phone."""
    return says.removeprefix(f"{where}: ")[:300]


def _tick(store: Record) -> int:
    return int(store.rows("SELECT coalesce(max(tick), 0) FROM entries")[0][0])


def take_photo(path: Path, data: bytes, *, sha256: str, device: str) -> str:
    """Keep the bytes of a photograph; the same again changes nothing. Raises BadRequest when they are none, or others."""
    from pullstring.log import attachments
    from pullstring.log.photos_io import form_of
    from pullstring.log.store import open_store
    from pullstring.log.union import is_doomed

    found = hashlib.sha256(data).hexdigest()
    form = form_of(data)
    faults = []
    if found != sha256:
        faults.append("the photograph arrived damaged: its hash is another one; send it again")
    if form is None or not form.startswith("image/"):
        faults.append("this is no photograph that is known; send JPEG, PNG or WebP")
    if faults or form is None:
        raise BadRequest(faults)
    with open_store(path, device=device) as store:
        with store.writing() as speaker:
            if is_doomed(speaker, sha256):
                raise BadRequest(["this photograph was destroyed on request and does not come back; take another one"])
        return attachments.attach(store, data, media_type=form, privacy="site")


def photo(path: Path, sha256: str) -> tuple[bytes, str]:
    """The bytes of a photograph and its media type; raises BadRequest when the record has none of that hash."""
    from pullstring.log import attachments
    from pullstring.log.photos_io import form_of
    from pullstring.log.refusals import RecordError
    from pullstring.log.store import open_store

    with open_store(path, read_only=True) as store:
        try:
            item = attachments.get(store, sha256)
        except RecordError as error:
            raise BadRequest([_plainly(str(error), store.where)]) from error
    return item.data, form_of(item.data) or "application/octet-stream"


def pair(path: Path, request: Request, *, name: str, device: str, token: str) -> Device:
    """Let a phone write into this record."""
    from pullstring.log.devices import enrol
    from pullstring.log.store import open_store

    with open_store(path) as store:
        return enrol(store, device=device, name=name, since=request.today, token=token)


def unpair(path: Path, device: str) -> bool:
    """Take the right to write from a phone."""
    from pullstring.log.devices import forget
    from pullstring.log.store import open_store

    with open_store(path) as store:
        return forget(store, device)


def phones(path: Path) -> list[Device]:
    """The phones that were ever paired with this record."""
    from pullstring.log.devices import devices
    from pullstring.log.store import open_store

    with open_store(path, read_only=True) as store:
        return devices(store)


def phone_of(path: Path, token: str) -> Device | None:
    """The phone that bears a token, if it may write."""
    from pullstring.log.devices import of_token
    from pullstring.log.store import open_store

    with open_store(path, read_only=True) as store:
        return of_token(store, token)


def for_pocket(path: Path, request: Request, *, device: str) -> dict[str, Any]:
    """What a phone must know: rooms and tags to pick from, the next tag, and where its own counts stand."""
    from pullstring.log.store import open_store
    from pullstring.model.columns import tables

    site = load(path, request)
    with open_store(path, read_only=True) as store:
        tick = _tick(store)
        last = store.rows("SELECT coalesce(max(n), 0) FROM entries WHERE device = ?", (device,))[0][0]
    quantity = tables()["measurements"].column("quantity")
    assert quantity is not None
    return {
        "site": site.property_tag,
        "name": next((t.text("name") for t in site.of_kind("property")), "") or site.property_tag,
        "tick": tick,
        "last_n": int(last),
        "rooms": [_room(site, r) for r in site.of_kind("room") if r.text("state") != "removed"],
        "ends": [e.ref.tag for e in site.of_kind("end")],
        "outlets": [_room(site, o) for o in site.of_kind("outlet")],
        "senders": [u.ref.tag for u in site.of_kind("unit") if u.stands and _sends(site, u)],
        "next_end": next_tag(site, "end", "E01"),
        "quantities": [q for q in quantity.options if q not in ("tone", "wire map", "resistor placed", "ran at")],
    }


def _sends(site: Site, unit: Any) -> bool:
    """Whether a level may be read of a unit."""
    model = site.get(unit.ref_of("model"))
    return any(t is not None and t.text("what") in ("access point", "router") for t in (unit, model))


def _room(site: Site, thing: Any) -> dict[str, str]:
    room, floor = thing.ref_of("room"), thing.ref_of("floor")
    where = {"room": room.tag} if room else {"floor": floor.tag} if floor else {}
    return {"tag": thing.ref.tag, "name": thing.text("name"), **where}


def next_tag(site: Site, kind: str, first: str) -> str:
    """The tag after the highest of the commonest pattern of a kind: E31 and E30 give E32; `first` when there is none."""
    import collections
    import re

    named = [ref.tag for ref in (*site.things, *site.other_names) if ref.kind == kind]
    if kind == "end":  # what a phone jotted and nobody has sorted yet is on a cable already
        named += [j.text("about") for j in site.of_kind("jotting") if j.text("what") == "tag" and not j.text("sorted")]
    tags = [re.fullmatch(r"(.*?)(\d+)", tag.strip()) for tag in named]
    heads = collections.Counter(found[1] for found in tags if found)
    if not heads:
        return first
    head = max(heads, key=lambda h: (heads[h], h))
    numbers = [found[2] for found in tags if found and found[1] == head]
    return f"{head}{int(max(numbers, key=int)) + 1:0{min(len(n) for n in numbers)}d}"
