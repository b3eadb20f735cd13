"""What a reader has of a PDF: its text page by page, and the faces in it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

from tests.conftest import part


def pages(pdf: Path, *, layout: bool = True) -> list[str]:
    """The text of each page."""
    command = [part("pdftotext"), *(["-layout"] if layout else ["-raw"]), str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return text.split("\f")[:-1]


def flat(text: str) -> str:
    """Text with single spaces, and without the places where a long word may break."""
    return " ".join(text.replace("\u200b", "").split())


def faces(pdf: Path) -> tuple[set[str], bool]:
    """Names of the faces in a PDF, and whether all are embedded."""
    program = shutil.which("pdffonts")
    assert program, "pdffonts comes with pdftotext"
    lines = subprocess.run([program, str(pdf)], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    names = {line.split()[0].partition("+")[2].removesuffix("-Identity-H") for line in lines}
    return names, all(re.search(r" yes (yes|no) +(yes|no) +\d+ +\d+$", line) for line in lines)
