"""What speaks against confirmations: gates that were not open, unknown steps, no start."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.job.confirmations import KINDS
from libexchange.job.events import (
    CautionAcknowledged,
    Correction,
    LeakChecked,
    Note,
    ReadingTaken,
    Started,
    StepConfirmed,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import Verdict, verdict
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
GATED = ("pan_and_filter", "connect_lines", "line_exchange", "disconnect_lines")
"""Steps whose gate is judged by readings; a look at the level carries its own temperature."""


def told(bay: Bay) -> list[Finding]:
    own = {kind.code for kind in KINDS}
    return [finding for finding in fold(bay.plan, bay.events).findings if finding.code in own]


def judge(bay: Bay) -> Verdict:
    return verdict(bay.plan, fold(bay.plan, bay.events))


def states(bay: Bay) -> list[tuple[str, object, object]]:
    """Severity, gate and its state of every finding."""
    return [(f.severity, f.values["gate_id"], f.values["state"]) for f in told(bay)]


def begun() -> Bay:
    bay = Bay(PLAN)
    bay.add(Started)
    return bay


def confirm_pan(bay: Bay) -> None:
    bay.add(StepConfirmed, after_s=3, step_id=bay.step("pan_and_filter"))


def hot_word(bay: Bay) -> None:
    bay.add(CautionAcknowledged, after_s=1, code="hot-fluid", by="invented foreman",
            reason="the maker drains hot; shield and gloves on")  # fmt: skip


def test_a_job_whose_gates_were_all_open_has_nothing_against_it() -> None:
    assert told(Bay(PLAN).whole_job()) == []


def test_without_readings_every_gated_step_is_a_remark() -> None:
    bay = Bay(PLAN).whole_job()
    bay.events = [one for one in bay.events if not isinstance(one.event, ReadingTaken)]

    steps = [finding.values["step_id"] for finding in told(bay)]
    assert steps == [bay.step(kind) for kind in GATED]  # type: ignore[arg-type]  # kinds of the plan
    assert {(severity, state) for severity, _, state in states(bay)} == {("caution", "unknown")}
    assert judge(bay).verdict == "accepted_with_remarks"


def test_an_opening_that_was_too_hot_is_not_accepted() -> None:
    bay = Bay(PLAN).whole_job()
    hot = next(one for one in bay.events if isinstance(one.event, ReadingTaken))
    place = bay.events.index(hot)
    bay.events[place] = replace(
        hot, event=replace(hot.event, source="scan_tool", temperature=celsius(72))
    )

    assert states(bay) == [("stop", "gate-open", "closed")]
    assert "72.0 °C" in told(bay)[0].message
    assert judge(bay).verdict == "not_accepted"


@pytest.mark.parametrize(
    ("acts", "found"),
    [
        ((hot_word, confirm_pan), []),
        ((confirm_pan, hot_word), [("stop", "gate-open", "closed")]),
    ],
)
def test_hot_work_is_no_finding_only_where_it_was_acknowledged_before(
    acts: tuple[Callable[[Bay], None], ...], found: list[tuple[str, str, str]]
) -> None:
    bay = begun()
    bay.read(78)
    for act in acts:
        act(bay)

    assert states(bay) == found


def test_a_reading_that_came_after_the_confirmation_opens_nothing() -> None:
    bay = begun()
    confirm_pan(bay)
    bay.read(40)

    assert states(bay) == [("caution", "gate-open", "unknown")]


def test_a_second_confirmation_does_not_wash_away_the_first() -> None:
    bay = begun()
    bay.read(72)
    confirm_pan(bay)
    bay.read(40, every_s=3600)
    confirm_pan(bay)

    assert states(bay) == [("stop", "gate-open", "closed")]


def test_a_confirmation_that_was_withdrawn_counts_for_nothing() -> None:
    bay = begun()
    bay.read(72)
    confirm_pan(bay)
    bay.add(Correction, corrects=bay.events[-1].event.event_id, reason="the pan is still on")
    bay.read(40, every_s=3600)
    confirm_pan(bay)

    assert states(bay) == []


@pytest.mark.parametrize(
    ("cold_first", "found"), [(False, []), (True, [("caution", "gate-line", "closed")])]
)
def test_the_line_gate_is_judged_when_fluid_first_flows(
    cold_first: bool, found: list[tuple[str, str, str]]
) -> None:
    bay = begun()
    if cold_first:
        bay.read(*[60.0] * 6, flow=1.5)
        bay.move("in", 1.0, "line_exchange", after_s=2)
    bay.now = bay.now.replace(hour=9)
    bay.open_gate("line_exchange")
    bay.move("in", 1.0, "line_exchange", after_s=3)
    bay.confirm("line_exchange")

    assert states(bay) == found


@pytest.mark.parametrize(("first_c", "found"), [(84.0, []), (60.0, ["closed"])])
def test_a_batch_is_judged_when_it_flowed_and_not_when_it_was_confirmed(
    first_c: float, found: list[str]
) -> None:
    bay = Bay(plan_for(route="line_batches", profile={"line_batches_in_maker_procedure": "yes"}))
    bay.add(Started)
    bay.read(*[first_c] * 6, flow=1.5)
    bay.move("out", 2.0, "line_batch", after_s=2)
    bay.add(StepConfirmed, after_s=1800, step_id=bay.step("line_batch"))

    assert [state for _, _, state in states(bay)] == found


def test_a_level_window_that_was_passed_is_a_remark() -> None:
    bay = begun()
    bay.read(*[44 + 0.5 * n for n in range(6)])
    bay.add(StepConfirmed, after_s=2, step_id=bay.step("set_level"))

    assert states(bay) == [("caution", "gate-level", "passed")]


def test_an_event_of_a_step_that_the_plan_does_not_have_is_told() -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(Note, text="invented", step_id="step-98")
    bay.add(LeakChecked, result="dry", step_id="step-99")

    [found] = told(bay)
    assert (found.code, found.values) == ("event-step-not-in-plan", {"events": 2})
    assert "step-98, step-99" in found.message
    assert judge(bay).verdict == "accepted_with_remarks"


def test_confirmations_without_a_start_are_noted_and_change_no_verdict() -> None:
    bay = Bay(PLAN).whole_job()
    bay.events = [one for one in bay.events if not isinstance(one.event, Started)]

    assert [finding.code for finding in told(bay)] == ["confirmed-without-start"]
    assert judge(bay).verdict == "accepted"
