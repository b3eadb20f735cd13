"""The engine against twenty frozen sites with exact answers, published counts, and plain recomputation."""

from __future__ import annotations

import collections
import json
import random
from collections.abc import Collection
from pathlib import Path

import pytest

from pullstring.reach.consequence import Fact, Rule, goes_dark, live, proof, single_points, single_removals
from tests.reach.drawn_site import Drawn

FROZEN = json.loads((Path(__file__).parents[1] / "authorities" / "reach_sites.json").read_text("utf-8"))["cases"]
IDS = [case["id"] for case in FROZEN]


def fact(text: str, names: list[str]) -> Fact:
    return text[0], names[int(text[1:])]


def read(case: dict) -> tuple[list[Rule], dict[str, Fact]]:
    names = case["elements"]
    rules = [
        Rule(fact(h, names), tuple(fact(b, names) for b in bodies), tuple(names[t] for t in through))
        for h, bodies, through in case["rules"]
    ]
    rules += [Rule(fact(s, names), (), ()) for s in case["sources"]]
    return rules, {f"{i:03d}": ("D", names[element]) for i, (_, element) in enumerate(case["services"])}


def plainly(rules: list[Rule], removed: Collection[str]) -> set[Fact]:
    """Recompute until nothing changes; slow and without any cleverness."""
    holds: set[Fact] = set()
    while True:
        new = {
            r.head
            for r in rules
            if r.head[1] not in removed and not set(removed) & set(r.through) and all(b in holds for b in r.bodies)
        }
        if new <= holds:
            return holds
        holds |= new


def darkened(before: set[Fact], after: set[Fact], services: dict[str, Fact]) -> tuple[str, ...]:
    return tuple(sorted(name for name, f in services.items() if f in before and f not in after))


@pytest.mark.parametrize("case", FROZEN, ids=IDS)
def test_frozen_sites__dark_at_start(case: dict) -> None:
    rules, services = read(case)
    alive = live(rules)
    assert [int(n) for n, f in services.items() if f not in alive] == case["dark_at_start"]


@pytest.mark.parametrize("case", FROZEN, ids=IDS)
def test_frozen_sites__every_single_removal(case: dict) -> None:
    rules, services = read(case)
    expected = dict(zip(case["elements"], case["dark_if_removed"], strict=True))
    found = {element: [int(n) for n in names] for element, names in single_removals(rules, services).items()}
    assert found == expected
    assert {e: [int(n) for n in goes_dark(rules, services, {e})] for e in expected} == expected


@pytest.mark.parametrize("case", [c for c in FROZEN if "removal" in c], ids=[c["id"] for c in FROZEN if "removal" in c])
def test_frozen_sites__elements_that_kept_services_block(case: dict) -> None:
    """Kept services are few of the site's; `blocked` are those of the elements to be removed that would darken one."""
    rules, services = read(case)
    asked = case["removal"]
    points = single_points(rules, services, [f"{n:03d}" for n in asked["keep"]])
    assert [e for e in asked["remove"] if case["elements"][e] in points] == asked["blocked"]


def test_frozen_sites__hold_every_kind_of_trouble() -> None:
    """What the sites cannot show they cannot prove: series elements, second feeds, two bodies, a dark start, a spare."""
    everything = [rule for case in FROZEN for rule in case["rules"]]
    heads = collections.Counter((case["id"], h) for case in FROZEN for h, _, _ in case["rules"] if h[0] == "P")
    assert sum(len(through) > 1 for _, _, through in everything) > 50
    assert sum(len(bodies) > 1 for _, bodies, _ in everything) > 50
    assert sum(count > 1 for count in heads.values()) > 20
    assert [case["id"] for case in FROZEN if case["dark_at_start"]] == ["R01", "R05", "R09", "R13", "R17"]
    assert all([] in case["dark_if_removed"] for case in FROZEN)


def test_drawn_site_of_5000__published_counts() -> None:
    """Counts published for this drawing, computed elsewhere; see authorities/README.md."""
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
    before = live(site.rules)
    assert before == plainly(site.rules, ())
    for element in sorted(site.elements)[::17]:
        assert found[element] == darkened(set(before), plainly(site.rules, {element}), site.services), element


def random_site(dice: random.Random) -> list[Rule]:
    """Alternatives, series elements, rings with and without a source, facts that need two bodies; anything goes."""
    names = [f"e{i}" for i in range(dice.randint(4, 14))]
    facts = [(kind, name) for kind in "PD" for name in names]
    rules = [Rule(f, (), ()) for f in dice.sample(facts, dice.randint(1, 3))]
    for _ in range(dice.randint(5, 40)):
        through = tuple(dice.sample(names, dice.randint(0, 2)))
        rules.append(Rule(dice.choice(facts), tuple(dice.sample(facts, dice.randint(1, 2))), through))
    for _ in range(dice.randint(0, 2)):
        ring = dice.sample(facts, 3)
        rules += [Rule(a, (b,), ()) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]
    loose = [("P", f"loose{i}") for i in range(dice.randint(2, 4))]
    rules += [Rule(a, (b,), ()) for a, b in zip(loose, [*loose[1:], loose[0]], strict=True)]
    dice.shuffle(rules)
    return rules


@pytest.mark.parametrize("seed", range(60))
def test_random_sites__equal_to_plain_recomputation(seed: int) -> None:
    dice = random.Random(seed)
    rules = random_site(dice)
    elements = sorted({e for r in rules for e in (*r.through, r.head[1], *(b[1] for b in r.bodies))})
    services = {f"{kind} {name}": (kind, name) for kind in "PD" for name in elements}
    before = plainly(rules, ())
    assert live(rules) == before
    assert single_removals(rules, services) == {e: darkened(before, plainly(rules, {e}), services) for e in elements}
    for _ in range(10):
        removed = set(dice.sample(elements, dice.randint(0, 4)))
        after = plainly(rules, removed)
        assert live(rules, removed) == after
        assert goes_dark(rules, services, removed) == darkened(before, after, services)


@pytest.mark.parametrize("seed", range(60))
def test_random_sites__proof_only_from_what_was_shown_before(seed: int) -> None:
    dice = random.Random(seed)
    rules = random_site(dice)
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


def test_random_sites__an_element_outside_the_proof_may_go() -> None:
    """A proof names all that it needs: without any other element its fact still holds, by plain recomputation."""
    tried = 0
    for seed in range(60):
        rules = random_site(random.Random(seed))
        elements = {e for r in rules for e in (*r.through, *(b[1] for b in r.bodies))}
        without = {e: plainly(rules, {e}) for e in elements}
        for wanted in plainly(rules, ()):
            needed = {e for rule in proof(rules, wanted) for e in rule.through}
            assert wanted[1] in needed
            assert all(wanted in without[e] for e in elements - needed), (seed, wanted)
            tried += len(elements - needed)
    assert tried > 1000


def test_random_sites__are_not_all_alike() -> None:
    """Some removals darken nothing, some one, some many; some facts never hold; some survive on another feed."""
    seen: collections.Counter[str] = collections.Counter()
    for seed in range(60):
        rules = random_site(random.Random(seed))
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
