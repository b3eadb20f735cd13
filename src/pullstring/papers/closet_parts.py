"""What belongs to the front of a closet, piece by piece: its blocks, racks, units, loose ends and mains."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.papers import closet_rack
from pullstring.papers import closet_words as words
from pullstring.papers.closet_flow import Piece
from pullstring.papers.closet_hanging import Hanging, Hung, Run, ports_of, rows_of
from pullstring.papers.closet_marks import MID, SMALL, STRONG, TAG, Line
from pullstring.papers.closet_rows import head, row

MANY_EMPTY = 10  # ours: more empty rows one after the other are drawn as one
MOST_ON = 10  # ours: so many things on one row stand in one piece
MAINS_LONG = 6  # links of a chain of mains that are followed


def pieces_of(site: Site, board: Ref | None, hanging: Hanging, *, scale: int, tall: float) -> tuple[list[Piece], str]:
    """All pieces of one place in the order of reading, and the words that say how true it is to scale."""
    if board is None:
        return _loose(hanging, None), words.SCHEMATIC
    thing = site.get(board)
    if thing is None:
        return [], words.SCHEMATIC
    if board.kind == "block":
        return _block(site, thing, hanging), words.SCHEMATIC
    if board.kind == "rack":
        return _rack(site, thing, hanging, scale, tall)
    in_racks: set[Ref] = set()
    pieces: list[Piece] = []
    said = ""
    for rack in _in(site, "rack", board):
        made, said = _rack(site, rack, hanging, scale, tall)
        pieces += made
        slots, others = closet_rack.slots_of(site, rack)
        in_racks |= {t.ref for s in slots for t in s.things} | {t.ref for t in others}
    blocks = [p for b in _in(site, "block", board) if b.ref not in in_racks for p in _block(site, b, hanging)]
    units = [u for u in _in(site, "unit", board) if u.ref not in in_racks]
    pieces = [*blocks, *pieces, *(p for u in units for p in _unit(site, u, hanging))]
    pieces += [*_loose(hanging, board), *_mains(site, board, hanging)]
    return pieces, said or words.SCHEMATIC


def _in(site: Site, kind: str, room: Ref) -> list[Thing]:
    return [t for t in site.of_kind(kind) if t.ref_of("room") == room and t.text("state") != "removed"]


def _head(site: Site, thing: Thing, hanging: Hanging, more: Iterable[str] = (), *, last: bool = False) -> Piece:
    state = words.state_word(thing)
    guarded = hanging.guard(thing.ref)
    said = [words.head_of(site, thing.ref), *more, state]
    return head(
        thing.ref,
        thing.ref.tag,
        [w for w in said if w],
        guarded=guarded,
        keep_off=words.keep_off(guarded or ""),
        gone=state in ("out of use", "lost"),
        planned=state == "to be added",
        last=last,
    )


def _block(site: Site, block: Thing, hanging: Hanging) -> list[Piece]:
    rows = rows_of(site, block, hanging)
    pieces: list[Piece] = [_head(site, block, hanging, last=not rows)]
    empty: list[Ref] = []
    for ref in rows:
        thing = site.get(ref)
        if thing is None and not hanging.on.get(ref) and not hanging.clips.get(ref):
            empty.append(ref)
            continue
        pieces += [*_empty(empty), *_place(site, ref, hanging, thing.text("label") if thing else "")]
        empty = []
    return [*pieces, *_empty(empty)]


def _empty(refs: Sequence[Ref]) -> list[Piece]:
    """Rows on which nothing sits: each drawn, or many as one."""
    if len(refs) > MANY_EMPTY:
        first, last = words.number_of(refs[0]), words.number_of(refs[-1])
        said = [Line(f"{len(refs)} empty, nothing noted", SMALL, "second")]
        return [row(None, f"{first} to {last}, empty", number=f"{first} to {last}", on=said)]
    return [row(None, f"{words.short(ref)}, empty", number=words.number_of(ref)) for ref in refs]


def _place(site: Site, ref: Ref, hanging: Hanging, label: str) -> list[Piece]:
    """A row or port in as many pieces as what sits on it needs."""
    thing, hung = site.get(ref), hanging.on.get(ref, [])
    parent = Ref(words.PARTS[ref.kind], ref.parent_tag) if ref.parent_tag else None
    guard = hanging.guard(ref, *((parent,) if ref.kind == "port" else ()))
    for one in hung:
        guard = guard if guard is not None else hanging.guard(one.ref, one.end)
    state = words.state_word(thing)
    planned = state == "to be added" or bool(hung) and all(h.state == "planned" for h in hung)
    gone = state in ("out of use", "lost") or any(h.state in ("out of use", "lost") for h in hung)
    notes = [Line(label, SMALL)] + ([Line(state, STRONG, "planned" if planned else "ink")] if state else [])
    pieces: list[Piece] = []
    chunks = [hung[n : n + MOST_ON] for n in range(0, len(hung), MOST_ON)] or [[]]
    for number, chunk in enumerate(chunks):
        on = [line for h in chunk for line in _hung_lines(h, ref, hanging)]
        clips = [Line(f"clip to {words.number_of(o)}", SMALL) for o in sorted(hanging.clips.get(ref, ()))]
        to = [line for h in chunk for line in _to_lines(site, h, hanging)]
        if guard is not None:
            to.append(Line(words.keep_off(guard), STRONG))
        pieces.append(
            row(
                ref if thing is not None or hung or hanging.clips.get(ref) else None,
                _says(ref, chunk, to),
                number=words.number_of(ref),
                label=notes if number == 0 else [Line("continued", SMALL, "second")],
                on=[*on, *(clips if number == 0 else [])] or _open(ref),
                to=to,
                filled=bool(hung or hanging.clips.get(ref)),
                planned=planned,
                gone=gone,
                barred=guard is not None,
                clips=hanging.clips.get(ref, ()) if number == 0 else (),
            )
        )
    return pieces


def _open(ref: Ref) -> list[Line]:
    return [Line("open", SMALL, "second")] if ref.kind == "port" else []


def _says(ref: Ref, hung: Sequence[Hung], to: Sequence[Line]) -> str:
    on = ", ".join(f"{h.tag} {h.detail}".strip() for h in hung) or "nothing"
    goes = " ".join(line.words for line in to)
    return f"{words.short(ref)}: {on}{'; ' + goes if goes else ''}"


def _hung_lines(hung: Hung, place: Ref, hanging: Hanging) -> list[Line]:
    ink = "planned" if hung.state == "planned" else "ink"
    lines = [Line(hung.tag, TAG, ink, hung.detail)]
    for other in hanging.elsewhere(hung.end, place) if hung.ref.kind == "end" else ():
        lines.append(Line(f"{'cord to' if other.kind == 'port' else 'by'} {other.tag}", SMALL, "second"))
    if words.unsure(hung.how, contradicted=hung.contradicted) and hung.how is not None:
        lines.append(Line(words.sure(hung.how, contradicted=hung.contradicted), SMALL))
    return lines


def _to_lines(site: Site, hung: Hung, hanging: Hanging) -> list[Line]:
    """Where a thing on a row goes: outlet, room, how sure; of a further pair of a cable only what is said of that pair."""
    if hung.ref.kind == "pair":
        own = site.about(subject=hung.ref, relation="goes_to")
        run = {"to": [str(c.object) for c in own], "grade": own[-1].support if own else None}
        return _goes(site, run, False) if own else []
    if hung.end is None:
        return _thing_lines(site, hung.ref)
    run_row = hanging.run_of.get(hung.end)
    if run_row is None:
        return []
    lines = _goes(site, run_row, bool(run_row.get("contradicted")))
    return lines + [Line(f"carries {name}", SMALL, "second") for name in hanging.carried(hung.end)]


def _goes(site: Site, run: Run, contradicted: bool) -> list[Line]:
    said, grade = words.run_words(site, run), run["grade"]
    lines: list[Line] = []
    for tag, where in said:
        lines.append(Line(tag, MID, "ink", where) if tag else Line(where, SMALL))
    if not said:
        return [Line(f"{words.NOT_KNOWN} ?", SMALL)]
    return [*lines, Line(words.sure(grade, contradicted=contradicted), SMALL, "second")]


def _thing_lines(site: Site, ref: Ref) -> list[Line]:
    holder = Ref("unit", ref.parent_tag) if ref.kind == "port" and ref.parent_tag else ref
    said = ", ".join(w for w in (words.name_of(site, holder), words.room_of(site, holder)) if w)
    return [Line(said, SMALL)] if said else []


def _unit(site: Site, unit: Thing, hanging: Hanging, more: Sequence[str] = ()) -> list[Piece]:
    ports = ports_of(site, unit.ref, hanging)
    fed = _chain(site, unit.ref)
    at = list(more) or ([unit.text("place")] if unit.text("place") else [])
    pieces = [_head(site, unit, hanging, [*at, *([f"fed by {fed}"] if fed else [])], last=not ports)]
    empty: list[Ref] = []
    for ref in ports:
        thing = site.get(ref)
        gives = thing.text("gives") if thing else ""
        if not hanging.on.get(ref) and gives in ("", "nothing") and (thing is None or thing.stands):
            empty.append(ref)
            continue
        pieces += [*_open_ports(site, empty), *_place(site, ref, hanging, words.mode(gives))]
        empty = []
    return [*pieces, *_open_ports(site, empty)]


def _open_ports(site: Site, refs: Sequence[Ref]) -> list[Piece]:
    if len(refs) > MANY_EMPTY:
        first, last = words.number_of(refs[0]), words.number_of(refs[-1])
        return [
            row(None, f"{first} to {last}, open", number=f"{first} to {last}", on=[Line(f"{len(refs)} open", SMALL)])
        ]
    found: list[Piece] = []
    for ref in refs:
        thing = site.get(ref)
        label = [Line(words.mode(thing.text("gives") if thing else ""), SMALL)]
        made = row(ref, f"{words.short(ref)}, open", number=words.number_of(ref), label=label, on=_open(ref))
        found.append(made)
    return found


def _rack(site: Site, rack: Thing, hanging: Hanging, scale: int, tall: float) -> tuple[list[Piece], str]:
    """The front of a rack to scale where its height is known, then everything in it with its ports."""
    slots, others = closet_rack.slots_of(site, rack)
    units = closet_rack.units_high(rack, slots)
    pieces = [_head(site, rack, hanging, closet_rack.loose_words(others), last=not units and not slots and not others)]
    said = words.SCHEMATIC
    while units and units * closet_rack.UNIT_MM / scale > tall - 40 and scale < 100:
        scale *= 2
    if units:
        pieces.append(closet_rack.RackFront(site, rack, tuple(slots), units, scale, hanging.untouchable))
        said = f"rack at 1:{scale}; {words.SCHEMATIC}"
    for slot in slots:
        at = f"U{slot.high}" if slot.low == slot.high else f"U{slot.high} to U{slot.low}"
        for thing in slot.things:
            pieces += _inside(site, thing, hanging, at)
    for thing in others:
        pieces += _inside(site, thing, hanging, "height in the rack not noted")
    return pieces, said


def _inside(site: Site, thing: Thing, hanging: Hanging, at: str) -> list[Piece]:
    if thing.ref.kind == "unit":
        return _unit(site, thing, hanging, [at])
    return _block(site, thing, hanging) if thing.ref.kind == "block" else []


def _loose(hanging: Hanging, room: Ref | None) -> list[Piece]:
    """Ends that sit on nothing: tag, old label or what was found, and where they go."""
    ends = hanging.loose(room)
    if not ends:
        return []
    pieces: list[Piece] = [head(None, "Loose ends", ["in the room, on no row and in no port"])]
    for end in ends:
        guard = hanging.guard(end.ref)
        hung = Hung(end.ref, end.ref.tag, "", end.ref, end.text("state"))
        to = _to_lines(hanging.site, hung, hanging)
        to += [Line(words.keep_off(guard), STRONG)] if guard is not None else []
        state = words.state_word(end)
        cable = end.ref_of("cable")
        notes = [Line(end.text("label"), SMALL), *([Line(state, STRONG)] if state else [])]
        pieces.append(
            row(
                end.ref,
                f"{end.ref.tag}, loose",
                number=end.ref.tag,
                label=notes,
                on=[Line(end.text("found"), SMALL, "second"), Line(f"cable {cable.tag}" if cable else "", SMALL)],
                to=to,
                planned=state == "to be added",
                gone=state in ("out of use", "lost"),
                barred=guard is not None,
                square=False,
            )
        )
    return pieces


def _mains(site: Site, room: Ref, hanging: Hanging) -> list[Piece]:
    """Sockets and strips of the room with what is in them and what feeds them, and the breakers behind."""
    sockets = [*_in(site, "socket", room), *_in(site, "switch", room)]
    feeding = [r for s in sockets for r in _feeders(site, s.ref)]
    feeding += [r for u in _in(site, "unit", room) for r in _feeders(site, u.ref)]
    others = [
        r for r in dict.fromkeys(feeding) if r.kind in ("circuit", "switch") and r not in [s.ref for s in sockets]
    ]
    if not sockets and not others:
        return []
    pieces: list[Piece] = [head(None, "Mains", ["for licensed trades; here only to know what feeds what"])]
    for ref in [*(s.ref for s in sockets), *others]:
        thing = site.get(ref)
        state = words.state_word(thing)
        hung = hanging.on.get(ref, [])
        what = {"circuit": "breaker", "switch": "switch", "socket": "socket"}[ref.kind]
        label = [w for w in (thing.text("name"), thing.text("board")) if w] if thing else []
        label = label if label and what in label[0] else [what, *label]
        is_on = (thing.text("turned") or thing.text("breaker") or thing.text("usual")) if thing else ""
        fed = _chain(site, ref)
        pieces.append(
            row(
                ref,
                f"{what} {ref.tag}",
                number=ref.tag,
                label=[Line(", ".join(label), SMALL), Line(state, STRONG)],
                on=[Line(h.tag, TAG) for h in hung] or [Line("nothing noted", SMALL, "second")],
                to=[Line(f"fed by {fed}" if fed else "", SMALL), Line(f"is {is_on}" if is_on else "", SMALL)],
                filled=bool(hung),
                planned=state == "to be added",
                gone=state == "out of use",
            )
        )
    return pieces


def _feeders(site: Site, ref: Ref) -> list[Ref]:
    """What feeds a thing, from near to far; a port of a UPS stands for the UPS."""
    found: list[Ref] = []
    here: Ref | None = ref
    while here is not None and len(found) < MAINS_LONG:
        claim = site.best(here, "fed_by")
        if claim is None and here.kind == "port" and here.parent_tag:
            claim = site.best(Ref("unit", here.parent_tag), "fed_by")
        here = claim.object if claim and claim.object not in found else None
        found += [here] if here else []
    return found


def _chain(site: Site, ref: Ref) -> str:
    """The chain of mains in words, with how sure its weakest link is told where it is unsure."""
    links = _feeders(site, ref)
    if not links:
        return ""
    grades = [c for one in (ref, *links) if (c := site.best(one, "fed_by"))]
    unsure = any(words.unsure(c.support, contradicted=c.contradicted) for c in grades)
    return ", behind it ".join(r.tag for r in links) + (" ?" if unsure else "")
