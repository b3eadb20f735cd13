"""How likely a removal silences a service, against counting every way by plain recomputation."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Mapping, Sequence

import pytest

from pullstring.model.answers import Odds
from pullstring.model.grades import grade
from pullstring.reach.consequence import Fact, Rule, goes_dark
from pullstring.reach.odds import (
    DRAWN,
    Link,
    Weighed,
    dark_odds,
    never_go,
    uncertain_links,
    weighed,
)
from pullstring.reach.rules import build
from tests.notice.lines import site
from tests.reach.plain import any_rules, any_services, elements_of, plainly
from tests.tiers import FRESH_SEED


def ways(chances: Mapping[Link, float], groups: Sequence[Sequence[Link]]) -> Iterator[tuple[set[Link], float]]:
    """Every set of links that may be there, with its chance: independent, given that no group has two."""
    links = list(chances)
    found = []
    for there in itertools.product((True, False), repeat=len(links)):
        chosen = {link for link, yes in zip(links, there, strict=True) if yes}
        if all(len(chosen & set(group)) < 2 for group in groups):
            weight = math.prod(chances[k] if k in chosen else 1 - chances[k] for k in links)
            found.append((chosen, weight))
    total = math.fsum(weight for _, weight in found)
    return ((chosen, weight / total) for chosen, weight in found)


def counted(
    rules: list[Rule],
    services: dict[str, Fact],
    removed: set[str],
    chances: Mapping[Link, float],
    groups: Sequence[Sequence[Link]] = (),
) -> tuple[dict[str, float], dict[str, float]]:
    """By service, the chances that it goes dark and that it is alive before."""
    dark, alive = dict.fromkeys(services, 0.0), dict.fromkeys(services, 0.0)
    for chosen, weight in ways(chances, groups):
        gone = set(chances) - chosen
        standing = [r for i, r in enumerate(rules) if i not in gone and not gone & set(r.because)]
        before, after = plainly(standing), plainly(standing, removed)
        for name, fact in services.items():
            alive[name] += weight * (fact in before)
            dark[name] += weight * (fact in before and fact not in after)
    return dark, alive


def uncertain_system(
    dice: random.Random,
) -> tuple[list[Rule], dict[str, Fact], set[str], dict[Link, float], list[list[Link]]]:
    """Some rules stand on one or two of four entries; some are uncertain by themselves; entries may exclude each other."""
    rules = [
        Rule(r.head, r.bodies, r.through, tuple(dice.sample(["e1", "e2", "e3", "e4"], dice.choice((0, 0, 1, 1, 2)))))
        for r in any_rules(dice)
    ]
    chances: dict[Link, float] = {name: dice.choice((0.0, 0.3, 0.7, 0.95, 1.0)) for name in ("e1", "e2", "e3", "e4")}
    chances |= {i: dice.random() for i in dice.sample(range(len(rules)), 2)}
    links = dice.sample(list(chances), len(chances))
    groups = dice.choice(([], [links[:2]], [links[:3]], [links[:2], links[2:4]]))
    if any(sum(chances[link] == 1 for link in group) > 1 for group in groups):
        groups = []  # has a test of its own
    removed = set(dice.sample(elements_of(rules), dice.randint(0, 2)))
    return rules, any_services(rules), removed, chances, groups


def wrong(seed: object) -> list[str]:
    rules, services, removed, chances, groups = uncertain_system(random.Random(f"odds {seed}"))
    dark, alive = counted(rules, services, removed, chances, groups)
    found = weighed(rules, services, removed, chances, seed=1, exclusive=groups)
    told = [
        f"{seed} {name}: {what} {said[name].chance}, counted {true[name]}"
        for what, said, true in (("dark", found.dark, dark), ("alive", found.alive, alive))
        for name in services
        if not math.isclose(said[name].chance, true[name], abs_tol=1e-12)
    ]
    sure = [o.chance for said in (found.dark, found.alive) for o in said.values() if not o.assumed]
    told += [
        f"{seed}: {chance} is not assumed, yet neither sure nor out of the question" for chance in sure if chance % 1
    ]
    return told + (["drawn"] if found.drawn else [])


def test_random_systems__equal_to_counting_every_way() -> None:
    assert [text for seed in range(150) for text in wrong(seed)] == []


def test_random_systems__fresh_draw() -> None:
    assert [text for n in range(40) for text in wrong(f"{FRESH_SEED} {n}")] == []


def test_random_systems__what_is_not_assumed_holds_for_every_chance() -> None:
    """Chances moved at will: what was told without `assumed` stays as it is. Where all ways agree it is so told."""
    told = 0
    for seed in range(60):
        dice = random.Random(f"sure {seed}")
        rules, services, removed, chances, _ = uncertain_system(dice)
        between = dict.fromkeys(chances, 0.5)
        found = dark_odds(rules, services, removed, between, seed=1)
        other = dark_odds(rules, services, removed, {link: dice.uniform(0.01, 0.99) for link in between}, seed=1)
        for name, odds in found.items():
            assert odds.assumed == (odds.chance not in (0, 1)), (seed, name)
            assert odds.assumed or odds == other[name], (seed, name)
            told += not odds.assumed
    assert told > 500


def test_drawn__sure_only_when_no_way_could_differ() -> None:
    """Thirteen hardly likely links: dark in no way that was drawn, yet it may be. What is apart from them is sure."""
    rules, services = in_series(13)
    rules += [Rule(("D", "apart"), (("D", "x0"),), ()), Rule(("D", "other"), (), ())]
    services |= {"sure": ("D", "apart"), "safe": ("D", "other"), "never": ("D", "nowhere")}
    found = weighed(rules, services, {"x0"}, {f"link {n}": 0.01 for n in range(13)}, seed=1)
    assert found.dark == {
        "calls": Odds(0, assumed=True),
        "sure": Odds(1, assumed=False),
        "safe": Odds(0, assumed=False),
        "never": Odds(0, assumed=False),
    }
    assert found.alive == {
        "calls": Odds(0, assumed=True),
        "sure": Odds(1, assumed=False),
        "safe": Odds(1, assumed=False),
        "never": Odds(0, assumed=False),
    }
    assert set(never_go(found, services)) == {"calls", "sure"}


def parallel(count: int) -> tuple[list[Rule], dict[str, Fact]]:
    """A service that hangs on `x` by any of some uncertain links, each standing on its own entry."""
    rules = [Rule(("D", "x"), (), ())]
    rules += [Rule(("D", "phone"), (("D", "x"),), (), (f"link {n}",)) for n in range(count)]
    return rules, {"calls": ("D", "phone")}


def in_series(count: int) -> tuple[list[Rule], dict[str, Fact]]:
    """A service at the end of some uncertain links, one after the other."""
    rules = [Rule(("D", "x0"), (), ())]
    rules += [Rule(("D", f"x{n + 1}"), (("D", f"x{n}"),), (), (f"link {n}",)) for n in range(count)]
    return rules, {"calls": ("D", f"x{count}")}


def test_one_link__as_likely_as_the_link() -> None:
    rules, services = parallel(1)
    assert dark_odds(rules, services, {"x"}, {"link 0": 0.7}, seed=1) == {"calls": Odds(0.7)}


def test_one_entry__all_its_rules_stand_or_fall_together() -> None:
    """A link is two rules, there and back, on one entry: one draw. As two rules apart they would be two links in parallel."""
    rules = [Rule(("D", "x"), (), ()), *(Rule(("D", "phone"), (("D", "x"),), (t,), ("one",)) for t in "ab")]
    services = {"calls": ("D", "phone")}
    assert dark_odds(rules, services, {"x"}, {"one": 0.5}, seed=1)["calls"] == Odds(0.5)
    assert dark_odds(rules, services, {"x"}, {1: 0.5, 2: 0.5}, seed=1)["calls"] == Odds(0.75)


def test_twelve_links__are_counted_not_drawn() -> None:
    rules, services = parallel(12)
    found = weighed(rules, services, {"x"}, {f"link {n}": 0.1 for n in range(12)}, seed=1)
    assert (found.drawn, found.ways) == (False, 4096)
    assert found.dark["calls"].chance == pytest.approx(1 - 0.9**12, abs=1e-12)


def test_twelve_links__what_is_sure_or_on_no_rule_does_not_count() -> None:
    """A sure link, an impossible one and an entry that no rule stands on: still twelve to count, and what they are is kept."""
    rules, services = parallel(14)
    chances = {f"link {n}": 0.1 for n in range(12)} | {"link 12": 0.0, "on no rule": 0.5}
    found = weighed(rules, services, {"x"}, chances | {"link 13": 0.0}, seed=1)
    assert (found.drawn, found.ways) == (False, 4096)
    assert found.dark["calls"].chance == pytest.approx(1 - 0.9**12, abs=1e-12)
    found = weighed(rules, services, {"x"}, chances | {"link 13": 1.0}, seed=1)
    assert (found.drawn, found.dark["calls"]) == (False, Odds(1, assumed=False))


def test_drawn__a_sure_link_is_sure_and_an_impossible_one_is_none() -> None:
    rules, services = parallel(13)
    rules += [
        Rule(("P", "lamp"), (("D", "x"),), (), ("sure",)),
        Rule(("P", "bell"), (("D", "x"),), (), ("impossible",)),
    ]
    services |= {"light": ("P", "lamp"), "ring": ("P", "bell")}
    chances = {f"link {n}": 0.1 for n in range(13)} | {"sure": 1.0, "impossible": 0.0}
    found = weighed(rules, services, {"x"}, chances, seed=1)
    assert (found.drawn, found.dark["calls"].assumed) == (True, True)
    assert (found.dark["light"], found.alive["light"]) == (Odds(1, assumed=False), Odds(1, assumed=False))
    assert (found.dark["ring"], found.alive["ring"]) == (Odds(0, assumed=False), Odds(0, assumed=False))


@pytest.mark.parametrize("seed", [1, 2, 3, 4, FRESH_SEED])
def test_thirteen_links__are_drawn_near_the_truth(seed: int) -> None:
    """Within five standard deviations of a share among the ways drawn."""
    for rules_services, chance, true in ((parallel(13), 0.1, 1 - 0.9**13), (in_series(13), 0.95, 0.95**13)):
        found = weighed(*rules_services, {"x", "x0"}, {f"link {n}": chance for n in range(13)}, seed=seed)
        assert (found.drawn, found.ways) == (True, DRAWN)
        assert abs(found.dark["calls"].chance - true) < 5 * math.sqrt(true * (1 - true) / DRAWN)
        assert found.dark["calls"].assumed


def test_drawn__the_seed_and_the_count_are_what_it_hangs_on() -> None:
    rules, services = parallel(13)
    chances = {f"link {n}": 0.05 for n in range(13)}

    def chance(seed: int, drawn: int) -> float:
        return dark_odds(rules, services, {"x"}, chances, seed=seed, drawn=drawn)["calls"].chance

    assert chance(1, 300) == chance(1, 300)
    assert len({chance(seed, 300) for seed in range(8)}) > 3
    assert weighed(rules, services, {"x"}, chances, seed=1, drawn=200).ways == 200


def test_drawn__neither_order_nor_other_links_change_the_draws_of_a_link() -> None:
    rules, services = in_series(13)
    rules += [Rule(("D", "apart"), (("D", "x0"),), (), ("another",))]
    chances: dict[Link, float] = {f"link {n}": 0.9 for n in range(13)}
    found = dark_odds(rules, services, {"x0"}, chances, seed=7)
    turned = dict(reversed(chances.items()))
    assert dark_odds(rules, services, {"x0"}, {"another": 0.5, **turned}, seed=7) == found
    assert dark_odds(rules, services, {"x0"}, chances, seed=8) != found


def test_contradicted__one_phone_is_not_in_two_places() -> None:
    """Toned to one block and seen at another (0.95 and 0.9, once each): odds of 0.95*0.1 to 0.05*0.9 to 0.05*0.1 for neither."""
    rules = [Rule(("D", at), (), ()) for at in ("block a", "block b")]
    rules += [Rule(("D", "phone"), (("D", at),), (), (at,)) for at in ("block a", "block b")]
    services, chances = {"calls": ("D", "phone")}, {"block a": 0.95, "block b": 0.9}
    total = 0.95 * 0.1 + 0.05 * 0.9 + 0.05 * 0.1

    def dark(*removed: str) -> float:
        return dark_odds(rules, services, removed, chances, seed=1, exclusive=[list(chances)])["calls"].chance

    assert dark("block a") == pytest.approx(0.95 * 0.1 / total, abs=1e-12)
    assert dark("block b") == pytest.approx(0.05 * 0.9 / total, abs=1e-12)
    assert dark("block a", "block b") == pytest.approx(1 - 0.05 * 0.1 / total, abs=1e-12)
    both = dark_odds(rules, services, ["block a"], chances, seed=1)["calls"].chance
    assert both == pytest.approx(0.95 * 0.1, abs=1e-12), "as two feeds, either would do"


def test_second_feed_that_may_not_be_there__goes_dark_as_often_as_it_is_not() -> None:
    rules = [Rule(("P", name), (), ()) for name in "ab"]
    rules += [Rule(("P", "u"), (("P", "a"),), ()), Rule(("P", "u"), (("P", "b"),), (), ("told",))]
    chances: dict[Link, float] = {"told": grade("told").odds}
    odds = dark_odds(rules, {"s": ("P", "u")}, {"a"}, chances, seed=1)
    assert (odds["s"].chance, odds["s"].assumed) == (pytest.approx(1 - 0.7), True)
    assert dark_odds(rules, {"s": ("P", "u")}, {"b"}, chances, seed=1)["s"] == Odds(0, assumed=False)
    assert dark_odds(rules, {"s": ("P", "u")}, {"a", "b"}, chances, seed=1)["s"] == Odds(1, assumed=False)


def test_never_go__above_one_in_a_hundred() -> None:
    """A kept service with a second feed that is there with 98.9 or 99.1 %."""
    rules = [Rule(("P", name), (), ()) for name in "ab"]
    rules += [Rule(("P", "u"), (("P", "a"),), ()), Rule(("P", "u"), (("P", "b"),), (), ("second",))]

    def refused(chance: float, *keep: str) -> dict[str, float]:
        found = never_go(weighed(rules, {"s": ("P", "u")}, {"a"}, {"second": chance}, seed=1), keep)
        return {name: odds.chance for name, odds in found.items()}

    assert refused(0.989, "s", "unheard of") == {"s": pytest.approx(0.011)}
    assert refused(0.991, "s") == {}
    assert refused(0.989) == {}


def test_never_go__a_kept_service_is_alive_now() -> None:
    """Its only known way is hardly likely, and it works: then it is that way, or one that nobody knows. Not GO."""
    rules, services = parallel(1)
    found = weighed(rules, services, {"x"}, {"link 0": 0.005}, seed=1)
    assert found.dark["calls"].chance == pytest.approx(0.005)
    assert never_go(found, ["calls"]) == {"calls": Odds(1, assumed=True)}
    assert never_go(weighed(rules, services, {"elsewhere"}, {"link 0": 0.005}, seed=1), ["calls"]) == {}


def test_never_go__what_is_dark_whatever_the_links_are_has_nothing_to_lose() -> None:
    rules, _ = parallel(1)
    found = weighed(rules, {"s": ("D", "nowhere")}, {"x"}, {"link 0": 0.5}, seed=1)
    assert found.alive["s"] == Odds(0, assumed=False)
    assert never_go(found, ["s"]) == {}


def test_never_go__a_few_drawn_ways_prove_little() -> None:
    """None dark among 200 leaves 1.5 %, among 4,096 less than 0.1 %: the rule of three."""
    sure, doubtful = Odds(1, assumed=False), Odds(0, assumed=True)
    assert never_go(Weighed({"s": doubtful}, {"s": sure}, 200, True), ["s"]) == {"s": Odds(3 / 200, assumed=True)}
    assert never_go(Weighed({"s": doubtful}, {"s": sure}, 4096, True), ["s"]) == {}
    assert never_go(Weighed({"s": Odds(20 / 4096)}, {"s": sure}, 4096, True), ["s"]) == {}
    assert set(never_go(Weighed({"s": Odds(30 / 4096)}, {"s": sure}, 4096, True), ["s"])) == {"s"}
    assert never_go(Weighed({"s": Odds(0, assumed=False)}, {"s": sure}, 200, True), ["s"]) == {}


def test_never_go__never_alive_among_those_drawn_but_it_may_be() -> None:
    found = Weighed({"s": Odds(0)}, {"s": Odds(0)}, 4096, True)
    assert never_go(found, ["s"]) == {"s": Odds(1, assumed=True)}


def test_faults__all_at_once_and_each_says_where() -> None:
    rules, services = parallel(2)
    with pytest.raises(ValueError) as told:
        weighed(
            rules,
            services,
            {"x"},
            {"link 0": 1.2, "link 1": math.nan, 9: 0.5},
            seed=1,
            exclusive=[["link 0", "link 5"], ["link 0", 9]],
            drawn=10,
        )
    assert str(told.value).splitlines() == [
        "link link 0: a chance lies between 0 and 1; 1.2 does not",
        "link link 1: a chance lies between 0 and 1; nan does not",
        "link 9: there are rules 0 to 2",
        "link link 0: it is in 2 groups that exclude; one is right",
        "link link 5: it is in a group that excludes, but has no chance of its own",
        "drawn 10: at least 200 ways are drawn",
    ]


def test_contradicted__two_sure_claims_are_as_likely_one_as_the_other() -> None:
    """Grades are for everyone to edit; with odds of 1 in both places the telephone is at one of them, at even chances."""
    rules = [Rule(("D", at), (), ()) for at in ("a", "b", "c")]
    rules += [Rule(("D", "phone"), (("D", at),), (), (at,)) for at in ("a", "b", "c")]
    chances = {"a": 1.0, "b": 1.0, "c": 0.9}
    for removed, dark in (("a", 0.5), ("b", 0.5), ("c", 0), ("ab", 1)):
        odds = dark_odds(rules, {"calls": ("D", "phone")}, set(removed), chances, seed=1, exclusive=["abc"])
        assert odds["calls"].chance == dark


TWO_PLACES = """
blocks block=A
blocks block=B
outlets outlet=O
cables cable=L pairs=1
cables cable=C pairs=1
ends end=P cable=L ends_at=row:A.1 grade="pinned out"
services service=T arrives_at=outlet:O needs=line source=exchange from=end:P keep=yes
ends end=X cable=C
ends end=Y cable=C ends_at=outlet:O grade=seen
claims subject=end:X relation=ends_at object=row:A.1 grade=toned
claims subject=end:X relation=ends_at object=row:B.1 grade=toned
"""


def test_site__claims_have_the_odds_of_their_grades() -> None:
    """A claim's chance stands under its first entry; two places of one end exclude each other."""
    found = site(TWO_PLACES)
    chances, groups = uncertain_links(found)
    claims = {(str(c.subject), str(c.object)): c for c in found.claims}
    at_a, at_b = claims["end:X", "row:A.1"], claims["end:X", "row:B.1"]
    assert chances[claims["end:Y", "outlet:O"].entries[0]] == grade("seen").odds == 0.9
    assert chances[claims["end:P", "row:A.1"].entries[0]] == grade("pinned out").odds == 0.98
    assert chances[at_a.entries[0]] == chances[at_b.entries[0]] == grade("toned").odds == 0.95
    assert groups == ((at_a.entries[0], at_b.entries[0]),)


def test_site__one_end_that_was_toned_in_two_places() -> None:
    """0.95 and 0.95, not both: 0.487 for each. The telephone hangs on block A if X is there, and P is, and Y at the outlet."""
    found = site(TWO_PLACES)
    chances, groups = uncertain_links(found)
    reach = build(found)
    assert goes_dark(reach.rules, reach.services, {"row:A.1"}) == ("service:T",)
    odds = dark_odds(reach.rules, reach.services, {"row:A.1"}, chances, seed=1, exclusive=groups)
    at_a = 0.95 * 0.05 / (2 * 0.95 * 0.05 + 0.05 * 0.05)
    assert odds["service:T"].chance == pytest.approx(at_a * 0.9 * 0.98, abs=1e-12)


@pytest.mark.parametrize(
    ("one", "other", "exclude"), [("1", "2", False), ("1", "1", True), ("", "1", True), ("2", "", False)]
)
def test_site__two_pairs_of_an_end_are_on_two_rows(one: str, other: str, exclude: bool) -> None:
    """A claim that names no pair speaks of the first. Two rows for one pair cannot both be right."""
    details = [f' detail="pair {n}"' if n else "" for n in (one, other)]
    lines = f"""
    blocks block=A
    cables cable=C pairs=2
    ends end=X cable=C
    claims subject=end:X relation=ends_at object=row:A.1 grade=seen{details[0]}
    claims subject=end:X relation=ends_at object=row:A.2 grade=toned{details[1]}
    """
    chances, groups = uncertain_links(site(lines))
    assert sorted(chances.values()) == [0.9, 0.95]
    assert [len(group) for group in groups] == ([2] if exclude else [])


def test_site__a_denied_claim_is_as_likely_as_both_sayings_leave_it() -> None:
    """Toned (0.95) and told not (0.7): 0.95*0.3 against 0.05*0.7."""
    lines = """
    outlets outlet=O
    cables cable=C
    ends end=X cable=C
    claims subject=end:X relation=goes_to object=outlet:O grade=toned
    claims subject=end:X relation=goes_to object=outlet:O holds=no grade=told
    """
    chances, groups = uncertain_links(site(lines))
    assert list(chances.values()) == [pytest.approx(0.95 * 0.3 / (0.95 * 0.3 + 0.05 * 0.7), abs=1e-12)]
    assert groups == ()
    (even,) = uncertain_links(site(lines.replace("told", "toned")))[0].values()
    assert even == 0.5
