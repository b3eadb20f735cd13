"""Writers that are killed: what they said was written is there, and half a batch never is.

`kill -9` proves that the process may die at any moment. Loss of power is another matter; for that the store asks for the
full synchronisation of the disk, which another test reads back.
"""

import contextlib
import itertools
import multiprocessing
import os
import random

from pullstring.log.refusals import Busy
from pullstring.log.store import open_store
from tests.log.records import ENVELOPE, begin, noted
from tests.tiers import FRESH_SEED, slow

FORK = multiprocessing.get_context("fork")  # a child that need not load the program again is killed sooner


def write(path, device, batch, pipe):
    """Append batches of 1 to 7 bodies that all name their batch, for ever; say their ids when the call has returned."""
    store = open_store(path, device=device)
    for number in itertools.count(1):
        size = 1 + number % 7
        bodies = [noted(f"C{k}", batch=f"{batch} {number}", size=str(size)) for k in range(size)]
        with contextlib.suppress(Busy):
            made = store.append(bodies, **ENVELOPE)
            os.write(pipe, (" ".join(one.id for one in made) + "\n").encode())


def killed(path, writers, batch, dice):
    """Ids that the writers said; each is killed in the midst of its work, the second a little after the first."""
    children = []
    for number in range(writers):
        out, into = os.pipe()
        child = FORK.Process(target=write, args=(path, f"d{number}", f"{batch}.{number}", into))
        child.start()
        os.close(into)
        children.append((child, os.fdopen(out, encoding="ascii")))
    said = [told.readline() for _, told in children for _ in range(3)]
    for child, told in children:
        said += [told.readline() for _ in range(dice.randrange(4))]
        child.kill()
    for child, told in children:
        with told:
            said += told.read().splitlines(keepends=True)
        child.join()
        assert child.exitcode == -9
    return {name for line in said if line.endswith("\n") for name in line.split()}


def rounds(path, count, dice):
    begin(path).close()
    said: set[str] = set()
    cursor = 0
    for number in range(count):
        news = killed(path, 1 + number % 2, number, dice)
        with open_store(path, read_only=True) as store:
            arrived = store.since(cursor)
        check(arrived.items, news)
        said, cursor = said | news, arrived.arrival
        if number % 10 == 9:  # now and then somebody folds the log into the file; else the next one finds it as it lies
            with open_store(path) as store:
                assert store.rows("PRAGMA integrity_check") == [("ok",)]
    with open_store(path) as store:
        check(store.entries(), said)
        assert store.rows("PRAGMA integrity_check") == [("ok",)]
    assert [p.name for p in path.parent.iterdir()] == [path.name]
    return said


def check(entries, said):
    assert said <= {one.id for one in entries}
    batches: dict[str, list[str]] = {}
    for one in entries:
        batches.setdefault(str(one.body.fields["batch"]), []).append(str(one.body.fields["size"]))
    assert all(sizes == [str(len(sizes))] * len(sizes) for sizes in batches.values())  # all of a batch, or none
    assert len({(one.device, one.n) for one in entries}) == len({one.tick for one in entries}) == len(entries)


def test_kill__four_rounds_of_one_and_two_writers(tmp_path):
    assert len(rounds(tmp_path / "s", 4, random.Random(1))) >= 50


@slow("8 s, fifty rounds of one and of two writers")
def test_kill__fifty_rounds_of_one_and_two_writers(tmp_path):
    assert len(rounds(tmp_path / "s", 50, random.Random(FRESH_SEED))) >= 650
