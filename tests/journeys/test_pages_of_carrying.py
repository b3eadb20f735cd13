"""What a person reads when a record is carried about: each page of the terminal, once, with its figures."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.journeys.sites import make, packaged, write


def run(*words: object) -> tuple[int, str]:
    env = {**os.environ, "PULLSTRING_AUTHOR": "TEC", "COLUMNS": "120"}
    code = "from pullstring.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", code, *map(str, words)], capture_output=True, text=True, env=env)
    assert "Traceback" not in done.stderr
    return done.returncode, " ".join((done.stdout + done.stderr).split())


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


def test_export_as_record_and_import_again(house: Path, tmp_path: Path) -> None:
    code, page = run("export", house, tmp_path / "r", "--as", "record")
    assert code == 0 and "0 attachments" in page and "private photographs too" in page
    code, page = run("import", tmp_path / "new.site", tmp_path / "r", "--dry")
    assert code == 0 and "would come in, 0 were here already" in page and not (tmp_path / "new.site").exists()
    code, page = run("import", tmp_path / "new.site", tmp_path / "r")
    assert code == 0 and "came in" in page
    damaged = tmp_path / "d.site"
    whole = house.read_bytes()
    damaged.write_bytes(whole[: len(whole) // 3] + bytes(len(whole) // 3) + whole[2 * len(whole) // 3 :])
    code, page = run("import", tmp_path / "saved.site", damaged, "--rescue")
    assert code == 0 and "What could not be read" in page and "the entries that came as number" in page


def test_export_as_shared__says_what_was_left_out(house: Path, tmp_path: Path) -> None:
    run("add", house, "rooms", "room=R1", "note=the gate code is 9911")
    code, page = run("export", house, tmp_path / "s", "--as", "shared")
    assert code == 0 and "Left out" in page and "rooms, column note 1" in page and "Read it through" in page
    assert "9911" not in page
    code, page = run("export", house, tmp_path / "s", "--as", "shared")
    assert code == 2 and "holds other things" in page


def test_what_fits_and_import_with_a_map(house: Path, tmp_path: Path) -> None:
    foreign = write(tmp_path / "f", {"wires": [{"cable": "C90", "colour of it": "red"}]})
    code, page = run("import", house, foreign, "--what-fits")
    assert code == 0 and "table cables" in page and "not understood" in page and "[[sheet]]" in page
    code, page = run("import", house, foreign)
    assert code == 2 and "there is no table 'wires'" in page


def test_strike_and_redact(house: Path) -> None:
    _, page = run("add", house, "rooms", "room=R1", "note=hurtful words")
    entry = page.split("in the record: ")[1][:32]
    code, page = run("strike", house, entry[:8], "--why", "not so")
    assert code == 0 and "counts no more and stays readable" in page
    code, page = run("strike", house, entry, "--why", "hurts", "--redact")
    assert code == 0 and "its content is destroyed" in page
    code, page = run("strike", house, "ffffff", "--why", "x")
    assert code == 2 and "there is no entry 'ffffff'" in page
    code, page = run("strike", house, entry, "--why", " ")
    assert code == 2 and "say why" in page


def test_site__five_lines_then_all(tmp_path: Path) -> None:
    site = make(tmp_path, packaged("three_lamps/1_arrival"), code="TLH")
    _, short = run("site", site, "--today", "2026-03-03")
    _, whole = run("site", site, "--today", "2026-03-03", "--all")
    assert short.count("Remedy:") == 5 and "All of them: site --all" in short
    assert whole.count("Remedy:") > 10 and "site --all" not in whole
