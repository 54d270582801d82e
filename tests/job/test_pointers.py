"""Every pointer of a finding leads to something in the document that is answered."""

from typing import Any
from uuid import UUID

import msgspec
import pytest
from hypothesis import given

from libexchange.job.clocks import arrival_findings
from libexchange.job.events import DeviceEvent, FluidOpened
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.pointers import nearest, pointing_into
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing, EarlierClosing, JobView, pointed
from libexchange.plan.records import Plan
from libexchange.record import make_record
from tests.job.plans import START, Bay, celsius, plan_for
from tests.job.pointer_desk import leads_nowhere, pointers
from tests.job.test_any_events import EVENTS, PLANS

PLAN = plan_for()


def shown(
    plan: Plan, events: list[DeviceEvent], late: list[DeviceEvent], *, closed: bool = True
) -> JobView:
    state = fold(plan, events, late)
    judged = verdict(plan, state)
    closing = Closing(verdict=judged.verdict, findings=judged.findings, closed_at=START,
                      closed_by="invented", workshop="invented")  # fmt: skip
    earlier = EarlierClosing(closing=closing, reopened_at=START, by="invented", reason="invented")
    return pointed(
        JobView(job_id=UUID(int=1), plan_id=plan.plan_id, status="closed", state=state,
                closing=closing if closed else None, earlier_closings=(earlier,), related=(),
                record_digest=None, gaps=(), clock_offset_s={}, app_versions={},
                findings=())
    )  # fmt: skip


def json(record: Any) -> Any:
    return msgspec.json.decode(msgspec.json.encode(record))


@pytest.mark.parametrize("name", PLANS)
@given(events=EVENTS, late=EVENTS)
def test_a_job_as_it_is_shown_points_into_itself(
    name: str, events: list[DeviceEvent], late: list[DeviceEvent]
) -> None:
    document = json(shown(PLANS[name], events, late))

    assert leads_nowhere(document) == []


@pytest.mark.parametrize("name", PLANS)
@given(events=EVENTS, late=EVENTS)
def test_a_record_points_into_itself_and_its_plan_into_its_request(
    name: str, events: list[DeviceEvent], late: list[DeviceEvent]
) -> None:
    plan = PLANS[name]
    closing = shown(plan, events, late).closing
    assert closing is not None
    record = make_record(job_id=UUID(int=1), plan=plan, device_events=events, late_events=late,
                         closing=closing, salt=bytes(32))  # fmt: skip

    assert leads_nowhere(json(record), apart=("plan",)) == []


@pytest.mark.parametrize("name", PLANS)
@given(events=EVENTS)
def test_guidance_points_into_itself(name: str, events: list[DeviceEvent]) -> None:
    document = json(guidance(PLANS[name], events, START))

    assert leads_nowhere(document) == []


def opened(*kinds: str) -> Bay:
    bay = Bay(PLAN)
    for kind in kinds:
        bay.add(FluidOpened, fluid_kind=kind)
    return bay


def test_a_finding_on_the_second_container_points_at_it_under_the_state() -> None:
    bay = opened("invented-red-six", "invented-other")
    view = shown(PLAN, bay.events, [], closed=False)

    (finding,) = (f for f in view.state.findings if f.code == "fluid-opened-of-other-kind")
    assert finding.pointer == "#/state/fluids_opened/1"
    assert view.closing is None


def test_findings_of_a_part_point_at_the_part() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", 2.0, "line_exchange")
    bay.look("stream", 39, engine_running=False)
    view = shown(PLAN, bay.events, [])

    assert view.state.level is not None
    assert view.state.line_exchange is not None
    assert view.closing is not None
    assert {f.pointer for f in view.state.line_exchange.findings} == {"#/state/line_exchange"}
    assert {f.pointer for f in view.state.level.findings} <= {
        "#/state/level", "#/state/level/temperature",
    }  # fmt: skip
    drifting = [f for f in view.closing.findings if f.code == "line-litres-differ"]
    assert [f.pointer for f in drifting] == ["#/state/line_exchange"]


def test_a_record_keeps_the_places_that_it_has() -> None:
    bay = opened("invented-other")
    bay.look("drip", 39)
    closing = shown(PLAN, bay.events, []).closing
    state = fold(PLAN, bay.events)
    assert closing is not None
    kept = Closing(verdict="incomplete", findings=verdict(PLAN, state).findings, closed_at=START,
                   closed_by="invented", workshop="invented")  # fmt: skip
    record = make_record(job_id=UUID(int=1), plan=PLAN, device_events=bay.events, late_events=[],
                         closing=kept, salt=bytes(32))  # fmt: skip

    places = {f.code: f.pointer for f in (*record.findings, *record.closing.findings)}
    assert places["fluid-opened-of-other-kind"] == "#/fluids_opened/0"
    assert places["leak-not-checked"] == "#/leak_check"
    assert places["steps-unconfirmed"] == "#"  # which only the state has


def test_there_is_something_to_resolve() -> None:
    bay = opened("invented-other")
    bay.read(400.0)

    assert len(list(pointers(json(shown(PLAN, bay.events, []))))) > 5


@pytest.mark.parametrize(
    ("pointer", "kept"),
    [
        ("#", "#"),
        ("#/value", "#/value"),
        ("#/value/deeper", "#/value"),
        ("#/nothing", "#"),
    ],
)
def test_the_nearest_place_of_a_record_is_one_that_it_has(pointer: str, kept: str) -> None:
    assert nearest(celsius(20), pointer) == kept


@pytest.mark.parametrize(
    ("pointer", "kept"),
    [
        ("#/a/0", "#/a/0"), ("#/a/1", "#/a"), ("#/a/-1", "#/a"), ("#/a/x", "#/a"),
        ("#/b/0/c", "#/b/0/c"), ("#/b/0/d", "#/b/0"),
    ],
)  # fmt: skip
def test_the_nearest_place_in_lists_counts_from_nought(pointer: str, kept: str) -> None:
    assert nearest({"a": ["one"], "b": ({"c": None},)}, pointer) == kept


@pytest.mark.parametrize(
    ("leads_s", "told"),
    [
        ([], None),
        ([-3600.0, 300.0], None),
        ([300.1], "1 event, up to 5 min ahead."),
        ([-1.0, 7200.0, 600.0], "2 events, up to 120 min ahead."),
    ],
)
def test_events_that_were_sent_before_they_happened_are_told(
    leads_s: list[float], told: str | None
) -> None:
    found = arrival_findings(leads_s)

    assert [finding.message for finding in found] == ([told] if told else [])
    assert {finding.severity for finding in found} <= {"note"}


def test_a_finding_without_a_pointer_of_its_own_stays_with_the_document() -> None:
    (finding,) = arrival_findings([301.0])

    assert pointing_into({"a": 1}, [finding])[0].pointer == "#"
    assert finding.values == {"events": 1, "lead_s": 301.0}
