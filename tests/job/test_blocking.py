"""What stands in the way beside the gates: stops that stay, later events, cautions of the job."""

from datetime import timedelta
from typing import Any

import pytest

from libexchange.job.events import (
    Arrived,
    CautionAcknowledged,
    Correction,
    FindingOverridden,
    FluidOpened,
    LeakChecked,
    ReadingTaken,
    Started,
    StepConfirmed,
)
from libexchange.job.guidance import guidance
from libexchange.quantities import Angle
from tests.job.line_desk import (
    PLAN,
    at_the_lines,
    feed,
    gate,
    in_line,
    milky,
    now,
    stops,
    told,
)
from tests.job.plans import Bay, celsius


@pytest.mark.parametrize("ahead_s", [3, 240])
def test_what_a_fast_clock_saw_counts_when_nobody_names_a_moment(ahead_s: float) -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    milky(bay)
    found = now(bay, after_s=-ahead_s, present=True)

    assert (found.as_of, stops(found)) == (bay.now, ["used-fluid-milky"])
    assert not found.standing.may_run


def test_the_present_is_not_before_now() -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    found = now(bay, after_s=30, present=True)

    assert found.as_of == bay.now + timedelta(seconds=30)
    assert found == now(bay, after_s=30)


@pytest.mark.parametrize(("ahead_s", "state"), [(10, "open"), (10.5, "unknown")])
def test_readings_of_a_fast_clock_open_nothing(ahead_s: float, state: str) -> None:
    bay = feed(at_the_lines())
    found = gate(now(bay, after_s=-ahead_s, present=True), "gate-line")

    assert found.state == state
    assert ("ahead of the clock" in found.reason) is (state == "unknown")
    assert (found.closes_at is None) or state == "open"
    assert gate(now(bay), "gate-line").state == "open"


def test_what_a_fast_clock_says_against_a_gate_stays() -> None:
    bay = in_line(feed(at_the_lines()), 80, 78, 75)

    assert stops(now(bay, after_s=-60, present=True)) == ["line-gate-lost"]


def test_a_later_stop_is_told_for_an_earlier_moment() -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    bay.add(Arrived, drive="ok")
    bay.add(StepConfirmed, step_id=bay.step("arrival_check"))
    milky(bay)
    told_of = now(bay, after_s=-1).blocking[0]

    assert (told_of.code, told_of.severity, told_of.pointer) == (
        "later-events-left-out", "stop", "#/as_of",
    )  # fmt: skip
    assert told_of.values == {"events": 1, "codes": "used-fluid-milky"}
    early = now(bay, after_s=-60)
    assert told(early) == [("later-events-left-out", "stop")]
    assert told(now(bay)) == [("used-fluid-milky", "stop")]


@pytest.mark.parametrize("present", [False, True])
def test_a_slip_of_the_date_that_was_withdrawn_is_neither_missed_nor_waited_for(
    present: bool,
) -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    began = bay.now
    slip = bay.add(StepConfirmed, after_s=86_400, step_id=bay.step("arrival_check"))
    bay.now = began
    bay.add(Correction, corrects=slip.event_id, reason="another day")
    found = now(bay, present=present)

    assert (found.as_of, found.blocking) == (bay.now, ())


def test_a_closed_job_tells_nothing_of_later_events() -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    milky(bay)

    assert [code for code, _ in told(now(bay, after_s=-1, closed=True))] == ["job-closed"]


def test_a_leak_stands_in_the_way_before_the_drive_and_after_the_hand_over() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("drip")
    bay.confirm_open("set_level")
    bay.add(LeakChecked, result="leak")
    found = now(bay)
    assert (found.next_step and found.next_step.kind, stops(found)) == (
        "test_drive", ["level-not-looked-at-after-leak", "leak-found"],
    )  # fmt: skip


def test_a_hand_over_does_not_count_while_stops_stand() -> None:
    bay = Bay(PLAN).whole_job()
    assert (now(bay).next_step, now(bay).blocking) == (None, ())

    bay.add(LeakChecked, result="leak")
    bay.add(FluidOpened, fluid_kind="invented-green-cvt")
    found = now(bay)

    assert found.next_step is not None
    assert found.next_step.kind == "hand_over"
    assert {"leak-found", "fluid-opened-of-other-kind"} <= set(stops(found))


def test_a_stop_that_somebody_answers_for_no_longer_stands_in_the_way() -> None:
    bay = Bay(PLAN)
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening")
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(72), engine_running=False)
    bay.add(StepConfirmed, after_s=3, step_id=bay.step("pan_and_filter"))
    assert stops(now(bay)) == ["gate-not-open-when-confirmed"]

    bay.add(FindingOverridden, code="gate-not-open-when-confirmed", by="invented foreman",
            reason="seen", acknowledged_by="invented customer")  # fmt: skip

    assert stops(now(bay)) == []


def other_product(bay: Bay) -> Bay:
    bay.add(FluidOpened, fluid_id="another-red-fluid", fluid_kind="invented-red-six")
    return bay


def acknowledge(bay: Bay, **fields: Any) -> None:
    bay.add(CautionAcknowledged, by="invented foreman", reason="approved as well", **fields)


def test_a_caution_of_the_job_is_told_until_somebody_has_read_it() -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    other_product(bay)
    found = now(bay)
    assert told(found) == [("fluid-opened-not-planned", "caution")]
    assert (found.next_step and found.next_step.kind) == "arrival_check"

    acknowledge(bay, code="line-gate-lost")
    assert told(now(bay)) == [("fluid-opened-not-planned", "caution")]

    acknowledge(bay, code="fluid-opened-not-planned")
    assert told(now(bay)) == []


def test_nothing_is_in_the_way_of_nothing() -> None:
    bay = other_product(Bay(PLAN).whole_job())

    assert (now(bay).next_step, now(bay).blocking) == (None, ())


def test_a_routine_job_brings_no_caution_of_its_own() -> None:
    bay = Bay(PLAN).whole_job()
    seen = {
        code
        for count in range(len(bay.events) + 1)
        for code, severity in told(guidance(PLAN, bay.events[:count], moment(bay, count)))
        if severity == "caution"
    }

    assert seen == {"gate-not-open"}


def moment(bay: Bay, count: int) -> Any:
    return bay.events[max(count - 1, 0)].event.occurred_at


def test_what_speaks_against_the_last_look_is_told_with_the_next_step() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.read(38.0, 38.2, 38.4, 38.6)
    bay.look("drip", 38.7, after_s=1, slope=Angle(0.6, "deg"))

    assert ("level-read-on-slope", "caution") in told(now(bay))
