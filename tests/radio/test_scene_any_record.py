"""Whatever stands in the record, there is a scene and a list of faults and never an exception."""

from __future__ import annotations

import random
import re

import pytest

from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.tables import understand
from pullstring.model.when import parse_when
from pullstring.radio.readings_of import readings_of
from pullstring.radio.scene_faults import scene_problems
from pullstring.radio.scene_of import made_scene
from tests.notice.lines import TODAY, tables
from tests.radio.drawn_house import HOUSE, LENGTHS, in_metres

VALUES = [
    "0",
    "-3",
    "none",
    "1e3",
    "0.001",
    "6 4",
    "0 0; 0 0",
    "0 0; 0 0; 0 0",
    "0 0; 4 0; 0 4; 4 4",
    "planned",
    "open",
    "MR1",
    "",
]


def bent(dice: random.Random) -> str:
    """The house with rows lost, cells lost and cells that hold something else."""
    rows = [r for r in LENGTHS.sub(in_metres, HOUSE).splitlines() if r and dice.random() > 0.1]
    for _ in range(dice.randint(1, 25)):
        n = dice.randrange(len(rows))
        cells = re.findall(r'(\w+)=("[^"]*"|\S+)', rows[n])
        if len(cells) < 3:
            continue
        name, value = dice.choice(cells[1:])
        new = dice.choice(["", f'{name}="{dice.choice(VALUES)}"'])
        rows[n] = rows[n].replace(f"{name}={value}", new)
    return "\n".join(rows)


@pytest.mark.parametrize("seed", range(150))
def test_bent_house__gives_a_scene_and_faults_and_readings(seed: int) -> None:
    """Rows that the import refuses are left out, as it would; the rest is drawn."""
    raw = tables(bent(random.Random(seed)))
    read = understand(raw, known={}, today=TODAY)
    wrote = f"{TODAY}T10:00:00+00:00"
    stated = [
        Entry(f"b{n:03d}", "TEC", "a", n, n, parse_when(s.at), wrote, s.body) for n, s in enumerate(read.statements, 1)
    ]
    site = replay(stated, today=TODAY)
    for doors in ("usual", "open"):
        made = made_scene(site, doors=doors, step_m=2.0)
        assert all(1 <= len(r.points) <= 200 for r in made.scene.rooms)
        assert {w.skin for w in made.scene.walls} <= set(made.scene.skins)
        assert {s.skin for s in made.scene.slabs} <= set(made.scene.skins)
        assert all(
            0 <= o.u0_m < o.u1_m and w.z0_m <= o.z0_m < o.z1_m <= w.z1_m for w in made.scene.walls for o in w.openings
        )
        known = {e.id for e in stated}
        assert {e for p in scene_problems(site, made) for e in p.because} <= known
    assert all((level.reading is None) == bool(level.why_not) for level in readings_of(site, made.scene))
