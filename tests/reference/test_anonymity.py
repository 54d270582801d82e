"""k and l of published tables, and of random ones against a count written another way."""

import tomllib
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.anonymise import k_of, l_of
from libexchange.errors import OutOfRange

CASES = tomllib.loads((Path(__file__).parent / "anonymity.toml").read_text())["case"]


def ids(case: dict[str, Any]) -> str:
    return f"{case['id']}, {case['case']} [{case['source']}; {case['status']}]"


def table(case: dict[str, Any]) -> list[dict[str, str]]:
    return [dict(zip(case["columns"], row, strict=True)) for row in case["rows"]]


@pytest.mark.parametrize("case", CASES, ids=ids)
def test_k_is_the_published_one(case: dict[str, Any]) -> None:
    assert k_of(table(case), case["qi"]) == case["k"]


@pytest.mark.parametrize("case", [case for case in CASES if "l" in case], ids=ids)
def test_l_is_the_published_one(case: dict[str, Any]) -> None:
    assert l_of(table(case), case["qi"], case["sensitive"]) == case["l"]


VALUES = st.sampled_from(["a", "b", None])
ROWS = st.lists(st.fixed_dictionaries({"x": VALUES, "y": VALUES, "z": VALUES}), min_size=1)


@given(ROWS)
def test_k_and_l_are_those_of_a_count_over_every_combination(rows: list[dict[str, Any]]) -> None:
    cells = product(["a", "b", None], repeat=2)
    members = [[row for row in rows if row["x"] == x and row["y"] == y] for x, y in cells]
    present = [cell for cell in members if cell]

    assert k_of(rows, ["x", "y"]) == min(len(cell) for cell in present)
    assert l_of(rows, ["x", "y"], "z") == min(len({row["z"] for row in cell}) for cell in present)


@pytest.mark.parametrize(("rows", "qi"), [([], ["x"]), ([{"x": 1}], [])])
def test_without_rows_or_quasi_identifiers_there_is_no_k(
    rows: list[dict[str, Any]], qi: list[str]
) -> None:
    with pytest.raises(OutOfRange, match="allowed is 1 or more"):
        k_of(rows, qi)
