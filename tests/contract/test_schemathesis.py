"""schemathesis over the whole contract, against a running service, with every check on."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.contract.declared import DECLARED
from tests.contract.refusals import REASONS
from tests.exchange_api.running import Running

HERE = Path(__file__).parent
CONFIG = HERE / "schemathesis.toml"


@pytest.fixture(scope="module")
def report(app: Running) -> str:
    """What schemathesis says, in a process of its own so that two cores are used."""
    environment = {
        "EXCHANGE_API_TEST_KEY": app.key(workshop="Schemathesis"),
        "EXCHANGE_API_TEST_URL": app.url,
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(HERE.parents[1]),
        "PYTHONUTF8": "1",
    }
    command = [
        sys.executable, "-m", "schemathesis.cli", "--config-file", str(CONFIG),
        "run", f"{app.url}/openapi.json", "--no-color", "--continue-on-failure",
    ]  # fmt: skip
    done = subprocess.run(  # noqa: S603 -- our own interpreter and our own arguments
        command, cwd=HERE.parents[1], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_every_operation_keeps_the_contract(report: str) -> None:
    (selected,) = [line for line in report.splitlines() if "Selected:" in line]
    tested, total = selected.split()[-1].split("/")

    assert tested == total
    assert f"Tested: {total}" in report
    assert "No issues found" in report


@pytest.mark.parametrize("phase", ["Examples", "Coverage", "Fuzzing", "Stateful"])
def test_every_phase_ran(report: str, phase: str) -> None:
    assert f"✅ {phase}" in report


def _groups() -> list[dict[str, Any]]:
    groups: list[dict[str, Any]] = tomllib.loads(CONFIG.read_text(encoding="utf-8"))["operations"]
    return groups


def _operation_ids(group: dict[str, Any]) -> set[str]:
    if "include-tag" in group:
        return {name for name, told in DECLARED.items() if told.tag == group["include-tag"]}
    named = group["include-operation-id"]
    return {named} if isinstance(named, str) else set(named)


def test_no_check_is_off_and_no_operation_is_left_out() -> None:
    told = tomllib.loads(CONFIG.read_text(encoding="utf-8"))

    too_long = told["checks"].pop("negative_data_rejection")
    assert "200" not in too_long["expected-statuses"]
    assert told["checks"] == {"enabled": True, "max_response_time": 10}
    assert not any("enabled" in phase for phase in told["phases"].values())
    for group in _groups():
        assert len(group) == 2
        assert group.keys() <= {"include-operation-id", "include-tag", "checks"}
        assert all(check.keys() == {"expected-statuses"} for check in group["checks"].values())


def test_what_may_be_refused_has_its_reasons() -> None:
    calculations = {name for name, told in DECLARED.items() if told.tag == "calculations"}
    refused = [
        _operation_ids(group)
        for group in _groups()
        if "positive_data_acceptance" in group["checks"]
    ]

    assert set().union(*refused) == REASONS.keys() | calculations
