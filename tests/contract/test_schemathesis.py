"""schemathesis over the whole contract, against a running service, with every check on."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

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


def test_what_may_be_refused_has_its_reasons_and_no_check_is_off() -> None:
    told = tomllib.loads(CONFIG.read_text(encoding="utf-8"))
    named = [
        operation_id
        for group in told["operations"]
        if "positive_data_acceptance" in group["checks"]
        for operation_id in [group["include-operation-id"]]
    ]
    flat = {one for names in named for one in ([names] if isinstance(names, str) else names)}

    assert flat == REASONS.keys()
    assert "enabled = false" not in CONFIG.read_text(encoding="utf-8").partition("[cache]")[0]
