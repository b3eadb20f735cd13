"""How long a battery carries a load: two ways of reckoning that differ by half when the time is short.

Peukert's law counts that a battery gives less when it is drained fast; watt-hours do not. Below an hour only the maker's
table of constant power is right, so both are told and neither is called exact. Lead batteries, sealed or flooded.
"""

from __future__ import annotations

import math

from pullstring.model.answers import Interval, spread

SEALED_EXPONENT = Interval(1.05, 1.15, "1", ("exponent",))
"""Peukert's exponent of sealed lead batteries (from memory); flooded ones have 1.2 to 1.5. [1]"""
END_OF_LIFE = 0.8
"""Part of the printed ampere hours left when a battery counts as worn out. [1] Common practice."""
COLD_PER_C = 0.01
"""Loss of capacity per degree below 25 C. [1/C] Common practice."""
RATED_C = 25.0
"""Temperature at which life and capacity are printed. [C] Common practice."""
LIFE_YEARS = Interval(3.0, 5.0, "year", ("life",))
"""Life of a sealed lead battery at 25 C. [year] Common practice."""


def peukert_hours(*, capacity_ah: float, rate_h: float, current_a: float, exponent: float) -> float:
    r"""Hours at a steady current, :math:`t = H (C / I H)^k`, the capacity being stated for H hours.

    Parameters
    ----------
    capacity_ah : float
        Capacity C as printed, above zero. [Ah]
    rate_h : float
        Hours H over which C is stated, above zero; 20 on most. [h]
    current_a : float
        Current I, above zero. [A]
    exponent : float
        Peukert's exponent k, 1 or more. [1]

    Returns
    -------
    float
        Time until empty. [h]

    References
    ----------
    Peukert 1897 in the form with a rated time (read in a published text). Another definition of C gives other hours: see
    `peukert_hours_at_1a`. Checked in ``tests/published/test_check_rows.py``.
    """
    C, H, I, k = capacity_ah, rate_h, current_a, exponent  # noqa: E741
    return H * math.pow(C / (I * H), k)


def peukert_hours_at_1a(*, capacity_ah: float, current_a: float, exponent: float) -> float:
    r"""Hours at a steady current, :math:`t = C_p / I^k`, the capacity being stated at 1 A.

    Parameters
    ----------
    capacity_ah : float
        Capacity at 1 A, above zero; not what stands on a battery rated for 20 hours. [Ah]
    current_a : float
        Current, above zero. [A]
    exponent : float
        Peukert's exponent, 1 or more. [1]

    Returns
    -------
    float
        Time until empty. [h]

    References
    ----------
    Peukert 1897 (read in a published text). Checked in ``tests/published/test_check_rows.py``.
    """
    return capacity_ah / math.pow(current_a, exponent)


def peukert_exponent(*, first_ah: float, first_h: float, second_ah: float, second_h: float) -> float:
    r"""Peukert's exponent from two printed capacities: :math:`\ln(H_2/H_1) / \ln\frac{C_1/H_1}{C_2/H_2}`.

    Parameters
    ----------
    first_ah, first_h : float
        One capacity and the hours it is stated for. [Ah, h]
    second_ah, second_h : float
        Another, over other hours. [Ah, h]

    Returns
    -------
    float
        Exponent. [1]

    References
    ----------
    `peukert_hours` twice, solved for k. Checked in ``tests/published/test_check_rows.py``.
    """
    if first_h == second_h:
        raise ValueError(f"both capacities are stated for {first_h:g} h; give two different times")
    return math.log(second_h / first_h) / math.log((first_ah / first_h) / (second_ah / second_h))


def battery_current_a(*, load_w: float, efficiency: float, battery_v: float) -> float:
    """Current drawn from the batteries of a UPS: the load, and what its inverter loses, at their nominal voltage.

    Parameters
    ----------
    load_w : float
        Power drawn from its sockets, above zero. [W]
    efficiency : float
        Of the inverter, above 0 to 1. [1]
    battery_v : float
        All batteries in series. [V]

    Returns
    -------
    float
        Current. [A]

    References
    ----------
    P = V I. Checked in ``tests/power/test_ups.py``.
    """
    return load_w / (efficiency * battery_v)


def ups_minutes_by_peukert(
    *,
    load_w: float,
    efficiency: float,
    battery_v: float,
    capacity_ah: float,
    rate_h: float,
    exponent: float,
    capacity_left: float,
) -> float:
    """Minutes by Peukert's law, times the part of the capacity that is left.

    Parameters
    ----------
    load_w : float
        Power drawn from its sockets, above zero. [W]
    efficiency : float
        Of the inverter, above 0 to 1. [1]
    battery_v, capacity_ah, rate_h : float
        All batteries in series; ampere hours as printed, and the hours they are stated for. [V, Ah, h]
    exponent : float
        Peukert's exponent, 1 or more. [1]
    capacity_left : float
        Part left by age and cold, 0 to 1. [1]

    Returns
    -------
    float
        Time until empty. [min]

    References
    ----------
    `peukert_hours`; that what is left counts in proportion is common practice. Checked in ``tests/published/test_check_rows.py``.
    """
    amps = battery_current_a(load_w=load_w, efficiency=efficiency, battery_v=battery_v)
    hours = peukert_hours(capacity_ah=capacity_ah, rate_h=rate_h, current_a=amps, exponent=exponent)
    return 60 * hours * capacity_left


def ups_minutes_by_energy(
    *, load_w: float, efficiency: float, battery_v: float, capacity_ah: float, capacity_left: float
) -> float:
    """Minutes by watt-hours: too long when the time is short.

    Parameters
    ----------
    load_w : float
        Power drawn from its sockets, above zero. [W]
    efficiency : float
        Of the inverter, above 0 to 1. [1]
    battery_v, capacity_ah : float
        All batteries in series, and their ampere hours as printed. [V, Ah]
    capacity_left : float
        Part left by age and cold, 0 to 1. [1]

    Returns
    -------
    float
        Time until empty. [min]

    References
    ----------
    Energy over power. Checked in ``tests/published/test_check_rows.py``.
    """
    return 60 * battery_v * capacity_ah * efficiency * capacity_left / load_w


def cold_share(*, temperature_c: float) -> float:
    """Part of the capacity that a cold battery gives: 1 % less per degree below 25 C, never below none.

    Parameters
    ----------
    temperature_c : float
        Temperature of the battery. [C]

    Returns
    -------
    float
        Part of the capacity. [1]

    References
    ----------
    Common practice. Checked in ``tests/power/test_ups.py``.
    """
    return min(1.0, max(0.0, 1 - COLD_PER_C * (RATED_C - temperature_c)))


def ageing_factor(*, temperature_c: float) -> float:
    """How much faster than at 25 C a battery ages: twice for each 10 C above, never slower.

    Parameters
    ----------
    temperature_c : float
        Temperature of the battery. [C]

    Returns
    -------
    float
        Years of age for each year. [1]

    References
    ----------
    Common practice (life halves per 10 C). Checked in ``tests/power/test_ups.py``.
    """
    return math.pow(2, max(temperature_c - RATED_C, 0.0) / 10)


def aged_share(*, age_years: float, life_years: float) -> float:
    """Part of the capacity left at an age: from 1 when new, straight down to 0.8 at the end of its life, then on to none.

    Parameters
    ----------
    age_years : float
        Age as at 25 C, see `ageing_factor`, zero or more. [year]
    life_years : float
        Life at 25 C, above zero. [year]

    Returns
    -------
    float
        Share. [1]

    References
    ----------
    0.8 at the end of life is common practice; the straight line is ours, assumed. Checked in ``tests/power/test_ups.py``.
    """
    return max(0.0, 1 - (1 - END_OF_LIFE) * age_years / life_years)


def capacity_left(*, age: Interval | None, temperature: Interval) -> Interval:
    """Part of the capacity left by age and cold. A battery past the shorter life may be dead, and one of unknown age too.

    Parameters
    ----------
    age : Interval or None
        Years since it was made; None when nobody knows. [year]
    temperature : Interval
        Of the place it stands in, coldest to hottest. [C]

    Returns
    -------
    Interval
        Share, naming what it rests on. [1]

    References
    ----------
    `aged_share`, `ageing_factor`, `cold_share`. Checked in ``tests/power/test_ups.py``.
    """
    cold = spread(cold_share, "1", temperature_c=temperature)
    if age is None:
        return Interval(0.0, cold.high, "1", tuple(dict.fromkeys(("battery_age", *cold.inputs))))
    oldest = age.high * ageing_factor(temperature_c=temperature.high)
    youngest = age.low * ageing_factor(temperature_c=temperature.low)
    worst = 0.0 if oldest > LIFE_YEARS.low else aged_share(age_years=oldest, life_years=LIFE_YEARS.low)
    best = aged_share(age_years=youngest, life_years=LIFE_YEARS.high)
    names = (
        *(("battery_age",) if age.low < age.high else ()),
        *(("temperature_c",) if temperature.low < temperature.high else ()),
        *(("life",) if oldest > 0 else ()),
    )
    low, high = worst * cold.low, best * cold.high
    return Interval(low, high, "1", names if low < high else ())


def both_ways(
    *,
    load: Interval,
    efficiency: Interval,
    battery_v: float,
    capacity_ah: float,
    rate: Interval,
    exponent: Interval,
    left: Interval,
) -> tuple[Interval, Interval, Interval]:
    """Minutes by Peukert's law, by watt-hours, and from the least to the greatest of both.

    No time beyond the hours for which the capacity is stated is told: there the losses of the UPS itself decide.

    Parameters
    ----------
    load : Interval
        Power drawn from its sockets; its greatest may be infinite where a load is not known. [W]
    efficiency, rate, exponent, left : Interval
        Inverter; hours of the printed capacity; Peukert's exponent; part of the capacity left. [1, h, 1, 1]
    battery_v, capacity_ah : float
        All batteries in series, and their ampere hours as printed. [V, Ah]

    Returns
    -------
    tuple of three Interval
        Each names the inputs that widen it; the last one `method` too. [min]

    References
    ----------
    `ups_minutes_by_peukert`, `ups_minutes_by_energy`. Checked in ``tests/power/test_ups.py``.
    """
    if load.high <= 0:
        raise ValueError(f"load of {load.high:g} W: without a load there is no time to reckon; give more than zero")
    longest = 60 * rate.high

    def by_peukert(load_w: float, efficiency: float, rate_h: float, exponent: float, capacity_left: float) -> float:
        if load_w <= 0:
            return longest if capacity_left > 0 else 0.0
        minutes = ups_minutes_by_peukert(
            load_w=load_w, efficiency=efficiency, battery_v=battery_v, capacity_ah=capacity_ah,
            rate_h=rate_h, exponent=exponent, capacity_left=capacity_left,
        )  # fmt: skip
        return min(minutes, longest)

    def by_energy(load_w: float, efficiency: float, capacity_left: float) -> float:
        if load_w <= 0:
            return longest if capacity_left > 0 else 0.0
        minutes = ups_minutes_by_energy(
            load_w=load_w, efficiency=efficiency, battery_v=battery_v, capacity_ah=capacity_ah,
            capacity_left=capacity_left,
        )  # fmt: skip
        return min(minutes, longest)

    shared = {"load_w": load, "efficiency": efficiency, "capacity_left": left}
    peukert = _named(spread(by_peukert, "min", rate_h=rate, exponent=exponent, **shared), left)
    energy = _named(spread(by_energy, "min", **shared), left)
    low, high = min(peukert.low, energy.low), max(peukert.high, energy.high)
    inputs = dict.fromkeys((*peukert.inputs, *energy.inputs, *(("method",) if peukert != energy else ())))
    return peukert, energy, Interval(low, high, "min", tuple(inputs) if low < high else ())


def _named(minutes: Interval, left: Interval) -> Interval:
    """What is left of the capacity is no input by itself: the inputs it came from are named instead."""
    inputs = dict.fromkeys(i for name in minutes.inputs for i in (left.inputs if name == "capacity_left" else (name,)))
    return Interval(minutes.low, minutes.high, minutes.unit, tuple(inputs))
