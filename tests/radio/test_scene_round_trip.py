"""What the scene stands on survives the tables: written out and read again it gives the same scene and readings."""

from __future__ import annotations

import importlib.resources

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.tables import READINGS, RawTable, understand
from pullstring.model.tables_out import header_of, rows_of
from pullstring.model.when import parse_when
from pullstring.radio.readings_of import QUANTITIES, readings_of
from pullstring.radio.scene_of import made_scene
from tests.notice.lines import TODAY
from tests.radio.drawn_house import house

MORE = """
units unit=MU1 azimuth_deg=45 tilt_deg=-30 width_mhz="80 MHz" grade=seen by=TEC at=2026-03-01
positions position=MP1 room=MR2 x_m=1 y_m=7 state=planned antenna=wall eirp_6g_dbm=20 grade=assumed by=TEC at=2026-03-01
wall_types wall_type=MT5 layers="plaster 0.5 in; brick 9 in" spread_db=2 loss_6g_db=9 grade=seen by=TEC at=2026-03-01
measurements subject=room:MR3 quantity="level 6 GHz" value=none conditions="at 1 1" grade=metered by=TEC at=2026-03-02
"""


def again(site: Site) -> Site:
    """The site as its own tables tell it."""
    raw = []
    for table, rows in rows_of(site).items():
        header = tuple(header_of(table))
        cells = tuple((n, tuple(row.get(name, "") for name in header)) for n, row in enumerate(rows, 2))
        raw.append(RawTable(f"{table}.csv", table, header, cells))
    read = understand(raw, known={}, today=TODAY)
    assert not read.faults, read.faults
    wrote = f"{TODAY}T10:00:00+00:00"
    return replay(
        [
            Entry(f"t{n:03d}", "TEC", "b", n, n, parse_when(s.at), wrote, s.body)
            for n, s in enumerate(read.statements, 1)
        ],
        today=TODAY,
    )


def test_scene_and_readings__the_same_from_the_tables_that_the_site_writes() -> None:
    here = house(add=MORE)
    there = again(here)
    a, b = (made_scene(site, doors="usual", step_m=1.0) for site in (here, there))
    assert a == b and len(a.scene.senders) == 2
    kept = [
        [(level.subject, level.band, level.reading and level.reading.spots) for level in readings_of(s, a.scene)]
        for s in (here, there)
    ]
    assert kept[0] == kept[1] and [band for _, band, _ in kept[0]] == ["5 GHz", "6 GHz"]


def test_sender__looks_as_noted() -> None:
    (unit,) = [s for s in made_scene(house(add=MORE), doors="usual", step_m=1.0).scene.senders if s.name == "MU1"]
    assert (unit.azimuth_deg, unit.tilt_deg) == (45, -30)


def test_bands__are_quantities_of_the_tables_and_of_the_phone() -> None:
    phone = (importlib.resources.files("pullstring.phone") / "acts.js").read_text(encoding="utf-8")
    assert [q for q in QUANTITIES if READINGS.get(q) != "level" or f'"{q}": ["dBm"]' not in phone] == []
