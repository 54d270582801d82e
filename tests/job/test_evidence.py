"""Arrival, codes, bench checks, pictures, parts, tools, consent and second checks of a job."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from libexchange.bench_checks import BenchChecks
from libexchange.fields import Money
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    ConsentGiven,
    Correction,
    FaultCodesRead,
    LegalHold,
    LevelChecked,
    PartFitted,
    PhotoTaken,
    SecondCheck,
    TestDriven,
    ToolUsed,
)
from libexchange.job.evidence import Arrival, CodesRead, Consent, FittedPart, JobPhoto, UsedTool
from libexchange.job.fold import fold
from libexchange.job.state import JobState
from libexchange.job.verdict import steps_left, verdict
from libexchange.quantities import Distance, Torque, Volume
from tests.job.plans import START, Bay, plan_for

PLAN = plan_for()
FIRST = START + timedelta(minutes=1)
DIGEST = "ab" * 32


def state(bay: Bay) -> JobState:
    return fold(bay.plan, bay.events)


def told(bay: Bay) -> list[tuple[str, str]]:
    return [(finding.code, finding.severity) for finding in state(bay).findings]


def after(kind: type, **fields: Any) -> Bay:
    """A whole job and one event more."""
    bay = Bay(PLAN).whole_job()
    bay.add(kind, **fields)
    return bay


def judged(bay: Bay) -> str:
    return verdict(bay.plan, state(bay)).verdict


def test_a_job_without_evidence_has_none() -> None:
    found = state(Bay(PLAN))

    assert (found.arrival, found.bench, found.drive_before) == (None, None, None)
    assert (found.fault_codes.before, found.fault_codes.after) == (None, None)
    assert (found.photos, found.parts_fitted, found.tools) == ((), (), ())
    assert (found.consents, found.second_checks) == ((), ())


def test_neither_the_counter_nor_the_office_begins_the_work() -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, leak="dry")
    bay.add(ConsentGiven, estimate="1", given_by="invented owner", how="in_person")
    bay.add(LegalHold, by="invented office", state="set", reason="a claim")
    assert state(bay).progress == "planned"

    bay.add(FaultCodesRead, when="before")
    assert state(bay).progress == "running"


def test_an_arrival_adds_up_from_all_that_was_told_of_it() -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, complaint="it shudders", level="low", photos=(DIGEST,), towing=True)
    bay.add(Arrived, level="in_range", odometer=Distance(9e4, "km"), photos=("cd" * 32, DIGEST),
            towing=False, acknowledged_by="invented owner")  # fmt: skip

    assert state(bay).arrival == Arrival(
        arrived_at=FIRST, odometer=Distance(9e4, "km"), complaint="it shudders", leak=None,
        level="in_range", drive=None, warning_lamp=None, modifications=None, towing=False,
        under_warranty=None, fluid_kind=None, photos=(DIGEST, "cd" * 32),
        acknowledged_by="invented owner",
    )  # fmt: skip


def test_the_last_reading_of_codes_counts_on_either_side() -> None:
    bay = Bay(PLAN)
    bay.add(FaultCodesRead, when="before", codes=("P0001",))
    bay.add(FaultCodesRead, when="after", codes=("P0002",))
    bay.add(FaultCodesRead, when="before", codes=("P0002",), cleared=True)
    codes = state(bay).fault_codes

    assert codes.before == CodesRead(
        read_at=START + timedelta(minutes=3), codes=("P0002",), cleared=True
    )
    assert codes.after == CodesRead(
        read_at=START + timedelta(minutes=2), codes=("P0002",), cleared=None
    )
    assert told(bay) == []


def test_bench_checks_add_up_and_decide_together() -> None:
    bay = Bay(PLAN)
    bay.add(BenchChecked, bench=BenchChecks(smell="burnt", colour="black"), sample_id="bottle-1")
    bay.add(BenchChecked, bench=BenchChecks(shifts="slips"), photo=DIGEST)
    bench = state(bay).bench

    assert bench is not None
    assert bench.seen == BenchChecks(smell="burnt", colour="black", shifts="slips")
    assert (bench.decision, bench.overridable) == ("stop_mechanical", True)
    assert bench.override_needs == ("name", "reason", "customer_signature")
    assert (bench.sample_id, bench.photo, bench.recheck) == (None, DIGEST, None)
    assert bench.checked_at == START + timedelta(minutes=2)


def test_what_the_bench_finds_points_to_where_it_was_seen() -> None:
    bay = Bay(PLAN)
    bay.add(BenchChecked, bench=BenchChecks(smell="burnt"))
    found = state(bay).findings

    assert [(one.code, one.pointer) for one in found] == [
        ("used-fluid-smells-burnt", "#/bench/seen/smell"),
        ("bench-checks-incomplete", "#/bench/seen"),
    ]


@pytest.mark.parametrize(
    "bench",
    [BenchChecks(glycol_strip="positive"), BenchChecks(smell="foreign"),
     BenchChecks(shifts="no_drive"), BenchChecks(debris="flakes")],
    ids=str,
)  # fmt: skip
def test_a_bench_check_that_stops_bars_acceptance(bench: BenchChecks) -> None:
    assert judged(after(BenchChecked, bench=bench)) == "not_accepted"


def test_coolant_that_was_seen_once_bars_acceptance_until_it_is_withdrawn() -> None:
    bay = after(BenchChecked, bench=BenchChecks(glycol_strip="positive"))
    wrong = bay.events[-1].event
    bay.add(BenchChecked, bench=BenchChecks(glycol_strip="negative"))
    assert ("bench-checks-disagree", "stop") in told(bay)
    assert judged(bay) == "not_accepted"

    bay.add(Correction, corrects=wrong.event_id, reason="the strip of another vehicle", by="hand")
    assert ("stop-taken-back-alone", "stop") in told(bay)
    assert judged(bay) == "not_accepted"

    bay.add(SecondCheck, by="invented foreman", checked="correction", result="agreed")
    assert judged(bay) == "accepted_with_remarks"


def test_water_that_is_common_in_a_heavy_unit_is_not_in_a_car() -> None:
    card = PLAN.offline_card
    assert card is not None
    heavy = replace(PLAN, offline_card=replace(card, total=Volume(38, "L")))
    for plan, decision in ((PLAN, "stop_coolant"), (heavy, "exchange_and_repeat")):
        bay = Bay(plan)
        bay.add(BenchChecked, bench=BenchChecks(crackle="large_bubbles"))
        bench = state(bay).bench
        assert bench is not None
        assert bench.decision == decision


def test_evidence_of_a_plan_that_knows_no_unit_is_judged_as_far_as_it_goes() -> None:
    plan = plan_for(conditions=("no_drive",))
    assert plan.offline_card is None
    bay = Bay(plan)
    bay.add(BenchChecked, bench=BenchChecks(crackle="large_bubbles"))
    bay.add(ToolUsed, tool="vessel 2", sort="vessel", last_fluid_kind="invented-green-cvt",
            purged=Volume(100, "L"))  # fmt: skip

    assert [code for code, _ in told(bay)] == [
        "crackle-test-shows-water", "bench-checks-incomplete", "equipment-not-purged",
    ]  # fmt: skip


def test_pictures_parts_tools_and_consents_are_listed_as_they_came() -> None:
    bay = Bay(PLAN)
    taken = datetime(2026, 3, 4, 8, 0, 30, tzinfo=UTC)
    bay.add(PhotoTaken, digest=DIGEST, size=9, media_type="image/png", taken_at=taken,
            shows="odometer", caption="invented")  # fmt: skip
    bay.add(PartFitted, part="drain plug", count=2, new=False, torque=Torque(12, "N.m"),
            tool="wrench 7", by="invented hand")  # fmt: skip
    bay.add(ToolUsed, tool="vessel 2", sort="vessel", calibrated_until=date(2026, 3, 4),
            last_fluid_kind="invented-red-six", purged=Volume(1, "L"))  # fmt: skip
    bay.add(ConsentGiven, estimate="2", route=PLAN.route, declined=("drain",), how="phone",
            not_to_exceed=Money("400", "EUR"), given_by="invented owner")  # fmt: skip
    found = state(bay)
    at = [START + timedelta(minutes=n) for n in range(1, 5)]

    assert found.photos == (JobPhoto(digest=DIGEST, size=9, media_type="image/png", taken_at=taken,
        told_at=at[0], shows="odometer", caption="invented"),)  # fmt: skip
    assert found.parts_fitted == (FittedPart(part="drain plug", count=2, new=False,
        torque=Torque(12, "N.m"), tool="wrench 7", fitted_at=at[1],
        by="invented hand"),)  # fmt: skip
    assert found.tools == (UsedTool(tool="vessel 2", sort="vessel", used_at=at[2],
        calibrated_until=date(2026, 3, 4), last_fluid_kind="invented-red-six",
        purged=Volume(1, "L")),)  # fmt: skip
    assert found.consents == (Consent(estimate="2", route=PLAN.route, declined=("drain",),
        not_to_exceed=Money("400", "EUR"), given_by="invented owner", how="phone",
        given_at=at[3]),)  # fmt: skip
    assert told(bay) == []


def test_a_drive_before_the_work_is_no_drive_after_it() -> None:
    bay = Bay(PLAN)
    bay.add(TestDriven, result="complaint", when="before")
    found = state(bay)

    assert (found.drive_before, found.test_drive) == ("complaint", None)
    assert "test_drive" in [step.kind for step in steps_left(PLAN, found)]
    bay.add(TestDriven, result="ok")
    assert (state(bay).drive_before, state(bay).test_drive) == ("complaint", "ok")


def test_a_remark_by_evidence_leaves_the_job_accepted_with_remarks() -> None:
    bay = after(FaultCodesRead, when="after", codes=("P0002",))

    assert judged(bay) == "accepted_with_remarks"


def test_case_55_a_calibration_that_ran_out_yesterday_is_a_remark() -> None:
    fields = {"tool": "meter 1", "sort": "meter"}

    for until, expected in ((3, "accepted_with_remarks"), (4, "accepted")):
        bay = after(ToolUsed, calibrated_until=date(2026, 3, until), **fields)
        assert judged(bay) == expected


def test_case_23_and_56_equipment_of_another_kind_needs_a_purge_that_was_told() -> None:
    fields = {"tool": "vessel 2", "sort": "vessel", "last_fluid_kind": "invented-green-cvt"}

    assert told(after(ToolUsed, **fields)) == [("equipment-not-purged", "stop")]
    assert told(after(ToolUsed, purged=Volume(10.1, "L"), **fields)) == []


def test_case_62_and_63_and_64_used_seals_and_missing_torques_are_told() -> None:
    torque = Torque(12, "N.m")

    assert told(after(PartFitted, part="filter O-ring", new=False)) == [
        ("seal-used-again", "caution")
    ]
    assert told(after(PartFitted, part="pan gasket", new=False)) == [("seal-used-again", "caution")]
    assert told(after(PartFitted, part="drain plug")) == [("torque-not-recorded", "note")]
    assert told(after(PartFitted, part="drain plug", torque=torque)) == []


def test_case_17_modifications_told_on_arrival_are_a_note() -> None:
    bay = after(Arrived, modifications="a deep pan")

    assert (told(bay), judged(bay)) == ([("vehicle-modified", "note")], "accepted")


def test_a_second_check_is_by_somebody_else_and_the_last_one_counts() -> None:
    bay = Bay(PLAN).whole_job()
    look = next(e.event for e in bay.events if isinstance(e.event, LevelChecked))
    bay.add(LevelChecked, method=look.method, temperature=look.temperature, observed="drip",
            engine_running=True, by="invented hand")  # fmt: skip
    bay.add(
        SecondCheck, by="invented hand", checked="level", result="not_agreed", remark="invented"
    )
    assert set(told(bay)) >= {
        ("checked-by-who-did-it", "caution"), ("second-check-not-agreed", "stop"),
    }  # fmt: skip

    bay.add(SecondCheck, by="invented foreman", checked="level", result="agreed")
    assert "second-check-not-agreed" not in [code for code, _ in told(bay)]
    assert [one.result for one in state(bay).second_checks] == ["not_agreed", "agreed"]


def test_what_evidence_says_repeats_no_words_of_people() -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, complaint="secret", modifications="secret", drive="no_drive",
            acknowledged_by="secret")  # fmt: skip
    bay.add(SecondCheck, by="secret", checked="level", result="not_agreed", remark="secret")
    bay.add(ConsentGiven, estimate="1", route="drain", given_by="secret", how="phone")
    found = state(bay).findings

    assert len(found) == 4
    assert "secret" not in str(found)
