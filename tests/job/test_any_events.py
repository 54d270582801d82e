"""Whatever decodes can be folded, judged, guided and recorded; extremes and nonsense included."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from uuid import UUID

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.catalogue import LevelData
from libexchange.job.events import DeviceEvent, JobEvent
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing
from libexchange.record import JobRecord, make_record
from tests.job.event_makers import COURSE, CUSTODY, EVIDENCE, WORK
from tests.job.plans import START, plan_for

PLANS = {
    "line": plan_for(),
    "drain": plan_for(route="drain"),
    "cycles": plan_for(route="drain_cycles"),
    "high voltage": plan_for(profile={"high_voltage": "yes"}),
    "infeasible": plan_for(conditions=("no_drive",)),
    "no window": plan_for(profile={"level": LevelData()}),
}

MOMENTS = st.sampled_from(
    [
        datetime.min.replace(tzinfo=timezone(timedelta(hours=14))),
        datetime.max.replace(tzinfo=UTC),
        START,
        START + timedelta(seconds=31),
        START + timedelta(seconds=62),
    ]
)


def quantity(unit: str, low: float, high: float) -> st.SearchStrategy[Any]:
    values = st.sampled_from([low, high]) | st.floats(low, high)
    return st.fixed_dictionaries({"value": values, "unit": st.just(unit)})


CELSIUS = quantity("Cel", -90, 400)
FLUID_CELSIUS = quantity("Cel", -50, 150)
MILLIMETRES = quantity("mm", 0, 10)
STICK = st.fixed_dictionaries(
    {"height": MILLIMETRES, "low_mark": MILLIMETRES, "high_mark": quantity("mm", 11, 1e5)},
    optional={"between_marks": quantity("L", 0, 20)},
)
NAMES = st.sampled_from(["step-01", "step-05", "step-08", "step-11", "step-99", "hot-fluid"])
TEXT = st.just("invented")
KINDS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "started": ({}, {}),
    "step_confirmed": ({"step_id": NAMES}, {}),
    "reading": (
        {"source": st.sampled_from(["scan_tool", "in_line", "infrared"]), "temperature": CELSIUS},
        {"flow": quantity("L/min", 0, 1000)},
    ),
    "fluid_moved": (
        {"direction": st.sampled_from(["in", "out", "lost", "sampled", "additive"]),
         "volume": quantity("L", 0, 200)},
        {"temperature": FLUID_CELSIUS, "step_id": NAMES, "meter_class": st.just(10)},
    ),
    "fluid_opened": ({"fluid_kind": NAMES}, {"fluid_id": NAMES, "lot": TEXT}),
    "level_checked": (
        {"method": st.sampled_from(["overflow_plug", "overflow_feed", "dipstick", "sight",
                                    "measured_refill"]), "temperature": FLUID_CELSIUS,
         "observed": st.sampled_from(["nothing", "drip", "thread", "stream"]), "reading": STICK},
        {"engine_running": st.booleans(), "slope": quantity("deg", -90, 90)},
    ),
    "caution_acknowledged": ({"code": NAMES | st.just("high-voltage"), "by": TEXT, "reason": TEXT},
                             {"qualification": TEXT}),
    "leak_checked": ({"result": st.sampled_from(["dry", "leak"])}, {}),
    "test_drive": ({"result": st.sampled_from(["ok", "complaint"])},
                   {"when": st.sampled_from(["before", "after"]), "complaint": TEXT}),
    "correction": ({"corrects": st.integers(0, 20).map(lambda n: str(UUID(int=n))),
                    "reason": TEXT}, {}),
    "work_finished": ({}, {}),
    "note": ({"text": TEXT}, {}),
    **EVIDENCE,
    **CUSTODY,
    **COURSE,
    **WORK,
}  # fmt: skip


def items(kind: str) -> st.SearchStrategy[DeviceEvent]:
    needed, optional = KINDS[kind]
    common = {
        "kind": st.just(kind),
        "event_id": st.integers(0, 20).map(lambda n: str(UUID(int=n))),
        "occurred_at": MOMENTS,
        "sequence": st.integers(0, 2**31 - 1),
    }
    event = st.fixed_dictionaries(common | needed, optional=optional)
    devices = st.sampled_from(["a", "b"])
    return st.builds(
        lambda device, fields: DeviceEvent(
            device_id=device, event=msgspec.convert(fields, JobEvent, str_keys=True)
        ),
        devices,
        event,
    )


EVENTS = st.lists(st.sampled_from(sorted(KINDS)).flatmap(items), max_size=12)


DISTINCT = st.lists(
    st.sampled_from(sorted(KINDS)).flatmap(items),
    unique_by=lambda one: one.event.event_id,
    max_size=12,
)


@pytest.mark.parametrize("name", PLANS)
@given(events=DISTINCT, late=DISTINCT, data=st.data())
def test_any_order_repetition_and_batching_of_any_events_folds_to_one_state(
    name: str, events: list[DeviceEvent], late: list[DeviceEvent], data: st.DataObject
) -> None:
    plan, order = PLANS[name], data.draw(st.permutations(events))
    cut = data.draw(st.integers(0, len(events)))
    state = fold(plan, events, late)

    assert fold(plan, [*order[cut:], *order[:cut], *order], [*late[::-1], *late]) == state
    assert state.standing.first.text
    assert not state.standing.may_drive or state.standing.level_known


def test_every_kind_of_event_is_tried() -> None:
    schema = msgspec.json.schema_components([JobEvent])[0][0]

    assert set(schema["discriminator"]["mapping"]) == set(KINDS)


@pytest.mark.parametrize("name", PLANS)
@given(events=EVENTS, late=EVENTS, at=MOMENTS)
def test_whatever_decodes_is_folded_guided_judged_and_recorded(
    name: str, events: list[DeviceEvent], late: list[DeviceEvent], at: datetime
) -> None:
    plan = PLANS[name]
    state = fold(plan, events, late)
    judged = verdict(plan, state)
    closing = Closing(verdict=judged.verdict, findings=judged.findings, closed_at=at,
                      closed_by="invented", workshop="invented")  # fmt: skip
    record = make_record(
        job_id=UUID(int=1),
        plan=plan,
        device_events=events,
        late_events=late,
        closing=closing,
        salt=bytes(32),
    )

    assert guidance(plan, events, at).as_of == at
    assert judged.verdict != "accepted"
    assert msgspec.json.decode(msgspec.json.encode(record), type=JobRecord) == record
