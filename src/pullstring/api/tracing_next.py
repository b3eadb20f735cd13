"""`trace --next`: one act to do now, the rest of its walk, and when to stop.

`act` (null when there is none), `walk` (`acts` in order with the first of them, `seconds`, `travel_s`, `settles`), `first`
(acts that must be done before any other: an instrument tried on itself), `stop` (why there is no act: all sure |
not worth | no kit | nothing | blocked; empty else), `unsure` (`thing`, `why`), `frank` (codes of what the kit is good for).
An act is told in `tracing_acts`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import CAUTIONS_WORK, answered, asked_for, load
from pullstring.api.tracing_stands import IN_THE_WAY, unsure
from pullstring.model.answers import Answer, Ask, Odds, Request

if TYPE_CHECKING:
    from pullstring.api.tracing_planned import Planned
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.papers.folder import Paper
    from pullstring.trace.acts import Act, Standing
    from pullstring.trace.policy import Job

Facts = dict[str, Any]
NEEDED_FOR = {
    "place tone": ("tone set", "probe"),
    "touch": ("tone set", "probe"),
    "touch set": ("tone set", "probe"),
    "place remote": ("numbered remotes",),
    "clip": ("numbered remotes",),
    "mark": ("numbered marks", "wire mapper"),
    "read": ("numbered marks", "wire mapper"),
}
"""Instruments that an act begins with: those are tried first."""
CONTACT = ("place tone", "place remote", "read", "touch", "touch set", "clip", "mark")
"""Acts before which the volts of what they are done to are known."""
PROBED = 6
"""Ours: so many touches are listed after a tone was put on, as if each were silent; what is heard changes them."""
ASSUMED = ("trace_constants", "trace_prior", "trace_costs")


def trace_next(path: Path, request: Request, *, at: str | None = None) -> Answer:
    """One act, the rest of its walk in its order, what stays open, and how frank one must be about the kit."""
    from pullstring.api.tracing_planned import planned

    site = load(path, request)
    found = planned(site, today=request.today)
    here = _standing_at(site, found, asked_for(site, [at], ("outlet", "end", "room", "unit"))[0]) if at else None
    answer = _next(site, found, here)
    ask = None
    if not found.kit.noted:
        from pullstring.papers.sentences_trace import ASKS_TRACE

        ask = Ask("kit", ASKS_TRACE["kit"], "trace")
    assumed = (*ASSUMED, *found.done.traced.assumed, *(["trace_walk_guessed"] if found.guessed else []))
    return answered("trace", site, request, answer, assumed=assumed, cautions=CAUTIONS_WORK, ask=ask)


def next_in_short(site: Site, request: Request) -> dict[str, Any]:
    """The next act alone, or why there is none."""
    from pullstring.api.tracing_planned import planned

    found = _next(site, planned(site, today=request.today), None)
    return {"act": found["act"], "stop": found["stop"]}


def walk_paper(request: Request, *, site: Site, day: str) -> Paper:
    """The coming walk as a sheet."""
    from pullstring.api.tracing_codes import codes_plan, parts_at_hand
    from pullstring.api.tracing_planned import planned
    from pullstring.model.answers import plain
    from pullstring.papers.folder import Paper
    from pullstring.papers.sentences_book import FOLDER
    from pullstring.papers.walk_sheet import walk_pdf

    found = plain(_next(site, planned(site, today=request.today), None))
    codes = (
        plain(codes_plan(site, named=None, up_to=2, today=request.today))
        if parts_at_hand(site, today=request.today)
        else None
    )
    thing = next(site.of_kind("property"), None)
    name = (thing.text("name") if thing else "") or site.property_tag
    data = walk_pdf(site=site.property_tag, name=name, day=day, walk=found["walk"], first=found["first"], codes=codes)
    return Paper("walk_sheet.pdf", data, FOLDER["walk"])


def _standing_at(site: Site, found: Planned, at: Ref) -> int | None:
    """The outlet at which somebody stands: that one, or one in the same room; None for the closet."""
    outlets = found.done.traced.outlets
    if at in outlets:
        return outlets.index(at)
    thing = site.get(at)
    room = at if at.kind == "room" else thing.ref_of("room") if thing else None
    if room is None or room == found.closet:
        return None
    return next((n for n, o in enumerate(outlets) if (t := site.get(o)) and t.ref_of("room") == room), None)


def _next(site: Site, found: Planned, at: int | None) -> Facts:
    from pullstring.api.tracing_acts import numbered

    job = found.job(at=at)
    told = _Told(site, found, job)
    walk = job.next_walk()
    planned = told.acts(walk.acts)
    acts = told.metered_first([*planned, *told.probes(walk.acts)])
    first = told.first(walk.acts) if acts else []
    stop = "" if acts else _stop(found)
    return {
        "act": next(iter(acts), None),
        "walk": {
            "acts": numbered(acts),
            "seconds": walk.seconds + sum(a["seconds"] for a in acts if a["kind"] == "meter"),
            "travel_s": walk.walking_s,
            "settles": [str(found.done.traced.outlets[o]) for o in walk.settles],
        },
        "first": first,
        "stop": stop,
        "unsure": unsure(found.done, _blocked_or(found, stop)),
        "frank": _frank(found),
    }


def _blocked_or(found: Planned, stop: str) -> dict[int, str]:
    rest = "no kit" if stop == "no kit" else "not worth its time" if stop == "not worth" else "open"
    return {o: found.ground.blocked.get(o, rest) for o in range(len(found.done.traced.outlets))}


def _stop(found: Planned) -> str:
    traced = found.done.traced
    if not traced.outlets or not traced.ends:
        return "nothing"
    left = [row for row in unsure(found.done, _blocked_or(found, ""))]
    if not left:
        return "all sure"
    kit = found.kit
    if not (kit.tone or kit.remotes or kit.marks or kit.plugs):
        return "no kit"
    return "blocked" if all(row["why"] in IN_THE_WAY for row in left) else "not worth"


def _frank(found: Planned) -> list[str]:
    """What is to be said of the kit: how far it goes, and what would be quicker."""
    kit, codes = found.kit, []
    if not kit.noted:
        return ["none", "plugs"]
    if kit.tone and not (kit.remotes or kit.marks or kit.plugs):
        codes += ["one tone", "marks", "plugs"]
    if kit.remotes and not kit.marks:
        codes += ["remotes", "marks"]
    if kit.resistors:
        codes.append("resistors")
    if kit.continuity and not (kit.tone or kit.remotes or kit.marks or kit.plugs):
        codes.append("continuity")
    return codes


@dataclasses.dataclass(frozen=True)
class _Told:
    """Acts of the planner as facts of the site."""

    site: Site
    found: Planned
    job: Job

    def acts(self, acts: Sequence[Act]) -> list[Facts]:
        standing, rows = self.job.state.standing, []
        for act in acts:
            after = standing.after(act, closet=self.job.state.closet)
            walked = self._walked_s(standing.position, after.position)
            rows.append({**self._act(act, standing), "travel_s": walked})
            standing = after
        return rows

    def first(self, acts: Sequence[Act]) -> list[Facts]:
        """Before anything else: instruments that were not tried today."""
        from pullstring.api.tracing_acts import blank_act, row

        rows = []
        needed = NEEDED_FOR.get(next(iter(acts)).kind, ())
        for tool in self.found.kit.try_first:
            if (thing := self.site.get(tool)) is None or thing.text("style") not in needed:
                continue
            check = [
                {"label": label, "row": row(str(tool), "self-check", word), "asks": None}
                for label, word in (("works", "works"), ("silent", "silent"))
            ]
            what = f"{thing.text('style')} {tool.tag}"
            rows.append(blank_act(self.site, "self-check", self.found.closet, what=what, answers=check))
        return rows

    def metered_first(self, rows: Sequence[Facts]) -> list[Facts]:
        """Before the first act at an outlet or end whose volts nobody read, their reading; it takes over the way there."""
        from pullstring.api.tracing_acts import blank_act, volts_answers

        unread = {str(ref): ref for ref in self.found.ground.volts_first}
        made: list[Facts] = []
        for act in rows:
            travel_s = act["travel_s"]
            for name in dict.fromkeys((act["at"], *act["ends"])) if act["kind"] in CONTACT else ():
                if (ref := unread.pop(name, None)) is None:
                    continue
                ends = [name] if ref.kind == "end" else []
                more = {"caution": self._cautions(ref), "answers": volts_answers(name), "travel_s": travel_s}
                seconds = self.job.state.costs.read_s
                made.append(blank_act(self.site, "meter", ref, ends=ends, seconds=seconds, **more))
                travel_s = 0.0
            made.append({**act, "travel_s": travel_s})
        return made

    def probes(self, acts: Sequence[Act]) -> list[Facts]:
        """After a tone was put on: the first touches, each as if all before it were silent."""
        from pullstring.trace import readings as read

        toned = [a.at for a in acts if a.kind == "place tone"]
        if not toned:
            return []
        job, rows = self.found.job(), []
        job.stands(dataclasses.replace(job.state.standing, position=toned[-1], tone_at=toned[-1]))
        for n in range(PROBED):
            act = next(iter(job.next_acts()), None)
            if act is None or act.kind not in ("touch", "touch set"):
                break
            rows.append(self._act(act, job.state.standing))
            ends = act.what if isinstance(act.what, frozenset) else frozenset((act.at,))
            silent = read.Bundle(key=f"as if silent {n}", outlet=toned[-1], ends=ends, level=0)
            job.told([silent], position=job.state.closet, seconds=0.0)
        return rows

    def _walked_s(self, start: int, to: int) -> float:
        state = self.job.state
        if start == to:
            return 0.0
        return float(state.travel_s[start, to]) + (state.costs.enter_s if to != state.closet else 0.0)

    def _act(self, act: Act, standing: Standing) -> Facts:
        from pullstring.api.tracing_acts import blank_act

        at, ends = self._at(act), [str(e) for e in self._ends(act)]
        outlets = self._about(act, standing)
        what: Any = _number(act) if isinstance(act.what, int) else ends if act.kind == "touch set" else None
        if act.kind == "mark" and self.found.kit.plugs and not self.found.kit.marks and isinstance(act.what, int):
            what = f"pairs {' '.join(str(k + 1) for k in range(4) if act.what >> k & 1)}"
        answers, notes = self._rows(act, standing, at, ends)
        return blank_act(
            self.site,
            act.kind,
            at,
            ends=ends,
            what=what,
            seconds=self.job.takes_s(act),
            caution=self._cautions(at),
            answers=answers,
            notes=notes,
            outcomes=self._outcomes(act, standing.tone_at),
            why={"outlets": [str(self.found.done.traced.outlets[o]) for o in outlets], "parts": self._rivals(outlets)},
        )

    def _at(self, act: Act) -> Ref | None:
        from pullstring.trace.acts import AT_ENDS

        traced = self.found.done.traced
        if act.kind in AT_ENDS:
            return traced.ends[act.at]
        return self.found.closet if act.kind == "walk" and act.at == self.job.state.closet else traced.outlets[act.at]

    def _ends(self, act: Act) -> list[Ref]:
        from pullstring.trace.acts import AT_ENDS

        ends = self.found.done.traced.ends
        if act.kind == "touch set" and isinstance(act.what, frozenset):
            return [ends[e] for e in sorted(act.what)]
        return [ends[act.at]] if act.kind in AT_ENDS else []

    def _about(self, act: Act, standing: Standing) -> list[int]:
        if act.kind in ("touch", "touch set"):
            return [] if standing.tone_at is None else [standing.tone_at]
        if act.kind == "clip":
            return sorted(o for o in standing.remotes if not self.job.state.rows.settled(o))
        return [act.at] if act.kind in ("place tone", "place remote", "read") else []

    def _rivals(self, outlets: Sequence[int]) -> list[list[str]]:
        if len(outlets) != 1:
            return []
        nets = self.found.done.stands[outlets[0]].nets[:2]
        return [[str(self.found.done.traced.ends[e]) for e in sorted(net)] for net, _ in nets] if len(nets) > 1 else []

    def _cautions(self, at: Ref | None) -> list[str]:
        place = self.found.ground.places.get(at) if at else None
        codes = [why.code for why in place.cautions] if place else []
        if at in self.found.ground.volts_first:
            codes = ["volts", *codes]
        return list(dict.fromkeys(codes))

    def _rows(
        self, act: Act, standing: Standing, at: Ref | None, ends: Sequence[str]
    ) -> tuple[list[Facts], list[Facts]]:
        from pullstring.api.tracing_acts import numbers_answer, pairs_answer, row, tone_answers

        traced, tone = self.found.done.traced, standing.tone_at
        if act.kind in ("touch", "touch set") and tone is not None:
            over = ends if act.kind == "touch set" else ()
            return tone_answers(ends[0], str(traced.outlets[tone]), over), []
        if act.kind == "clip":
            return numbers_answer(ends[0], [n + 1 for n in sorted(standing.remotes.values())]), []
        if act.kind == "read":
            plugs = self.found.kit.plugs and not self.found.kit.marks
            return (
                pairs_answer(str(at), 4)
                if plugs
                else numbers_answer(str(at), [n + 1 for n in sorted(standing.marks.values())])
            ), []
        if act.kind == "place remote":
            return [], [row(str(at), "remote placed", str(_number(act)))]
        if act.kind == "take off remote":
            return [], [row(str(at), "remote placed", "none")]
        if act.kind == "mark" and isinstance(act.what, int):
            word = " ".join(str(k + 1) for k in range(4) if act.what >> k & 1)
            plug = self.found.kit.plugs and not self.found.kit.marks
            return [], [row(ends[0], "word placed", word) if plug else row(ends[0], "remote placed", str(_number(act)))]
        return [], []

    def _outcomes(self, act: Act, tone: int | None) -> list[Facts]:
        """What each reading of one end would make of the outlet with the tone."""
        from pullstring.api.tracing_acts import LEVELS
        from pullstring.trace import readings as read

        if act.kind != "touch" or tone is None:
            return []
        rows = []
        for (label, _), level in zip(LEVELS[:3], (2, 1, 0), strict=True):
            desk = self.job.desk.copy()
            desk.add(read.Tone(key="what if", outlet=tone, end=act.at, level=level))
            nets = desk.posterior().nets[tone]
            net = max(nets, key=lambda n: (nets[n], -len(n), sorted(n)))
            traced = self.found.done.traced
            rows.append(
                {
                    "label": label,
                    "outlet": str(traced.outlets[tone]),
                    "net": [str(traced.ends[e]) for e in sorted(net)],
                    "odds": Odds(min(1.0, nets[net])),
                }
            )
        return rows


def _number(act: Act) -> int:
    """The number of a remote or mark as it stands on it: people and the record count from 1."""
    return act.what + 1 if isinstance(act.what, int) else 0
