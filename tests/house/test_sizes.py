"""A file fits in a head, a function on a screen."""

import ast

import pytest

from tests.house.tree import SRC, parsed, python_files, short

MOST_LINES = 400
MOST_STATEMENTS = 40
WRITTEN_BY_HAND = {".py", ".js", ".mjs", ".css", ".html", ".j2", ".typ"}
Function = ast.FunctionDef | ast.AsyncFunctionDef


def statements(function: Function) -> int:
    """Statements inside a function, those of inner functions included, its docstring not."""
    body = function.body[1:] if ast.get_docstring(function, clean=False) is not None else function.body
    return sum(isinstance(node, ast.stmt) for outer in body for node in ast.walk(outer))


def too_long(tree: ast.Module) -> list[str]:
    functions = [node for node in ast.walk(tree) if isinstance(node, Function)]
    return [f"{one.name}: {statements(one)}" for one in functions if statements(one) > MOST_STATEMENTS]


@pytest.mark.parametrize(("count", "names"), [(40, []), (41, ["f: 41"])])
def test_check_itself__counts_statements_without_the_docstring(count, names):
    assert too_long(ast.parse('def f():\n    """Words."""\n' + "    x = 1\n" * count)) == names


def test_check_itself__counts_what_stands_in_branches():
    assert too_long(ast.parse("def f():\n    if a:\n" + "        x = 1\n" * 40)) == ["f: 41"]


@pytest.mark.parametrize("file", python_files(), ids=short)
def test_functions__at_most_40_statements(file):
    assert too_long(parsed(file)) == []


def test_files__at_most_400_lines():
    files = [file for file in SRC.rglob("*") if file.suffix in WRITTEN_BY_HAND]
    assert files
    lengths = {short(file): len(file.read_text("utf-8").splitlines()) for file in files}
    assert {name: length for name, length in lengths.items() if length > MOST_LINES} == {}
