"""One door for all labels of a site: what, on what, and what was left out, in sentences."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref, natural, tag_key
from pullstring.model.when import BadDate, parse_when
from pullstring.papers import figures, words_labels
from pullstring.papers.ink import BLACK_ONLY, DAY
from pullstring.papers.labels import BadLabel, refuse_secret
from pullstring.papers.labels_art import Piece
from pullstring.papers.labels_card import CARDS_MM, card_pages
from pullstring.papers.labels_code import code_text
from pullstring.papers.labels_face import lacking, printable
from pullstring.papers.labels_kinds import (
    Found,
    Wanted,
    chosen,
    ends,
    good_ports,
    outlets,
    protected,
    reserved,
    temporary,
    units,
)
from pullstring.papers.labels_sheets import Laid, Shape, Spot, on_sheet, on_tape, refuse_diameter
from pullstring.papers.labels_strips import Cell, Strip, refuse_pitch, split_to, strips
from pullstring.papers.sheet_geometry import Sheet, Tape, medium
from pullstring.papers.typst_page import Form, sheets

MAKERS = {
    "ends": ends,
    "outlets": outlets,
    "protected": protected,
    "reserved": reserved,
    "units": units,
    "temporary": temporary,
}
KINDS = (*MAKERS, "ports", "card")
"""What can be printed."""


@dataclasses.dataclass(frozen=True)
class Made:
    """The bytes (empty when there is nothing to print), what was left out or changed, and where each label lies."""

    data: bytes
    left: tuple[str, ...]
    spots: tuple[Spot, ...] = ()
    pages: int = 0


def labels_for(
    site: Site,
    what: str,
    *,
    on: str,
    today: str,
    used: int | Collection[int] = 0,
    only: Sequence[Ref] = (),
    day: str | None = None,
    role: str | None = None,
    do_not_touch: Mapping[str, str] | None = None,
    power: Mapping[str, Any] | None = None,
    cable_mm: float | None = None,
    pitch_mm: float | None = None,
    black_only: bool = False,
    form: Form = "pdf",
    ppi: float | None = None,
) -> Made:
    """Labels of one kind for a site.

    Parameters
    ----------
    site : Site
        The as-built site.
    what : str
        One of `KINDS`.
    on : str
        `tape12`, `tape24`, `a4`, another of `MEDIA`, or a sheet in millimetres (`sheet_of`); for a card `a5` or `a4`.
    today : str
        Day of the question, for the card.
    used : int or collection of int
        How many places at the start of the first sheet are gone, or which ones, counted from 0 along the rows.
    only : sequence of Ref
        Things to print for; none means all.
    day, role : str or None
        What stands on a reserved tag; else what the record says.
    do_not_touch, power : mapping or None
        `answer["do_not_touch"]` of `if-cut` without tags, for `protected`; the answer of `power`, for `ports`, `card`, `units`.
    cable_mm : float or None
        Diameter of a cable: labels become flags that go round it. [mm]
    pitch_mm : float or None
        From port to port, for `ports`. [mm]
    black_only : bool
        No red ink.

    Returns
    -------
    Made
        Same record and request, same bytes.
    """
    if what not in KINDS:
        raise BadLabel(f"labels {what!r}: there are no such labels; there are {', '.join(KINDS)}")
    _refuse_day(day)
    inks = BLACK_ONLY if black_only else DAY
    if what == "card":
        return _cards(site, power or {}, on=on, today=today, only=only, black_only=black_only, form=form, ppi=ppi)
    if cable_mm is not None:
        refuse_diameter(cable_mm)
        if what != "ends":
            raise BadLabel(f"labels {what!r}: flags are made for ends only; leave the diameter out")
    place = medium(on)
    if isinstance(place, Sheet):
        place = place.with_used(used if isinstance(used, int) else frozenset(used))
    found = Found()
    pieces: list[Piece | Strip]
    if what == "ports":
        card = (power or {}).get("card", ())
        made = strips(site, card, guarded=do_not_touch or (), pitch_mm=refuse_pitch(pitch_mm))
        pieces = [part for strip in _asked(made, only, found.left) for part in _parts(strip, place)]
    else:
        known = Wanted(today, day, role, do_not_touch or {}, good_ports(power or {}))
        found = MAKERS[what](site, known)
        picked = sorted(chosen(found, only, what), key=lambda pair: natural(tag_key(pair[1].large)))
        pieces = [_checked(site, piece, found.left) for _, piece in picked]
    if not pieces:
        return Made(b"", (*_once(found.left), words_labels.nothing(what)))
    shape = Shape(inks, cable_mm)
    laid = on_sheet(pieces, place, shape) if isinstance(place, Sheet) else on_tape(pieces, place, shape)
    return _made(laid, found.left, title=f"Labels, {what}", name=place.name, form=form, ppi=ppi)


def _refuse_day(day: str | None) -> None:
    try:
        parse_when(day or "2000")
    except BadDate as error:
        raise BadLabel(f"labels: {error}") from error


def _once(said: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said))


def _made(laid: Laid, left: Sequence[str], *, title: str, name: str, form: Form, ppi: float | None) -> Made:
    told = [*left]
    for says, words in laid.cut:
        tag = says.partition(" ")[2]
        told.append(words_labels.no_room_for_code(tag) if words == "code" else words_labels.cut(tag, words))
    if not laid.ruled:
        told.append(words_labels.no_rule(name))
    data = sheets(laid.pages, width_mm=laid.width_mm, height_mm=laid.height_mm, title=title, form=form, ppi=ppi)
    return Made(data, _once(told), laid.spots, len(laid.pages))


def _checked(site: Site, piece: Piece, left: list[str]) -> Piece:
    """The piece with its code as it can be coded, in letters that can be printed, and without what must not be."""
    tag = piece.large
    lines = []
    for line in piece.lines:
        try:
            refuse_secret(tag, line)
            lines.append(printable(line, exact=False))
        except BadLabel:
            left.append(words_labels.secret(tag))
    if missing := lacking(" ".join((piece.large, *piece.lines))):
        left.append(words_labels.lacking(tag, missing))
    code = code_text(site.property_tag, piece.code or tag)
    if code is None:
        left.append(words_labels.no_code(tag))
    return dataclasses.replace(piece, large=printable(tag, exact=True), lines=tuple(lines), code=code)


def _asked(made: Sequence[tuple[Ref, Strip]], only: Sequence[Ref], left: list[str]) -> list[Strip]:
    """The strips of what was asked for; what has none is told."""
    known = [ref for ref, _ in made]
    left += [words_labels.not_this_kind(ref.tag, "ports") for ref in only if ref not in known]
    return [_checked_strip(strip, left) for ref, strip in made if not only or ref in only]


def _parts(strip: Strip, place: Sheet | Tape) -> list[Strip]:
    """The strip as it is on tape; on a sheet as many parts as its narrowest label needs."""
    if isinstance(place, Tape):
        return [strip]
    return split_to(strip, min(place.printed(n)[2] for n in range(place.places)))


def _checked_strip(strip: Strip, left: list[str]) -> Strip:
    """The strip in letters that can be printed."""
    words = " ".join((strip.large, *(f"{c.number} {c.on_it}" for c in strip.cells)))
    if missing := lacking(words):
        left.append(words_labels.lacking(strip.large, missing))
    cells = tuple(Cell(printable(c.number, exact=True), printable(c.on_it, exact=True), c.always) for c in strip.cells)
    return dataclasses.replace(strip, large=printable(strip.large, exact=True), cells=cells)


def _cards(
    site: Site,
    power: Mapping[str, Any],
    *,
    on: str,
    today: str,
    only: Sequence[Ref],
    black_only: bool,
    form: Form,
    ppi: float | None,
) -> Made:
    if on not in CARDS_MM:
        raise BadLabel(f"card: {on!r} is no size of a card; there are {', '.join(CARDS_MM)}")
    asked = [one for one in power.get("card", ()) if not only or Ref("unit", one["unit"]) in only]
    left = [words_labels.not_this_kind(r.tag, "card") for r in only if r.tag not in [one["unit"] for one in asked]]
    if not asked:
        return Made(b"", (*left, words_labels.nothing("card")))
    pages, cut = card_pages(site, asked, size=on, day=figures.date(today), inks=BLACK_ONLY if black_only else DAY)
    left += [words_labels.cut(tag, words) for tag, words in cut]
    width, height = CARDS_MM[on]
    data = sheets(pages, width_mm=width, height_mm=height, title="Port card", form=form, ppi=ppi)
    return Made(data, _once(left), (), len(pages))
