"""Who may work on high voltage is said by name and qualification before the first opening."""

from typing import Any

import pytest

from libexchange.job.events import (
    CautionAcknowledged,
    Event,
    FindingOverridden,
    FluidMoved,
    LevelChecked,
    PartFitted,
    SampleDrawn,
    StepConfirmed,
)
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.verdict import verdict
from tests.job.plans import Bay, celsius, litres, plan_for

PLAN = plan_for(route="pan_and_filter", profile={"high_voltage": "yes"})
ASKED, OPENED = "high-voltage-not-acknowledged", "high-voltage-opened-unqualified"


def qualified(bay: Bay, **more: Any) -> None:
    told: dict[str, Any] = {"code": "high-voltage", "by": "invented hand", "reason": "works on it"}
    bay.add(CautionAcknowledged, **told, **more)


def found(bay: Bay) -> set[str]:
    return {one.code for one in fold(bay.plan, bay.events).findings} & {ASKED, OPENED}


def test_a_job_done_well_by_a_qualified_person_has_no_word_against_it() -> None:
    bay = Bay(PLAN).whole_job()

    state = fold(PLAN, bay.events)
    remarks = [one.code for one in verdict(PLAN, state).findings]
    assert remarks == ["worked-under-caution"]  # an engine that may go off by itself
    told = {one.code: one.qualification for one in state.acknowledged}
    assert (told.pop("high-voltage"), set(told.values())) == ("invented course 2", {None})


def test_without_a_word_the_same_job_is_refused_whoever_answers() -> None:
    bay = Bay(PLAN).whole_job()
    bay.events = [one for one in bay.events if not isinstance(one.event, CautionAcknowledged)]
    bay.first_id += 1000  # ids are counted, and one was taken away
    bay.add(FindingOverridden, code=OPENED, by="invented foreman", reason="told",
            acknowledged_by="invented customer")  # fmt: skip

    assert found(bay) == {OPENED}
    assert verdict(PLAN, fold(PLAN, bay.events)).verdict == "not_accepted"


def test_guidance_asks_for_it_until_it_is_told_with_a_qualification() -> None:
    bay = Bay(PLAN)
    bay.arrive()
    bay.events = bay.events[:2]

    def blocked() -> bool:
        return ASKED in {one.code for one in guidance(PLAN, bay.events, bay.now).blocking}

    assert blocked()
    qualified(bay)
    assert blocked()
    qualified(bay, qualification="invented course 2")
    assert not blocked()


LOOK = {"temperature": celsius(39), "observed": "drip"}


@pytest.mark.parametrize(
    ("kind", "fields", "opens"),
    [
        (FluidMoved, {"direction": "out", "mass": litres(1)}, True),
        (PartFitted, {"part": "plug"}, True),
        (SampleDrawn, {"sample_id": "b-1", "fluid": "used", "drawn_from": "sump"}, True),
        (LevelChecked, {"method": "overflow_plug", **LOOK}, True),
        (LevelChecked, {"method": "measured_refill", "temperature": celsius(39)}, False),
    ],
)
def test_what_cannot_be_told_of_a_shut_unit_is_an_opening(
    kind: type[Event], fields: dict[str, Any], opens: bool
) -> None:
    bay = Bay(PLAN)
    bay.add(kind, **fields)
    qualified(bay, qualification="invented course 2")

    assert found(bay) == ({OPENED} if opens else set())


@pytest.mark.parametrize(
    ("step", "opens"), [("arrival_check", False), ("raise_vehicle", False),
                        ("prove_fill_opening", True), ("pan_and_filter", True)],
)  # fmt: skip
def test_a_step_that_opens_something_is_an_opening(step: Any, opens: bool) -> None:
    bay = Bay(PLAN)
    bay.add(StepConfirmed, step_id=bay.step(step))
    qualified(bay, qualification="invented course 2")

    assert found(bay) == ({OPENED} if opens else set())
