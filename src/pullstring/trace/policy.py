"""The next act by expected information per second, walking included; a person may deviate at any time.

House rules
-----------
1. Of all that the kit allows - marks or coded plugs on ends and one walk, remotes out, one tone out - that comes next whose whole
   round is expected to tell most bits a second, walking and taking off included. With marks at hand plugs stay in the bag.
2. Within a campaign the reading that tells most bits per second comes next. It stops where the rest tells less in its time
   than the next round is expected to, and at the end where it tells next to nothing (`WORTH_LITTLE`).
3. No act is proposed on what is off limits, none on an outlet that is settled, and no walk whose bits a second fall below `TRIFLE`.
4. Before the job ends its instruments are doubted: what one said that was silent, dead or stuck is read again with others. Of an
   outlet at which no mark was read it is not said that it has no cable before marks that were read elsewhere were tried.
5. What is in place comes off before the job ends.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from pullstring.trace import campaigns
from pullstring.trace import campaigns_sources as sources
from pullstring.trace import campaigns_tester as tester
from pullstring.trace import readings as read
from pullstring.trace.acts import AT_ENDS, Act, Standing
from pullstring.trace.assumed import Costs, Noise, Prior, Sure
from pullstring.trace.desk import Desk
from pullstring.trace.doubts import Doubted, doubted
from pullstring.trace.kits import Kit
from pullstring.trace.relations import Floats
from pullstring.trace.rows import Rows
from pullstring.trace.scene import Net, Scene
from pullstring.trace.standing import Standing as Stands
from pullstring.trace.standing import State, standings
from pullstring.trace.tours import walk

WORTH_LITTLE = 0.02
"""Ours: bits that a clip must tell when nothing waits."""
PROBE = 0.001
"""Ours: bits a second that a probe must tell."""
BAD, MOST_DOUBTS = 0.5, 3
"""Ours: from which chance on an instrument is worked around, and how often a job goes back for it."""
TRIFLE = 0.0005
"""Ours: bits a second that a walk must bring, all its acts counted."""


@dataclasses.dataclass(frozen=True)
class Walk:
    """The acts of a walk, their seconds with walking, of which walking, and the outlets that it is to settle."""

    acts: tuple[Act, ...]
    seconds: float
    walking_s: float
    settles: tuple[int, ...]


class Job:
    """One tracing job: what to do next, what is believed, what stays open.

    Parameters
    ----------
    kit : Kit
        What is at hand.
    scene : Scene
        Outlets, ends, bundles, blocks.
    travel_s : array
        Walking time between places: outlets by number, the closet last. Without getting into place. [s]
    costs, prior, noise, sure
        What acts take, what is assumed of wiring and instruments, and from when on an outlet is settled.
    off_limits : collection of int
        Outlets that cannot be reached or must not be touched.
    untouchable : collection of int
        Ends that must not be touched.
    standing : Standing
        Where one stands and what is in place; in the closet with nothing out unless told.
    """

    def __init__(
        self,
        *,
        kit: Kit,
        scene: Scene,
        travel_s: Floats,
        costs: Costs,
        prior: Prior,
        noise: Noise,
        sure: Sure,
        off_limits: Collection[int] = (),
        untouchable: Collection[int] = (),
        standing: Standing | None = None,
        readings: Sequence[read.Any] = (),
    ) -> None:
        self.desk = Desk(scene, prior=prior, noise=noise, up_to=6)
        self.desk.add_all(readings)
        travel = np.asarray(travel_s, dtype=float)
        stops = [o for o in range(scene.outlets) if o not in off_limits]
        self.state = campaigns.State(
            scene=scene,
            travel_s=travel,
            kit=kit,
            costs=costs,
            noise=noise,
            rows=Rows(self.desk, sure),
            standing=standing or Standing(scene.outlets),
            off_limits=frozenset(off_limits),
            ends=tuple(e for e in range(scene.ends) if e not in untouchable),
            tour=walk(travel, scene.outlets, stops),
        )

    def next_acts(self) -> tuple[Act, ...]:
        """The acts to do now, in order, up to the next reading that could change the plan; none when the job is done.

        The job takes them as done when it is told of them; whoever does something else says so with `stands`.
        """
        self._given = self._decide()
        return self._given

    def told(self, readings: Sequence[read.Any], *, position: int, seconds: float) -> None:
        """What was read, and where one stands now; the acts given last count as done. `seconds` is the clock, if one is kept."""
        for act in self._take_given():
            self._count(act)
        self._hear(readings)
        self.state.standing = dataclasses.replace(self.state.standing, position=position)

    def stands(self, standing: Standing, readings: Sequence[read.Any] = ()) -> None:
        """Somebody went another way: how things stand, and what was read; the acts given last do not count."""
        self._take_given()
        self.state.standing = standing
        self._hear(readings)
        self.state.clips.clear()
        self.state.touched.clear()
        self.state.rows.again()

    def _hear(self, readings: Sequence[read.Any]) -> None:
        self.desk.add_all(readings)
        state, out, marks = self.state, self.state.standing.remotes, self.state.standing.marks
        for r in readings:
            if isinstance(r, read.Remote) and r.outlet in out and r.source:
                state.number_of[r.source] = out[r.outlet]
            elif isinstance(r, read.Remote) and r.hit and r.outlet not in out and r.end in marks:
                state.heard[r.end] = marks[r.end]

    def answer(self) -> tuple[Net, ...]:
        """The likeliest net of each outlet."""
        return tuple(net for net, _ in self._best())

    def claimed(self) -> tuple[float, ...]:
        """The chance of each answer."""
        return tuple(chance for _, chance in self._best())

    def unsure(self) -> Mapping[int, str]:
        """Outlets that are not settled, and why: 'off limits', 'tie', 'tried' too often, or 'not worth it'."""
        stands = standings(self.desk.posterior().nets, sure=self.state.rows.sure)
        return {one.outlet: self._why_open(one) for one in stands if one.state not in (State.SURE, State.NO_CABLE)}

    def _why_open(self, one: Stands) -> str:
        if one.outlet in self.state.off_limits:
            return "off limits"
        if one.state is State.TIE:
            return "tie"
        return "tried" if self.state.tries.get(one.outlet, 0) >= campaigns.TRIES else "not worth it"

    def next_walk(self) -> Walk:
        """All acts of the coming walk if nothing surprises: up to the closet again, or up to where the reading begins."""
        acts: list[Act] = []
        state = self.state
        kept = dataclasses.replace(
            state,
            tries=dict(state.tries),
            clips=dict(state.clips),
            touched=set(state.touched),
            reads=dict(state.reads),
            visits=dict(state.visits),
            tried_others=set(state.tried_others),
        )
        settles: list[int] = []
        for _ in range(state.scene.outlets + 1):
            more = self._decide()
            if not more or (acts and more[0].kind not in ("read", acts[-1].kind)):
                acts += [Act("walk", state.closet)] if more and more[0].kind in AT_ENDS else []
                break
            for act in more:
                self._count(act)
                if act.kind == "read":
                    state.reads[act.at] = tester.READS
            acts += more
            settles += [a.at for a in more if a.kind in ("read", "place remote", "place tone")]
            if more[0].kind in ("clip", "touch", "touch set"):
                break
        self.state = kept
        walking_s = self._walking_s(acts)
        takes_s = sum((self.takes_s(a) for a in acts), 0.0)
        return Walk(tuple(acts), walking_s + takes_s, walking_s, tuple(dict.fromkeys(settles)))

    def _decide(self) -> tuple[Act, ...]:
        state = self.state
        if tester.read_again(state):
            return (Act("read", state.standing.position),)
        if acts := self._half_done():
            return acts
        if state.standing.remotes and (acts := self._sweep()):
            return acts
        if acts := sources.probe(state, least=PROBE):
            return acts
        state.rows.again()
        acts = self._campaign() or (self._doubts() and self._campaign()) or tester.other_marks(state)
        return acts or campaigns.take_all_off(state)

    def _half_done(self) -> tuple[Act, ...]:
        """Out among outlets with remotes still in the bag: the walk that places them is finished first."""
        state = self.state
        out, at = state.standing.remotes, state.standing.position
        if not out or at == state.closet or state.standing.tone_at is not None or any(state.reads.values()):
            return ()
        left = sources.remotes_offer(state, [o for o in state.open() if self._worth_a_walk(o)])
        return left.acts if left else ()

    def _doubts(self) -> bool:
        """Before it ends the job doubts its instruments; what a bad one said hardly counts, and its outlets are open again."""
        log = self.desk.readings
        if len(log) == self._doubted_at or self._times_doubted > MOST_DOUBTS:
            return False
        self._doubted_at, state = len(log), self.state
        self.doubted = doubted(state.scene, log, prior=self.desk.prior, noise=self.desk.noise)
        bad = [d for d in self.doubted.doubts if d.source and d.chance > BAD]
        if not bad:
            return False
        self._times_doubted += 1
        self.desk.adopt(self.doubted.table)
        state.rows.again()
        state.bad |= {state.number_of[d.source] for d in bad if d.source in state.number_of}
        for outlet in {r.outlet for d in bad for r in d.readings}:
            state.tries.pop(outlet, None)
            state.visits.pop(outlet, None)
        return True

    def _sweep(self) -> tuple[Act, ...]:
        """Clip on, as long as a clip tells more than what waits; the whole house is worked out anew before giving up."""
        state = self.state
        for fresh in (False, True):
            if fresh:
                state.rows.again()
            least = max(WORTH_LITTLE, sources.waiting_bits_per_s(state) * state.costs.clip_s)
            if acts := sources.sweep(state, least=least):
                return acts
        return ()

    def _campaign(self) -> tuple[Act, ...]:
        """The campaign that is worth most a second; of equals the one that stands first."""
        state, kit = self.state, self.state.kit
        outlets = [o for o in state.open() if self._worth_a_walk(o)]
        ways = [
            (kit.marks or kit.plugs, tester.offer),
            (kit.remotes, sources.remotes_offer),
            (kit.tone, sources.tone_offer),
        ]
        offers = [offer for at_hand, way in ways if at_hand and (offer := way(state, outlets))]
        best = max(offers, key=lambda offer: offer.bits_per_s, default=None)
        if best is None:
            return ()
        if best.again:
            state.reads.clear()
        return best.acts

    def _worth_a_walk(self, outlet: int) -> bool:
        """Whether the bits by which an outlet is open are worth going there from the closet and back."""
        state = self.state
        seconds = 2 * float(state.travel_s[state.closet, outlet]) + state.costs.enter_s + state.costs.place_s
        return state.rows.short_of(outlet) >= TRIFLE * seconds

    def _count(self, act: Act) -> None:
        state = self.state
        state.standing = state.standing.after(act, closet=state.closet)
        match act.kind:
            case "place remote" | "place tone":
                state.tries[act.at] = state.tries.get(act.at, 0) + 1
                (state.clips if act.kind == "place remote" else state.touched).clear()
            case "read":
                if state.rows.settled(act.at):  # nothing but other marks brings one back
                    state.tried_others.add(act.at)
                state.reads[act.at] = state.reads.get(act.at, 0) + 1
                if state.reads[act.at] == 1:
                    state.visits[act.at] = state.visits.get(act.at, 0) + 1
            case "mark":
                self._count_mark(act)
            case "clip":
                state.clips[act.at] = state.clips.get(act.at, 0) + 1
            case "touch":
                state.touched.add(frozenset((act.at,)))
            case "touch set":
                assert isinstance(act.what, frozenset)
                state.touched.add(act.what)

    def _count_mark(self, act: Act) -> None:
        """A numbered mark sits on one end only; what was read with other marks is over."""
        state, marks = self.state, self.state.standing.marks
        state.reads.clear()
        if state.kit.marks:
            alone = {e: n for e, n in marks.items() if n != act.what or e == act.at}
            state.standing = dataclasses.replace(state.standing, marks=alone)

    def _take_given(self) -> tuple[Act, ...]:
        given, self._given = self._given, ()
        return given

    _given: tuple[Act, ...] = ()
    _doubted_at = -1
    _times_doubted = 0
    doubted: Doubted | None = None

    def _best(self) -> list[tuple[Net, float]]:
        self._doubts()
        odds = self.doubted.posterior if self._times_doubted and self.doubted else self.desk.posterior()
        return [max(n.items(), key=lambda i: (i[1], -len(i[0]), sorted(i[0]))) for n in odds.nets]

    def takes_s(self, act: Act) -> float:
        """Seconds of an act without the way to it."""
        c = self.state.costs
        by_kind = {
            "touch": c.touch_s,
            "touch set": c.bundle_s,
            "clip": c.clip_s,
            "mark": c.mark_s,
            "read": c.read_s,
            "tag": c.tag_s,
        }
        usual = c.place_s if act.kind.startswith("place") else c.retrieve_s if act.kind.startswith("take") else 0.0
        return by_kind.get(act.kind, usual)

    def _walking_s(self, acts: Sequence[Act]) -> float:
        standing, total = self.state.standing, 0.0
        for act in acts:
            after = standing.after(act, closet=self.state.closet)
            if after.position != standing.position:
                enter_s = self.state.costs.enter_s if after.position != self.state.closet else 0.0
                total += float(self.state.travel_s[standing.position, after.position]) + enter_s
            standing = after
        return total
