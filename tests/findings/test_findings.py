"""Every kind of finding outside the rules against its case file: what it says, and what passes."""

import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest

from libexchange.finding_catalogue import ALL_KINDS
from tests.findings.expected import close, expected
from tests.findings.origins import Case, answer_of, found

KINDS = {kind.code: kind for kind in ALL_KINDS}
HERE = Path(__file__).parent
FOLDERS = (HERE / "cases", *(HERE.parent / "rules" / name for name in ("cases", "dose_cases")))


def load(kind: str) -> list[Any]:
    """The cases of a kind; what stands at the head of a file holds for all of its cases."""
    cases = []
    for path in sorted(FOLDERS[0].glob("*.toml")):
        document = tomllib.loads(path.read_text("utf-8"))
        head = {name: value for name, value in document.items() if isinstance(value, str)}
        cases += [
            pytest.param(path.stem, {**head, **case}, id=f"{path.stem}: {case['title']}")
            for case in document[kind]
        ]
    return cases


@pytest.mark.parametrize(("code", "case"), load("breaks"))
def test_a_finding_says_what_is_wrong_where_and_by_how_much(code: str, case: Case) -> None:
    assert found(case, code) == [expected(KINDS[code], case["finding"])]


@pytest.mark.parametrize(("code", "case"), load("passes"))
def test_what_passes_brings_no_such_finding(code: str, case: Case) -> None:
    assert found(case, code) == []


ANSWERED = [one for kind in ("breaks", "passes") for one in load(kind) if "answer" in one.values[1]]


@pytest.mark.parametrize(("code", "case"), ANSWERED)
def test_the_answer_beside_a_finding_is_the_one_it_goes_with(code: str, case: Case) -> None:
    answer, expected_answer = msgspec.to_builtins(answer_of(case)), close(case["answer"])

    assert {name: answer[name] for name in expected_answer} == expected_answer, code


def test_every_kind_of_finding_has_its_case_file_and_no_file_is_left_over() -> None:
    files = {path.stem for folder in FOLDERS for path in folder.glob("*.toml")}

    assert files == set(KINDS)
