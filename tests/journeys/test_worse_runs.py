"""From the tables to the verdict: a run that is longer, hotter, thinner, tapped, spliced, of a weaker jacket, with a pair less
or known less surely never gets a better band, a wider margin or more volts. Outside reason: loss and resistance rise with length
and heat and fall with copper; a branch and a joint only take; a weaker saying cannot make a stronger answer.
"""

from __future__ import annotations

import dataclasses
import math
import random

import pytest

from pullstring.copper.estimated import estimate
from pullstring.copper.judged import judged_runs
from pullstring.model.answers import Band
from pullstring.power.ports import judged_ports
from tests.notice.lines import site
from tests.tiers import FRESH_SEED

ORDER = list(Band)
JACKETS = ("cat6a", "cat6", "cat5e", "cat5", "cat3", "quad", "bell wire")
GRADES = ("pinned out", "toned", "seen", "told", "assumed")
HEAD = """
rooms room=CL closet=yes
models model=SW what=switch passes="when powered" takes=plug
models model=AT what="access point" passes="when powered" takes=802.3at class=4 typical_w={watts} max_w={watts}
models model=V24 what="access point" passes="when powered" takes="24 V always-on" typical_w={watts} max_w={watts}
circuits circuit=K breaker=on
sockets socket=S form=wall fed_by=circuit:K
units unit=W model=SW fed_by=socket:S
units unit=A model={model}
ports port=A.1
outlets outlet=O1
plugged plug=port:A.1 into=outlet:O1 grade=seen
"""


@dataclasses.dataclass(frozen=True)
class House:
    """One run as a row of numbers; `taps` are lengths of cables that hang on it."""

    jacket: int
    length_m: float
    temperature_c: float
    awg: float
    pairs: int
    open_pairs: int
    grade: int
    joints: int
    taps: tuple[float, ...]
    untwisted_m: float
    watts: float
    always: bool

    def text(self) -> str:
        jacket, grade = JACKETS[self.jacket], GRADES[self.grade]
        lines = [HEAD.format(watts=self.watts, model="V24" if self.always else "AT")]
        lines.append(f"ports port=W.1 gives='{'24 V always-on' if self.always else '802.3at'}'")
        cables = [f"C{n}" for n in range(self.joints + 1)]
        for n, tag in enumerate(cables):
            lines.append(
                f"cables cable={tag} jacket='{jacket}' pairs={self.pairs} length_m={self.length_m / len(cables)} "
                f"gauge_awg={self.awg} temperature_c={self.temperature_c} grade=seen"
            )
            near = "room=CL plugged=port:W.1 " if n == 0 else ""
            lines.append(f"ends end=E{n} cable={tag} untwisted_m={self.untwisted_m} {near}grade='{grade}'")
            far = "ends_at=outlet:O1 " if n == self.joints else ""
            lines.append(f"ends end=F{n} cable={tag} untwisted_m={self.untwisted_m} {far}grade='{grade}'")
            if n:
                lines.append(f"joints joint=J{n} style=splice ends='end:F{n - 1} end:E{n}' grade='{grade}'")
        for n, metres in enumerate(self.taps):
            lines.append(f"cables cable=T{n} jacket='{jacket}' pairs={self.pairs} length_m={metres} grade=seen")
            lines.append(f"ends end=T{n}a cable=T{n} grade=seen")
            lines.append(f"joints joint=Q{n} style=tap ends='end:E0 end:T{n}a' grade=seen")
        lines += [f"pairs pair=C0.{self.pairs - n} condition=open grade=seen" for n in range(self.open_pairs)]
        return "\n".join(lines)


def drawn(dice: random.Random) -> House:
    jacket = dice.randrange(len(JACKETS))
    return House(
        jacket=jacket,
        length_m=dice.choice((5, 20, 60, 85, 95, 130)) * dice.uniform(0.9, 1.1),
        temperature_c=dice.choice((20, 30, 45, 60)),
        awg=dice.choice((23, 24, 26)),
        pairs=2 if JACKETS[jacket] in ("quad", "bell wire") else 4,
        open_pairs=dice.choice((0, 0, 0, 1)),
        grade=dice.randrange(len(GRADES)),
        joints=dice.choice((0, 0, 1, 2)),
        taps=tuple(dice.uniform(0.5, 20) for _ in range(dice.choice((0, 0, 1)))),
        untwisted_m=dice.choice((0, 0.013, 0.1)),
        watts=dice.choice((3.0, 8.0, 14.0)),
        always=dice.random() < 0.4,
    )


WORSE = {
    "longer": lambda h, d: {"length_m": h.length_m * d.uniform(1.01, 1.6)},
    "hotter": lambda h, d: {"temperature_c": h.temperature_c + d.uniform(1, 20)},
    "thinner": lambda h, d: {"awg": h.awg + d.choice((0.5, 1, 2))},
    "weaker jacket": lambda h, d: {"jacket": min(h.jacket + 1, 4 if h.pairs == 4 else len(JACKETS) - 1)},
    "one tap more": lambda h, d: {"taps": (*h.taps, d.uniform(0.5, 20))},
    "one splice more": lambda h, d: {"joints": h.joints + 1},
    "one pair less": lambda h, d: {"open_pairs": min(h.open_pairs + 1, h.pairs)},
    "weaker grade": lambda h, d: {"grade": min(h.grade + 1, len(GRADES) - 1)},
    "more untwisted": lambda h, d: {"untwisted_m": h.untwisted_m + d.uniform(0.01, 0.3)},
    "more watts": lambda h, d: {"watts": h.watts + d.uniform(0.5, 6)},
}


def told(house: House) -> tuple[dict[str, float], dict[str, float]]:
    """Ranks that may only rise (0 is likely), and figures that may only fall."""
    here = site(house.text())
    judged = next(j for j in judged_runs(here) if j.run.start.tag == "E0")
    found = estimate(here, judged, kit=())
    ranks = {f"band at {r.mbps}": ORDER.index(r.band) for r in found.capability.rates}
    ranks["telephone"] = ORDER.index(found.capability.telephone)
    figures = {f"{m.name} {end}": getattr(m.margin, end) for m in found.margins if m.margin for end in ("low", "high")}
    for port in judged_ports(here):
        if port.port.tag == "W.1" and port.verdict:
            ranks["power"] = ORDER.index(port.verdict.works)
            if port.match and port.match.volts:
                figures["volts"] = port.match.volts.low
    return ranks, figures


def differences(seed: int, count: int) -> list[str]:
    dice = random.Random(seed)
    found = []
    for n in range(count):
        house, how = drawn(dice), dice.choice(list(WORSE))
        changed = dataclasses.replace(house, **WORSE[how](house, dice))
        before, after = told(house), told(changed)
        for name, rank in after[0].items():
            if rank < before[0].get(name, 0):
                found.append(
                    f"{n} {how}: {name} rose from {ORDER[int(before[0][name])]} to {ORDER[int(rank)]}: {house}"
                )
        for name, value in after[1].items():
            old = before[1].get(name, -math.inf)
            if value > old + 1e-6 and name in before[1]:
                found.append(f"{n} {how}: {name} rose from {old:.3f} to {value:.3f}: {house}")
    return found


@pytest.mark.parametrize("seed", range(4))
def test_worse_tables__never_better_answers(seed: int) -> None:
    """Four times 250 random runs."""
    found = differences(seed, 250)
    assert not found, f"{len(found)}:\n" + "\n".join(found[:6])


def test_worse_tables__fresh_draw() -> None:
    found = differences(FRESH_SEED, 100)
    assert not found, f"{len(found)}:\n" + "\n".join(found[:6])


def test_12_w_at_24_v_over_100_m_of_26_awg__no_with_its_reason_and_no_figure() -> None:
    """Four times the loop of 13.4 ohm by 12 W is more than 24 V squared: no voltage can carry it (Ohm's law)."""
    house = House(2, 100, 20, 26, 4, 0, 0, 0, (), 0.013, 12.0, True)
    port = next(p for p in judged_ports(site(house.text())) if p.port.tag == "W.1")
    assert port.verdict is not None and port.match is not None
    assert (str(port.verdict.works), str(port.verdict.code)) == ("no", "no_voltage_can_carry_it")
    assert port.match.volts is None
    thicker = next(p for p in judged_ports(site(dataclasses.replace(house, awg=24).text())) if p.port.tag == "W.1")
    assert thicker.match is not None and thicker.match.volts is not None
    assert thicker.match.volts.low <= 18.55 <= thicker.match.volts.high  # 18.55 V by hand at 8.42 ohm and 20 C
