"""The inn brought into a record, and how its tests look into it."""

from __future__ import annotations

import csv
import pathlib

from pullstring import api
from pullstring.demo import STAGES
from pullstring.model.answers import Request
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import parse_ref

ROOT = pathlib.Path(__file__).resolve().parents[2]
INN = ROOT / "src" / "pullstring" / "demo" / "three_lamps"
HAND = {"author": "TEC", "device": "laptop"}
TRACED = "2026-03-04T12:30+01:00"  # all ends are traced; nothing of the new network is in yet
DAYS = dict(STAGES)


def bring_in(path: pathlib.Path, stage: str) -> int:
    day = DAYS[stage]
    said = api.import_(path, Request(today=day), folder=INN / stage, wrote=f"{day}T20:00:00+00:00", **HAND).answer
    assert said["unread"] == []
    return said["entered"]


def truth() -> list[dict[str, str]]:
    with (pathlib.Path(__file__).parent / "truth.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def the(site: Site, name: str) -> Thing:
    found = site.get(parse_ref(name))
    assert found is not None, name
    return found


def value(thing: Thing, field: str) -> float:
    found = thing.number(field)
    assert found is not None, f"{thing.ref} {field}"
    return found


def amount(site: Site, price: str) -> float:
    return float(the(site, f"price:{price}").text("amount").split()[0])


def closet(site: Site) -> list[Thing]:
    return [t for t in site.of_kind("end") if t.ref.tag.startswith("E") and 1 <= int(t.ref.tag[1:]) <= 40]
