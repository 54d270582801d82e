"""Events on the wire: a closed union, each item by itself, nothing that the fold cannot take."""

from datetime import datetime
from typing import Any, get_args
from uuid import UUID

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.job.events import LARGEST_BATCH, EventBatch, JobEvent, ReadingTaken, Started
from libexchange.job.fold import fold
from libexchange.quantities import Pressure
from tests.job.plans import START, Bay, plan_for

COMMON = {
    "event_id": "018e0000-0000-7000-8000-000000000001",
    "occurred_at": "2026-03-04T08:00:00+01:00",
    "sequence": 3,
}
CELSIUS_40 = {"value": 40, "unit": "Cel"}
LITRES_4 = {"value": 4, "unit": "L"}

STICK = {
    "height": {"value": 5, "unit": "mm"},
    "low_mark": {"value": 4, "unit": "mm"},
    "high_mark": {"value": 14, "unit": "mm"},
}


def decode(**fields: Any) -> JobEvent:
    event: JobEvent = msgspec.json.decode(msgspec.json.encode(COMMON | fields), type=JobEvent)
    return event


@pytest.mark.parametrize("one", Bay(plan_for()).whole_job().events, ids=lambda one: one.event)
def test_every_event_of_a_job_survives_the_wire(one: Any) -> None:
    assert msgspec.json.decode(msgspec.json.encode(one), type=type(one)) == one


def test_every_kind_has_its_own_tag_and_refuses_unknown_fields() -> None:
    kinds = get_args(JobEvent)
    configs = [kind.__struct_config__ for kind in kinds]

    assert len({config.tag for config in configs}) == len(kinds)
    assert all(config.forbid_unknown_fields and config.frozen for config in configs)


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "started", "sequence": -1},
        {"kind": "started", "sequence": 2**31},
        {"kind": "started", "sequence": "3"},
        {"kind": "started", "occurred_at": "2026-03-04T08:00:00"},
        {"kind": "started", "event_id": "not-an-id"},
        {"kind": "started", "colour": "red"},
        {"kind": "started", "step_id": "step\u0000"},
        {"kind": "teleported"},
        {"kind": "event"},
        {"kind": "step_confirmed"},
        {"kind": "reading", "source": "scan_tool"},
        {"kind": "reading", "source": "thumb", "temperature": CELSIUS_40},
        {"kind": "fluid_moved", "direction": "in"},
        {"kind": "fluid_moved", "direction": "in", "volume": LITRES_4,
         "mass": {"value": 4, "unit": "kg"}},
        {"kind": "fluid_moved", "direction": "in", "volume": {"value": 201, "unit": "L"}},
        {"kind": "fluid_moved", "direction": "in", "mass": {"value": 201, "unit": "kg"}},
        {"kind": "fluid_moved", "direction": "in", "volume": LITRES_4,
         "temperature": {"value": 151, "unit": "Cel"}},
        {"kind": "fluid_moved", "direction": "up", "volume": LITRES_4},
        {"kind": "fluid_opened"},
        {"kind": "level_checked", "method": "overflow_plug", "temperature": CELSIUS_40},
        {"kind": "level_checked", "method": "dipstick", "temperature": CELSIUS_40,
         "observed": "drip"},
        {"kind": "level_checked", "method": "overflow_plug", "observed": "drip",
         "temperature": {"value": 151, "unit": "Cel"}},
        {"kind": "level_checked", "method": "dipstick", "temperature": CELSIUS_40,
         "reading": STICK | {"high_mark": {"value": 4.9, "unit": "mm"}}},
        {"kind": "level_checked", "method": "dipstick", "temperature": CELSIUS_40,
         "reading": STICK | {"between_marks": {"value": 21, "unit": "L"}}},
        {"kind": "correction", "corrects": COMMON["event_id"]},
        {"kind": "note", "text": ""},
        {"kind": "note", "text": "a\u0000b"},
    ],
    ids=str,
)  # fmt: skip
def test_what_cannot_be_folded_is_refused(fields: dict[str, Any]) -> None:
    with pytest.raises(msgspec.ValidationError):
        decode(**fields)


@pytest.mark.parametrize(
    "told",
    [
        {"temperature": CELSIUS_40},
        {"flow": {"value": 2, "unit": "L/min"}},
        {"pressure": {"value": 3.4, "unit": "bar"}},
    ],
    ids=lambda told: next(iter(told)),
)
def test_a_reading_may_tell_one_thing_alone(told: dict[str, Any]) -> None:
    event = decode(kind="reading", source="in_line", **told)

    assert isinstance(event, ReadingTaken)
    assert [n for n in ("temperature", "flow", "pressure") if getattr(event.reading, n)] == [*told]


def test_a_reading_of_pressure_opens_no_gate_and_hides_no_temperature() -> None:
    bay = Bay(plan_for())
    bay.read(38.0, 38.2)
    before = fold(bay.plan, bay.events)
    bay.add(ReadingTaken, source="in_line", pressure=Pressure(3.4, "bar"))
    after = fold(bay.plan, bay.events)

    assert [one.source for one in after.readings] == ["in_line", "scan_tool"]
    assert after.readings[1:] == before.readings
    assert after.findings == before.findings


def test_a_python_caller_cannot_leave_out_the_offset_either() -> None:
    with pytest.raises(ValueError, match="offset"):
        Started(event_id=UUID(int=1), occurred_at=datetime(2026, 3, 4, 8, 0), sequence=0)  # noqa: DTZ001 -- the fault under test


def test_a_bad_item_leaves_its_batch_decodable() -> None:
    items = [COMMON | {"kind": "started"}, {"kind": "teleported"}, 7]
    sent = {"device_id": "invented-phone", "sent_at": START, "events": items}

    batch = msgspec.json.decode(msgspec.json.encode(sent), type=EventBatch)
    assert len(batch.events) == 3
    kinds: Any = JobEvent
    assert msgspec.convert(batch.events[0], kinds) == decode(kind="started")


@pytest.mark.parametrize(
    ("version", "is_taken"), [("3.2.1+b4 (demo)", True), ("v" * 64, True), ("v" * 65, False),
                              ("", False), ("a\n", False), (3, False)],
)  # fmt: skip
def test_a_batch_may_tell_the_version_of_its_program(version: Any, is_taken: bool) -> None:
    sent = {"device_id": "d", "sent_at": START.isoformat(), "events": [], "app_version": version}
    if not is_taken:
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(sent, EventBatch)
        return
    assert msgspec.convert(sent, EventBatch).app_version == version


def test_a_batch_has_its_limit() -> None:
    sent = {"device_id": "d", "sent_at": START, "events": [1] * (LARGEST_BATCH + 1)}

    with pytest.raises(msgspec.ValidationError, match="1000"):
        msgspec.json.decode(msgspec.json.encode(sent), type=EventBatch)


@given(st.text().filter(lambda text: not text.isascii() or " " in text or text == ""))
def test_a_device_id_is_plain(device_id: str) -> None:
    sent = {"device_id": device_id, "sent_at": START.isoformat(), "events": []}

    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(sent, EventBatch)
