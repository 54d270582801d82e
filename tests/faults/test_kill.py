"""Acknowledged means kept: twenty kills at moments that the seed decides."""

from pathlib import Path

from tests.faults.campaign import CALLERS
from tests.faults.kill import run


def test_nothing_that_was_acknowledged_is_lost(url: str, tmp_path: Path) -> None:
    done = run(url, tmp_path, rounds=20, seed=20)

    assert done.kills == 20
    assert sum(visit.closing is not None for visit in done.visits) == len(done.visits) > CALLERS
