"""Which fields of our records are personal, and that none of their texts is in what is signed."""

import importlib
import pkgutil
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import msgspec
import pytest
from hypothesis import given
from msgspec import Struct
from msgspec.structs import fields

import libexchange
from libexchange.canonical import canonical_json
from libexchange.fields import Vin
from libexchange.job.events import DeviceEvent
from libexchange.personal import (
    conceal,
    erased,
)
from libexchange.personal_fields import _is_marked
from libexchange.plan.request import Vehicle
from tests.job.plans import plan_for
from tests.job.test_any_events import EVENTS
from tests.libexchange.proof_desk import SALT, VIN, record_for


def every_record() -> Iterator[type[Struct]]:
    for module in pkgutil.walk_packages(libexchange.__path__, "libexchange."):
        importlib.import_module(module.name)
    waiting = Struct.__subclasses__()
    while waiting:
        kind = waiting.pop()
        waiting += kind.__subclasses__()
        if kind.__module__.startswith("libexchange"):
            yield kind


def marked_fields() -> list[tuple[str, Any]]:
    return sorted(
        {(f"{kind.__name__}.{one.name}", one.type)
         for kind in every_record() for one in fields(kind)
         if _is_marked(msgspec.inspect.type_info(one.type))},
        key=lambda one: one[0],
    )  # fmt: skip


def test_every_personal_field_holds_an_erased_text() -> None:
    names = [name for name, _ in marked_fields()]

    assert {"Vehicle.vin", "Vehicle.reference", "Plan.digest", "Closing.closed_by", "Note.text",
            "Acknowledged.by", "Correction.reason"} <= set(names)  # fmt: skip
    for name, kind in marked_fields():
        assert held(kind), name


def held(kind: Any) -> bool:
    """Whether an erased text can stand in a field, itself or in a list."""
    text = erased("ab" * 32)
    for value in (text, [text]):
        try:
            msgspec.convert(value, kind)
        except msgspec.ValidationError:
            continue
        return True
    return False


def test_a_number_or_an_erased_one_is_a_vehicle_number() -> None:
    assert [msgspec.convert(text, Vin) for text in (VIN, erased("ab" * 32))]
    for text in (VIN[:-1], VIN + "7", VIN + "\n", "[erased]"):
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(text, Vin)


def with_marks(one: DeviceEvent) -> tuple[DeviceEvent, list[str]]:
    """The event with a text of its own in every personal field that takes one."""
    plain = msgspec.to_builtins(one)
    marks = []
    for field in fields(type(one.event)):
        if _is_marked(msgspec.inspect.type_info(field.type)):
            mark = f"Qx{one.event.event_id.int}{field.encode_name}Xq"
            for value in (mark, [mark]):
                try:
                    msgspec.convert(value, field.type)
                except msgspec.ValidationError:
                    continue
                plain["event"][field.encode_name] = value
                marks.append(mark)
                break
    return msgspec.convert(plain, DeviceEvent), marks


@given(events=EVENTS, late=EVENTS)
def test_no_personal_text_of_any_event_is_in_a_concealed_record(
    events: list[DeviceEvent], late: list[DeviceEvent]
) -> None:
    told = [with_marks(one) for one in events]
    told_late = [with_marks(one) for one in late]
    plan = plan_for(vehicle=Vehicle(reference="QxreferenceXq", vin=VIN))
    record = record_for(plan, [one for one, _ in told], [one for one, _ in told_late], by="QxbyXq")

    signed = canonical_json(conceal(record, salt=SALT).form)
    assert re.findall(rb"Qx\w*|" + VIN.encode(), signed) == []


def test_marks_are_put_into_events() -> None:
    event = msgspec.convert(
        {"kind": "note", "event_id": str(UUID(int=5)), "sequence": 0, "text": "a",
         "occurred_at": datetime(2026, 3, 4, tzinfo=UTC).isoformat()},
        libexchange.job.events.JobEvent,
    )  # fmt: skip
    _, marks = with_marks(DeviceEvent(device_id="a", event=event))

    assert "Qx5textXq" in marks
