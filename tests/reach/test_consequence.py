"""The engine against published counts of drawn sites, plain recomputation, and cases that can be worked out in the head."""

from __future__ import annotations

import collections
import random
from collections.abc import Collection

import pytest

from pullstring.reach.consequence import (
    Fact,
    Rule,
    doubt,
    failing,
    goes_dark,
    live,
    places,
    prepared,
    proof,
    single_points,
    single_removals,
    without,
)
from tests.reach.drawn_site import Drawn
from tests.reach.plain import any_rules, any_services, darkened, elements_of, plainly
from tests.tiers import FRESH_SEED


def test_drawn_site_of_5000__published_counts() -> None:
    """Counts published for this drawing, computed elsewhere; the site was drawn again from its description."""
    site = Drawn(5000, 1)
    assert (len(site.elements), len(site.rules), len(site.sources), site.links) == (5010, 11121, 5, 4921)
    alive = live(site.rules)
    assert len(site.services) == sum(f in alive for f in site.services.values()) == 1388
    sizes = {element: len(names) for element, names in single_removals(site.rules, site.services).items()}
    times = collections.Counter(sizes.values())
    assert sum(sizes.values()) == 12911
    assert (times[0], times[1], times[24], len(sizes) - times[0]) == (35, 4636, 169, 4975)
    assert {e: n for e, n in sizes.items() if n > 24} == {
        "core": 1128,
        "mains": 1128,
        "ups": 1128,
        "telco": 260,
    }


def test_drawn_site_of_500__every_single_removal_equals_plain_recomputation() -> None:
    site = Drawn(500, 1)
    found = single_removals(site.rules, site.services)
    assert (len(site.elements), len(site.rules), len(site.services)) == (510, 1135, 120)
    assert sum(map(len, found.values())) == 1272
    before = plainly(site.rules)
    assert live(site.rules) == before
    for element in sorted(site.elements)[::17]:
        assert found[element] == darkened(before, plainly(site.rules, {element}), site.services), element
        assert found[element] == goes_dark(site.rules, site.services, {element}), element


def differences(seed: int | str) -> list[str]:
    """Where the engine is not what plain recomputation gives: every element alone, and some together."""
    dice = random.Random(seed)
    rules = any_rules(dice)
    elements, services = elements_of(rules), any_services(rules)
    before = plainly(rules)
    found = [] if live(rules) == before else [f"seed {seed}: at the start"]
    alone = {e: darkened(before, plainly(rules, {e}), services) for e in elements}
    if single_removals(rules, services) != alone:
        found.append(f"seed {seed}: single removals")
    found += [f"seed {seed}: without {e}" for e in elements if goes_dark(rules, services, {e}) != alone[e]]
    for _ in range(6):
        removed = set(dice.sample(elements, dice.randint(0, 4)))
        after = plainly(rules, removed)
        if live(rules, removed) != after or goes_dark(rules, services, removed) != darkened(before, after, services):
            found.append(f"seed {seed}: without {sorted(removed)}")
    return found


@pytest.mark.parametrize("first", range(0, 500, 100))
def test_random_systems__engine_equals_plain_recomputation(first: int) -> None:
    assert [text for seed in range(first, first + 100) for text in differences(seed)] == []


def test_random_systems__fresh_draw() -> None:
    assert [text for n in range(100) for text in differences(f"{FRESH_SEED} {n}")] == []


@pytest.mark.parametrize("seed", range(60))
def test_random_systems__proof_only_from_what_was_shown_before(seed: int) -> None:
    dice = random.Random(seed)
    rules = any_rules(dice)
    removed = set(dice.sample(sorted({r.head[1] for r in rules}), dice.randint(0, 2)))
    alive = plainly(rules, removed)
    for wanted in sorted({r.head for r in rules}):
        shown: list[Fact] = []
        for rule in proof(rules, wanted, removed):
            assert rule in rules
            assert set(rule.bodies) <= set(shown)
            assert not removed & set(rule.through)
            shown.append(rule.head)
        assert shown[-1:] == ([wanted] if wanted in alive else [])
        assert len(shown) == len(set(shown))


def test_random_systems__no_rule_of_a_proof_may_go() -> None:
    """A proof holds nothing that is not needed: its rules without any one of them give the fact no more."""
    tried = 0
    for seed in range(60):
        rules = any_rules(random.Random(seed))
        for wanted in sorted(plainly(rules)):
            shown = proof(rules, wanted)
            assert wanted in plainly(shown), (seed, wanted)
            for rule in shown:
                assert wanted not in plainly([r for r in shown if r is not rule]), (seed, wanted, rule)
                tried += len(shown) > 1
    assert tried > 500


def test_random_systems__an_element_outside_the_proof_may_go() -> None:
    """A proof names all that it needs: without any other element its fact still holds, by plain recomputation."""
    tried = 0
    for seed in range(60):
        rules = any_rules(random.Random(seed))
        elements = {e for r in rules for e in (*r.through, *(b[1] for b in r.bodies))}
        without = {e: plainly(rules, {e}) for e in elements}
        for wanted in plainly(rules):
            needed = {e for rule in proof(rules, wanted) for e in rule.through}
            assert wanted[1] in needed
            assert all(wanted in without[e] for e in elements - needed), (seed, wanted)
            tried += len(elements - needed)
    assert tried > 1000


def test_random_systems__are_not_all_alike() -> None:
    """Some removals darken nothing, some one, some many; some facts never hold; some survive on another feed."""
    seen: collections.Counter[str] = collections.Counter()
    for seed in range(60):
        rules = any_rules(random.Random(seed))
        alive = live(rules)
        for element in {r.head[1] for r in rules}:
            after = live(rules, {element})
            lost = {f for f in alive - after if f[1] != element}
            seen["none" if not lost else "one" if len(lost) == 1 else "many"] += 1
            hit = {r.head for r in proof_rules(rules, alive) if element in r.through and r.head[1] != element}
            seen["saved by another rule"] += bool(hit & after)
        seen["never held"] += len({r.head for r in rules} - alive)
    assert min(seen[k] for k in ("none", "one", "many", "saved by another rule", "never held")) >= 20, seen


def proof_rules(rules: list[Rule], alive: Collection[Fact]) -> set[Rule]:
    return {rule for f in alive for rule in proof(rules, f)}


def test_power_loop_without_source__stays_dark() -> None:
    rules = [Rule(("P", "a"), (("P", "b"),), ()), Rule(("P", "b"), (("P", "a"),), ())]
    assert live(rules) == frozenset()
    assert goes_dark(rules, {"s": ("P", "a")}, {"b"}) == ()
    assert proof(rules, ("P", "a")) == ()


def test_power_loop_that_loses_its_source__goes_dark_as_a_whole() -> None:
    """Two switches that feed each other, one of them on the mains: without the mains neither keeps the other up."""
    rules = [
        Rule(("P", "mains"), (), ()),
        Rule(("P", "a"), (("P", "mains"),), ()),
        Rule(("P", "a"), (("P", "b"),), ()),
        Rule(("P", "b"), (("P", "a"),), ()),
    ]
    services = {"at a": ("P", "a"), "at b": ("P", "b")}
    assert single_removals(rules, services) == {
        "a": ("at a", "at b"),
        "b": ("at b",),
        "mains": ("at a", "at b"),
    }


def test_second_feed__one_may_go_both_may_not() -> None:
    rules = [
        Rule(("P", "mains"), (), ()),
        Rule(("P", "battery"), (), ()),
        Rule(("P", "u"), (("P", "mains"),), ()),
        Rule(("P", "u"), (("P", "battery"),), ()),
    ]
    services = {"s": ("P", "u")}
    assert goes_dark(rules, services, {"mains"}) == ()
    assert goes_dark(rules, services, {"battery"}) == ()
    assert goes_dark(rules, services, {"mains", "battery"}) == ("s",)
    assert single_points(rules, services, ["s"]) == {"u": ("s",)}


def test_ring_of_three__any_link_may_go() -> None:
    """Each switch has two ways to the source; a switch taken out takes only itself."""
    links = [("source", "a"), ("a", "b"), ("b", "c"), ("c", "source")]
    rules = [Rule(("D", "source"), (), ())]
    for x, y in links:
        rules += [Rule(("D", x), (("D", y),), (f"{x}-{y}",)), Rule(("D", y), (("D", x),), (f"{x}-{y}",))]
    services = {name: ("D", name) for name in "abc"}
    dark = single_removals(rules, services)
    assert {name: dark[name] for name in "abc"} == {"a": ("a",), "b": ("b",), "c": ("c",)}
    assert all(dark[f"{x}-{y}"] == () for x, y in links)
    assert goes_dark(rules, services, {"source-a", "b-c"}) == ("a", "b")


def test_series_element__carries_nothing_itself_and_still_cuts() -> None:
    """Power over the wire through patch, cable and outlet: each of them darkens the device, none has a fact of its own."""
    rules = [
        Rule(("P", "switch"), (), ()),
        Rule(("P", "device"), (("P", "switch"),), ("patch", "cable", "outlet")),
    ]
    assert single_removals(rules, {"s": ("P", "device")}) == dict.fromkeys(
        ["cable", "device", "outlet", "patch", "switch"], ("s",)
    )


def test_two_bodies__both_are_needed() -> None:
    rules = [
        Rule(("P", "supply"), (), ()),
        Rule(("D", "line"), (), ()),
        Rule(("D", "modem"), (("D", "line"), ("P", "supply")), ()),
    ]
    services = {"s": ("D", "modem")}
    assert goes_dark(rules, services, {"supply"}) == goes_dark(rules, services, {"line"}) == ("s",)


def test_same_body_named_twice__counts_once() -> None:
    rules = [Rule(("P", "a"), (), ()), Rule(("P", "b"), (("P", "a"), ("P", "a")), ())]
    assert single_removals(rules, {"s": ("P", "b")}) == {"a": ("s",), "b": ("s",)}


def test_rule__its_own_element_is_added_once() -> None:
    assert Rule(("P", "a"), (), ("x",)).through == ("x", "a")
    assert Rule(("P", "a"), (), ("a", "x")).through == ("a", "x")
    assert live([Rule(("P", "a"), (), ())], {"a"}) == frozenset()


def test_goes_dark__what_was_dark_before_does_not_go_dark() -> None:
    rules = [Rule(("P", "a"), (), ()), Rule(("D", "b"), (("D", "nowhere"),), ("a",))]
    services = {"lives": ("P", "a"), "dark": ("D", "b"), "unheard of": ("D", "z")}
    assert goes_dark(rules, services, {"a", "not on this site"}) == ("lives",)


def test_goes_dark__in_order_of_names_not_of_loss() -> None:
    """Names as text, so 10 stands before 9; neither the order of the services nor that of the rules shows."""
    rules = [Rule(("P", "a"), (), ()), *(Rule(("P", x), (("P", "a"),), ()) for x in "zyx")]
    services = {"9": ("P", "x"), "b": ("P", "z"), "10": ("P", "y"), "a": ("P", "z")}
    assert goes_dark(rules, services, {"a"}) == single_removals(rules, services)["a"] == ("10", "9", "a", "b")


def test_single_points__only_for_kept_services() -> None:
    rules = [
        Rule(("P", "a"), (), ()),
        Rule(("P", "b"), (("P", "a"),), ()),
        Rule(("P", "c"), (("P", "a"),), ()),
    ]
    services = {"at b": ("P", "b"), "at c": ("P", "c")}
    assert single_points(rules, services, ["at b", "never heard of"]) == {"a": ("at b",), "b": ("at b",)}
    assert single_points(rules, services, []) == {}


def test_proof__tells_the_entries_it_stands_on() -> None:
    """The second feed's entries are told only once the first is gone."""
    rules = [
        Rule(("P", "mains"), (), (), ("e1",)),
        Rule(("P", "battery"), (), (), ("e2",)),
        Rule(("P", "u"), (("P", "mains"),), (), ("e3",)),
        Rule(("P", "u"), (("P", "battery"),), (), ("e4",)),
    ]
    assert [entry for rule in proof(rules, ("P", "u")) for entry in rule.because] == ["e1", "e3"]
    assert [entry for rule in proof(rules, ("P", "u"), {"mains"}) for entry in rule.because] == ["e2", "e4"]
    assert proof(rules, ("P", "u"), {"mains", "battery"}) == ()


def reached(rules: list[Rule], removed: Collection[str]) -> set[str]:
    """Elements reached from a source in the graph that forgets which bodies belong together."""
    met = {r.head[1] for r in rules if not r.bodies} - set(removed)
    while True:
        new = {
            r.head[1] for r in rules if {b[1] for b in r.bodies} & met and not set(removed) & {r.head[1], *r.through}
        }
        if new <= met:
            return met
        met |= new


def test_data_and_power__a_graph_that_forgets_which_belong_together_is_wrong() -> None:
    """A telephone on the wire: signal from one switch, power from another. In the plain graph each seems to do alone."""
    rules = [
        Rule(("P", "mains a"), (), ()),
        Rule(("P", "mains b"), (), ()),
        Rule(("D", "signal switch"), (("P", "mains a"),), ()),
        Rule(("P", "power switch"), (("P", "mains b"),), ()),
        Rule(("P", "phone"), (("P", "power switch"),), ("patch",)),
        Rule(("D", "phone"), (("D", "signal switch"), ("P", "phone")), ("patch",)),
    ]
    dark = single_removals(rules, {"calls": ("D", "phone")})
    assert {e for e, names in dark.items() if names} == set(elements_of(rules))
    missed = {e for e in elements_of(rules) if "phone" in reached(rules, {e})}
    assert missed == {"mains a", "mains b", "power switch", "signal switch"}


def test_power_over_data__a_second_way_for_data_is_none_for_power() -> None:
    """The camera has data two ways, but only the first cable also feeds it."""
    rules = [
        Rule(("P", "switch"), (), ()),
        Rule(("D", "switch"), (("P", "switch"),), ()),
        Rule(("P", "camera"), (("P", "switch"),), ("cable 1",)),
        Rule(("D", "camera"), (("D", "switch"), ("P", "camera")), ("cable 1",)),
        Rule(("D", "camera"), (("D", "switch"), ("P", "camera")), ("cable 2",)),
    ]
    dark = single_removals(rules, {"picture": ("D", "camera")})
    assert (dark["cable 1"], dark["cable 2"]) == (("picture",), ())


def test_ups__holds_what_is_behind_it_and_nothing_else() -> None:
    """Mains gone: the battery keeps the core, not the switch on the same mains. UPS gone: the core is dark."""
    rules = [
        Rule(("P", "mains"), (), ()),
        Rule(("P", "battery"), (), ()),
        Rule(("P", "ups"), (("P", "mains"),), ()),
        Rule(("P", "ups"), (("P", "battery"),), ()),
        Rule(("P", "core"), (("P", "ups"),), ()),
        Rule(("P", "switch"), (("P", "mains"),), ()),
    ]
    services = {"at core": ("P", "core"), "at switch": ("P", "switch")}
    dark = single_removals(rules, services)
    assert (dark["mains"], dark["battery"], dark["ups"]) == (("at switch",), (), ("at core",))
    assert goes_dark(rules, services, {"mains", "battery"}) == ("at core", "at switch")


def test_series_jack__takes_all_behind_it_and_none_before_it() -> None:
    """An alarm's jack stands before the telephones: the line passes through it, and what is behind it hangs on it."""
    line = ["exchange", "alarm jack", "phone 1", "phone 2"]
    rules = [Rule(("D", "exchange"), (), ())]
    for a, b in zip(line, line[1:], strict=False):
        rules += [Rule(("D", b), (("D", a),), ()), Rule(("D", a), (("D", b),), ())]
    dark = single_removals(rules, {name: ("D", name) for name in line[1:]})
    assert dark == {
        "exchange": ("alarm jack", "phone 1", "phone 2"),
        "alarm jack": ("alarm jack", "phone 1", "phone 2"),
        "phone 1": ("phone 1", "phone 2"),
        "phone 2": ("phone 2",),
    }


def test_ring_without_source__is_dark_and_nothing_goes_dark() -> None:
    """Three switches in a ring, fed and linked by each other only; their uplink lies on the floor."""
    ring = [("a", "b"), ("b", "c"), ("c", "a")]
    rules = [Rule(("P", y), (("P", x),), ()) for x, y in ring]
    for x, y in ring:
        rules += [Rule(("D", y), (("D", x), ("P", y)), ()), Rule(("D", x), (("D", y), ("P", x)), ())]
    services = {name: ("D", name) for name in "abc"}
    assert live(rules) == frozenset()
    assert single_removals(rules, services) == {"a": (), "b": (), "c": ()}


def test_worlds__each_place_is_its_own_site() -> None:
    """Ten random worlds side by side, each with rules of its own missing, are ten plain recomputations."""
    for seed in range(100):
        dice = random.Random(seed)
        rules = any_rules(dice)
        tied = prepared(rules)
        absent = {i: dice.getrandbits(10) for i in range(len(rules)) if dice.random() < 0.4}
        fails = failing(doubt(tied, absent), absent, width=10)
        for world in range(10):
            there = [r for i, r in enumerate(rules) if not absent.get(i, 0) >> world & 1]
            assert {f for f in tied.facts if not fails[tied.number[f]] >> world & 1} == plainly(there), (seed, world)


def test_without__an_element_is_gone_from_its_worlds_with_all_its_rules() -> None:
    rules = [Rule(("P", "a"), (), ("x",)), Rule(("P", "b"), (), ("x", "y")), Rule(("P", "c"), (), ())]
    assert without(prepared(rules), {"x": 0b001, "y": 0b110, "z": 0b111}) == {0: 0b001, 1: 0b111}
    assert list(places(0b10100)) == [2, 4]


def test_prepared__what_may_have_changed_is_made_ready_anew() -> None:
    """Of a tuple it is kept, for that cannot change; a list may be longer at the next question."""
    rules = [Rule(("P", "a"), (), ()), Rule(("P", "b"), (("P", "a"),), ())]
    services = {"s": ("P", "b")}
    assert goes_dark(rules, services, {"a"}) == ("s",)
    rules.append(Rule(("P", "b"), (), ()))
    assert goes_dark(rules, services, {"a"}) == ()
    fixed = tuple(rules)
    assert prepared(fixed) is prepared(fixed) is prepared(prepared(fixed))
    others = [tuple(any_rules(random.Random(seed))) for seed in range(5)]
    for some in others + others[::-1]:
        assert live(some) == plainly(some)
        assert prepared(some).rules is some
