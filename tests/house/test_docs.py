"""The manual is what the program does: the table guide is made from the columns, the README names every verb."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from pullstring.cli import VERBS

ROOT = Path(__file__).parents[2]


def test_table_guide__is_made_from_the_columns() -> None:
    spec = importlib.util.spec_from_file_location("table_guide", ROOT / "tools" / "table_guide.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.guide() == (ROOT / "docs" / "tables.md").read_text(encoding="utf-8")


def test_readme__names_both_commands_and_every_verb() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "python3 run.py demo" in text and "python3 run.py test" in text
    assert [verb for verb in VERBS if f"run.py {verb}" not in text] == []


def test_references__every_published_test_is_listed() -> None:
    text = (ROOT / "docs" / "references.md").read_text(encoding="utf-8")
    files = sorted(p.name for p in (ROOT / "tests" / "published").glob("test_*.py"))
    assert files and [name for name in files if name not in text] == []
