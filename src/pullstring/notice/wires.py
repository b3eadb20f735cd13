"""What a veteran notices in the wire itself: chains, rings, bridges, hidden joints, orders that differ, damage."""

from __future__ import annotations

import collections
from collections.abc import Iterator

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Thing
from pullstring.model.conductors import cable_of, outlet_of, pairs_of
from pullstring.model.damage import Damage, damages, pin_of, scheme_of
from pullstring.model.grades import grade
from pullstring.model.problems import listed, problem
from pullstring.model.refs import Ref
from pullstring.model.wiring import Run
from pullstring.notice.look import Look

LOOP_EXCESS = 0.15  # common practice of the trade: more than 15 % over what the length allows is a joint
DATA_UNITS = ("router", "switch", "access point", "converter", "player", "terminal", "printer")
A_TO_B = frozenset({(1, 3), (2, 6), (3, 1), (6, 2)})  # TIA-568: orange and green exchanged
SHORT_M = 5.0  # ours, assumed: a cable in the closet shorter than this is a cord or a stub
UNTWISTED = ("quad", "station wire", "bell wire", "speaker twin", "flat cord")


def wires(look: Look) -> Iterator[Problem]:
    """All detections of this family."""
    yield from _bridged(look)
    yield from _shared_rows(look)
    yield from _rings(look)
    yield from _chains(look)
    yield from _unlike_pairs(look)
    yield from _hidden_by_ends(look)
    yield from _hidden_by_count(look)
    yield from _long_loops(look)
    yield from _untwisted(look)
    yield from _orders(look)
    yield from _unseen_splits(look)
    yield from _damaged(look)


def _bridged(look: Look) -> Iterator[Problem]:
    """Cables that touch without being parts of one run; told once for each set of cables."""
    in_series = [set(j.run.cables) for j in look.runs]
    rows = _row_holders(look)
    told: set[tuple[Ref, ...]] = set()
    for net in look.nets:
        if len(net.cables) < 2 or net.cables in told or any(set(net.cables) <= s for s in in_series):
            continue
        told.add(net.cables)
        if any(set(net.cables) == {c for c, _, _ in held} for held in rows.values()):
            continue  # told as a shared row
        if not _at_a_row_or_tap(look, set(net.cables)):
            continue  # a plain splice, or a chain at a plate
        ends = [str(e.ref) for c in net.cables for e in look.ends.get(c, ())]
        yield problem("bridged", where=listed(net.cables), says=" ".join(ends), because=net.because)


def _touching_rows(look: Look) -> Iterator[tuple[Ref, Ref]]:
    """Every row with each pair or row that touches it."""
    for touch in (t for g in look.wires for t in g.touches if "row" in (t.a.of.kind, t.b.of.kind)):
        for one, other in ((touch.a.of, touch.b.of), (touch.b.of, touch.a.of)):
            if one.kind == "row" and other.kind in ("pair", "row"):
                yield one, other


def _at_a_row_or_tap(look: Look, cables: set[Ref]) -> bool:
    """Whether cables meet on the block, at a clip or at a tap; not by a splice of two ends or at one plate."""
    for joint in look.site.of_kind("joint"):
        ends = [r for r in joint.refs_of("ends") if r.kind in ("end", "row", "pair")]
        own = {c for r in ends if (c := _cable(look, r))}
        if joint.stands and len(own & cables) > 1 and (joint.text("style") in ("tap", "clip") or len(ends) > 2):
            return True
    held: dict[Ref, set[Ref]] = collections.defaultdict(set)
    joined: set[Ref] = set()
    for one, other in _touching_rows(look):
        if other.kind == "row":
            joined.add(one)
        elif (cable := _cable(look, other)) in cables and cable:
            held[one].add(cable)
    return bool(joined & held.keys()) or any(len(c) > 1 for c in held.values())


def _cable(look: Look, ref: Ref) -> Ref | None:
    if ref.kind == "pair":
        return Ref("cable", ref.parent_tag or "?")
    return cable_of(look.site, ref)


def _row_holders(look: Look) -> dict[Ref, list[tuple[Ref, Ref, tuple[str, ...]]]]:
    """Cable, end and entries by row, for rows on which two cables or more end with the same pair's row."""
    held: dict[Ref, list[tuple[Ref, Ref, tuple[str, ...]]]] = collections.defaultdict(list)
    for claim in look.site.about(relation="ends_at"):
        end = look.site.get(claim.subject)
        cable = end.ref_of("cable") if end and end.stands else None
        if claim.object.kind == "row" and cable and not claim.contradicted:
            held[claim.object].append((cable, claim.subject, claim.entries))
    return {row: who for row, who in held.items() if len({c for c, _, _ in who}) > 1}


def _shared_rows(look: Look) -> Iterator[Problem]:
    for row, who in sorted(_row_holders(look).items()):
        yield problem(
            "shared_row", where=str(row), says=listed(e for _, e, _ in who), because=[e for _, _, es in who for e in es]
        )


def _rings(look: Look) -> Iterator[Problem]:
    told: set[frozenset[Ref]] = set()
    starts = {j.run.start for j in look.runs}
    for claim in look.site.about(relation="other_end"):
        pair = frozenset({claim.subject, claim.object})
        if pair <= starts and len(pair) == 2 and not claim.contradicted and pair not in told:
            told.add(pair)
            yield problem("ring", where=listed(sorted(pair)), because=claim.entries)
    for judged in look.runs:
        run = judged.run
        if judged.length and judged.length.high < SHORT_M or _patched(look, run):
            continue
        if run.back and run.back != run.start and (pair := frozenset({run.start, run.back})) not in told:
            told.add(pair)
            entries = [e for r in (run.start, run.back, *run.cables) if (t := look.site.get(r)) for e in t.entries]
            yield problem("ring", where=listed(sorted(pair)), because=[*entries, *run.because])


def _patched(look: Look, run: Run) -> bool:
    """Whether both its ends are plugs in ports: a cord, whatever its jacket."""
    return all(e is not None and any(r.kind == "port" for r in look.plugged.get(e, ())) for e in (run.start, run.back))


def _chains(look: Look) -> Iterator[Problem]:
    """One closet end that arrives at several outlets, or an outlet where one cable comes in and another goes on."""
    for judged in look.runs:
        run, site = judged.run, look.site
        claims = [c for c in site.about(subject=run.start, relation="goes_to") if not c.contradicted]
        outlets = sorted({outlet_of(c.object) for c in claims if c.object.kind in ("outlet", "jack")})
        entries = [e for c in claims for e in c.entries]
        onward = [o for o in outlets if _goes_on(look, o, run.cables)]
        loops = [
            j for j in look.site.of_kind("joint") if j.stands and j.text("style") == "loop" and _loops(look, j, run)
        ]
        entries += [e for j in loops for e in j.entries]
        if len(outlets) > 1 or onward or loops:
            says = listed(outlets) if len(outlets) > 1 else f"{listed(outlets)} and what hangs behind it"
            if not outlets:
                says = f"what is looped at {listed(j.ref for j in loops)}"
            yield problem("chain", where=str(run.start), says=says, because=entries)


def _loops(look: Look, joint: Thing, run: Run) -> bool:
    """Whether a run goes on from plate to plate at a noted loop."""
    cables = {c for r in joint.refs_of("ends") if (c := cable_of(look.site, r))}
    return bool(cables & set(run.cables)) and len(cables) > 1


def _goes_on(look: Look, outlet: Ref, own: tuple[Ref, ...]) -> bool:
    """Whether a cable that is not the run's own leaves from the same jack of an outlet."""
    thing = look.site.get(outlet)
    here = [c.subject for c in look.site.about(relation="ends_at") if outlet_of(c.object) == outlet]
    here = [e for e in here if (t := look.site.get(e)) and t.ref_of("room") not in look.closets]
    behind = int(thing.number("sheaths") or 0) if thing else 0
    positions = int(thing.number("positions") or 1) if thing else 1
    own_ends = [e for e in here if (t := look.site.get(e)) and t.ref_of("cable") in own]
    goes = look.site.about(relation="goes_to", object=outlet)
    arrive = {c for g in goes if not g.contradicted and (t := look.site.get(g.subject)) and (c := t.ref_of("cable"))}
    if len(arrive) > 1 and len(arrive) >= max(len(here), behind):
        return False  # each jacket behind the plate is a run of its own
    return max(len(here), behind) > max(positions, 1) and (bool(own_ends) or len(here) != 1)


def _unlike_pairs(look: Look) -> Iterator[Problem]:
    """A joint whose pairs cross over, or that joins cables of unlike pair counts."""
    for joint in look.site.of_kind("joint"):
        if not joint.stands or joint.text("style") not in ("splice", "loop", "series"):
            continue
        crossing = [w for w in joint.text("pairs").split() if ">" in w and len(set(w.split(">"))) > 1]
        cables = [c for r in joint.refs_of("ends") if (t := look.site.get(r)) and (c := t.ref_of("cable"))]
        counts = sorted({pairs_of(look.site, c) for c in cables if _counted(look, c)})
        if crossing:
            yield problem("splice_pairs", where=str(joint.ref), says=f"pairs {listed(crossing)}", because=joint.entries)
        elif len(counts) > 1 and not joint.text("pairs"):
            says = f"a cable of {counts[0]} pairs to one of {counts[-1]}"
            yield problem("splice_pairs", where=str(joint.ref), says=says, because=joint.entries)


def _counted(look: Look, cable: Ref) -> bool:
    thing = look.site.get(cable)
    return bool(thing and thing.number("pairs") is not None)


def _hidden_by_ends(look: Look) -> Iterator[Problem]:
    """A cable whose two ends do not look like one jacket, or an end and the jackets behind its outlet, with no joint noted."""
    for judged in look.runs:
        run = judged.run
        near = look.site.get(run.start)
        if near is None or run.joints or len(run.cables) != 1 or look.site.get(run.cables[0]) is None:
            continue
        there = [e for e in look.ends.get(run.cables[0], ()) if e.ref != run.start]
        if not there and run.grade not in (None, "assumed", "told"):
            there = _behind(look, run.to)
        for far in there:
            if far.ref_of("cable") not in (None, run.cables[0]):
                continue
            says = _unlike(look, near, far, run.cables[0])
            if says:
                yield problem(
                    "hidden_joint",
                    where=f"{run.start} and {far.ref}",
                    says=says,
                    because=[*near.entries, *far.entries, *run.because],
                )


def _behind(look: Look, to: tuple[Ref, ...]) -> list[Thing]:
    """The single end seen behind the outlet to which a run goes."""
    outlets = {outlet_of(r) for r in to[:1] if r.kind in ("outlet", "jack")}
    found = [c.subject for c in look.site.about(relation="ends_at") if outlet_of(c.object) in outlets]
    ends = [t for r in found if (t := look.site.get(r)) and t.stands]
    return ends if len(ends) == 1 else []


def _unlike(look: Look, near: Thing, far: Thing, cable: Ref) -> str:
    thing = look.site.get(cable)
    assert thing is not None
    own = near.text("jacket") or thing.text("jacket")
    jackets = {own, far.text("jacket")} - {"", "none", "unknown"}
    counts = {near.number("pairs") or thing.number("pairs"), far.number("pairs")} - {None}
    if len(jackets) > 1:
        return f"{own} at one end and {far.text('jacket')} at the other"
    if len(counts) > 1:
        low, high = sorted(int(c) for c in counts if c is not None)
        return f"{high} pairs at one end and {low} at the other"
    return ""


def _hidden_by_count(look: Look) -> Iterator[Problem]:
    """Conservation: as many jackets leave a void or duct as go into it, unless there is a joint inside."""
    for way in look.site.of_kind("pathway"):
        inside, out = way.number("sheaths_in"), way.number("sheaths_out")
        rooms = set(way.refs_of("rooms"))
        joints = [j for j in look.site.of_kind("joint") if j.stands and j.ref_of("room") in rooms]
        if inside is not None and out is not None and inside != out and not joints:
            says = f"{int(inside)} in and {int(out)} out"
            yield problem("hidden_joint", where=str(way.ref), says=says, because=way.entries)


def _long_loops(look: Look) -> Iterator[Problem]:
    for judged in look.runs:
        if judged.loop is None or judged.run.joints:
            continue
        most = judged.loop.interval.high * (1 + LOOP_EXCESS)
        for reading in judged.read:
            value = reading.measured.value_si
            if (
                reading.measured.quantity == "loop resistance"
                and reading.measured.sign == "="
                and value
                and value > most
            ):
                says = f"{value:.3g} ohm where {judged.loop.interval.high:.3g} is the most"
                yield problem("long_loop", where=str(judged.run.start), says=says, because=[reading.entry])


def _untwisted(look: Look) -> Iterator[Problem]:
    for judged in look.runs:
        flat = [
            c
            for c in judged.run.cables
            if (t := look.site.get(c)) and (t.text("twisted") == "no" or t.text("jacket") in UNTWISTED)
        ]
        data = _data_ports(look, judged.run.start, judged.run.to)
        if flat and data:
            entries = [e for c in flat if (t := look.site.get(c)) for e in t.entries]
            yield problem("quad_data", where=listed(flat), says=listed(data), because=[*entries, *judged.run.because])


def _data_ports(look: Look, *places: Ref | tuple[Ref, ...]) -> list[Ref]:
    """Ports of data gear in which the given ends or outlets are plugged."""
    flat = [r for p in places for r in (p if isinstance(p, tuple) else (p,))]
    ports = [r for place in flat for r in (place, *look.plugged.get(place, ())) if r.kind == "port"]
    found = []
    for port in dict.fromkeys(ports):
        model = look.model(Ref("unit", port.parent_tag)) if port.parent_tag else None
        if model and model.text("what") in DATA_UNITS:
            found.append(port)
    return found


def _orders(look: Look) -> Iterator[Problem]:
    """T568A at one end of a cable or on the jack it reaches, T568B at the other."""
    for cable, ends in sorted(look.ends.items()):
        said: dict[str, Thing] = {}
        for thing in (t for end in ends for t in (end, *_jacks_of(look, end))):
            if thing.text("scheme") in ("T568A", "T568B"):
                said[thing.text("scheme")] = thing
        if len(said) > 1:
            entries = [e for t in said.values() for e in t.entries]
            says = listed(f"{order} at {thing.ref}" for order, thing in sorted(said.items()))
            where = f"{cable}, {listed(sorted(t.ref for t in said.values()))},"
            yield problem("mixed_schemes", where=where, says=says, because=entries)


def _jacks_of(look: Look, end: Thing) -> list[Thing]:
    """The jacks on which an end lies or arrives; of an outlet the first."""
    places = [
        c.object
        for relation in ("ends_at", "goes_to")
        for c in look.site.about(subject=end.ref, relation=relation)
        if c.object.kind in ("outlet", "jack") and not c.contradicted
    ]
    found = (look.site.get(p if p.kind == "jack" else Ref("jack", f"{p.tag}.1")) for p in places)
    return [j for j in found if j is not None]


def _unseen_splits(look: Look) -> Iterator[Problem]:
    """Pinned out, in use or wanted for data, and nothing that could show a split pair."""
    for judged in look.runs:
        run = judged.run
        if run.grade != "pinned out" or judged.capability.reason == "out_of_use":
            continue
        if any(r.measured.quantity == "ran at" for r in judged.read) or _better(look, run.start):
            continue
        data = _data_ports(look, run.start, run.to) or _data_services(look, run)
        if data:
            yield problem("split_unseen", where=str(run.start), says=listed(data), because=run.because)


def _data_services(look: Look, run: Run) -> list[Ref]:
    """Services of data that are said to be carried on a run."""
    own = {run.start, *run.cables}
    return [
        s.ref
        for s in look.site.of_kind("service")
        if s.stands and s.text("needs") in ("", "data") and own & set(s.refs_of("carried_on"))
    ]


def _better(look: Look, end: Ref) -> bool:
    return any(
        grade(c.support).ladder == "carry" for c in look.site.about(subject=end, relation="goes_to") if c.support
    )


def _damaged(look: Look) -> Iterator[Problem]:
    for cable, damage in sorted(damages(look.site).items()):
        thing = look.site.get(cable)
        if damage.crossed == A_TO_B and not (damage.open or damage.touching or damage.noisy):
            says = "by its wire map T568A and T568B"
            yield problem("mixed_schemes", where=str(cable), says=says, because=damage.because)
        elif thing is None or thing.text("state") not in ("out of use", "removed", "lost"):
            yield problem(
                "damaged_pairs",
                where=str(cable),
                says=_damage_words(damage, scheme_of(look.site, cable, cable)),
                because=damage.because,
            )


def _damage_words(damage: Damage, scheme: str) -> str:
    """Pairs and, where the connector has eight positions, pins."""
    words = []
    for group in sorted(damage.touching, key=sorted):
        pairs = sorted({n for n, _ in group})
        pins = sorted(p for w in group if (p := pin_of(w, scheme)))
        alone = len(pairs) == 1
        words.append(f"pair {pairs[0]} is short" if alone else f"pairs {listed(pairs)} touch (pins {listed(pins)})")
    if damage.open:
        words.append(f"open: pair {listed(sorted({n for n, _ in damage.open}))}")
    if damage.crossed:
        words.append("wires are crossed")
    if damage.noisy:
        words.append(f"noisy: pair {listed(sorted(damage.noisy))}")
    return "; ".join(words)
