"""The demo: complete, the same bytes wherever it is made, and true to its document's counts."""

from __future__ import annotations

import filecmp
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest


def make(folder: Path, **env: str) -> Path:
    subprocess.run(
        [sys.executable, "-m", "pullstring", "demo", str(folder)],
        check=True,
        capture_output=True,
        env={**os.environ, **env},
        timeout=120,
        cwd=folder.parent,
    )
    return folder


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("one") / "demo", TZ="UTC", LC_ALL="C.UTF-8", PYTHONHASHSEED="1")


def test_demo__has_all_that_it_promises(demo: Path) -> None:
    names = {p.relative_to(demo).as_posix() for p in demo.rglob("*") if p.is_file()}
    assert {
        "index.html",
        "first_page.pdf",
        "first_page.html",
        "book.pdf",
        "tables.xlsx",
        "blanks.pdf",
        "closet.pdf",
        "riser.pdf",
        "labels_ends_a4.pdf",
        "labels_ends_tape12.pdf",
        "floor_M0.svg",
        "floor_M0.pdf",
        "tables/ends.csv",
        "answers/site.json",
        "answers/runs.json",
        "answers/power.json",
        "answers/if-cut.json",
        "demo.site",
    } <= names
    index = (demo / "index.html").read_text()
    assert all(f'href="{n}"' in index for n in ("first_page.pdf", "book.pdf", "floor_M0.svg", "answers/runs.json"))


def test_demo__same_bytes_elsewhere(demo: Path, tmp_path: Path) -> None:
    (tmp_path / "far away").mkdir()
    other = make(tmp_path / "far away" / "other", TZ="Asia/Tokyo", LC_ALL="C", PYTHONHASHSEED="77")
    first = sorted(p.relative_to(demo) for p in demo.rglob("*") if p.is_file())
    assert first == sorted(p.relative_to(other) for p in other.rglob("*") if p.is_file())
    assert [p for p in first if not filecmp.cmp(demo / p, other / p, shallow=False)] == []


def test_demo__counts_of_the_document(demo: Path) -> None:
    counts = json.loads((demo / "answers" / "site.json").read_text())["answer"]["counts"]
    assert (counts["room"], counts["outlet"], counts["wall"]) == (27, 30, 52)
    assert len(json.loads((demo / "answers" / "runs.json").read_text())["answer"]["runs"]) == 40


def test_demo__what_a_veteran_sees_on_arrival(demo: Path) -> None:
    said = json.loads((demo / "answers" / "site.json").read_text())
    seen = {(p["code"], p["where"]) for p in said["problems"]}
    assert ("mains_in_box", "outlet:O05") in seen
    assert ("address_clash", "unit:D03 and unit:D07") in seen
    assert ("bridged", "cable:C13 and cable:C14") in seen
    assert any(code == "switched_path" and where == "switch:SW1" for code, where in seen)


def test_demo__power_path_of_the_feed(demo: Path) -> None:
    """Breaker, wall switch, socket, strip, injector and cable each end the feed (six, document section 10)."""
    points = json.loads((demo / "answers" / "if-cut.json").read_text())["answer"]["single_points"]
    path = ("circuit:BAR", "switch:SW1", "socket:K1", "socket:P1", "unit:D02", "cable:C01")
    assert all("service:NET" in points[name] for name in path)


def test_demo__protected_lines_are_never_to_be_toned(demo: Path) -> None:
    runs = {r["end"]: r for r in json.loads((demo / "answers" / "runs.json").read_text())["answer"]["runs"]}
    for end in ("E04", "E05", "E06", "E26", "E27", "E30"):
        assert runs[end]["next_test"] == "company_first", end


def test_demo__a_folder_with_other_things_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("keep")
    done = subprocess.run(
        [sys.executable, "-m", "pullstring", "demo", str(tmp_path / "mine")],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 2
    assert "this folder holds other things" in done.stderr
    assert [p.name for p in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_demo__made_again_over_itself_but_never_over_a_persons_file(tmp_path: Path) -> None:
    folder = make(make(tmp_path / "demo"))
    (folder / "my notes.txt").write_text("keep")
    again = [sys.executable, "-m", "pullstring", "demo", str(folder)]
    assert subprocess.run(again, capture_output=True, check=False, timeout=120).returncode == 2
    assert (folder / "my notes.txt").read_text() == "keep"
