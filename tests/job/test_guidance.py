"""The next step, its gate and what stands in the way, at moments of a job."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from libexchange.catalogue import CoolerCircuit
from libexchange.job.events import (
    Arrived,
    CautionAcknowledged,
    Correction,
    ReadingTaken,
    StepConfirmed,
    WorkFinished,
)
from libexchange.job.gates_now import GateNow
from libexchange.job.guidance import Guidance, guidance
from libexchange.plan.records import StepKind
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
BEFORE_PAN: tuple[StepKind, ...] = ("arrival_check", "raise_vehicle", "prove_fill_opening")
BEFORE_LINE: tuple[StepKind, ...] = (
    *BEFORE_PAN, "pan_and_filter", "refill", "connect_lines", "warm_up",
)  # fmt: skip
BEFORE_LEVEL: tuple[StepKind, ...] = (
    *BEFORE_LINE, "line_exchange", "cool_down", "disconnect_lines",
)  # fmt: skip


def now(bay: Bay, *, after_s: float = 0) -> Guidance:
    return guidance(bay.plan, bay.events, bay.now + timedelta(seconds=after_s))


def gate(found: Guidance, gate_id: str) -> GateNow:
    return next(one for one in found.gates if one.gate_id == gate_id)


def next_kind(found: Guidance) -> str | None:
    return found.next_step.kind if found.next_step else None


def codes(found: Guidance) -> list[str]:
    return [finding.code for finding in found.blocking]


def stops(found: Guidance) -> list[str]:
    return [finding.code for finding in found.blocking if finding.severity == "stop"]


def after(kinds: tuple[StepKind, ...]) -> Bay:
    bay = Bay(PLAN)
    bay.add(Arrived, drive="ok")
    bay.confirm_open(*kinds)
    return bay


def test_a_job_begins_with_the_first_step_and_nothing_in_the_way() -> None:
    found = now(Bay(PLAN))

    assert (next_kind(found), found.blocking) == ("arrival_check", ())
    assert found.level_correction is None
    assert found.balance is None


def test_every_gate_of_the_plan_is_told_once() -> None:
    ids = [one.gate_id for one in now(Bay(PLAN)).gates]

    assert ids == ["gate-open", "gate-connect", "gate-line", "gate-disconnect", "gate-level"]


@pytest.mark.parametrize(
    ("temperatures", "after_s", "state", "blocking"),
    [
        ([], 0, "unknown", ["gate-not-open"]),
        ([72.0, 71.5, 71.0], 0, "closed", ["gate-not-open"]),
        ([58.0], 0, "open", []),
        ([43.0], 240, "open", []),
        ([43.0], 400, "unknown", ["gate-not-open"]),
    ],
)
def test_a_pan_is_opened_only_when_the_fluid_is_known_to_be_cool(
    temperatures: list[float], after_s: float, state: str, blocking: list[str]
) -> None:
    bay = after(BEFORE_PAN)
    bay.read(*temperatures)

    found = now(bay, after_s=after_s)
    assert next_kind(found) == "pan_and_filter"
    assert (gate(found, "gate-open").state, codes(found)) == (state, blocking)


def test_a_cooling_fluid_tells_when_it_will_be_cool_enough() -> None:
    bay = after(BEFORE_PAN)
    bay.read(70, 69, 68, every_s=60)

    opens_at = gate(now(bay), "gate-open").opens_at
    assert opens_at is not None
    assert (opens_at - bay.now).total_seconds() == pytest.approx(480)


def test_hot_work_that_was_acknowledged_is_not_forbidden() -> None:
    bay = after(BEFORE_PAN)
    bay.read(75)
    bay.add(CautionAcknowledged, code="hot-fluid", by="invented foreman",
            reason="the maker drains at 75 °C; shield and gloves on")  # fmt: skip

    found = now(bay)
    assert (gate(found, "gate-open").state, codes(found)) == ("open", [])
    assert "invented foreman" in gate(found, "gate-open").reason


def test_a_line_exchange_waits_for_warmth_and_flow_and_closes_when_flow_is_lost() -> None:
    bay = after(BEFORE_LINE)
    bay.read(70, 72, 74, every_s=60, flow=1.5)
    found = now(bay)
    assert (next_kind(found), gate(found, "gate-line").state) == ("line_exchange", "closed")
    assert gate(found, "gate-line").opens_at is not None

    bay.read(*[84.0] * 6, every_s=5, flow=1.5)
    assert (gate(now(bay), "gate-line").state, codes(now(bay))) == ("open", [])

    bay.read(84, flow=0.2)
    assert gate(now(bay), "gate-line").state == "closed"


def test_a_line_that_flows_cold_is_told_by_its_flow_alone() -> None:
    cooler = CoolerCircuit(external_lines="yes", bypass="in_cooler")
    bay = Bay(plan_for(profile={"cooler": cooler}))
    bay.add(Arrived, drive="ok")
    bay.confirm_open(*BEFORE_LINE)
    bay.read(*[25.0] * 6, flow=1.5)
    assert (gate(now(bay), "gate-line").state, codes(now(bay))) == ("open", [])

    bay.read(25, flow=0.1)

    assert gate(now(bay), "gate-line").state == "closed"


def test_litres_that_drift_apart_stop_the_line_exchange() -> None:
    bay = after(BEFORE_LINE)
    bay.move("in", 2.8, "line_exchange")
    bay.move("out", 2.0, "line_exchange")
    bay.read(*[84.0] * 6, flow=1.5)

    assert codes(now(bay)) == ["line-litres-differ"]


def test_the_level_window_opens_and_is_passed() -> None:
    bay = after(BEFORE_LEVEL)
    bay.read(*[36 + 0.1 * n for n in range(5)])
    found = now(bay)
    assert (next_kind(found), codes(found)) == ("set_level", [])
    assert gate(found, "gate-level").closes_at is not None

    bay.read(44, 46)

    found = now(bay)
    assert gate(found, "gate-level").state == "passed"
    assert codes(found) == ["gate-not-open"]


def test_a_level_correction_is_told_in_litres_and_the_step_stays_until_it_is_set() -> None:
    bay = after(BEFORE_LEVEL)
    bay.read(38, 38.2, 38.4)
    bay.look("nothing", 38.4, after_s=1)
    bay.add(StepConfirmed, after_s=1, step_id=bay.step("set_level"))

    found = now(bay)
    assert found.level_correction is not None
    assert found.level_correction.litres is not None
    assert (next_kind(found), found.level_correction.litres.l) == ("set_level", 0.3)

    bay.move("in", 0.3, "set_level")
    bay.look("drip")

    assert next_kind(now(bay)) == "leak_check"


def test_a_level_that_does_not_settle_stops_everything() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    for _ in range(2):
        bay.look("nothing")
        bay.move("in", 0.3, "set_level")
    bay.look("nothing")

    assert "level-correction-beyond-limit" in codes(now(bay))


def test_a_caution_of_the_plan_blocks_until_someone_answers_for_it() -> None:
    bay = Bay(plan_for(conditions=("level_low_on_arrival",)))
    assert codes(now(bay)) == ["caution-not-acknowledged"]

    bay.acknowledge_all()

    assert codes(now(bay)) == []


def test_an_infeasible_plan_says_why_and_has_no_next_step() -> None:
    found = now(Bay(plan_for(conditions=("no_drive",))))

    assert found.next_step is None
    assert "unit-without-drive" in codes(found)


def test_nothing_is_handed_over_that_is_not_right() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", 0.9)
    bay.look("drip")
    bay.work_after_level()
    handed_over = bay.step("hand_over")
    bay.events = [one for one in bay.events if one.event.step_id != handed_over]

    found = now(bay)
    assert (next_kind(found), stops(found)) == ("hand_over", ["balance-not-closed"])


def test_a_whole_job_leaves_nothing_to_do() -> None:
    found = now(Bay(PLAN).whole_job())

    assert (found.next_step, found.blocking) == (None, ())


def test_guidance_for_an_earlier_moment_knows_nothing_of_what_came_after() -> None:
    bay = Bay(PLAN).whole_job()
    moment = bay.events[3].event.occurred_at

    early, alone = (guidance(PLAN, events, moment) for events in (bay.events, bay.events[:4]))
    assert replace(early, blocking=()) == replace(alone, blocking=())
    assert (codes(early), codes(alone)) == (["later-events-left-out"], [])
    assert next_kind(early) == "prove_fill_opening"


def test_a_reading_of_a_source_that_cannot_gate_opens_nothing() -> None:
    bay = after(BEFORE_PAN)
    bay.add(ReadingTaken, source="infrared", temperature=celsius(30))

    assert gate(now(bay), "gate-open").state == "unknown"


def test_litres_that_drift_apart_stand_in_the_way_of_every_later_step() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", 2.0, "line_exchange")
    bay.read(38, 38.2, 38.4)
    found = now(bay)
    assert (next_kind(found), codes(found)) == ("set_level", ["line-litres-differ"])

    bay.move("in", 2.0, "set_level")
    bay.look("drip", 38.6)

    assert (next_kind(now(bay)), codes(now(bay))) == ("leak_check", [])


def test_a_stop_of_the_lines_is_told_once_before_the_hand_over() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", 2.0, "line_exchange")
    bay.look("drip")
    bay.work_after_level()
    bay.events = [one for one in bay.events if one.event.step_id != bay.step("hand_over")]

    found = now(bay)
    assert next_kind(found) == "hand_over"
    assert stops(found) == ["line-litres-differ", "balance-not-closed"]


def test_once_the_work_is_finished_only_the_hand_over_is_left() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.add(WorkFinished)
    found = now(bay)
    assert next_kind(found) == "hand_over"
    assert "steps-unconfirmed" not in codes(found)
    assert {"level-not-set", "leak-not-checked", "test-drive-missing"} <= set(codes(found))

    bay.confirm("hand_over")

    assert (next_kind(now(bay)), codes(now(bay))) == ("hand_over", codes(found))


def test_a_pan_opened_hot_blocks_until_the_confirmation_is_withdrawn() -> None:
    bay = after(BEFORE_PAN)
    bay.read(72)
    hot = bay.add(StepConfirmed, after_s=3, step_id=bay.step("pan_and_filter"))
    assert codes(now(bay)) == ["gate-not-open-when-confirmed"]

    bay.add(Correction, corrects=hot.event_id, reason="the pan is still on")

    assert "gate-not-open-when-confirmed" not in codes(now(bay))
