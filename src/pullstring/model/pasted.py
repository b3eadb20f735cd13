"""Pasted lines (an owner's message, a scribble) as rooms, gear, speeds, times and wishes; nothing is lost.

The text is parted into pieces: lines, sentences, and what stands between commas. Figures are found by their forms,
words by the table `data/pasted_words.csv`. A piece with a word that nobody knows is kept whole in `left`.
"""

from __future__ import annotations

import dataclasses
import functools
import re

from pullstring.model.pasted_scan import Found, Scan, Told
from pullstring.model.pasted_words import tokens, words_at


@dataclasses.dataclass(frozen=True)
class Pasted:
    """All that the lines say. `left` holds whole pieces in which something was not understood.

    `lines` and `pieces` are all lines and pieces in their order; `withheld` counts lines
    that look like a secret: they are kept nowhere.
    """

    rooms: tuple[Told, ...]
    found: tuple[Found, ...]
    pieces: tuple[str, ...]
    left: tuple[str, ...]
    withheld: int
    lines: tuple[str, ...] = ()

    def of(self, *whats: str) -> tuple[Found, ...]:
        """What was understood of some sorts."""
        return tuple(f for f in self.found if f.what in whats)


SHORT = (
    "approx",
    "ca",
    "c",
    "no",
    "nr",
    "st",
    "incl",
    "max",
    "min",
    "abt",
    "tel",
    "ft",
    "fl",
    "mr",
    "mrs",
    "dr",
    "i.e",
    "e.g",
)
NUM = r"(?P<{}>\d+(?:[.,]\d+)*)"
WORDNUM = r"(?P<n>\d+(?:[.,]\d+)?|a couple of|one|two|three|four|five|six|seven|eight|nine|ten)"
UNIT = r"\s*(?P<{}>[mgk]bit(?:/s|s)?|[mgk]bps|[mg]b/s|megabits?|gigabits?|megs?|gigs?|gigabit|mb|gb)\b"
TIME = (
    r"(?:[01]?\d|2[0-4])[:.h][0-5]\d(?:\s*[ap]\.?m\b\.?)?(?!\d)|\b(?:[01]?\d|2[0-4])\s*(?:[ap]m\b|o'?clock|uhr|hrs\b|h\b)|"
    r"\bnoon\b|\bmidday\b|\bmidnight\b"
)
DAY = (
    r"\b\d{4}-\d\d-\d\d\b|\b(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\b|\btoday\b|\btomorrow\b|"
    r"\b\d{1,2}(?:st|nd|rd|th|\.)?\s+(?:of\s+)?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\b|"
    r"\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\s+\d{1,2}\b|\b\d{1,2}\.\d{1,2}\.(?:\d{4})?"
)
LEAVE = (
    r"leav(?:e|es|ing)|depart(?:s|ure|ing)?|flights?(?: home| back)?|fly(?:ing)?(?: home| back)?|"
    r"plane|train|ferry|must go|have to go"
)
ARRIVE = (
    r"arriv(?:e|es|al|ing)|get there|be there|com(?:e|es|ing)|land(?:s|ing)?(?: at)?|"
    r"check in|starting"
)
FORMS: tuple[tuple[str, str], ...] = (
    ("pair", rf"\b{NUM.format('d')}(?:{UNIT.format('v')})?\s*/\s*{NUM.format('u')}(?:{UNIT.format('w')})?(?![\d/])"),
    ("down", rf"\b{NUM.format('d')}(?:{UNIT.format('v')})?\s*(?:down(?:load|stream|link)?|dl)\b"),
    ("up", rf"\b{NUM.format('u')}(?:{UNIT.format('w')})?\s*(?:up(?:load|stream|link)?|ul)\b"),
    ("down", rf"\b(?:down(?:load|stream|link)?|dl)\s*:?\s*{NUM.format('d')}(?:{UNIT.format('v')})?"),
    ("up", rf"\b(?:up(?:load|stream|link)?|ul)\s*:?\s*{NUM.format('u')}(?:{UNIT.format('w')})?"),
    ("down", rf"\b{NUM.format('d')}{UNIT.format('v')}"),
    (
        "built",
        r"\b(?:built|build|erected|constructed|dat(?:es|ing)|house of|house from|baujahr|from)\s+(?P<a>(?:in|from|about|around|"
        r"circa|approx(?:imately)?\.?|ca?\.?|the|roughly|year|to)\s+)*(?P<y>1\d{3}|20\d\d)(?P<s>'?s)?(?!\d)",
    ),
    ("built", r"\b(?P<a>about |around |circa |ca?\.? )?(?P<y>1[5-9]\d\d|20\d\d)(?P<s>'?s)\b"),
    ("century", r"\b(?:built\s+|from\s+|in\s+|the\s+)*(?P<c>\d\d?)(?:st|nd|rd|th)[ -]century\b"),
    (
        "stay",
        rf"\b{WORDNUM}\s+(?:full\s+|working\s+)?(?P<k>days?|nights?|weeks?)\b(?!\s+ago)"
        r"(?:\s+(?:on site|there|on the job|of work|to do it|in all))?",
    ),
    (
        "metres",
        rf"\b(?:(?:about|approx\.?|ca\.?|some|roughly)\s+)?{NUM.format('m')}\s*(?P<k>m|met(?:re|er)s?|ft|feet|foot|yd|yards?|km|kilomet(?:re|er)s?|miles?)\b",
    ),
    ("metres", rf"\b{NUM.format('m')}\s*(?P<k>['’])(?!\w)"),
)
PATTERNS = tuple((name, re.compile(form, re.I)) for name, form in FORMS)
VERB = re.compile(rf"\b(?:(?P<l>{LEAVE})|(?P<a>{ARRIVE}))\b", re.I)
WHEN = re.compile(rf"(?P<day>{DAY})|(?P<time>{TIME})", re.I)
METRES = {"m": 1.0, "f": 0.3048, "'": 0.3048, "’": 0.3048, "y": 0.9144, "k": 1000.0}
COUNTS = {"a couple of": 2.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0} | {
    word: float(n) for n, word in enumerate(("six", "seven", "eight", "nine", "ten"), 6)
}
_CUT = re.compile(r"\n|\bSTOP\b|[;!?•·]+|(?<=\.)(?:\s|$)")
_COMMA = re.compile(r",(?!\d)|(?<!\d),|:(?=\s|$)|(?<!\S)[–—-]+(?=\s)")
_OPENS = re.compile(r"\b(opens?|unlocks?|switch(es)? off|turns? off|disarms?)\b.{0,40}\d{3,}|\d{4,}#", re.IGNORECASE)
_SECRET_TAIL = re.compile(r"\d|[:=]|\bis\b")


def figure(text: str) -> float:
    """A number as people write it: a comma may part the decimals; three digits behind each sign are thousands."""
    if re.fullmatch(r"[1-9]\d{0,2}(?:[.,]\d{3})+", text):
        return float(re.sub(r"[.,]", "", text))
    head, _, tail = text.replace(",", ".").rpartition(".")
    return float(f"{head.replace('.', '')}.{tail}" if head else tail)


def mbps(text: str, unit: str | None) -> float:
    """A rate in Mb/s; without a unit it is taken as Mb/s."""
    return figure(text) * {"g": 1000.0, "k": 0.001}.get((unit or "m")[0].lower(), 1.0)


def sentences(text: str) -> list[str]:
    """Lines and sentences; a full stop behind a short form does not part them."""
    whole: list[str] = []
    start = 0
    for cut in _CUT.finditer(text):
        before = text[start : cut.start()]
        words = before.rstrip(".").split()
        if before.endswith(".") and "\n" not in cut[0] and words and words[-1].casefold() in SHORT:
            continue
        whole.append(before)
        start = cut.end()
    return [s for part in [*whole, text[start:]] if (s := part.strip())]


def read_pasted(text: str) -> Pasted:
    """Everything that pasted lines say. The same text gives the same answer; any text gives one."""
    reader = _Reader()
    lines: list[str] = []
    for block in "\n".join(text.splitlines()).split("\n"):
        if _is_secret(block):
            reader.withheld += 1
            continue
        lines += [block.strip()] if block.strip() else []
        for sentence in sentences(block):
            reader.sentence(sentence)
        reader.line_ends(block)
    return Pasted(
        tuple(reader.rooms.values()),
        tuple(reader.found),
        tuple(reader.pieces),
        tuple(reader.left),
        reader.withheld,
        tuple(lines),
    )


def _is_secret(line: str) -> bool:
    line_tokens = tokens(line)
    for i in range(len(line_tokens)):
        for word in words_at(line_tokens, i):
            if word.kind == "secret" and (
                any(c.isdigit() for c in line) or _SECRET_TAIL.search(line, line_tokens[i + word.length - 1].end)
            ):
                return True
    return _OPENS.search(line) is not None


@functools.cache
def _pieces_between(sentence: str) -> tuple[tuple[int, int], ...]:
    cuts = [0, *(c.end() for c in _COMMA.finditer(sentence)), len(sentence)]
    return tuple((a, b) for a, b in zip(cuts, cuts[1:], strict=False) if sentence[a:b].strip(" ,:.-*"))


class _Reader:
    """What was read so far; one sentence after the other."""

    def __init__(self) -> None:
        self.rooms: dict[str, Told] = {}
        self.found: list[Found] = []
        self.pieces: list[str] = []
        self.left: list[str] = []
        self.withheld = 0
        self.heading = ""
        self.last_room = ""

    def line_ends(self, line: str) -> None:
        """An empty line ends what a line with nothing but a floor began."""
        if not line.strip():
            self.heading = ""

    def sentence(self, text: str) -> None:
        """Read one sentence: figures first, then words piece by piece; unknown words keep their piece."""
        taken = [False] * len(text)
        self.text = text
        self.begun = len(self.found)
        self.lengths: list[tuple[int, float]] = []
        self.spots: list[tuple[int, Found]] = []
        self._times(text, taken)
        self._figures(text, taken)
        line = [t for t in tokens(text) if not taken[t.start]]
        scan = Scan(self, line)
        unknown = scan.read()
        self._distances(unknown)
        for a, b in _pieces_between(text):
            piece = text[a:b].strip(" ,:")
            self.pieces.append(piece)
            known = any(a <= at < b for at in scan.known) or any(taken[a:b])
            if not known or any(a <= at < b for at in unknown):
                self.left.append(piece)

    def add(self, what: str, at: int, **more: object) -> Found:
        """Note something understood at a place of the sentence."""
        made = Found(what, self.piece(at), **more)  # type: ignore[arg-type]
        self.found.append(made)
        self.spots.append((at, made))
        return made

    def piece(self, at: int) -> str:
        """The piece that a place of the sentence lies in."""
        return next((self.text[a:b].strip(" ,:") for a, b in _pieces_between(self.text) if a <= at < b), self.text)

    def _times(self, text: str, taken: list[bool]) -> None:
        verbs = list(VERB.finditer(text))
        for verb, following in zip(verbs, [*(v.start() for v in verbs[1:]), len(text)], strict=False):
            behind = list(WHEN.finditer(text, verb.end(), following))
            floor = verbs[verbs.index(verb) - 1].end() if verb is not verbs[0] else 0
            spoken = behind or [w for w in WHEN.finditer(text, floor, verb.start()) if not taken[w.start()]]
            day = next((w for w in spoken if w["day"]), None)
            time = next((w for w in spoken if w["time"]), None)
            if not (day or time):
                continue
            for part in (verb, day, time):
                if part:
                    _take(taken, part.start(), part.end())
            what = "leave" if verb["l"] else "arrive"
            self.add(what, verb.start(), name=day[0].casefold() if day else "", other=_clock(time[0]) if time else "")

    def _figures(self, text: str, taken: list[bool]) -> None:
        for name, pattern in PATTERNS:
            for m in pattern.finditer(text):
                if any(taken[m.start() : m.end()]):
                    continue
                got = {k: v for k, v in m.groupdict().items() if v}
                if name == "pair" and not (
                    "v" in got or "w" in got or re.search(r"line|internet|speed|dsl|fib|broadband", text, re.I)
                ):
                    continue
                _take(taken, m.start(), m.end())
                self._figure(name, m.start(), got)

    def _figure(self, name: str, at: int, got: dict[str, str]) -> None:
        if name in ("pair", "down", "up"):
            unit = got.get("v") or got.get("w")
            down = mbps(got["d"], got.get("v") or unit) if "d" in got else None
            up = mbps(got["u"], got.get("w") or unit) if "u" in got else None
            self.add("speed", at, low=down, high=up)
        elif name == "built":
            about = "about " if got.get("a") and re.search(r"ab|ar|c", got["a"], re.I) else ""
            self.add("built", at, name=f"{got['y']}s" if "s" in got else about + got["y"])
        elif name == "century":
            self.add("built", at, name=f"{100 * (int(got['c']) - 1)}s")
        elif name == "stay":
            count = COUNTS.get(got["n"].casefold()) or figure(got["n"])
            self.add("stay", at, low=count * (7.0 if got["k"].lower().startswith("w") else 1.0))
        else:
            key = got["k"].casefold()
            factor = 1609.344 if key.startswith("mi") else METRES[key[0]]
            self.lengths.append((at, figure(got["m"]) * factor))

    def _distances(self, unknown: list[int]) -> None:
        """Each length belongs to the outbuilding named nearest to it; without one it was not understood."""
        for at, metres in self.lengths:
            houses = [(abs(spot - at), f) for spot, f in self.spots if f.what == "outbuilding" and f.low is None]
            if houses:
                min(houses, key=lambda h: h[0])[1].low = round(metres, 1)
            else:
                unknown.append(at)

    def room(self, name: str, *, small: bool) -> Told:
        """The room of that name; the same name is the same room."""
        self.last_room = name
        return self.rooms.setdefault(name.casefold(), Told(name, "", small))


def _take(taken: list[bool], start: int, end: int) -> None:
    taken[start:end] = [True] * (end - start)


def _clock(text: str) -> str:
    words = {"noon": "12:00", "midday": "12:00", "midnight": "24:00"}
    if text.casefold() in words:
        return words[text.casefold()]
    numbers = re.findall(r"\d+", text)
    hour, minute = int(numbers[0]), int(numbers[1]) if len(numbers) > 1 else 0
    if (half := re.search(r"([ap])\.?m", text, re.I)) and hour <= 12:
        hour = hour % 12 + (12 if half[1].lower() == "p" else 0)
    return f"{hour:02d}:{minute:02d}"
