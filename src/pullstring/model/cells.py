"""One cell of a table: from what stands in it to a value, or a sentence that says what would be right."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation

from pullstring.model.acts import ACTS
from pullstring.model.columns import Column, did_you_mean
from pullstring.model.entries import NONE_SAID, Scalar
from pullstring.model.geometry import outline_text, parse_outline
from pullstring.model.layers import BadLayers, layers_text, parse_layers
from pullstring.model.refs import ALWAYS_THERE, PARTS, REF_JOIN, BadName, Ref, parse_ref
from pullstring.model.sealed import is_sealed
from pullstring.model.units import parse_quantity
from pullstring.model.when import parse_when

_MONEY = re.compile(r"(-?\d+(?:[.,]\d{1,2})?)\s*([^\d\s.,;-]{1,12})?")


class BadCell(ValueError):
    """A cell that cannot be read; its text is the sentence."""


class Missing(BadCell):
    """A cell that names a thing which is nowhere."""


class Names:
    """The things that cells may name: those of the record and of the tables, each as it is spelled there."""

    def __init__(self, known: Mapping[Ref, Ref], more: Iterable[Ref]) -> None:
        self._named = {ref: ref for ref in map(parse_ref, ALWAYS_THERE)} | dict(known)
        for ref in more:
            self._named.setdefault(ref, ref)

    def __getitem__(self, ref: Ref) -> Ref:
        return self._named[ref]

    def spelled(self, ref: Ref) -> Ref:
        """The reference as it is spelled where the thing was made; raises Missing."""
        if not self._known(ref):
            raise Missing(self._sentence([ref], ref.tag))
        return self._named.get(ref, ref)

    def find(self, text: str, kinds: tuple[str, ...]) -> Ref:
        """The thing of one of the kinds that a cell names by tag or by kind:TAG."""
        if ":" in text:
            ref = parse_ref(text)
            if kinds and ref.kind not in kinds:
                raise BadCell(f"{text!r} names a {ref.kind}; here goes a {' or '.join(kinds)}")
            return self.spelled(ref)
        if not kinds:
            return self.spelled(parse_ref(text))
        tried = [Ref(kind, text) for kind in kinds]
        there = [ref for ref in tried if self._known(ref)]
        if len(there) > 1:
            raise BadCell(f"{text!r} may be {' or '.join(str(r) for r in there)}; write the one that is meant")
        if not there:
            raise Missing(self._sentence(tried, text))
        return self.spelled(there[0])

    def knows(self, text: str, kinds: tuple[str, ...]) -> bool:
        """Whether a text is the tag, or kind:TAG, of something that can be named."""
        try:
            return any(
                self._known(ref) for ref in ([parse_ref(text)] if ":" in text else [Ref(k, text) for k in kinds])
            )
        except BadName:
            return False

    def _known(self, ref: Ref) -> bool:
        parent = ref.parent_tag
        return ref in self._named or (parent is not None and Ref(PARTS[ref.kind], parent) in self._named)

    def _sentence(self, tried: list[Ref], text: str) -> str:
        kinds_tried = {r.kind for r in tried}
        close = did_you_mean(text, [r.tag for r in self._named if r.kind in kinds_tried])
        return f"there is no {' or '.join(r.kind for r in tried)} {text!r} in the tables or the record{close}"


def read_cell(column: Column, text: str, unit: str | None, names: Names) -> Scalar:
    """The value of a cell.

    Parameters
    ----------
    column : Column
        What it may hold.
    text : str
        What stands in it; not blank.
    unit : str or None
        Unit that the header names.
    names : Names
        What a reference may name.

    Raises
    ------
    BadCell, BadQuantity, BadName, BadOutline, BadDate
        Each with one sentence: what is wrong and what would be right.
    """
    kind = column.type.partition(":")[0]
    if "\n" in text and kind != "text":
        raise BadCell(
            f"the cell that begins with {text.splitlines()[0][:40]!r} runs over several rows; close its quote"
        )
    if text.casefold() == NONE_SAID and kind not in ("tag", "anyref", "act") and "none" not in column.options:
        return NONE_SAID
    if kind in ("ref", "relation"):
        return str(names.find(text, column.options))
    if kind in ("refs", "anyrefs"):
        return REF_JOIN.join(str(names.find(part, column.options)) for part in _parts(text, names, column.options))
    if kind == "anyref":
        return str(names.spelled(parse_ref(text)))
    if kind == "tag":
        return str(Ref("any", text).tag)
    return _plain(column, kind, text, unit)


def _parts(text: str, names: Names, kinds: tuple[str, ...]) -> list[str]:
    """The tags in a cell that names several: parted by & or ; or by spaces, but a known tag with spaces stays whole."""
    parts: list[str] = []
    for piece in re.split(r"[&;]", text):
        words = piece.split()
        while words:
            last = next((n for n in range(len(words), 1, -1) if names.knows(" ".join(words[:n]), kinds)), 1)
            parts.append(" ".join(words[:last]))
            del words[:last]
    return parts


def _plain(column: Column, kind: str, text: str, unit: str | None) -> Scalar:
    if kind == "number":
        read = parse_quantity(text, column.of, unit=unit)
        if read.sign != "=":
            raise BadCell(f"{text!r} has a sign of comparison; only a reading in the table measurements may have one")
        return _in_range(column, read.value)
    if kind == "whole":
        if not text.removeprefix("-").isdecimal():
            raise BadCell(f"{text!r} is no whole number")
        if len(text) > 15:
            raise BadCell(f"{text[:20]!r} has too many digits")
        return int(_in_range(column, int(text)))
    if kind == "choice":
        return _choice(text, column.options)
    if kind == "act":
        return _choice(text, tuple(ACTS))
    if kind == "outline":
        return outline_text(parse_outline(text))
    if kind == "layers":
        return _layers(text)
    if kind == "when":
        return parse_when(text).text
    if kind == "money":
        return _money(text)
    if kind == "secret" and not is_sealed(text):
        raise BadCell("a secret never stands here in plain; leave the cell blank and enter it sealed with: add --seal")
    return text


def _layers(text: str) -> str:
    try:
        return layers_text(parse_layers(text))
    except BadLayers as error:
        raise BadCell(str(error)) from error


def _choice(text: str, options: tuple[str, ...]) -> str:
    match = next((o for o in options if o.casefold() == " ".join(text.split()).casefold()), None)
    if match is None:
        raise BadCell(f"{text!r} is not one of {', '.join(options)}{did_you_mean(text, options)}")
    return match


def _money(text: str) -> str:
    """An amount with two decimals at most and its currency, if named: `240 cr`."""
    found = _MONEY.fullmatch(text.strip())
    try:
        if found is None:
            raise InvalidOperation
        amount = Decimal(found[1].replace(",", "."))
    except InvalidOperation as error:
        raise BadCell(f"{text!r} is no amount; write it as 240 or 240.50, with its currency after it") from error
    return f"{amount} {found[2]}" if found[2] else str(amount)


def _in_range(column: Column, value: float) -> float:
    if not column.low <= value <= column.high:
        bounds = f"{column.low:g} or more" if column.high == math.inf else f"from {column.low:g} to {column.high:g}"
        raise BadCell(f"{value:g} cannot be; {column.name} is {bounds}")
    return value
