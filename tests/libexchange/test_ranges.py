"""Every number that a formula takes, at the ends of its range and just beyond them.

A table of `ranges/*.toml` is a formula: its `usual` call, and the range of each number as the error
states it. `answer` pins what that call gives; where the number comes from is told by the reference
tests. `default` is what a number counts as that is left out, `free` says why nothing bounds
one. Where more is to be said a range is a table: `allowed`, with `low` and `high` where the words
round them; `name` where it is named otherwise; `at_low`, `at_high`: what else changes there and
beyond; `open` where neither end belongs to it; `refused_at_low_by`: the other number for which no
call is left there.
"""

import inspect
import re
import tomllib
from collections.abc import Iterator, Sequence
from datetime import date
from math import inf, isnan, nan, nextafter
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from libexchange.errors import OutOfRange
from libexchange.outflow import share_of_signal
from tests.house.formulas import Function, formulas
from tests.libexchange.calling import call, function_of, hints_of

Table = dict[str, Any]
FILES = sorted((Path(__file__).parent / "ranges").glob("*.toml"))


def read(path: Path) -> dict[str, Table]:
    """The tables of a file, with the records that its formulas share put in."""
    tables = tomllib.loads(path.read_text("utf-8"))
    shared = tables.pop("shared", {})
    for table in tables.values():
        table["usual"] |= {name: shared[name] for name, value in table["usual"].items()
                           if value == "shared"}  # fmt: skip
    return tables


TABLES = {name: table for path in FILES for name, table in read(path).items()}
WORDS = re.compile(r"(above )?(\S+) to (less than )?(\S+)( .+)?$")


class Range(NamedTuple):
    """One number of a formula; `open_low` and `open_high` leave the end itself out."""

    formula: str
    argument: str
    low: float
    high: float
    open_low: bool
    open_high: bool
    spec: Table


def range_of(formula: str, argument: str, stated: str | Table) -> Range:
    spec = {"allowed": stated} if isinstance(stated, str) else stated
    words = None if "low" in spec else WORDS.match(spec["allowed"])
    above, low, less, high = words.groups("")[:4] if words else [""] * 4
    both = spec.get("open", False)
    return Range(
        formula,
        argument,
        float(spec.get("low", low)),
        float(spec.get("high", high)),
        bool(above or both),
        bool(less or both),
        spec,
    )


RANGES = [
    range_of(formula, argument, stated)
    for formula, table in TABLES.items()
    for argument, stated in table.items()
    if argument not in ("usual", "answer", "free", "default")
]


def changed(arguments: Table, path: str, value: float) -> Table:
    """The arguments with the number at a path such as `uses.0.amount` or `total_l` changed."""
    name, *inner = path.split(".")
    return arguments | {name: _within(arguments[name], inner, value)}


def _within(held: Any, path: Sequence[str], value: float) -> Any:
    if not path:
        return value
    copied = list(held)
    copied[int(path[0])] = _within(held[int(path[0])], path[1:], value)
    return copied


def called(one: Range, value: float, changes: Table) -> None:
    usual = {**TABLES[one.formula]["usual"], **changes}
    call(one.formula, changed(usual, one.argument, int(value) if takes_int(one, value) else value))


def refused_by(one: Range, value: float, changes: Table) -> str | None:
    try:
        called(one, value, changes)
    except OutOfRange as error:
        return error.name
    return None


def takes_int(one: Range, value: float) -> bool:
    hint = hints_of(function_of(one.formula)).get(one.argument)
    return hint is int and value not in (inf, -inf) and not isnan(value)


def next_to(one: Range, edge: float, towards: float) -> float:
    if takes_int(one, edge):
        return edge + (1 if towards > 0 else -1)
    return nextafter(edge, towards)


def inside(one: Range) -> Iterator[tuple[str, float]]:
    yield "low", next_to(one, one.low, inf) if one.open_low else one.low
    yield "high", next_to(one, one.high, -inf) if one.open_high else one.high


def beyond(one: Range) -> Iterator[tuple[float, Table]]:
    """Values outside, and what the usual call changes by."""
    low, high = one.spec.get("at_low", {}), one.spec.get("at_high", {})
    yield one.low if one.open_low else next_to(one, one.low, -inf), low
    yield one.high if one.open_high else next_to(one, one.high, inf), high
    yield from ((-inf, low), (inf, high), (nan, high))


def ids(one: Range) -> str:
    return f"{one.formula} {one.argument}"


@pytest.mark.parametrize("one", RANGES, ids=ids)
def test_the_ends_of_a_range_belong_to_it(one: Range) -> None:
    for end, value in inside(one):
        told = refused_by(one, value, one.spec.get(f"at_{end}", {}))
        assert told == one.spec.get(f"refused_at_{end}_by")


@pytest.mark.parametrize("one", RANGES, ids=ids)
def test_what_lies_beyond_is_refused_with_its_name_value_and_range(one: Range) -> None:
    name = one.spec.get("name", one.argument.split(".")[0])
    for value, changes in beyond(one):
        with pytest.raises(OutOfRange) as raised:
            called(one, value, changes)

        told = raised.value
        same = isnan(told.value) if isnan(value) else told.value == value
        assert (told.name, told.allowed, same) == (name, one.spec["allowed"], True)


def numbers_of(function: Function) -> set[str]:
    numbers = (float, int, float | None, int | None)
    named = hints_of(function).items()
    return {name for name, hint in named if hint in numbers and name != "return"}


def test_every_number_of_every_formula_has_its_range_or_a_reason_to_have_none() -> None:
    for name, function in formulas().items():
        table = TABLES.get(name, {})
        stated = {key for key in table if "." not in key} - {"usual", "answer", "free", "default"}
        free = table.get("free", {})
        assert stated | set(free) == numbers_of(function), name
        assert all(len(reason) > 20 for reason in free.values()), name


def test_the_usual_calls_give_every_number() -> None:
    for name, table in TABLES.items():
        given = set(table["usual"])
        assert numbers_of(function_of(name)) <= given, name


@pytest.mark.parametrize("name", [name for name, table in TABLES.items() if "answer" in table])
def test_the_usual_call_gives_what_it_gave(name: str) -> None:
    answer, expected = call(name, TABLES[name]["usual"]), TABLES[name]["answer"]

    told = answer.isoformat() if isinstance(answer, date) else answer
    if isinstance(expected, float | list):
        told = list(answer) if isinstance(answer, tuple) else answer
        expected = pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert told == expected


def defaults_of(function: Function) -> set[str]:
    parameters = inspect.signature(function).parameters.values()
    empty = (None, inspect.Parameter.empty)
    return {p.name for p in parameters if p.default not in empty} & numbers_of(function)


def test_a_number_that_is_left_out_counts_as_its_default() -> None:
    for name, table in TABLES.items():
        defaults = table.get("default", {})
        assert set(defaults) == defaults_of(function_of(name)), name
        for argument, value in defaults.items():
            usual = {key: given for key, given in table["usual"].items() if key != argument}
            assert call(name, usual) == call(name, {**usual, argument: value}), (name, argument)


def test_signals_of_old_and_fresh_fluid_differ() -> None:
    allowed = "1e-12 to inf"
    assert share_of_signal(signal=1e-12, old_signal=0.0, fresh_signal=1e-12) == 1

    for close in (nextafter(1e-12, 0), -nextafter(1e-12, 0)):
        with pytest.raises(OutOfRange) as raised:
            share_of_signal(signal=0.0, old_signal=0.0, fresh_signal=close)

        assert raised.value.name == "fresh_signal - old_signal"
        assert (raised.value.value, raised.value.allowed) == (abs(close), allowed)
