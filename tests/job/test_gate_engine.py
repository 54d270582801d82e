"""The engine at the gates of a job: a level read with it off, and openings that it warms up."""

from datetime import timedelta

import pytest

from libexchange.catalogue import LevelData, TemperatureWindow
from libexchange.job.events import ReadingTaken
from libexchange.job.gates_now import GateNow
from libexchange.job.guidance import guidance
from tests.job.plans import Bay, celsius, plan_for

WINDOW = TemperatureWindow(low=celsius(35), high=celsius(45))
PLANS = {
    on: plan_for(
        profile={"level": LevelData(method="overflow_plug", window=WINDOW, engine_running=on)}
    )
    for on in (True, False, None)
}


def gate(bay: Bay, gate_id: str) -> GateNow:
    gates = guidance(bay.plan, bay.events, bay.now).gates
    return next(one for one in gates if one.gate_id == gate_id)


def reading(bay: Bay, at_c: float, running: bool | None) -> None:
    bay.add(ReadingTaken, after_s=5, source="scan_tool", temperature=celsius(at_c),
            engine_running=running)  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "running", "state"),
    [
        (True, True, "open"),
        (True, None, "open"),
        (True, False, "closed"),
        (None, False, "closed"),
        (False, False, "open"),
        (False, True, "closed"),
    ],
)
def test_the_level_window_of_a_job_wants_the_engine_as_its_maker_does(
    wanted: bool | None, running: bool | None, state: str
) -> None:
    bay = Bay(PLANS[wanted])
    for _ in range(5):
        reading(bay, 40, running)

    assert gate(bay, "gate-level").state == state


@pytest.mark.parametrize(("running", "state"), [(False, "open"), (None, "unknown")])
def test_an_opening_of_a_job_counts_a_running_engine_as_warming(
    running: bool | None, state: str
) -> None:
    bay = Bay(PLANS[True])
    reading(bay, 59, running)
    bay.now += timedelta(seconds=20)

    assert gate(bay, "gate-open").state == state
