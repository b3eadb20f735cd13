"""How long the papers of a site take from the shell: `python bench/papers.py SITE`.

Beside each the time of a Python that does nothing, in the same run, so that the ratio can be compared between machines.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

WHAT = ("first", "book", "plans", "closet", "riser", "labels", "tables", "blanks")


def seconds(*command: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, capture_output=True)
    return time.perf_counter() - began


def main() -> None:
    site = sys.argv[1]
    nothing = min(seconds("-c", "pass") for _ in range(3))
    print(f"{'nothing':8} {nothing:6.2f} s")
    for what in WHAT:
        times = []
        for _ in range(3):
            with tempfile.TemporaryDirectory() as folder:
                times.append(seconds("-m", "pullstring", "print", site, str(Path(folder) / "p"), "--only", what))
        print(f"{what:8} {min(times):6.2f} s, {min(times) / nothing:5.0f} times that")


if __name__ == "__main__":
    main()
