"""What happened, as rows."""

from datetime import timedelta

import pytest

from exchange_api.documents.event_rows import LARGE_DELAY_S, rows_of
from libexchange.job.events import Correction, Note, Started
from tests.exchange_api.documents.paper import made, record_of, text_of
from tests.job.plans import Bay, plan_for


@pytest.fixture
def bay() -> Bay:
    return Bay(plan_for())


def test_readings_that_follow_one_another_stand_in_one_row(bay: Bay) -> None:
    bay.add(Started)
    bay.read(20.0, 30.0, 40.0, every_s=60)
    bay.add(Note, text="invented")
    bay.read(41.0)

    rows = rows_of(record_of(bay), {})
    assert [(row.kind, row.text.replace("\N{NO-BREAK SPACE}", " ")) for row in rows] == [
        ("started", ""),
        ("3 readings", "20.0 °C to 40.0 °C by scan tool; over 2 min"),
        ("note", "invented"),
        ("reading", "41.0 °C by scan tool"),
    ]


def test_the_day_is_told_once_and_again_when_it_changes(bay: Bay) -> None:
    bay.add(Started)
    bay.add(Note, text="a")
    bay.add(Note, text="b", after_s=timedelta(days=1).total_seconds())

    assert [row.when for row in rows_of(record_of(bay), {})] == [
        "2026-03-04 08:01:00 +00:00",
        "08:02:00",
        "2026-03-05 08:02:00 +00:00",
    ]


def test_what_was_withdrawn_or_came_late_is_marked(bay: Bay) -> None:
    note = bay.add(Note, text="invented")
    bay.add(Correction, corrects=note.event_id, reason="other vehicle")
    late = Bay(bay.plan, "late-phone")
    late.add(Note, text="late")

    rows = rows_of(record_of(bay, late.events), {})
    assert [row.remark for row in rows] == ["withdrawn", "", "after the close"]


@pytest.mark.parametrize(
    ("late_s", "remark"),
    [
        (LARGE_DELAY_S - 1, ""),
        (LARGE_DELAY_S, "entered 08:06:00, 5 min later"),
        (86_400, "entered 2026-03-05 08:01:00 +00:00, 24.0 h later"),
        (-10, ""),
    ],
)
def test_both_times_are_told_where_an_entry_came_late(bay: Bay, late_s: float, remark: str) -> None:
    note = bay.add(Note, text="invented")
    received = {note.event_id: note.occurred_at + timedelta(seconds=late_s)}

    assert [row.remark for row in rows_of(record_of(bay), received)] == [remark]
    assert remark in text_of(made(record_of(bay), received=received))


def test_of_a_run_of_readings_the_slowest_entry_is_told(bay: Bay) -> None:
    bay.read(20.0, 30.0, 40.0, every_s=60)
    received = {
        one.event.event_id: one.event.occurred_at + timedelta(minutes=minutes)
        for one, minutes in zip(bay.events, (1, 30, 2), strict=True)
    }

    (row,) = rows_of(record_of(bay), received)
    assert row.remark == "entered 08:32:00, 30 min later"
