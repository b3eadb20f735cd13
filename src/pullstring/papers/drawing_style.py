"""The style of drawings: colours and line weights as plain long-hand CSS, which print programs read too.

No variables, no short-hand, and all lengths in units of the viewBox: the strictest reader of our SVG is the one that
makes the PDF. Sizes are those of a sheet at 1:100, in metres of the house; `k` carries them to another scale, so that
letters and lines are equally large on every sheet.
"""

from __future__ import annotations

from pullstring.papers.ink import Inks

TAG = 0.24
NAME = 0.34
LITTLE = 0.24  # a name that is too long for its room
AREA = 0.24
RUN = 0.2  # tags of the runs that arrive, under the tag of a thing
SMALL = 0.22
TITLE = 0.3
LEVEL = 0.24  # number in a line of equal level
EDGE_LEVEL = 0.28
READ, FORESEEN = 0.24, 0.2  # beside a cross: what was read, what is predicted
SANS_EM = 0.6  # mean width of a letter in its size, rounded up from B612's 0.57
MONO_EM = 0.65  # every letter of B612 Mono


def plan_css(inks: Inks, *, under: str = "") -> str:
    """Colours of all parts of a drawing; `under` is put before each selector."""
    rules = {
        ".bg,.pf,.solid": f"fill:{inks.sheet}",
        ".ps": f"stroke:{inks.ink};fill:none",
        ".grid": f"stroke:{inks.grid};fill:none",
        ".ground": "fill:none;stroke:none;pointer-events:all",
        ".edge,.thin,.wall,.mark,.rule": f"stroke:{inks.ink};fill:none",
        ".toadd": f"stroke:{inks.red};fill:{inks.sheet}",
        ".is": f"fill:{inks.ink};stroke:{inks.ink}",
        ".new": f"fill:{inks.sheet};stroke:{inks.red}",
        ".hollow": f"fill:{inks.sheet};stroke:{inks.ink}",
        ".gap,.core": f"fill:none;stroke:{inks.sheet}",
        ".isline,.there,.remove,.unknown,.leader,.guard": f"fill:none;stroke:{inks.ink}",
        ".newline,.pulled,.planned": f"fill:none;stroke:{inks.red}",
        ".unknown.planned,.trunk.planned,.trunk.pulled": f"stroke:{inks.red}",
        ".trunk": f"fill:none;stroke:{inks.ink}",
        ".hollow-line": f"fill:none;stroke:{inks.sheet}",
        ".bar,.dot": f"fill:{inks.ink};stroke:none",
        ".name,.tag,.small,.cell": f"fill:{inks.ink}",
        ".area,.second": f"fill:{inks.ink_2}",
        ".tag.plan": f"fill:{inks.red}",
        ".isoline-plain,.isoline-agreed,.isoline-weakest,.unseen,.cross": f"fill:none;stroke:{inks.blue}",
        ".cross.under": f"stroke:{inks.sheet}",
        ".toread": f"fill:{inks.sheet};stroke:{inks.blue}",
        ".isonum,.read,.foreseen": f"fill:{inks.blue};stroke:{inks.sheet}",
        ".name,.area,.tag": f"stroke:{inks.sheet}",
    }
    return "".join(f"{_scoped(selector, under)}{{{body}}}" for selector, body in rules.items())


def plan_sizes(k: float) -> str:
    """Weights and letter sizes of all parts of a drawing."""

    def s(value: float) -> str:
        return f"{value * k:.4f}".rstrip("0").rstrip(".")

    rules = {
        ".name,.area,.small,.cell,.second": 'font-family:B612,"DejaVu Sans",sans-serif;font-weight:400',
        ".name": f"font-size:{s(NAME)}px",
        ".area": f"font-size:{s(AREA)}px",
        ".tag": f'font-family:"B612 Mono","DejaVu Sans Mono",monospace;font-weight:400;font-size:{s(TAG)}px',
        ".tag.run": f"font-size:{s(RUN)}px",
        ".tag.word": f'font-family:B612,"DejaVu Sans",sans-serif;font-size:{s(RUN)}px',
        ".name.little": f"font-size:{s(LITTLE)}px",
        ".small,.second": f"font-size:{s(SMALL)}px",
        ".cell": f"font-size:{s(TITLE)}px;font-weight:700",
        ".cell.little": f"font-size:{s(SMALL)}px",
        ".tag,.name,.area": f"stroke-width:{s(0.09)};paint-order:stroke;stroke-linejoin:round",
        ".grid": f"stroke-width:{s(0.016)}",
        ".edge,.thin": f"stroke-width:{s(0.02)}",
        ".rule": f"stroke-width:{s(0.03)}",
        ".mark,.ps": f"stroke-width:{s(0.026)}",
        ".wall": f"stroke-width:{s(0.038)};stroke-linejoin:miter",
        ".wall.heavy": f"stroke-width:{s(0.055)}",
        ".toadd": f"stroke-width:{s(0.045)};stroke-dasharray:{s(0.24)} {s(0.12)}",
        ".is,.new,.hollow": f"stroke-width:{s(0.04)};stroke-linejoin:miter",
        ".isline,.newline": f"stroke-width:{s(0.04)}",
        ".gap": f"stroke-width:{s(0.045)}",
        ".core": f"stroke-width:{s(0.2)}",
        ".there,.remove": f"stroke-width:{s(0.024)}",
        ".pulled": f"stroke-width:{s(0.06)}",
        ".planned": f"stroke-width:{s(0.06)};stroke-dasharray:{s(0.24)} {s(0.12)}",
        ".unknown": f"stroke-width:{s(0.03)};stroke-dasharray:{s(0.03)} {s(0.06)}",
        ".leader": f"stroke-width:{s(0.016)}",
        ".guard": f"stroke-width:{s(0.045)};stroke-linejoin:miter",
        ".keep": f"stroke-width:{s(0.02)}",
        ".trunk": f"stroke-width:{s(0.12)}",
        ".hollow-line": f"stroke-width:{s(0.07)}",
        ".lost": f"stroke-width:{s(0.03)}",
        ".isoline-plain": f"stroke-width:{s(0.024)};stroke-linecap:round;stroke-linejoin:round",
        ".isoline-agreed": f"stroke-width:{s(0.065)};stroke-linecap:round;stroke-linejoin:round",
        ".isoline-weakest": f"stroke-width:{s(0.03)};stroke-linecap:round;stroke-dasharray:{s(0.03)} {s(0.09)}",
        ".unseen": f"stroke-width:{s(0.014)}",
        ".cross": f"stroke-width:{s(0.05)}",
        ".cross.under": f"stroke-width:{s(0.13)};stroke-linecap:square",
        ".toread": f"stroke-width:{s(0.03)};stroke-linejoin:miter",
        ".isonum": f'font-family:"B612 Mono","DejaVu Sans Mono",monospace;font-weight:400;font-size:{s(LEVEL)}px',
        ".isonum.edge,.read": f'font-family:B612,"DejaVu Sans",sans-serif;font-weight:700;font-size:{s(EDGE_LEVEL)}px',
        ".read": f"font-size:{s(READ)}px",
        ".foreseen": f'font-family:B612,"DejaVu Sans",sans-serif;font-weight:400;font-size:{s(FORESEEN)}px',
        ".isonum,.read,.foreseen": f"stroke-width:{s(0.12)};paint-order:stroke;stroke-linejoin:round",
        ".read,.foreseen": f"stroke-width:{s(0.04)}",  # on paper each letter's halo lies over the letter before it
        ".dash": f"stroke-dasharray:{s(0.1)} {s(0.08)}",
    }
    return "".join(f"{_scoped(selector, '')}{{{body}}}" for selector, body in rules.items())


def _scoped(selectors: str, under: str) -> str:
    return ",".join(f"{under}.plan {selector}" for selector in selectors.split(","))
