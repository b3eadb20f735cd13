"""Phones of a record: letters of their own, a token known by its hash alone, a right that can be taken away."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from pullstring.log import devices
from pullstring.log.store import Store, create, open_store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return create(tmp_path / "a.site", site_code="A", author="TEC")


def enrolled(store: Store, n: int) -> devices.Device:
    return devices.enrol(store, device=f"phone-{n:08x}", name=f"phone {n}", since="2026-03-01", token=f"token {n}")


def test_letters__no_two_phones_bear_the_same(store: Store) -> None:
    made = [enrolled(store, n) for n in range(60)]
    assert len({d.short for d in made}) == 60
    assert all(len(d.short) == 2 and d.short.isupper() and not set(d.short) & set("IO") for d in made)


def test_letters__of_two_copies_seldom_agree(tmp_path: Path) -> None:
    """24 letters give 576 pairs: of 60 pairs of copies that pair one phone each, expect 60 / 576 to agree; 5 would be 1 in 10^6."""
    agree = 0
    for n in range(60):
        shorts = []
        for copy in range(2):
            one = create(tmp_path / f"{n}-{copy}.site", site_code="A", author="TEC")
            shorts.append(enrolled(one, 1000 * copy + n).short)
            one.close()
        agree += shorts[0] == shorts[1]
    assert agree < 5


def test_token__is_nowhere_in_the_file(store: Store) -> None:
    enrolled(store, 7)
    store.close()
    raw = Path(store.where).read_bytes()
    assert b"token 7" not in raw
    assert devices.hash_of("token 7").encode() in raw


def test_of_token__only_the_right_one_and_only_while_it_holds(store: Store) -> None:
    one, two = enrolled(store, 1), enrolled(store, 2)
    assert devices.of_token(store, "token 1") == one
    assert devices.of_token(store, "token 3") is None
    assert devices.of_token(store, "") is None
    assert devices.forget(store, one.id)
    assert not devices.forget(store, one.id)
    assert devices.of_token(store, "token 1") is None
    assert devices.of_token(store, "token 2") == two
    assert one.short in {d.short for d in devices.devices(store)}  # its jottings keep their letters


def test_letters__all_taken_is_a_sentence(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(devices, "LETTERS", "AB")
    for n in range(4):
        enrolled(store, n)
    with pytest.raises(ValueError, match="all 4 pairs of letters are taken"):
        enrolled(store, 5)


def test_devices__stay_with_the_file_and_go_with_no_merge(tmp_path: Path) -> None:
    from pullstring.log.merge import merge

    stores = []
    for name, n in zip("ab", itertools.count(), strict=False):
        one = create(tmp_path / f"{name}.site", site_code="A", author="TEC")
        enrolled(one, n)
        stores.append(one)
    merge(stores[0], stores[1])
    assert [d.id for d in devices.devices(stores[0])] == ["phone-00000000"]
    stores[0].close()
    with open_store(tmp_path / "a.site", read_only=True) as again:
        assert [d.name for d in devices.devices(again)] == ["phone 0"]
