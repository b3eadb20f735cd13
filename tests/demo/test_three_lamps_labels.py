"""The labels of the whole inn, read back at 203 dpi, against its register of identifiers."""

from __future__ import annotations

import pathlib

import pytest

from pullstring.api.labelling import label_facts
from pullstring.model.answers import Request
from pullstring.papers.identifiers import register, site_class
from pullstring.papers.labels_for import labels_for
from tests.papers.labelled_house import black_and_white, pages_of, read_back

DAY = Request(today="2027-06-01")


@pytest.mark.parametrize(
    ("what", "on"),
    [("ends", "tape12"), ("outlets", "a4"), ("protected", "tape24"), ("reserved", "a4-21"), ("units", "a4-40")],
)
def test_inn__every_code_is_of_the_register_and_none_is_missing(
    record: pathlib.Path, what: str, on: str, pdftoppm: str, tmp_path: pathlib.Path
) -> None:
    site, _, facts = label_facts(record, DAY, what)
    made = labels_for(site, what, on=on, today=DAY.today, **facts)
    read = read_back([black_and_white(p) for p in pages_of(made.data, pdftoppm, tmp_path, ppi=203)])
    known = {f"{site.property_tag}/{one.identifier}".upper(): one for one in register(site)}
    codes = [text for _, text, *_ in read]
    assert codes and set(codes) <= set(known) and len(codes) == len(made.spots)
    standing = [c for c, one in known.items() if one.stands]
    if what == "ends":
        assert set(codes) == {
            c for c in standing if known[c].what in ("link", "backbone", "between buildings", "end", "cable")
        }
    if what == "units":
        assert {known[c].what for c in codes} == {"unit"}


def test_inn__one_label_that_stands_twice_is_told(record: pathlib.Path) -> None:
    """Two rows of its panel bear the same label: one of the slips that were put in on purpose."""
    site, _, facts = label_facts(record, DAY, "ends")
    made = labels_for(site, "ends", on="a4", today=DAY.today, **facts)
    twice = [one for one in register(site) if "stated_twice" in one.why]
    assert len(twice) == 1 and any("stands on another link already" in said for said in made.left)


def test_inn__is_of_class_3(record: pathlib.Path) -> None:
    site, _, _ = label_facts(record, DAY, "ends")
    assert site_class(site).number == 3


def test_inn__later_stages_rename_nothing(arrived, year_after) -> None:
    """What had an identifier on arrival and got no label noted since has the same one a year later."""
    before, after = ({one.ref: one for one in register(s)} for s in (arrived, year_after))
    same = [
        ref
        for ref, one in before.items()
        if ref in after and after[ref].by == one.by == "counted" and after[ref].what == one.what
    ]
    assert len(same) > 20
    taken = {one.identifier.casefold() for one in after.values() if one.by == "stated"}
    assert all(
        after[ref].identifier == before[ref].identifier or before[ref].identifier.casefold() in taken for ref in same
    )
