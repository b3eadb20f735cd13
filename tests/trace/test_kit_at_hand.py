"""What the noted kit allows; nothing is taken to be at hand that nobody noted."""

from __future__ import annotations

import pytest

from pullstring.trace.kit_at_hand import KitAtHand, assumed_tolerance, kit_at_hand, resistor_values_ohm
from pullstring.trace.kits import Kit
from tests.notice.lines import TODAY, site


def kit(*lines: str, today: str = TODAY) -> KitAtHand:
    return kit_at_hand(site("\n".join(f"kit kit=K{n} {line}" for n, line in enumerate(lines, 1))), today=today)


def test_no_kit__one_question_and_nothing_possible() -> None:
    found = kit()
    assert (found.noted, found.ask, found.acts, found.tone) == (False, "what_kit", (), False)
    assert found.for_planner == Kit()
    assert found.would_pay[0] == "scrap_plugs"  # plugs with shorted pairs are made of waste


@pytest.mark.parametrize("state", ["lost", "removed", "planned", "'out of use'"])
def test_kit_that_is_gone__is_not_at_hand(state: str) -> None:
    found = kit(f"style=meter state={state}")
    assert (found.noted, found.ask, found.meter) == (False, "what_kit", False)


def test_any_kit__is_not_asked_for_again() -> None:
    assert kit("style=other").ask is None


@pytest.mark.parametrize(
    ("lines", "tone", "taken"),
    [
        (["style='tone set'", "style=probe"], True, ()),
        (["style='tone set'"], True, ("probe_with_tone_set",)),
        (["style=probe"], False, ()),
    ],
)
def test_tone__needs_the_sender(lines: list[str], tone: bool, taken: tuple[str, ...]) -> None:
    found = kit(*lines)
    assert (found.tone, "tone" in found.acts, found.taken) == (tone, tone, taken)


def test_counts__of_one_kind_add_up_and_what_nobody_counted_is_one() -> None:
    found = kit("style='numbered remotes' count=8", "style='numbered remotes'", "style='coded plugs' count=15")
    assert found.for_planner == Kit(remotes=9, plugs=15)
    assert "one_where_not_counted" in found.taken
    assert kit("style='numbered marks' count=40").for_planner == Kit(marks=40)
    none_left = kit("style='numbered remotes' count=0")
    assert (none_left.remotes, none_left.acts, none_left.ask) == (0, (), None)


def test_meter__tells_continuity_too_and_a_tester_tells_no_ohms() -> None:
    meter, tester = kit("style=meter"), kit("style='continuity tester'")
    assert (meter.continuity, "ohms" in meter.acts, "volts" in meter.acts) == (True, True, True)
    assert (tester.continuity, tester.acts) == (True, ("continuity",))


EIGHT = (1200, 2200, 3900, 4700, 6800, 12000, 18000, 33000)


@pytest.mark.parametrize(
    "line",
    [
        'note="1 %: 1.2k 2.2k 3.9k 4.7k 6.8k 12k 18k 33k"',
        'values="1.2k 2.2k 3.9k 4.7k 6.8k 12k 18k 33k" tolerance_percent=1',
        'values="1,2 kohm; 2k2, 3k9, 4700, 6800R, 12K 18 k 33k" tolerance_percent="1 %"',
    ],
)
def test_resistors__values_and_tolerance_however_they_are_written(line: str) -> None:
    found = kit(f"style=resistors {line}", "style=meter")
    assert tuple(r.ohm for r in found.resistors) == EIGHT
    assert {(r.tolerance, r.count) for r in found.resistors} == {(0.01, 1)}
    assert "resistors" in found.acts and "tolerance_not_noted" not in found.taken


def test_resistors__without_a_meter_cannot_be_read() -> None:
    found = kit('style=resistors values="1k 2k"')
    assert found.resistors and "resistors" not in found.acts and "meter" in found.would_pay


def test_resistors__tolerance_not_noted_is_assumed_and_said() -> None:
    found = kit('style=resistors values="1k"')
    assert (found.resistors[0].tolerance, found.taken) == (assumed_tolerance(), ("tolerance_not_noted",))
    told = kit_at_hand(site('kit kit=K1 style=resistors values="1k"'), unnoted_tolerance=0.1)
    assert told.resistors[0].tolerance == 0.1


def test_resistors__pieces_are_shared_out_over_the_values() -> None:
    """Twelve pieces of three values are four of each; none left are none."""
    assert {r.count for r in kit('style=resistors values="1k 2k 3k" count=12').resistors} == {4}
    assert kit('style=resistors values="1k 2k 3k" count=0').resistors == ()


def test_resistors__a_bag_without_values_is_said() -> None:
    found = kit('style=resistors note="a bag from 1999"', "style=meter")
    assert (found.resistors, "resistors_without_values" in found.taken) == ((), True)
    assert "resistors" in found.would_pay


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("", ()),
        ("none", ()),
        ("5 % 0.25 W 1k 1k", (1000,)),
        ("1M 470 ohm 10Ω", (10, 470, 1e6)),
        ("4k7 2x 10k 3 pcs", (4700, 10000)),
        ("0 ohm", ()),
    ],
)
def test_values__numbers_that_are_none_are_left_out(text: str, values: tuple[float, ...]) -> None:
    assert resistor_values_ohm(text) == values


@pytest.mark.parametrize(
    ("checked", "tried"),
    [
        ("checked=2026-04-01", "today"),
        ("checked=2026-04-01T08:30+02:00", "today"),
        ("checked=2026-04-01T00:30+02:00", "today"),  # the day before by Greenwich, but not where the work is
        ("checked=2026-03-31", "before"),
        ("checked=2026-04", "before"),  # some day in April
        ("checked='before 2027'", "before"),
        ("", "never noted"),
    ],
)
def test_self_check__counts_only_for_the_day(checked: str, tried: str) -> None:
    """What was not tried on itself today is tried on a known run before it is believed."""
    found = kit(f"style='tone set' {checked}")
    assert found.tools[0].tried == tried
    assert bool(found.try_first) == (tried != "today")


def test_self_check__the_day_of_the_site_when_none_is_given() -> None:
    assert kit_at_hand(site(f"kit kit=K1 style=probe checked={TODAY}")).try_first == ()


def test_self_check__not_asked_of_what_cannot_deceive() -> None:
    assert kit("style=resistors values=1k", "style='coded plugs' count=3").try_first == ()


@pytest.mark.parametrize(("battery", "weak"), [("9 V", False), ("new", False), ("flat", True), ("low, 7.1 V", True)])
def test_battery__a_word_for_weak_asks_for_a_fresh_one(battery: str, weak: bool) -> None:
    found = kit(f"style='tone set' battery='{battery}'")
    assert (found.tools[0].battery, found.tools[0].battery_weak) == (battery, weak)
    assert ("fresh_battery" in found.would_pay) == weak


def test_would_pay__what_costs_nothing_first_and_nothing_that_is_there() -> None:
    found = kit("style='tone set'", "style=meter")
    assert found.would_pay == ("scrap_plugs", "resistors", "numbered_remotes")
    marked = kit("style='tone set'", "style=meter", "style='numbered marks' count=60", "style=resistors values=1k")
    assert marked.would_pay == ()


def test_kit__a_self_check_read_today_counts_as_tried():
    """What the phone or the sheet brought back, not the date of the kit; the last of the day counts."""
    probe = "kit kit=K1 style=probe"
    works = f"measurements subject=kit:K1 quantity=self-check value=works grade=metered at={TODAY}T08:00+00:00"
    silent = f"measurements subject=kit:K1 quantity=self-check value=silent grade=metered at={TODAY}T09:00+00:00"
    assert kit_at_hand(site(probe)).try_first
    assert kit_at_hand(site(f"{probe}\n{works}")).try_first == ()
    assert kit_at_hand(site(f"{probe}\n{works}\n{silent}")).try_first
