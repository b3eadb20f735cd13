"""What is put before a person: only what is sure, and with no higher grade than what was done allows."""

from __future__ import annotations

import pytest

from pullstring.trace.assumed import assumed_noise, assumed_prior
from pullstring.trace.posterior import odds_of
from pullstring.trace.proposals import proposals
from pullstring.trace.readings import Leaning, Ohms, Plugs, Remote, Tone
from pullstring.trace.scene import Scene
from pullstring.trace.standing import standings
from pullstring.trace.table import Table
from tests.trace.test_standing import SURE

CARE = {
    "both": frozenset({"isolated", "confirmed"}),
    "isolated": frozenset({"isolated"}),
    "confirmed": frozenset({"confirmed"}),
    "marks": frozenset({"marks"}),
}


def proposed(scene, readings):
    table = Table(scene, prior=assumed_prior(), noise=assumed_noise())
    for reading in readings:
        table.add(reading)
    odds, _ = odds_of(table)
    stands = standings(odds.nets, sure=SURE)
    care = lambda entry: CARE.get(entry, frozenset())  # noqa: E731
    found = proposals(stands, odds, readings, scene=scene, care=care, sure_net=SURE.net)
    return {(p.end, p.outlet): (p.how, p.grade) for p in found}, found


def remote(n, outlet, end, **more):
    return Remote(key=f"r{n}", outlet=outlet, end=end, hit=True, because=(f"r{n}",), **more)


LEAN = Leaning(key="l", outlet=0, log_weight={1: 12.0}, because=("label",))


@pytest.mark.parametrize(
    ("entry", "grade"),
    [("both", "toned"), ("isolated", "told"), ("confirmed", "told"), ("neither", "told")],
)
def test_proposal__a_tone_is_toned_only_when_isolated_and_confirmed(entry, grade):
    """The rule of the grades: a tone that bleeds over is a reading and proves nothing, however sure the odds make it."""
    found, _ = proposed(Scene(1, 3), [LEAN, Tone(key="t", outlet=0, end=1, level=2, because=(entry,))])
    assert found[1, 0][1] == grade


@pytest.mark.parametrize(
    ("reading", "how"),
    [
        (Remote(key="k", outlet=0, end=1, hit=True, because=("x",)), "remote"),
        (Plugs(key="k", outlet=0, words={0: 1, 1: 2, 2: 4}, pairs=4, bits=2, because=("x",)), "plug"),
        (Ohms(key="k", end=1, ohm=1205.0, placed={0: 1200.0}, off=0.01, line_ohm=(0, 20), because=("x",)), "resistor"),
    ],
)
def test_proposal__a_code_read_at_the_other_end_is_toned(reading, how):
    found, rows = proposed(Scene(1, 3), [LEAN, reading])
    assert found == {(1, 0): (how, "toned")}
    assert "x" in rows[0].because and rows[0].chance >= SURE.net


def test_proposal__odds_alone_are_assumed():
    """A label alone may make the odds high; nobody did anything on the wire."""
    alone, _ = proposed(Scene(1, 3), [LEAN])
    assert alone == {(1, 0): ("left over", "assumed")}


def test_proposal__marks_read_by_eye_are_seen():
    found, _ = proposed(Scene(1, 3), [Leaning(key="l", outlet=0, log_weight={1: 12.0}, because=("marks",))])
    assert found == {(1, 0): ("marks", "seen")}


def test_proposal__nothing_that_is_not_sure():
    found, _ = proposed(Scene(1, 3), [Tone(key="t", outlet=0, end=1, level=2, because=("both",))])
    assert found == {}


def test_proposal__of_a_clip_no_end_is_picked_until_it_was_open():
    """Both ends of a block show the same remote: the net is sure, the own end is not, so neither end is claimed."""
    scene = Scene(1, 3, blocks=((0, 1),))
    joined = [remote(1, 0, 0), remote(2, 0, 1)]
    found, _ = proposed(scene, joined)
    assert found == {}
    opened, _ = proposed(scene, [*joined, remote(3, 0, 1, opened=frozenset((0,)))])
    assert opened == {(1, 0): ("remote", "toned")}
