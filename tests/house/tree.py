"""The files that the rules of the house look at."""

import ast
import pathlib

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
SRC = ROOT / "src" / "pullstring"
THINKING = ("model", "copper", "power", "radio", "reach", "notice", "trace", "fault", "plan")
LAWS = ("copper", "power", "radio")


def python_files(*rooms: str) -> list[pathlib.Path]:
    """All Python files of some rooms, or of the whole program when no room is named."""
    places = [SRC / room for room in rooms] if rooms else [SRC]
    return sorted(file for place in places for file in place.rglob("*.py"))


def short(file: pathlib.Path) -> str:
    return file.relative_to(ROOT).as_posix()


def parsed(file: pathlib.Path) -> ast.Module:
    return ast.parse(file.read_text("utf-8"), short(file))
