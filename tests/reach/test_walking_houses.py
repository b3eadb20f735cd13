"""What must hold of walking times in every house; and in the inn, worked out on its plan."""

from __future__ import annotations

import dataclasses
import itertools
import math
import pathlib
import random

import numpy as np
import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.reach.walking import Walking, walk_times
from pullstring.reach.walking_ways import Guesses
from tests.demo.inn import HAND, bring_in
from tests.notice.lines import site

GUESSES = Guesses(room_m=5, outdoors_m=40, unknown_m=20, detour=1.3, ladder_s=30)
PACE = {"walk_m_per_s": 1.0, "stairs_s": 20.0, "door_s": 2.0, "guesses": GUESSES}


def walk(house: Site, *names: str) -> Walking:
    return walk_times(house, [parse_ref(n) for n in names], **PACE)


def codes(walking: Walking) -> list[str]:
    return sorted({t.code for t in walking.assumed})


def any_house(dice: random.Random) -> list[str]:
    """Rooms in a grid over two or three floors, walls and doors here and there, some rooms without outline, a barn."""
    lines = []
    for level in range(dice.randint(1, 3)):
        lines.append(f"floors floor=F{level} building=H level={level} z_m={3 * level}")
        columns, rows = dice.randint(1, 3), dice.randint(1, 3)
        xs = [0.0, *itertools.accumulate(dice.uniform(2.5, 6) for _ in range(columns))]
        ys = [0.0, *itertools.accumulate(dice.uniform(2.5, 6) for _ in range(rows))]
        walled = dice.random() < 0.7
        for i, j in itertools.product(range(columns), range(rows)):
            tag = f"R{level}{i}{j}"
            if dice.random() < 0.85:
                box = [xs[i], ys[j], xs[i + 1], ys[j + 1]]
                name = dice.choice(["stair", "room", "hall"])
                lines.append(
                    f'rooms room={tag} floor=F{level} name={name} outline="{{:.4f}} {{:.4f}}; {{:.4f}} {{:.4f}}"|{box}'
                )
                at = [dice.uniform(box[0], box[2]), dice.uniform(box[1], box[3])]
                lines.append(f"outlets outlet=O{tag} room={tag} x_m={{:.4f}} y_m={{:.4f}}|{at}")
        edges = [[x, ys[0], x, ys[-1]] for x in xs] + [[xs[0], y, xs[-1], y] for y in ys]
        for n, edge in enumerate(edges if walled else []):
            lines.append(f'walls wall=w{level}{n} floors=F{level} line="{{:.4f}} {{:.4f}}; {{:.4f}} {{:.4f}}"|{edge}')
            for k in range(dice.randint(0, 2)):
                u = dice.uniform(0.5, math.dist(edge[:2], edge[2:]) - 0.5)
                u_text = f"u0_m={{:.4f}} u1_m={{:.4f}}|{[u - 0.4, u + 0.4]}"
                lines.append(f"openings opening=d{level}{n}{k} wall=w{level}{n} fill=door {u_text}")
    lines.append("floors floor=K0 building=K level=0")
    lines.append(
        f'rooms room=K floor=K0 outline="{{:.4f}} {{:.4f}}; {{:.4f}} {{:.4f}}"|{[0.0, 0.0, 4.0, dice.uniform(3, 5)]}'
    )
    return lines


def built(lines: list[str], *, turn_deg: float = 0, shift: tuple[float, float] = (0, 0), feet: bool = False) -> Site:
    """The house, turned as a whole about the site's origin; in feet each length is written in feet."""

    def written(line: str) -> str:
        text, bar, numbers = line.partition("|")
        if not bar:
            return text
        values = [float(v) / (0.3048 if feet else 1) for v in numbers.strip("[]").split(",")]
        text = text.format(*values)
        if feet:
            text = "x_m".join(text.split("x_m"))
            unit = ' ft"' if text.endswith('"') else " ft"
            text = (
                text[:-1] + unit
                if text.endswith('"')
                else " ".join(f'"{w}ft"' if "_m=" in w else w for w in text.split())
            )
        return (
            text.replace('"x_m=', 'x_m="')
            .replace('"y_m=', 'y_m="')
            .replace('"u0_m=', 'u0_m="')
            .replace('"u1_m=', 'u1_m="')
        )

    a = math.radians(turn_deg)
    head = []
    for tag, x, y in (("H", 0.0, 0.0), ("K", 30.0, 5.0)):
        sx = shift[0] + x * math.cos(a) - y * math.sin(a)
        sy = shift[1] + x * math.sin(a) + y * math.cos(a)
        head.append(f"buildings building={tag} x_m={sx:.6f} y_m={sy:.6f} angle_deg={turn_deg}")
    return site("\n".join([*head, *map(written, lines)]))


def places(house: Site) -> list[str]:
    return [str(t.ref) for kind in ("outlet", "room") for t in house.of_kind(kind)]


SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_house__times_are_a_metric_and_never_without_end(seed: int, fresh_seed: int) -> None:
    house = built(any_house(random.Random(seed * 7919 + fresh_seed)))
    found = walk(house, *places(house))
    t = found.seconds
    assert np.all(np.isfinite(t)) and np.all(t >= 0) and np.all(np.diag(t) == 0)
    assert np.array_equal(t, t.T) and np.array_equal(found.how, found.how.T)
    assert np.all(t[:, None, :] <= t[:, :, None] + t[None, :, :] + 1e-6)
    assert set(found.how.ravel()) <= {"plan", "boxes", "guessed"}
    assert bool(found.assumed) == bool(np.any(found.how != "plan"))


@pytest.mark.parametrize("seed", SEEDS)
def test_any_house__turned_shifted_shuffled_renamed_or_in_feet_takes_as_long(seed: int, fresh_seed: int) -> None:
    dice = random.Random(seed * 104729 + fresh_seed)
    lines = any_house(dice)
    here = built(lines)
    asked = places(here)
    base = walk(here, *asked)
    turned = built(lines, turn_deg=dice.uniform(0, 360), shift=(dice.uniform(-99, 99), 7))
    assert walk(turned, *asked).seconds == pytest.approx(base.seconds, abs=0.05)
    shuffled = dice.sample(lines, len(lines))
    assert walk(built(shuffled), *asked).seconds == pytest.approx(base.seconds, abs=1e-6)
    assert walk(built(lines, feet=True), *asked).seconds == pytest.approx(base.seconds, abs=0.05)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_house__other_tags_take_as_long(seed: int, fresh_seed: int) -> None:
    dice = random.Random(seed * 15485863 + fresh_seed)
    lines = any_house(dice)
    here = built(lines)
    asked = places(here)
    new = {t: f"Q{n}" for n, t in enumerate(dice.sample(asked, len(asked)))}

    def renamed(line: str) -> str:
        words = line.split(" ")
        for n, word in enumerate(words):
            kind, _, tag = word.partition("=")
            if (old := f"{kind}:{tag}") in new:
                words[n] = f"{kind}={new[old]}"
        return " ".join(words)

    other = built([renamed(line) for line in lines])
    found = walk(other, *(f"{a.partition(':')[0]}:{new[a]}" for a in asked))
    assert found.seconds == pytest.approx(walk(here, *asked).seconds, abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_house__a_time_does_not_depend_on_what_else_is_asked(seed: int, fresh_seed: int) -> None:
    dice = random.Random(seed * 31 + fresh_seed)
    house = built(any_house(dice))
    asked = places(house)
    whole = walk(house, *asked)
    pairs = list(itertools.combinations(range(len(asked)), 2))
    for a, b in dice.sample(pairs, min(5, len(pairs))):
        few = walk(house, asked[a], asked[b])
        assert (few.seconds[0, 1], few.how[0, 1]) == (pytest.approx(whole.seconds[a, b]), whole.how[a, b])


TURNS = [0.0, 37.1, 147.0, 235.0, 283.0]


def boxes(*rows: str) -> list[str]:
    """A house of rooms on one floor, `tag x y x y` each; beside it a barn whose longer sides end in half a millimetre."""
    lines = ["floors floor=F0 building=H level=0", "floors floor=K0 building=K level=0"]
    lines.append('rooms room=K floor=K0 outline="0 0; 4 4.0585"')
    for row in rows:
        tag, *at = row.split()
        lines.append(f'rooms room={tag} floor=F0 outline="{at[0]} {at[1]}; {at[2]} {at[3]}"')
    return lines


@pytest.mark.parametrize("turn_deg", TURNS)
def test_equal_sides_that_end_in_half_a_millimetre__the_nearer_one_has_the_door(turn_deg: float) -> None:
    """The barn's door is on its western side, at (30, 7.03): 2 m from its middle; 5 m besides are guessed, and a detour."""
    house = built(boxes("A 0 0 5 5"), turn_deg=turn_deg)
    metres = 2 * 5 + 1.3 * (2.5 + 2) + math.dist((5, 2.5), (30, 5 + 4.0585 / 2))
    assert walk(house, "room:A", "room:K").seconds[0, 1] == pytest.approx(metres + 2 * 2, abs=0.05)


@pytest.mark.parametrize("turn_deg", TURNS)
def test_rooms_that_touch_at_a_corner__are_walked_round(turn_deg: float) -> None:
    """From the door at (4, 2.5) by the corners (8, 5), (8, 10) and (4, 10) to the door at (4, 7.5); nobody fits through (4, 5)."""
    house = built([li for li in boxes("A 0 0 4 5", "B 4 5 8 10") if "K" not in li], turn_deg=turn_deg)
    metres = 2 * (5 + 1.3 * 2) + math.hypot(4, 2.5) + 5 + 4 + 2.5
    assert walk(house, "room:A", "room:B").seconds[0, 1] == pytest.approx(metres + 2 * 2, abs=0.05)


def test_rooms_nearly_as_good_for_a_way_out__tags_decide_nothing() -> None:
    """Four rooms in a square: the two behind differ by 5 mm, less than counts, and their middles lie as far from all others."""
    at = ["0 0 2.6392 3.1464", "0 3.1464 2.6392 8.8152", "2.6392 0 5.2835 3.1464", "2.6392 3.1464 5.2835 8.8152"]
    times = [
        walk(built(boxes(*(f"{t} {xy}" for t, xy in zip(tags, at, strict=True)))), f"room:{tags[3]}", "room:K").seconds[
            0, 1
        ]
        for tags in itertools.permutations("ABCD")
    ]
    assert times == pytest.approx([times[0]] * 24, abs=1e-6)


@pytest.fixture(scope="module")
def inn_path(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    path = tmp_path_factory.mktemp("walking") / "house.site"
    api.new(path, Request(today="2026-03-03"), code="TLH", name="", wrote="2026-03-03T12:00:00+00:00", **HAND)
    bring_in(path, "1_arrival")
    return path


def test_inn__ground_floor_west_to_east_over_the_arch(inn_path: pathlib.Path) -> None:
    """Closet (9.5, 8), its door (9.5, 7), hall door (10.5, 5.45), office door (13.5, 4.05), O07 at (13.7, 2)."""
    inn = api.load(inn_path, Request(today="2026-03-03"))
    found = walk(inn, "room:M004", "outlet:O07", "outlet:O23")
    metres = 1 + math.hypot(1, 1.55) + math.hypot(3, 1.4) + math.hypot(0.2, 2.05)
    assert (found.seconds[0, 1], found.how[0, 1]) == (pytest.approx(metres + 3 * 2, abs=0.1), "plan")
    assert found.seconds[0, 2] == pytest.approx(1 + math.hypot(0.3, 4.5) + 2)


def test_inn__upstairs_and_across_the_yard(inn_path: pathlib.Path) -> None:
    """Hall stair at the middle of the overlap of hall and upper corridor, (8.25, 5.5); O12 at (8, 0.2), door (9.4, 4)."""
    inn = api.load(inn_path, Request(today="2026-03-03"))
    found = walk(inn, "room:M004", "outlet:O12", "outlet:O26", "outlet:O21", "outlet:O24")
    metres = 1 + math.hypot(1.25, 1.5) + math.hypot(1.15, 1.5) + math.hypot(1.4, 3.8)
    assert (found.seconds[0, 1], found.how[0, 1]) == (pytest.approx(metres + 2 * 2 + 20, abs=0.2), "plan")
    assert list(found.how[0, 2:]) == ["boxes", "boxes", "boxes"]
    assert found.seconds[0, 2] > 25 + 20  # 25 m of yard at least, an outside stair
    assert {"outside_stair", "stair_by_name", "nearest_building"} <= set(codes(found))


def test_inn__without_doors_to_the_arch_the_east_is_a_guess_and_dearer(inn_path: pathlib.Path) -> None:
    """No door to the arch: by the front door of the hall round to a door of the office that nobody noted."""
    asked = "room:M004", "outlet:O07"
    with_doors = walk(api.load(inn_path, Request(today="2026-03-03")), *asked)
    assert with_doors.how[0, 1] == "plan"
    inn = api.load(inn_path, Request(today="2026-03-03"))
    shut = {parse_ref("opening:A04"), parse_ref("opening:A10")}
    walled_off = dataclasses.replace(inn, things={r: t for r, t in inn.things.items() if r not in shut})
    found = walk(walled_off, *asked)
    assert (found.how[0, 1], codes(found)) == ("guessed", ["way_out_not_noted"])
    assert found.seconds[0, 1] > with_doors.seconds[0, 1] + 5
