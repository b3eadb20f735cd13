"""Ways in which the world is not what the engine believes; each is an input of the world."""

from __future__ import annotations

import dataclasses

import numpy as np

from bench.tracing_world.truth import NONE, Truth

EVERYWHERE, NOWHERE = "everywhere", "nowhere"


@dataclasses.dataclass(frozen=True)
class Label:
    """An old label: an outlet is said to be on an end."""

    outlet: int
    end: int


@dataclasses.dataclass(frozen=True)
class Trouble:
    """The tone is silent while its battery is flat, a number is read everywhere or nowhere, labels are believed so far."""

    flat_s: tuple[float, float] | None = None
    stuck: tuple[tuple[int, str], ...] = ()
    labels: tuple[Label, ...] = ()
    label_right: float = 0.5

    def is_flat(self, clock_s: float) -> bool:
        return self.flat_s is not None and self.flat_s[0] <= clock_s < self.flat_s[1]

    def of_number(self, number: int) -> str | None:
        return dict(self.stuck).get(number)


NO_TROUBLE = Trouble()


def old_labels(truth: Truth, ends: int, *, count: int, wrong: int, rng: np.random.Generator) -> tuple[Label, ...]:
    """Labels on some outlets with a cable, the first few of them wrong: they name another end, drawn evenly."""
    wired = [o for o, end in enumerate(truth.own) if end != NONE]
    chosen = [wired[i] for i in rng.permutation(len(wired))[:count]]
    found = []
    for n, outlet in enumerate(chosen):
        end = truth.own[outlet]
        others = [e for e in range(ends) if e not in truth.net(outlet)]
        if n < wrong and others:
            end = others[int(rng.integers(len(others)))]
        found.append(Label(outlet, end))
    return tuple(found)
