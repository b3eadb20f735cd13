"""The front of a closet as a drawing: blocks and racks with all their rows and ports, loose ends, mains; and its sheets."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Mapping, Sequence

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.papers import closet_marks as marks
from pullstring.papers import closet_words as words
from pullstring.papers import figures, svg
from pullstring.papers.closet_flow import Stood, columns_of
from pullstring.papers.closet_hanging import Hanging, Run
from pullstring.papers.closet_marks import HEAD, SMALL, STRONG, Line, fitted, height, stacked
from pullstring.papers.closet_parts import pieces_of
from pullstring.papers.closet_rows import GUTTER, LANES, WIDTH, Row
from pullstring.papers.ink import DAY, Inks

EDGE, BETWEEN = 3.5, 4.0
PAPER_MM = {"portrait": (196.0, 283.0), "landscape": (283.0, 196.0)}
"""What a sheet of A4 (ISO 216) holds inside a white edge of 7 mm, upright and turned."""


@dataclasses.dataclass(frozen=True)
class Front:
    """A front laid out: its pieces in columns, and the words of its frame."""

    site: Site
    board: Ref | None
    stood: tuple[Stood, ...]
    columns: int
    tall: float
    paper: str
    inks: Inks
    scale_words: str


def boards(site: Site) -> list[Ref | None]:
    """Every place where cables come together: closets, then blocks and racks elsewhere; None for ends without a room."""
    closets = [r.ref for r in site.of_kind("room") if r.text("closet") == "yes" and r.text("state") != "removed"]
    found: list[Ref | None] = list(closets)
    for kind in ("block", "rack"):
        for thing in site.of_kind(kind):
            if thing.text("state") != "removed" and thing.ref_of("room") not in closets:
                found.append(thing.ref)
    if Hanging(site, [], {}).loose(None):
        found.append(None)
    return found


def closet_svg(
    site: Site,
    *,
    board: Ref | None,
    inks: Inks = DAY,
    scale: int = 10,
    untouchable: Mapping[str, str] | Collection[str] = (),
    runs: Sequence[Run] | None = None,
) -> str:
    """The front of one closet, block or rack as one drawing, in as many columns of a sheet's height as it needs.

    Parameters
    ----------
    site : Site
        The as-built site.
    board : Ref or None
        A room, block or rack; None for closet ends of which nobody noted the room.
    inks : Inks
        Day, night or black only.
    scale : int
        Of racks: 10 draws a rack unit 4.4 mm high, 20 half of it. Rows are drawn in their order, not to scale.
    untouchable : mapping or collection of str
        References that only somebody else may touch, if known with whom.
    runs : sequence of mapping or None
        Where each end goes, as the verb `runs` answers; without it the strongest saying counts.
    """
    front = _front(site, board, inks=inks, scale=scale, untouchable=untouchable, runs=runs, paper="portrait")
    return _drawn(front, 0, front.columns, "")


def closet_sheets(
    site: Site,
    *,
    board: Ref | None,
    paper: str = "portrait",
    inks: Inks = DAY,
    scale: int = 10,
    untouchable: Mapping[str, str] | Collection[str] = (),
    runs: Sequence[Run] | None = None,
) -> list[str]:
    """The same front cut into drawings that each fit A4, `portrait` or `landscape`; letters keep their size."""
    front = _front(site, board, inks=inks, scale=scale, untouchable=untouchable, runs=runs, paper=paper)
    each = _columns_on(paper)
    count = math.ceil(front.columns / each)
    return [
        _drawn(front, n * each, min(front.columns, n * each + each), f"sheet {n + 1} of {count}" if count > 1 else "")
        for n in range(count)
    ]


def _columns_on(paper: str) -> int:
    return int((PAPER_MM[paper][0] - 2 * EDGE + BETWEEN) // (WIDTH + BETWEEN))


def _front(
    site: Site,
    board: Ref | None,
    *,
    inks: Inks,
    scale: int,
    untouchable: Mapping[str, str] | Collection[str],
    runs: Sequence[Run] | None,
    paper: str,
) -> Front:
    if scale < 1:
        raise ValueError(f"a scale is a whole number such as 10 or 20, not {scale}")
    guarded = dict(untouchable) if isinstance(untouchable, Mapping) else dict.fromkeys(untouchable, "")
    hanging = Hanging(site, runs, guarded)
    each = _columns_on(paper)
    inner = each * WIDTH + (each - 1) * BETWEEN
    tall = PAPER_MM[paper][1] - _top_height(site, board, inner) - _foot_height(inner) - 2 * EDGE
    pieces, said = pieces_of(site, board, hanging, scale=scale, tall=tall)
    stood = columns_of(pieces, tall=tall)
    columns = max((s.column for s in stood), default=0) + 1
    return Front(site, board, tuple(stood), columns, tall, paper, inks, said)


def _top(site: Site, board: Ref | None, sheet: str, said: str, width: float) -> list[Line]:
    named = next(iter(site.of_kind("property")), None)
    place = (named.text("name") or named.ref.tag) if named else "property not named"
    as_of = f"as of {figures.date(site.as_of)}" if site.as_of else "the whole record"
    under = " · ".join(w for w in (place, "front view", as_of, said or words.SCHEMATIC, sheet) if w)
    return fitted([Line(words.caption(site, board), HEAD), Line(under, SMALL, "second")], width - 4)


def _top_height(site: Site, board: Ref | None, width: float) -> float:
    return height(_top(site, board, "sheet 10 of 10", "racks at 1:10; " + words.SCHEMATIC, width)) + 4.0


KEY_W = 43.0


def _key(width: float) -> list[tuple[str, list[Line]]]:
    return [(what, fitted([Line(said, SMALL)], KEY_W - 8)) for what, said in words.KEY.items()]


def _foot_height(width: float) -> float:
    each = max(1, int((width - 4) // KEY_W))
    cells = _key(width)
    rows = [cells[n : n + each] for n in range(0, len(cells), each)]
    return sum(max(height(lines) for _, lines in row) + 1.0 for row in rows) + 3.0


def _drawn(front: Front, first: int, after: int, sheet: str) -> str:
    mine = [s for s in front.stood if first <= s.column < after]
    low = max((s.y + s.piece.height for s in mine), default=0.0)
    count = after - first
    if low > 0.7 * front.tall:  # a narrow sheet has a higher key, and then no room for a full column
        count = max(count, _columns_on(front.paper))
    inner = count * WIDTH + (count - 1) * BETWEEN
    width = inner + 2 * EDGE
    top = _top(front.site, front.board, sheet, front.scale_words, inner)
    head, foot = height(top) + 4.0, _foot_height(inner)
    total = EDGE + head + max(low, 12.0) + foot + EDGE
    parts = [svg.rect((0.6, 0.6), width - 1.2, total - 1.2, "frame"), *stacked(top, (EDGE + 1, EDGE + 1))]
    parts.append(svg.stroke(svg.path([(0.6, EDGE + head - 1.5), (width - 0.6, EDGE + head - 1.5)]), "heavy"))
    if not mine:
        nothing = Line("Nothing is noted here yet.", SMALL)
        parts += stacked([nothing], (EDGE + GUTTER, EDGE + head + 2))
    for stood in mine:
        x = EDGE + (stood.column - first) * (WIDTH + BETWEEN)
        parts += stood.piece.at(x, EDGE + head + stood.y)
    parts += _clips(mine, first, EDGE + head)
    parts += _foot(width, EDGE + head + max(low, 12.0) + 1.5, inner)
    caption = words.caption(front.site, front.board)
    return marks.document(
        parts,
        width=width,
        height=total,
        inks=front.inks,
        says=f"Closet front: {caption}{', ' + sheet if sheet else ''}",
    )


def _clips(mine: Sequence[Stood], first: int, top: float) -> list[str]:
    """Bridging clips between rows of one column, each in a lane of its own at the left; others are told in words."""
    where = {s.piece.ref: (s, s.piece) for s in mine if isinstance(s.piece, Row) and s.piece.ref and s.piece.clips}
    lanes: dict[int, list[tuple[float, float, int]]] = {}
    parts: list[str] = []
    for ref, (stood, piece) in where.items():
        for other in piece.clips:
            if other not in where or where[other][0].column != stood.column or not ref < other:
                continue
            x = EDGE + (stood.column - first) * (WIDTH + BETWEEN)
            ends = sorted(top + s.y + p.height / 2 for s, p in ((stood, piece), where[other]))
            taken = lanes.setdefault(stood.column, [])
            free = [n for n in range(len(LANES)) if all(n != m or ends[1] < a or b < ends[0] for a, b, m in taken)]
            if not free:
                continue
            lane = free[-1]
            taken.append((ends[0], ends[1], lane))
            u, right = x + LANES[lane], x + GUTTER
            line = svg.path([(right, ends[0]), (u, ends[0]), (u, ends[1]), (right, ends[1])])
            parts += marks.group(
                ref, f"bridging clip from {ref.tag} to {other.tag}",
                [svg.stroke(line, "bridge"), *(svg.circle((right, y), 0.8, "solid") for y in ends)],
            )  # fmt: skip
    return parts


def _foot(width: float, y: float, inner: float) -> list[str]:
    """The key of all marks."""
    parts = [svg.stroke(svg.path([(0.6, y), (width - 0.6, y)]), "thin")]
    each, cells, top = max(1, int((inner - 4) // KEY_W)), _key(inner), y + 1.5
    for n in range(0, len(cells), each):
        row = cells[n : n + each]
        for place, (what, lines) in enumerate(row):
            x = EDGE + 1 + place * KEY_W
            parts += [*_swatch(what, x, top), *stacked(lines, (x + 7.0, top))]
        top += max(height(lines) for _, lines in row) + 1.0
    return parts


def _swatch(what: str, x: float, y: float) -> list[str]:
    if what == "bars":
        return marks.bars(x, y, 5.5, 2.6)
    if what == "new":
        return [svg.rect((x, y + 0.2), 5.5, 2.4, "new")]
    if what == "slash":
        return [svg.rect((x, y), 5.5, 2.8, "face"), *marks.slash(x, y, 5.5, 2.8)]
    if what == "open":
        return [svg.rect((x + 1.8, y + 0.5), 1.7, 1.7, "hole")]
    if what == "bridge":
        line = svg.path([(x + 4, y + 0.5), (x + 1, y + 0.5), (x + 1, y + 2.4), (x + 4, y + 2.4)])
        return [svg.stroke(line, "bridge")]
    return [marks.text(Line("?", STRONG), (x + 2.2, y + 2.3))]
