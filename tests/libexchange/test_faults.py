"""What cannot be computed: every fault that a record or a formula names, word by word."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from msgspec import to_builtins

from libexchange.errors import InvalidInput
from tests.libexchange.calling import call

CASES = tomllib.loads(Path(__file__).with_name("faults.toml").read_text("utf-8"))["case"]


def faults_of(case: dict[str, Any]) -> list[dict[str, Any]]:
    try:
        call(case["of"], case["arguments"])
    except InvalidInput as error:
        return [to_builtins(fault) for fault in error.faults]
    return []


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['of']}: {case['title']}")
def test_every_fault_is_named(case: dict[str, Any]) -> None:
    expected = [
        {name: None if value == "null" else value for name, value in fault.items()}
        for fault in case.get("faults", [])
    ]

    assert faults_of(case) == expected
