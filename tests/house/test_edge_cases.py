"""The table of edge cases against the tests that exist and the codes that are given."""

import ast
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from libexchange.finding_catalogue import ALL_KINDS

ROOT = Path(__file__).parents[2]
CASES: list[dict[str, Any]] = tomllib.loads((ROOT / "tests/edge_cases.toml").read_text("utf-8"))[
    "case"
]
CODES = {kind.code for kind in ALL_KINDS}
ANSWERS = {
    "already_stored", "body-too-large", "conflict", "key-reused", "malformed-json", "out-of-range",
    "stale", "unknown-unit", "unsupported-media-type", "wrong-type",
}  # fmt: skip
"""What the service answers that is no finding: problems, faults, and how an event was taken."""

NAMED = re.compile(r"test_case_((?:\d+_and_)*\d+)_")


@cache
def names_in(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    found = (ast.FunctionDef, ast.AsyncFunctionDef)
    return frozenset(node.name for node in tree.body if isinstance(node, found))


def named_tests() -> list[tuple[int, str]]:
    """Every test that is named after a case, by the numbers in its name."""
    return [
        (int(number), f"{path.relative_to(ROOT).as_posix()}::{name}")
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        for name in sorted(names_in(path.relative_to(ROOT).as_posix()))
        if (match := NAMED.match(name))
        for number in match[1].split("_and_")
    ]


every_case = pytest.mark.parametrize("case", CASES, ids=[str(case["number"]) for case in CASES])


def test_every_number_has_its_case() -> None:
    assert [case["number"] for case in CASES] == list(range(1, 102))


@every_case
def test_a_case_says_what_happens_and_what_is_answered(case: dict[str, Any]) -> None:
    assert set(case) <= {"number", "case", "tests", "later", "outcome"}
    assert case["case"]
    assert case["outcome"]


@every_case
def test_a_case_is_tested_or_says_what_is_not_there_yet(case: dict[str, Any]) -> None:
    assert case.get("tests") or case.get("later")


@every_case
def test_every_test_of_a_case_exists(case: dict[str, Any]) -> None:
    told = [test.split("::") for test in case.get("tests", ())]

    assert [test for test in told if test[1] not in names_in(test[0])] == []


def test_a_test_that_is_named_after_a_case_stands_under_its_number() -> None:
    tests = {case["number"]: case.get("tests", ()) for case in CASES}

    assert [test for number, test in named_tests() if test not in tests.get(number, ())] == []


@every_case
def test_every_code_of_an_outcome_is_one_that_is_given(case: dict[str, Any]) -> None:
    told = set(re.findall("`([^`]+)`", case["outcome"]))

    assert told - CODES - ANSWERS == set()


def test_tests_of_cases_are_named_alike() -> None:
    names = {
        name
        for path in (ROOT / "tests").rglob("test_*.py")
        for name in names_in(path.relative_to(ROOT).as_posix())
    }

    other = re.compile(r"test_(edge_case|cases?_\d(_|\d*_and_\d_)|cases_)")
    assert sorted(name for name in names if other.match(name)) == []


def test_every_case_of_computation_has_a_test_named_after_it() -> None:
    """Cases 1 to 81 are about computation but for those that wait for stock and scan tool."""
    named = {number for number, _ in named_tests()}
    waiting = {52, 58, 71, 72}

    assert set(range(1, 82)) - named == waiting
    assert {94, 98, 99, 100, 101} <= named
    assert all(case.get("later") for case in CASES if case["number"] in waiting)
