"""The order in which things come out, each step recomputed plainly."""

from __future__ import annotations

import itertools
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from pullstring.reach import order
from pullstring.reach.consequence import Fact, Rule
from pullstring.reach.order import Plan, Step, removal_plan
from tests.reach.drawn_site import Drawn
from tests.reach.plain import any_rules, any_services, darkened, elements_of, plainly
from tests.tiers import FRESH_SEED

HERE = Path(__file__).parents[2]


def replayed(rules: list[Rule], services: dict[str, Fact], remove: list[str], keep: list[str], plan: Plan) -> list[str]:
    """What is wrong with a plan, by recomputing the site before and after every step."""
    before, gone, found = plainly(rules), [], []
    alive = {name for name, f in services.items() if f in before}
    for step in plan.steps:
        gone.append(step.element)
        now = {name for name, f in services.items() if f in plainly(rules, gone)}
        if step.goes_dark != tuple(sorted(alive - now)):
            found.append(f"{step.element}: goes_dark {step.goes_dark}, recomputed {sorted(alive - now)}")
        if set(step.goes_dark) & set(keep):
            found.append(f"{step.element}: a kept service goes dark")
        still = [sum(name in keep for name in names) for names in (now, step.check_alive)]
        if not set(step.check_alive) <= now or len(step.check_alive) != min(2, len(now)) or still[1] < min(2, still[0]):
            found.append(f"{step.element}: listens to {step.check_alive}, alive are {sorted(now)}")
        alive = now
    for element in sorted(set(remove) - set(gone) - set(plan.unknown)):
        lost = set(darkened(before, plainly(rules, [*gone, element]), services)) & set(keep)
        if not lost or plan.blocked.get(element) != tuple(sorted(lost)):
            found.append(f"{element}: blocked by {plan.blocked.get(element)}, recomputed {sorted(lost)}")
    if len(gone) != len(set(gone)) or set(gone) | set(plan.blocked) | set(plan.unknown) != set(remove):
        found.append("not each element once")
    if plan.largest_step != max((len(step.goes_dark) for step in plan.steps), default=0):
        found.append(f"largest step {plan.largest_step}")
    return found


def task(dice: random.Random, most: int) -> tuple[list[Rule], dict[str, Fact], list[str], list[str]]:
    """A site, what shall come out, and what must stay; of the kept some are far and some are blocked."""
    rules = any_rules(dice)
    services = any_services(rules)
    elements = elements_of(rules)
    remove = dice.sample(elements, min(len(elements), dice.randint(1, most)))
    return rules, services, remove, dice.sample(sorted(services), dice.choice((0, 1, 2, 4)))


def best_of_all(rules: list[Rule], services: dict[str, Fact], remove: list[str], keep: list[str]) -> tuple[int, int]:
    """How many can come out at most, and the smallest largest step of all orders of so many; by trying all."""
    before = plainly(rules)
    dark = {
        frozenset(gone): darkened(before, plainly(rules, gone), services)
        for size in range(len(remove) + 1)
        for gone in itertools.combinations(remove, size)
    }
    allowed = [gone for gone, names in dark.items() if not set(names) & set(keep)]
    most = max(map(len, allowed))
    found = []
    for gone in (gone for gone in allowed if len(gone) == most):
        for way in itertools.permutations(sorted(gone)):
            sizes = [len(dark[frozenset(way[:n])]) for n in range(most + 1)]
            found.append(max((b - a for a, b in itertools.pairwise(sizes)), default=0))
    return most, min(found)


@pytest.mark.parametrize("first", range(0, 300, 100))
def test_random_tasks__best_of_all_orders(first: int) -> None:
    wrong = []
    for seed in range(first, first + 100):
        asked = task(random.Random(seed), most=5)
        plan = removal_plan(*asked)
        wrong += [f"seed {seed}: {text}" for text in replayed(*asked, plan)]
        if not plan.is_best or (len(plan.steps), plan.largest_step) != best_of_all(*asked):
            wrong.append(f"seed {seed}: {len(plan.steps)} steps, {plan.largest_step}; best {best_of_all(*asked)}")
    assert wrong == []


def test_random_tasks__fresh_draw() -> None:
    wrong = []
    for n in range(60):
        asked = task(random.Random(f"{FRESH_SEED} {n}"), most=9)
        wrong += [f"{FRESH_SEED} {n}: {text}" for text in replayed(*asked, removal_plan(*asked))]
    assert wrong == []


def test_many_elements__misses_the_best_once_in_25_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """The way of many elements, made to do what few could have exactly: it claims to be best only when it is."""
    worse = tried = 0
    for seed in range(300):
        asked = task(random.Random(f"many {seed}"), most=7)
        exact = removal_plan(*asked)
        monkeypatch.setattr(order, "MOST_EXACT", 0)
        quick = removal_plan(*asked)
        monkeypatch.undo()
        assert replayed(*asked, quick) == [], seed
        if {s.element for s in quick.steps} == {s.element for s in exact.steps}:
            assert quick.at_least <= exact.largest_step <= quick.largest_step, seed
            tried += len(quick.steps) > 2
            worse += quick.largest_step > exact.largest_step
    assert tried > 150
    assert worse * 25 <= tried, (worse, tried)


def test_frozen_sites__the_way_of_many_elements_finds_the_best_too(monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.reach.test_frozen_sites import TO_EMPTY, asked, read

    monkeypatch.setattr(order, "MOST_EXACT", 0)
    for case in TO_EMPTY:
        plan = removal_plan(*read(case), *asked(case))
        if case["removal"]["an_order"]:
            assert plan.largest_step == case["removal"]["best_largest_step"], case["id"]


def test_old_telephone_system__120_elements_out_of_5000() -> None:
    """Blocks and sockets come out, 1,128 data services stay. The largest step is what no order can spare: sockets that
    stay in the wall, all on one block that comes out."""
    site = Drawn(5000, 1)
    keep = [name for name in site.services if name.startswith("svc")]
    old = sorted(e for e in site.elements if e.startswith(("block", "tel")) and e != "telco")
    remove = random.Random(1).sample(old, 120)
    plan = removal_plan(site.rules, site.services, remove, keep)
    assert (len(keep), len(plan.steps), plan.blocked, plan.unknown) == (1128, 120, {}, ())
    assert plan.is_best
    assert replayed_quickly(site, plan) == []
    assert plan.largest_step == max(left_behind(site, remove).values())


def left_behind(site: Drawn, remove: list[str]) -> dict[str, int]:
    """By element, the sockets that stay in the wall but hang on it, and on nothing else that comes out, with its own.

    Names tell what hangs on what: block B, then sockets B_LOOP_0, B_LOOP_1, ... in series.
    """
    out = set(remove)
    found = dict.fromkeys(remove, 0)
    for socket in (e for e in site.elements if e.startswith("tel") and e != "telco"):
        block, loop, place = socket.removeprefix("tel").split("_")
        before = [f"block{block}", *(f"tel{block}_{loop}_{i}" for i in range(int(place) + 1))]
        guilty = [e for e in before if e in out]
        if len(guilty) == 1:
            found[guilty[0]] += 1
    return found


def replayed_quickly(site: Drawn, plan: Plan) -> list[str]:
    """As `replayed`, every twentieth step only, for a plain recomputation of so many rules takes its time."""
    found, before = [], plainly(site.rules)
    names = [step.element for step in plan.steps]
    for n in range(20, len(names) + 1, 20):
        lost = darkened(before, plainly(site.rules, names[:n]), site.services)
        told = sorted(name for step in plan.steps[:n] for name in step.goes_dark)
        found += [] if list(lost) == told else [f"after {n} steps: {told}, recomputed {lost}"]
        found += [f"after {n} steps: {name} is kept" for name in lost if name.startswith("svc")]
    return found


def chain(*names: str) -> list[Rule]:
    """A line from its first element to its last; signals pass both ways."""
    rules = []
    for a, b in zip(names, names[1:], strict=False):
        rules += [Rule(("D", b), (("D", a),), ()), Rule(("D", a), (("D", b),), ())]
    return rules


def bus() -> tuple[list[Rule], dict[str, Fact]]:
    """A line through a block to three sockets in series, another to a telephone beside, and a switch apart from both."""
    rules = [Rule(("D", "line"), (), ()), Rule(("P", "mains"), (), ()), Rule(("P", "switch"), (("P", "mains"),), ())]
    rules += [*chain("line", "block", "s1", "s2", "s3"), *chain("block", "beside")]
    return rules, {name: ("D", name) for name in ("s1", "s2", "s3", "beside")} | {"apart": ("P", "switch")}


def test_order__from_the_end_of_the_line_inwards() -> None:
    """Each step then darkens one socket; the block comes last and takes the one that was left on it."""
    plan = removal_plan(*bus(), ["block", "s2", "s1", "s3"], [])
    assert [(s.element, s.goes_dark) for s in plan.steps] == [
        ("s3", ("s3",)),
        ("s2", ("s2",)),
        ("s1", ("s1",)),
        ("block", ("beside",)),
    ]
    assert (plan.largest_step, plan.is_best) == (1, True)


def test_order__kept_service_blocks_what_it_stands_on() -> None:
    plan = removal_plan(*bus(), ["block", "s1", "s2", "s3"], ["s1", "beside"])
    assert [step.element for step in plan.steps] == ["s3", "s2"]
    assert plan.blocked == {"block": ("beside", "s1"), "s1": ("s1",)}


def test_order__two_feeds_of_a_kept_service_one_may_go() -> None:
    """Each alone may go and both together may not: which of them stays is told, with the service that needs it."""
    rules = [Rule(("P", "a"), (), ()), Rule(("P", "b"), (), ()), Rule(("P", "u"), (("P", "a"),), ())]
    rules.append(Rule(("P", "u"), (("P", "b"),), ()))
    plan = removal_plan(rules, {"s": ("P", "u")}, ["b", "a"], ["s"])
    assert plan == Plan((Step("a", (), ("s",)),), {"b": ("s",)}, 0, 0)


def test_order__two_feeds_that_block_the_fewest() -> None:
    """A kept service has a feed `a` and another through `b` and `c`: with `a` in place both others may go."""
    rules = [Rule(("P", name), (), ()) for name in "abc"]
    rules += [Rule(("P", "u"), (("P", "a"),), ()), Rule(("P", "u"), (("P", "b"), ("P", "c")), ())]
    plan = removal_plan(rules, {"s": ("P", "u")}, ["a", "b", "c"], ["s"])
    assert ([s.element for s in plan.steps], plan.blocked) == (["b", "c"], {"a": ("s",)})


def spare(name: str, *feeds: str) -> list[Rule]:
    """Something that lives on any of its feeds."""
    return [Rule(("P", name), (("P", feed),), ()) for feed in feeds]


def test_order__of_as_many_elements_those_with_the_smaller_largest_step() -> None:
    """Kept `k` needs `a` or `b`. Without `a` three go dark at once. Without `b` and `c` more do, but two and two."""
    rules = [Rule(("P", name), (), ()) for name in "abc"] + spare("k", "a", "b")
    rules += [*spare("u1", "a"), *spare("u2", "a"), *spare("u3", "a"), *spare("v1", "b"), *spare("v2", "b")]
    rules += [*spare("w1", "b", "c"), *spare("w2", "b", "c")]
    services = {name: ("P", name) for name in ("k", "u1", "u2", "u3", "v1", "v2", "w1", "w2")}
    plan = removal_plan(rules, services, "abc", ["k"])
    assert {s.element: len(s.goes_dark) for s in plan.steps} == {"b": 2, "c": 2}
    assert (plan.blocked, plan.largest_step) == ({"a": ("k",)}, 2)


def test_order__of_those_with_equal_steps_the_ones_that_darken_less() -> None:
    """Kept `k` needs `b` or `c`. Two go dark without `a` in any case, and two more only if `b` is what comes out with it."""
    rules = [Rule(("P", name), (), ()) for name in "abc"] + spare("k", "b", "c")
    rules += [*spare("u1", "a"), *spare("u2", "a"), *spare("v1", "b"), *spare("v2", "b")]
    services = {name: ("P", name) for name in ("k", "u1", "u2", "v1", "v2")}
    plan = removal_plan(rules, services, "abc", ["k"])
    assert {s.element: len(s.goes_dark) for s in plan.steps} == {"a": 2, "c": 0}
    assert (plan.blocked, plan.largest_step) == ({"b": ("k",)}, 2)


def shared_by_two() -> tuple[list[Rule], dict[str, Fact]]:
    """`z` lives on `y`; four others live on `x` or on `y`."""
    rules = [Rule(("P", name), (), ()) for name in "xy"] + [Rule(("P", "z"), (("P", "y"),), ())]
    for n in range(4):
        rules += [Rule(("P", f"u{n}"), (("P", "x"),), ()), Rule(("P", f"u{n}"), (("P", "y"),), ())]
    return rules, {f"at {name}": ("P", name) for name in ("z", "u0", "u1", "u2", "u3")}


def test_order__larger_first_when_that_spares_a_larger() -> None:
    """`x` first darkens nothing and leaves five on `y`. `y` first darkens one and leaves four on `x`: that is better."""
    plan = removal_plan(*shared_by_two(), ["x", "y"], [])
    assert [(s.element, len(s.goes_dark)) for s in plan.steps] == [("y", 1), ("x", 4)]
    assert (plan.largest_step, plan.is_best) == (4, True)


def test_many_elements__from_the_back_when_that_is_better(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same site in the way of many elements: from the front five at once, from the back four.

    What it is sure of is less: five that go dark in two steps make three in one of them.
    """
    monkeypatch.setattr(order, "MOST_EXACT", 0)
    plan = removal_plan(*shared_by_two(), ["x", "y"], [])
    assert [(s.element, len(s.goes_dark)) for s in plan.steps] == [("y", 1), ("x", 4)]
    assert (plan.largest_step, plan.at_least, plan.is_best) == (4, 3, False)


def test_many_elements__what_only_one_darkens_is_its_own_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three telephones on one block, which comes out: three at once in every order, so three is the best."""
    monkeypatch.setattr(order, "MOST_EXACT", 0)
    rules = [Rule(("D", "line"), (), ()), Rule(("P", "lamp"), (), ())]
    rules += [rule for name in "abc" for rule in chain("line", "block", name)]
    services = {name: ("D", name) for name in "abc"} | {"light": ("P", "lamp")}
    plan = removal_plan(rules, services, ["block", "lamp"], [])
    assert (plan.largest_step, plan.at_least, plan.is_best) == (3, 3, True)


def test_order__listed_twice_unknown_and_a_source() -> None:
    """The line itself comes out with all that hangs on it; a name that no rule knows is told and is in no step."""
    rules, services = bus()
    plan = removal_plan(rules, services, ["s3", "line", "s3", "never heard of", "line"], ["apart", "nor this"])
    assert [(s.element, s.goes_dark) for s in plan.steps] == [("s3", ("s3",)), ("line", ("beside", "s1", "s2"))]
    assert (plan.unknown, plan.blocked) == (("never heard of",), {})
    assert removal_plan(rules, services, ["mains"], ["apart"]).blocked == {"mains": ("apart",)}
    assert removal_plan(rules, services, [], ["apart"]) == Plan((), {}, 0, 0)


def test_order__what_is_dark_before_blocks_nothing() -> None:
    rules = [Rule(("P", "a"), (("P", "b"),), ()), Rule(("P", "b"), (("P", "a"),), ())]
    plan = removal_plan(rules, {"s": ("P", "a")}, ["a", "b"], ["s"])
    assert [(s.element, s.goes_dark, s.check_alive) for s in plan.steps] == [("a", (), ()), ("b", (), ())]


def test_check_alive__nearest_kept_first_then_others_then_what_is_apart() -> None:
    """At `s3` out: kept `s1` is two steps away and kept `beside` four; without them the nearest others; `apart` is last."""
    rules, services = bus()

    def heard(*keep: str) -> tuple[str, ...]:
        return removal_plan(rules, services, ["s3"], keep).steps[0].check_alive

    assert heard("s1", "beside") == ("s1", "beside")
    assert heard("beside") == ("beside", "s2")
    assert heard() == ("s2", "s1")
    assert heard("apart") == ("apart", "s2")
    assert heard("apart", "beside") == ("beside", "apart")


def test_check_alive__what_went_dark_is_not_listened_to() -> None:
    rules, services = bus()
    steps = removal_plan(rules, services, ["s3", "s2", "s1"], []).steps
    assert [step.check_alive for step in steps] == [("s2", "s1"), ("s1", "beside"), ("beside", "apart")]


def test_check_alive__a_series_element_is_near_what_passes_it() -> None:
    """Power through patch and cable: the patch is next to the device, for one rule names both; by name where equal."""
    rules = [Rule(("P", "switch"), (), ())]
    for n in "21":
        rules.append(Rule(("P", f"device {n}"), (("P", "switch"),), (f"patch {n}",)))
    services = {f"at {n}": ("P", f"device {n}") for n in "12"} | {"at switch": ("P", "switch")}
    (step,) = removal_plan(rules, services, ["patch 1"], ["at 2", "at switch"]).steps
    assert (step.goes_dark, step.check_alive) == (("at 1",), ("at switch", "at 2"))
    rules += [Rule(("P", "panel"), (), ()), Rule(("P", "device 1"), (("P", "switch"),), ("patch 1", "panel"))]
    (step,) = removal_plan(rules, {**services, "at panel": ("P", "panel")}, ["patch 1"], ["at 2", "at panel"]).steps
    assert step.check_alive == ("at panel", "at 2")


SHOWN = """
import random
from pullstring.reach import order
from tests.reach.test_order import task
for order.MOST_EXACT in (12, 0):
    for seed in range(40):
        rules, services, remove, keep = task(random.Random(seed), most=8)
        print(order.removal_plan(rules, services, set(remove), set(keep)))
"""


def test_order__does_not_depend_on_the_order_of_sets() -> None:
    """Three Pythons that put the members of a set in different orders give the same plans."""
    shown = set()
    for seed in "012":
        done = subprocess.run(
            [sys.executable, "-c", SHOWN],
            cwd=HERE,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        shown.add(done.stdout)
    assert len(shown) == 1
    assert shown.pop().count("Plan(") == 80


def test_order__does_not_depend_on_how_it_is_given() -> None:
    dice = random.Random(5)
    for seed in range(60):
        rules, services, remove, keep = task(random.Random(seed), most=8)
        plan = removal_plan(rules, services, remove, keep)
        turned = dict(dice.sample(sorted(services.items()), len(services)))
        assert removal_plan(dice.sample(rules, len(rules)), turned, remove[::-1], keep[::-1]) == plan, seed
