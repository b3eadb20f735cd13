"""The same house told otherwise gives the same answers: renamed, shuffled, shifted, turned, in feet, with decimal commas."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.columns import find_column, tables
from tests.journeys.sites import ASKED, Rows, make, packaged

ASKS = {"runs": api.runs, "power": api.power, "if-cut": api.if_cut}


def answers(path: Path) -> dict[str, str]:
    """All answers without entry ids, which are made anew in each record."""
    out = {}
    for verb, ask in ASKS.items():
        text = json.dumps(ask(path, ASKED).answer, sort_keys=True)
        text = re.sub(r'"written": "[^"]*"', '"written": ""', text)  # kept as the person wrote it
        out[verb] = re.sub(r'"because": \[[^\]]*\]', '"because": []', text)
    return out


@pytest.fixture(scope="module", params=["two_rooms", "three_lamps/1_arrival"])
def rows(request: pytest.FixtureRequest) -> Rows:
    return packaged(request.param)


def cells(rows: Rows, change) -> Rows:
    """Rows with each cell changed by change(table, column type, of, text)."""
    out: Rows = {}
    for table, content in rows.items():
        columns = {h: found[0] for h in content[0] if (found := find_column(tables()[table], h))}
        out[table] = [
            {h: change(table, columns[h].type, columns[h].of, text) if text else text for h, text in row.items()}
            for row in content
        ]
    return out


def test_shuffled_rows_and_columns(tmp_path: Path, rows: Rows) -> None:
    dice = random.Random(7)
    mixed: Rows = {}
    for table, content in rows.items():
        heads = dice.sample(list(content[0]), len(content[0]))
        # rows that speak of one thing keep their order: the last account counts
        mixed[table] = [
            {h: row[h] for h in heads}
            for row in sorted(
                content, key=lambda r, order={}: order.setdefault(str(list(r.values())[:2]), dice.random())
            )
        ]
    assert answers(make(tmp_path / "b", mixed)) == answers(make(tmp_path / "a", rows))


def test_decimal_commas_and_semicolons(tmp_path: Path, rows: Rows) -> None:
    def comma(table: str, kind: str, of: str, text: str) -> str:
        return text.replace(".", ",") if kind in ("number", "outline", "reading") else text

    assert answers(make(tmp_path / "b", cells(rows, comma), delimiter=";")) == answers(make(tmp_path / "a", rows))


def test_feet_for_metres(tmp_path: Path, rows: Rows) -> None:
    def feet(table: str, kind: str, of: str, text: str) -> str:
        if kind == "number" and of == "length" and text != "none":
            return f"{float(text) / 0.3048!r} ft"
        return text

    assert answers(make(tmp_path / "b", cells(rows, feet))) == answers(make(tmp_path / "a", rows))


def test_shifted_and_turned_house(tmp_path: Path, rows: Rows) -> None:
    moved = {**rows, "buildings": [{**r, "x_m": "123.5", "y_m": "-40", "angle_deg": "37"} for r in rows["buildings"]]}
    assert answers(make(tmp_path / "b", moved)) == answers(make(tmp_path / "a", rows))


def test_renamed_tags(tmp_path: Path) -> None:
    """Every tag of the small property gets another name; answers are equal after renaming back."""
    rows = packaged("two_rooms")
    tags = {
        row[c.name]
        for table, content in rows.items()
        for c in tables()[table].columns
        if c.type == "tag"
        for row in content
        if row.get(c.name)
    } - {"KC", "TEC", "OWN"}
    tags |= {row["port"] for row in rows["ports"]}
    new = {
        tag: re.sub(r"[A-Za-z]+", lambda m: "zq" + m[0].lower(), tag.partition(".")[0])
        + "".join(tag.partition(".")[1:])
        for tag in tags
    }
    pattern = re.compile(r"(?<![\w.])(" + "|".join(sorted(map(re.escape, new), key=len, reverse=True)) + r")(?![\w.])")

    def rename(table: str, kind: str, of: str, text: str) -> str:
        plain = kind.partition(":")[0] in ("tag", "ref", "refs", "anyref", "relation")
        return pattern.sub(lambda m: new[m[0]], text) if plain else text

    renamed = answers(make(tmp_path / "b", cells(rows, rename)))
    back = {verb: re.sub(r"zq([a-z]+)", lambda m: m[1].upper(), text) for verb, text in renamed.items()}
    first = {
        verb: re.sub(r"C4b|J1a|J1b|O\da", lambda m: m[0].upper(), text)
        for verb, text in answers(make(tmp_path / "a", rows)).items()
    }

    def sets(text: str) -> object:
        """Orders by tag may differ under other names."""

        def flat(value: object) -> object:
            if isinstance(value, dict):
                return sorted((k.upper(), repr(flat(v))) for k, v in value.items())
            return sorted(repr(flat(v)) for v in value) if isinstance(value, list) else value

        return flat(json.loads(text.replace("4b", "4B").replace("1a", "1A").replace("1b", "1B")))

    assert {v: sets(t) for v, t in back.items()} == {v: sets(t) for v, t in first.items()}
