"""Figures as people read them: three digits, outward intervals, odds in small parts, dates in words."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.model.answers import Band, Interval, Limit, Money, Odds
from pullstring.papers import figures


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.0, "0"), (3.5, "3.5"), (48.0, "48"), (71.3, "71.3"), (3.456, "3.46"), (0.012345, "0.0123"), (1234.0, "1230"),
        (1e6, "1000000"), (-0.5, "-0.5"), (0.1 + 0.2, "0.3"), (2.675, "2.68"), (9.996, "10"),
    ],
)  # fmt: skip
def test_number__three_digits_never_in_powers_of_ten(value: float, shown: str) -> None:
    assert figures.number(value) == shown


def test_number__refuses_what_is_no_number() -> None:
    with pytest.raises(ValueError, match="finite"):
        figures.number(float("nan"))


def test_quantity__si_inside_trade_units_outside() -> None:
    assert figures.nanofarads(18.5e-9) == "18.5 nF"
    assert figures.megabits(100e6) == "100 Mb/s"
    assert figures.ohms(3.5) == "3.5 ohm"
    assert figures.metres(12.34) == "12.3 m"
    assert figures.volts(57.0) == "57 V"
    assert figures.watts(25.5) == "25.5 W"
    assert figures.square_metres(40.0) == "40.0 m²"
    assert figures.square_metres(1.25) == "1.3 m²"


def test_interval__rounded_outwards_so_the_range_still_holds_the_value() -> None:
    assert figures.interval(Interval(3.3, 3.7, "ohm")) == "3.3 to 3.7 ohm"
    assert figures.interval(Interval(3.3349, 3.7001, "ohm")) == "3.33 to 3.71 ohm"
    assert figures.interval(Interval(-2.0049, -1.0001, "dB")) == "-2.01 to -1 dB"
    assert figures.interval(Interval.exact(3.456, "ohm")) == "3.46 ohm"
    assert figures.interval(Interval(12e-9, 15e-9, "F")) == "12 to 15 nF"


def test_interval__float_noise_does_not_widen_it() -> None:
    assert figures.interval(Interval(0.1 + 0.2, 1.1 + 2.2, "m")) == "0.3 to 3.3 m"


@given(st.floats(-1e6, 1e6), st.floats(0, 1e6))
def test_interval__printed_ends_hold_the_true_ends(low: float, width: float) -> None:
    high = low + width
    parts = figures.interval(Interval(low, high, "m")).removesuffix(" m").split(" to ")
    slack = 1e-8 * max(abs(low), abs(high)) + (0.006 * abs(low) if len(parts) == 1 else 0)
    assert float(parts[0]) - slack <= low
    assert float(parts[-1]) + slack >= high


@pytest.mark.parametrize(
    ("chance", "shown"),
    [(0.8, "4 in 5"), (0.5, "1 in 2"), (0.333, "1 in 3"), (0.95, "19 in 20"), (0.9, "9 in 10"), (0.97, "97 in 100"),
     (0.01, "1 in 100"), (0.995, "more than 99 in 100"), (0.004, "less than 1 in 100"), (1.0, "100 in 100")],
)  # fmt: skip
def test_odds__fewest_parts(chance: float, shown: str) -> None:
    assert figures.odds(Odds(chance)) == shown


@given(st.floats(0.01, 0.99))
def test_odds__within_one_in_a_hundred(chance: float) -> None:
    part, whole = (int(word) for word in figures.odds(Odds(chance)).split(" in "))
    assert abs(part / whole - chance) <= 0.0101


def test_band__in_four_words() -> None:
    assert [figures.band(b) for b in Band] == ["likely", "possible", "unlikely", "no"]


def test_money__decimal_and_half_up() -> None:
    assert figures.money(Money(Decimal("1234.5"), "EUR")) == "1234.50 EUR"
    assert figures.money(Money(Decimal("0.125"), "EUR")) == "0.13 EUR"


def test_limit__names_its_standard() -> None:
    assert figures.limit(Limit(13.0, "W", "IEEE 802.3 clause 33", "published")) == "13 W (IEEE 802.3 clause 33)"


@pytest.mark.parametrize(
    ("written", "shown"),
    [("2026-11-03", "3 November 2026"), ("2026-11", "November 2026"), ("1994", "1994"), ("about 1994", "about 1994"),
     ("before 2006-05", "before 2006-05"), ("1990s", "1990s"),
     ("2026-11-03T16:10+01:00", "3 November 2026 16:10 (+01:00)"),
     ("2026-11-03T16:10-05:00", "3 November 2026 16:10 (-05:00)")],
)  # fmt: skip
def test_date__in_words_and_vague_as_written(written: str, shown: str) -> None:
    assert figures.date(written) == shown


def test_on_drawing__true_minus() -> None:
    assert figures.on_drawing("-67 dB") == "\N{MINUS SIGN}67 dB"
