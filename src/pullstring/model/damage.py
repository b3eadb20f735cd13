"""What is damaged inside a cable: which conductors are open and which touch, from pairs as noted and wire maps as read.

These are facts; what they do to data and power is for copper and power to say. A continuity test cannot see a split pair.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from pullstring.model.asbuilt import Reading, Site, once_a_site
from pullstring.model.refs import Ref
from pullstring.model.wiremap import SCHEMES, WireMap, parse_wiremap

WORK = frozenset({"cut", "mend", "terminate", "take off", "join", "part"})
"""Acts after which an older wire map proves no pair whole."""
Wire = tuple[int, str]
"""A conductor of a cable: number of its pair and 'a' or 'b'."""


@dataclasses.dataclass(frozen=True)
class Damage:
    """Open conductors, groups that touch, pins found crossed, pairs that crackle, and the entries that say so."""

    open: frozenset[Wire] = frozenset()
    touching: frozenset[frozenset[Wire]] = frozenset()
    crossed: frozenset[tuple[int, int]] = frozenset()
    noisy: frozenset[int] = frozenset()
    because: tuple[str, ...] = ()

    @property
    def pairs(self) -> frozenset[int]:
        """Pairs that are not whole: open, touching or noisy."""
        return frozenset({n for n, _ in self.open} | {n for g in self.touching for n, _ in g}) | self.noisy

    @property
    def any(self) -> bool:
        """Whether anything is wrong."""
        return bool(self.open or self.touching or self.crossed or self.noisy)

    def pins(self, *, scheme: str = "T568B") -> frozenset[frozenset[int]]:
        """Groups of pins that touch, for a connector wired in an order."""
        return frozenset(frozenset(p for w in group if (p := pin_of(w, scheme)) is not None) for group in self.touching)


def wire_of(pin: int, scheme: str) -> Wire | None:
    """The conductor on a pin of a connector; None when the order has no such pin."""
    for number, (a, b) in enumerate(SCHEMES[scheme], 1):
        if pin in (a, b):
            return number, "a" if pin == a else "b"
    return None


def pin_of(wire: Wire, scheme: str) -> int | None:
    """The pin on which a conductor ends; None when the order has no such pair."""
    pairs = SCHEMES[scheme]
    return pairs[wire[0] - 1]["ab".index(wire[1])] if wire[0] <= len(pairs) else None


def damage_of(site: Site, cable: Ref) -> Damage:
    """All that is known to be wrong inside a cable."""
    return damages(site).get(cable, Damage())


@once_a_site
def damages(site: Site) -> dict[Ref, Damage]:
    """Damage by cable, for cables that have any."""
    found: dict[Ref, list[Damage]] = {}
    for cable, one in [*_noted(site), *_mapped(site)]:
        found.setdefault(cable, []).append(one)
    return {cable: together(parts) for cable, parts in found.items()}


def together(parts: Sequence[Damage]) -> Damage:
    """What is wrong in several cables in series, taken as one."""
    return Damage(
        frozenset().union(*(p.open for p in parts)),
        frozenset().union(*(p.touching for p in parts)),
        frozenset().union(*(p.crossed for p in parts)),
        frozenset().union(*(p.noisy for p in parts)),
        tuple(dict.fromkeys(e for p in parts for e in p.because)),
    )


def _noted(site: Site) -> Iterator[tuple[Ref, Damage]]:
    for pair in site.of_kind("pair"):
        head, _, number = pair.ref.tag.rpartition(".")
        if not number.isdecimal():
            continue
        n, state = int(number), pair.text("condition")
        both = frozenset({(n, "a"), (n, "b")})
        others = [
            int(r.tag.rpartition(".")[2]) for r in pair.refs_of("touches") if r.tag.rpartition(".")[2].isdecimal()
        ]
        groups = {frozenset({(n, "a"), (other, "a")}) for other in others} | ({both} if state == "short" else set())
        one = Damage(
            both if state == "open" else frozenset(),
            frozenset(groups),
            frozenset({(n, n)}) if state in ("crossed", "reversed") else frozenset(),
            frozenset({n}) if state == "noisy" else frozenset(),
            pair.entries,
        )
        if one.any:
            yield Ref("cable", head), one


def _mapped(site: Site) -> Iterator[tuple[Ref, Damage]]:
    """The latest wire map of each end or cable, by its date and then by the record; once mended it counts no more."""
    last: dict[Ref, Reading] = {}
    for reading in sorted(site.readings, key=lambda r: r.at.earliest):
        if reading.measured.quantity == "wire map":
            last[reading.measured.subject] = reading
    for subject, reading in last.items():
        thing = site.get(subject)
        cable = subject if subject.kind == "cable" else thing.ref_of("cable") if thing else None
        if cable is None or _mended(site, cable, reading):
            continue
        one = _of_map(parse_wiremap(reading.measured.written), scheme_of(site, cable, subject), reading.entry)
        if one.any:
            yield cable, one


def mapped_pairs(site: Site, cable: Ref) -> dict[int, bool] | None:
    """Pairs that the latest wire map of a cable tested, and whether each went straight and touched nothing.

    None without a map, or when the cable or its ends were worked on since: then nobody knows.
    """
    ends = {t.ref for t in site.ends_by_cable.get(cable, ())}
    maps = [r for r in site.readings if r.measured.quantity == "wire map" and r.measured.subject in {cable, *ends}]
    if not maps:
        return None
    last = max(maps, key=lambda r: r.at.earliest)
    since = [
        d
        for d in site.done
        if d.act in WORK and {d.subject, d.object} & {cable, *ends} and d.at.latest > last.at.latest
    ]
    if since:
        return None
    read = parse_wiremap(last.measured.written)
    order = SCHEMES[scheme_of(site, cable, last.measured.subject)]
    tested = {n: pins for n, pins in enumerate(order, 1) if all(read.reaches(p) is not None for p in pins)}
    return {n: all(map(read.clean, p)) for n, p in tested.items()}


def is_mended(site: Site, reading: Reading) -> bool:
    """Whether the cable of a wire map was mended since: the map then tells of what is no more."""
    subject = reading.measured.subject
    thing = site.get(subject)
    cable = subject if subject.kind == "cable" else thing.ref_of("cable") if thing else None
    return cable is not None and _mended(site, cable, reading)


def _mended(site: Site, cable: Ref, reading: Reading) -> bool:
    return any(d.act == "mend" and d.subject == cable and d.at.latest >= reading.at.latest for d in site.done)


def scheme_of(site: Site, cable: Ref, subject: Ref) -> str:
    """The order of wires on the near end: as noted there, else T568B, which this only uses to name conductors."""
    ends = [subject] if subject.kind == "end" else [t.ref for t in site.ends_by_cable.get(cable, ())]
    said = [t.text("scheme") for e in ends if (t := site.get(e)) and t.text("scheme") in SCHEMES]
    return said[0] if said else "T568B"


def _of_map(found: WireMap, scheme: str, entry: str) -> Damage:
    groups = {frozenset(w for p in group if (w := wire_of(p, scheme))) for group in found.touching}
    gone = {w for pin, far in found.far.items() if not far and (w := wire_of(pin, scheme))}
    crossed = {(pin, other) for pin, far in found.far.items() for other in far if far != {pin}}
    return Damage(
        frozenset(gone), frozenset(g for g in groups if len(g) > 1), frozenset(crossed), frozenset(), (entry,)
    )
