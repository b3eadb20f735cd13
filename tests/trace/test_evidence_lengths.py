"""A length against the way: the formula by a sum of its own, its bounds, and what becomes of too short a wire."""

from __future__ import annotations

import math

import pytest

from pullstring.model.answers import Interval
from pullstring.model.refs import parse_ref
from pullstring.trace.evidence_lengths import fit_log, lengths, way_m
from tests.trace.houses import house, plain, read
from tests.trace.test_evidence import PLACES

EXTRA, SD, SHARE, FLAT, WILD = 6.0, 5.0, 0.15, 60.0, 0.05
"""The assumed constants, written down again."""


@pytest.mark.parametrize(("low", "high", "way"), [(18.0, 22.0, 14.0), (28.0, 30.0, 14.0), (25.0, 45.0, 30.0)])
def test_fit__is_the_density_against_any_length(low: float, high: float, way: float) -> None:
    """The even spread of the reading has the variance of (high - low)^2 / 12, that is half^2 / 3."""
    sigma = math.sqrt(SD**2 + (SHARE * way) ** 2 + (high - low) ** 2 / 12)
    density = math.exp(-0.5 * (((low + high) / 2 - way - EXTRA) / sigma) ** 2) / (sigma * math.sqrt(2 * math.pi))
    expected = math.log(((1 - WILD) * density + WILD / FLAT) / (1 / FLAT))
    got = fit_log(length=Interval(low, high, "m"), way=way, flat_m=FLAT, most_log=1.5)
    assert got == pytest.approx(max(min(expected, 1.5), -3), abs=1e-12)


def test_fit__a_wire_shorter_than_its_way_does_not_reach() -> None:
    assert fit_log(length=Interval(5, 9, "m"), way=10.0, flat_m=FLAT, most_log=1.5) == -3
    assert fit_log(length=Interval(5, 11, "m"), way=10.0, flat_m=FLAT, most_log=1.5) > -3


def test_fit__far_too_long_stays_bounded() -> None:
    assert -3 <= fit_log(length=Interval(200, 210, "m"), way=10.0, flat_m=FLAT, most_log=1.5) < -2.5


def test_way__goes_along_walls_and_floors() -> None:
    site = house(plain(2, 2) + PLACES)
    assert way_m(site, parse_ref("end:W1"), parse_ref("outlet:P1")) == pytest.approx(14.0), "10 and 4 m, one height"
    assert way_m(house(plain(1, 1)), parse_ref("end:W1"), parse_ref("outlet:P1")) is None


def test_length__of_capacitance_is_to_where_it_is_open_and_of_a_loop_it_is_not() -> None:
    """1.04 nF at 46 to 56 pF a metre (cat5): 18.6 to 22.6 m, and a bit more for the meter."""
    text = plain(1, 2) + "cables: cable=K1, jacket=cat5, grade=seen\ncables: cable=K2, jacket=cat5, grade=seen\n"
    text += read("end:W1", "capacitance", "1.04 nF", conditions="far end open")
    text += read("end:W2", "loop resistance", "3.37 ohm", conditions="shorted at the outlet")
    found = lengths(house(text))
    one, two = found[parse_ref("end:W1")], found[parse_ref("end:W2")]
    assert one.to_open and not two.to_open
    assert 16 < one.interval.low < 18.6 and 22.6 < one.interval.high < 25
    assert two.interval.low < 20 < two.interval.high, "3.37 ohm is 20 m of 24 AWG, out and back"
    assert one.because and two.because
