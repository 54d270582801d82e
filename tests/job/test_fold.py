"""One state, whatever way the events come; what each event does to it."""

from datetime import timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from libexchange.job.events import (
    Correction,
    DeviceEvent,
    FluidMoved,
    FluidOpened,
    LeakChecked,
    Note,
    ReadingTaken,
    Started,
)
from libexchange.job.fold import fold
from libexchange.job.history import SequenceGap, clock_offset_s, sequence_gaps
from libexchange.quantities import Volume
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()


def told(bay: Bay) -> list[str]:
    return [finding.code for finding in fold(bay.plan, bay.events).findings]


def job_with_everything() -> list[DeviceEvent]:
    phone, tablet = Bay(PLAN), Bay(PLAN, "invented-tablet")
    phone.work_to_level(lacking_l=0.3)
    phone.read(36, 37, 38)
    phone.look("nothing", 38)
    phone.move("in", 0.4, "set_level")
    phone.look("drip", 39)
    wrong = phone.add(LeakChecked, result="leak")
    phone.work_after_level()
    phone.add(Correction, corrects=wrong.event_id, reason="another vehicle")
    tablet.add(Note, text="invented remark")
    tablet.add(Started)
    ours = [
        replace(one, event=replace(one.event, event_id=UUID(int=9000 + number)))
        for number, one in enumerate(tablet.events)
    ]
    return [*phone.events, *ours]


EVENTS = job_with_everything()
STATE = fold(PLAN, EVENTS)


@given(st.permutations(EVENTS), st.lists(st.sampled_from(EVENTS)), st.integers(0, len(EVENTS)))
def test_any_order_repetition_and_batching_folds_to_one_state(
    order: list[DeviceEvent], again: list[DeviceEvent], cut: int
) -> None:
    first, second = order[:cut], order[cut:]

    assert fold(PLAN, [*again, *second, *first]) == STATE


@given(st.lists(st.sampled_from(EVENTS), min_size=1, unique_by=lambda one: one.event.event_id))
def test_any_part_of_a_job_folds_without_error_and_alike_backwards(
    part: list[DeviceEvent],
) -> None:
    assert fold(PLAN, part) == fold(PLAN, part[::-1])


def test_moments_are_compared_whatever_their_offset() -> None:
    bay = Bay(PLAN).whole_job()
    east = timezone(timedelta(hours=9))
    moved = [
        replace(one, event=replace(one.event, occurred_at=one.event.occurred_at.astimezone(east)))
        for one in bay.events
    ]

    assert fold(PLAN, moved) == fold(PLAN, bay.events)


def test_of_two_events_with_one_id_the_earlier_counts() -> None:
    bay = Bay(PLAN)
    first = bay.add(LeakChecked, result="leak")
    later = replace(first, result="dry", occurred_at=bay.now + timedelta(hours=1))
    again = DeviceEvent(device_id="invented-phone", event=later)

    assert fold(PLAN, [again, *bay.events]).leak_check == "leak"


def test_progress_goes_from_planned_by_running_to_finished() -> None:
    bay = Bay(PLAN).whole_job()
    remark = [DeviceEvent(device_id="a", event=Bay(PLAN).add(Note, text="invented"))]

    assert fold(PLAN, remark).progress == "planned"
    assert fold(PLAN, bay.events[:1]).progress == "running"
    assert fold(PLAN, bay.events).progress == "finished"


def test_a_corrected_event_counts_for_nothing_and_stays_named() -> None:
    bay = Bay(PLAN).whole_job()
    wrong = bay.add(LeakChecked, result="leak")
    assert fold(PLAN, bay.events).leak_check == "leak"

    bay.add(Correction, corrects=wrong.event_id, reason="another vehicle")

    state = fold(PLAN, bay.events)
    assert state.leak_check == "dry"
    assert state.withdrawn == (wrong.event_id,)


def test_a_correction_may_come_before_what_it_corrects() -> None:
    bay = Bay(PLAN)
    early = bay.add(Correction, corrects=UUID(int=1001), reason="typed twice")
    bay.add(FluidMoved, direction="in", volume=Volume(4, "L"), temperature=celsius(20))

    state = fold(PLAN, bay.events)
    assert early.event_id == UUID(int=1000)
    assert state.balance is None


def test_a_correction_of_nothing_or_of_a_correction_is_told() -> None:
    bay = Bay(PLAN)
    first = bay.add(Correction, corrects=UUID(int=7), reason="not seen here")
    bay.add(Correction, corrects=first.event_id, reason="taken back")

    assert told(bay) == ["correction-without-effect"] * 2


def test_late_events_add_one_finding_and_nothing_else() -> None:
    bay = Bay(PLAN).whole_job()
    late = [DeviceEvent(device_id="late", event=bay.add(LeakChecked, result="leak"))]
    on_time = bay.events[:-1]

    state = fold(PLAN, on_time, late)
    before = fold(PLAN, on_time)
    assert [finding.code for finding in state.findings] == ["event-after-close"]
    assert replace(state, findings=(), open_late_events=()) == before


def test_a_late_correction_deals_with_a_late_event() -> None:
    bay = Bay(PLAN).whole_job()
    on_time = list(bay.events)
    wrong = bay.add(LeakChecked, result="leak")
    bay.add(Correction, corrects=wrong.event_id, reason="another vehicle")

    assert fold(PLAN, on_time, bay.events).findings == ()


def test_a_late_correction_of_an_event_on_time_stays_open() -> None:
    bay = Bay(PLAN).whole_job()
    on_time = list(bay.events)
    late = bay.add(Correction, corrects=on_time[0].event.event_id, reason="never happened")

    state = fold(PLAN, on_time, bay.events)
    assert state.open_late_events == (late.event_id,)
    assert state.started_at is not None


def test_the_latest_reading_of_each_source_is_kept() -> None:
    bay = Bay(PLAN)
    bay.read(30, 31)
    bay.add(ReadingTaken, source="clamp_on", temperature=celsius(25))

    readings = fold(PLAN, bay.events).readings
    assert [(r.source, r.temperature) for r in readings] == [
        ("clamp_on", celsius(25)),
        ("scan_tool", celsius(31)),
    ]


@pytest.mark.parametrize(
    ("fluid_id", "fluid_kind", "code"),
    [
        ("invented-red-fluid", "invented-red-six", []),
        (None, "invented-red-six", []),
        ("invented-other", "invented-red-six", ["fluid-opened-not-planned"]),
        ("invented-red-fluid", "invented-green-cvt", ["fluid-opened-of-other-kind"]),
    ],
)
def test_case_24_opened_fluid_is_held_against_the_planned_one(
    fluid_id: str | None, fluid_kind: str, code: list[str]
) -> None:
    bay = Bay(PLAN)
    bay.add(FluidOpened, fluid_id=fluid_id, fluid_kind=fluid_kind, lot="lot 7")

    assert told(bay) == code


def test_an_infeasible_plan_folds_too() -> None:
    plan = plan_for(conditions=("no_drive",))
    bay = Bay(plan)
    bay.move("in", 4)
    bay.look("drip")

    state = fold(plan, bay.events)
    assert (state.balance, state.level) == (None, None)


def test_gaps_are_what_a_device_has_not_sent_of_its_count_from_0() -> None:
    counted = [("phone", number) for number in (6, 4, 3, 0, 3)]

    assert sequence_gaps(counted) == (
        SequenceGap(device_id="phone", first_missing=1, last_missing=2),
        SequenceGap(device_id="phone", first_missing=5, last_missing=5),
    )
    assert sequence_gaps(("phone", number) for number in range(7)) == ()


@pytest.mark.parametrize(("first", "missing"), [(0, None), (1, (0, 0)), (5, (0, 4))])
def test_a_beginning_that_is_missing_is_a_gap(first: int, missing: tuple[int, int] | None) -> None:
    told = sequence_gaps([("b", first), ("b", first + 1), ("a", 0)])

    assert [(gap.device_id, gap.first_missing, gap.last_missing) for gap in told] == (
        [("b", *missing)] if missing else []
    )


def test_a_clock_that_is_behind_has_a_negative_offset() -> None:
    sent = Bay(PLAN).now

    assert clock_offset_s(sent_at=sent, received_at=sent + timedelta(seconds=90)) == -90
