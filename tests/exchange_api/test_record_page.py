"""The page of a record: what is told, from records that the library made."""

import re
from datetime import timedelta
from uuid import UUID

import pytest

from exchange_api.record_chart import HEIGHT, LEFT, WIDTH, chart_of
from exchange_api.record_page import record_page
from exchange_api.record_rows import rows_of
from libexchange.job.events import Correction, DeviceEvent, Note, Started
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing
from libexchange.record import JobRecord, make_record
from tests.job.plans import Bay, plan_for


def record_of(bay: Bay, late: list[DeviceEvent] | None = None) -> JobRecord:
    judged = verdict(bay.plan, fold(bay.plan, bay.events))
    closing = Closing(
        verdict=judged.verdict,
        findings=judged.findings,
        closed_at=bay.now,
        closed_by="invented key",
        workshop="invented workshop",
    )
    return make_record(
        job_id=UUID(int=2),
        plan=bay.plan,
        device_events=bay.events,
        late_events=late or [],
        closing=closing,
    )


@pytest.fixture
def bay() -> Bay:
    return Bay(plan_for())


def test_the_same_record_gives_the_same_page(bay: Bay) -> None:
    record = record_of(bay.whole_job())

    assert record_page(record) == record_page(record)


def test_readings_that_follow_one_another_stand_in_one_row(bay: Bay) -> None:
    bay.add(Started)
    bay.read(20.0, 30.0, 40.0, every_s=60)
    bay.add(Note, text="invented")
    bay.read(41.0)

    rows = rows_of(record_of(bay))
    assert [(row.kind, row.text) for row in rows] == [
        ("started", ""),
        ("3 readings", "20.0 °C to 40.0 °C by scan tool; over 2 min"),
        ("note", "invented"),
        ("reading", "41.0 °C by scan tool"),
    ]


def test_the_day_is_told_once_and_again_when_it_changes(bay: Bay) -> None:
    bay.add(Started)
    bay.add(Note, text="a")
    bay.add(Note, text="b", after_s=timedelta(days=1).total_seconds())

    assert [row.when for row in rows_of(record_of(bay))] == [
        "2026-03-04 08:01:00 +00:00",
        "08:02:00",
        "2026-03-05 08:02:00 +00:00",
    ]


def test_what_was_withdrawn_or_came_late_is_marked(bay: Bay) -> None:
    note = bay.add(Note, text="invented")
    bay.add(Correction, corrects=note.event_id, reason="other vehicle")
    late = Bay(bay.plan, "late-phone")
    late.add(Note, text="late")

    rows = rows_of(record_of(bay, late.events))
    assert [row.remark for row in rows] == ["withdrawn", "", "after the close"]


def test_a_step_that_was_not_done_says_so(bay: Bay) -> None:
    bay.confirm("arrival_check")
    page = record_page(record_of(bay)).decode()

    assert page.count("not done</td>") == len(bay.plan.steps) - 1


def test_only_what_renews_fluid_is_told_as_offered(bay: Bay) -> None:
    page = record_page(record_of(bay)).decode()

    assert "drain cycles (" in page
    assert "level only" not in page


def test_people_read_no_unit_codes(bay: Bay) -> None:
    bay.confirm("cool_down")
    page = record_page(record_of(bay)).decode()

    assert "cool below 35 °C" in page
    assert " Cel" not in page


def test_the_chart_lies_inside_its_picture_with_the_window_behind(bay: Bay) -> None:
    bay.look("drip")
    chart = chart_of(record_of(bay))
    assert chart is None  # one look and no reading make no curve

    bay.read(20.0, 90.0, 40.0, every_s=600)
    chart = chart_of(record_of(bay))
    assert chart is not None
    assert chart.band is not None
    points = [tuple(map(float, pair.split(","))) for pair in chart.lines[0].split()]
    xs, ys = zip(*points, *chart.looks, strict=True)
    assert LEFT <= min(xs) < max(xs) <= WIDTH
    assert 0 <= min(ys) < max(ys) <= HEIGHT
    by_y = {mark.text: mark.y for mark in chart.across}
    assert by_y["40 °C"] == points[-1][1]
    assert chart.band[0] < by_y["40 °C"] < chart.band[1]


def test_no_share_is_ever_told_as_whole(bay: Bay) -> None:
    page = record_page(record_of(bay.whole_job())).decode()
    told = re.findall(r"about (\d+) of 100 parts", page)

    assert told
    assert all(0 < int(parts) < 100 for parts in told)
