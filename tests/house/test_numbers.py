"""Formulas take their numbers by name, with the unit in the name, without a default, with a source.

Looked at: public functions of the law rooms. A number is a parameter whose type is a plain number or array; a value
type (`Interval`, `Estimate`, `Limit`) carries its unit, so its name need not, but it is passed by name as well.
"""

import ast
import re

import pytest

from tests.house.tree import LAWS, parsed, python_files, short

UNITS = [
    "m",
    "mm",
    "m2",
    "mm2",
    "m3",
    "kg",
    "s",
    "min",
    "h",
    "years",
    "hz",
    "khz",
    "mhz",
    "ghz",
    "ohm",
    "s_per_m",
    "w",
    "v",
    "va",
    "a",
    "ah",
    "wh",
    "j",
    "f",
    "h",
    "c",
    "k",
    "pa",
    "n",
    "rad",
    "deg",
    "db",
    "dbm",
    "dbi",
    "dbuv",
    "bps",
    "mbps",
    "bit",
    "byte",
    "per_k",
    "per_c",
    "per_m",
    "per_s",
]
WITHOUT_UNIT = set(
    [
        "awg",
        "cables",
        "capacity_left",
        "conductors",
        "cos_incidence",
        "efficiency",
        "exponent",
        "n",
        "pairs",
        "count",
        "share",
        "streams",
        "fraction",
        "ratio",
        "relative",
        "factor",
        "odds",
        "fill",
        "gain",
        "disturbers",
        "levels",
        "error_rate",
        "order",
        "seed",
        "turns",
    ]
)
COUNTED = re.compile(
    r".*_(count|pairs|share|fraction|ratio|factor|odds|awg|number|index|taps|joints)$|^(n|taps|joints)$"
)
UNIT = re.compile(r".+_(?:" + "|".join(UNITS) + r")(?:_per_(?:" + "|".join(UNITS) + r"))*(?:_at_\w+)?$|.*_at_\w+$")
PLAIN = {"float", "int", "complex", "Decimal", "ndarray", "NDArray", "ArrayLike", "floating", "FloatArray", "Array"}
VALUES = {"Interval", "Estimate", "Limit"}
OTHER_CONTAINERS = {"str", "bool", "Mapping", "dict", "Callable", "Literal"}


def words(annotation: ast.expr | None) -> set[str]:
    if annotation is None:
        return {"float"}  # nothing said: taken for a number
    nodes = list(ast.walk(annotation))
    strings = [n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    inner = {name for text in strings for name in re.findall(r"\w+", text)}
    return inner | {getattr(n, "id", "") or getattr(n, "attr", "") for n in nodes}


def is_plain(argument: ast.arg) -> bool:
    kinds = words(argument.annotation)
    return bool(kinds & PLAIN) and not kinds & (VALUES | OTHER_CONTAINERS)


def is_quantity(argument: ast.arg) -> bool:
    return is_plain(argument) or bool(words(argument.annotation) & VALUES)


def has_unit(name: str) -> bool:
    return name in WITHOUT_UNIT or bool(COUNTED.match(name)) or bool(UNIT.match(name))


def section(text: str, heading: str) -> str:
    """The body under a heading ruled with dashes, up to the next such heading."""
    found = re.search(rf"^{heading}\n-{{3,}}\n(.*?)(?=^\w[\w ]*\n-{{3,}}\n|\Z)", text, re.MULTILINE | re.DOTALL)
    return found[1].strip() if found else ""


def described(parameters: str, name: str) -> str:
    """What the docstring says of one parameter: its line and the indented lines below; names may share a line."""
    for block in re.split(r"^(?=\S)", parameters, flags=re.MULTILINE):
        if name in re.split(r"[,\s]+", block.partition(":")[0]):
            return block
    return ""


def with_defaults(function: ast.FunctionDef) -> set[str]:
    given = function.args
    positional = [*given.posonlyargs, *given.args]
    late = positional[len(positional) - len(given.defaults) :]
    named = [one for one, default in zip(given.kwonlyargs, given.kw_defaults, strict=True) if default is not None]
    return {one.arg for one in [*late, *named]}


def faults(function: ast.FunctionDef) -> list[str]:
    given, text = function.args, ast.get_docstring(function) or ""
    by_place = [*given.posonlyargs, *given.args]
    everything = [*by_place, *given.kwonlyargs]
    numbers = [one for one in everything if is_quantity(one)]
    if not numbers:
        return []
    parameters = section(text, "Parameters")
    found = [f"{one.arg}: pass it by name" for one in by_place if is_quantity(one)]
    found += [f"{one.arg}: no default" for one in numbers if one.arg in with_defaults(function)]
    found += [f"{one.arg}: unit in the name" for one in numbers if is_plain(one) and not has_unit(one.arg)]
    found += [
        f"{one.arg}: [unit] in the docstring"
        for one in numbers
        if not re.search(r"\[[^\]]+\]", described(parameters, one.arg))
    ]
    if not section(text, "References"):
        found.append("no References section")
    return [f"{function.name}: {fault}" for fault in found]


def public_functions(tree: ast.Module) -> list[ast.FunctionDef]:
    return [one for one in tree.body if isinstance(one, ast.FunctionDef) and not one.name.startswith("_")]


SOUND = '''
def load_voltage(*, supply_v: float, loop_ohm: float) -> float:
    """Words.

    Parameters
    ----------
    supply_v : float
        Voltage at the source. [V]
    loop_ohm : float
        Loop resistance,
        out and back. [ohm]

    Returns
    -------
    float
        Voltage. [V]

    References
    ----------
    Ohm's law.
    """
'''
PLANTED = [
    ("*, supply_v: float", "supply_v: float, *", "supply_v: pass it by name"),
    ("supply_v: float,", "supply_v: float = 48.0,", "supply_v: no default"),
    ("loop_ohm", "loop", "loop: unit in the name"),
    ("source. [V]", "source.", "supply_v: [unit] in the docstring"),
    ("out and back. [ohm]", "out and back.", "loop_ohm: [unit] in the docstring"),
    ("    References\n    ----------\n    Ohm's law.\n", "", "no References section"),
    ("Ohm's law.", "", "no References section"),
    ("*, supply_v: float", "supply_v, *", "supply_v: pass it by name"),
    ("*, supply_v: float", "supply_v: Interval, *", "supply_v: pass it by name"),
    ("supply_v: float,", "supply_v: Interval | None = None,", "supply_v: no default"),
]


def test_check_itself__lets_a_sound_formula_pass():
    (function,) = public_functions(ast.parse(SOUND))
    assert faults(function) == []


@pytest.mark.parametrize(("old", "new", "says"), PLANTED)
def test_check_itself__finds(old, new, says):
    assert old in SOUND
    (function,) = public_functions(ast.parse(SOUND.replace(old, new)))
    assert f"load_voltage: {says}" in faults(function)


@pytest.mark.parametrize("name", ["supply_v", "length_m", "ohm_per_m", "loss_db_per_m", "ohm_at_75c", "awg", "pairs"])
def test_check_itself__knows_units(name):
    assert has_unit(name)


@pytest.mark.parametrize("name", ["length", "supply", "resistance", "v", "length_ft", "m"])
def test_check_itself__misses_no_unit(name):
    assert not has_unit(name)


@pytest.mark.parametrize("file", python_files(*LAWS), ids=short)
def test_formulas__by_name_with_unit_and_source(file):
    assert [fault for function in public_functions(parsed(file)) for fault in faults(function)] == []


def test_formulas__are_looked_at():
    looked = [one.name for file in python_files(*LAWS) for one in public_functions(parsed(file))]
    assert len(looked) >= 10
