"""Litres and shares of a job are told without the noise of their arithmetic."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

import pytest
from msgspec import Struct, to_builtins

from libexchange.job.events import FluidMoved
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.rounded import rounded
from libexchange.job.share import ReachedShare
from libexchange.job.view import JobView, pointed
from libexchange.quantities import Temperature, Volume
from tests.exchange_api.documents.paper import whole
from tests.job.plans import Bay, plan_for

COMPUTED = ("balance", "level", "line_exchange", "fresh_share", "level_correction", "standing")


def numbers(document: Any) -> Iterator[tuple[float, int]]:
    """Every number with the digits that it may have."""
    if isinstance(document, dict) and document.get("unit") == "L":
        yield document["value"], 3
    elif isinstance(document, dict):
        for value in document.values():
            yield from numbers(value)
    elif isinstance(document, list | tuple):
        for value in document:
            yield from numbers(value)
    elif isinstance(document, float):
        yield document, 6


def computed(document: Struct) -> list[tuple[float, int]]:
    told = {name: part for name, part in to_builtins(document).items() if name in COMPUTED}
    for part in told.values():
        (part or {}).pop("findings", None)
    return list(numbers(told))


def view_of(bay: Bay) -> JobView:
    return pointed(
        JobView(
            job_id=UUID(int=1), plan_id=bay.plan.plan_id, status="finished",
            state=fold(bay.plan, bay.events), closing=None, earlier_closings=(),
            record_digest=None, related=(), gaps=(), clock_offset_s={}, app_versions={},
            findings=(),
        )
    )  # fmt: skip


def documents() -> list[Struct]:
    bay, begun = Bay(plan_for()).whole_job(), Bay(plan_for())
    begun.work_to_level(lacking_l=0.35)
    begun.look("nothing", 39)
    now = guidance(begun.plan, begun.events, begun.now)
    return [view_of(bay).state, whole(), now, view_of(begun).state]


@pytest.mark.parametrize("document", documents(), ids=["state", "record", "guidance", "begun"])
def test_litres_are_told_to_the_millilitre_and_shares_to_six_digits(document: Struct) -> None:
    told = computed(document)

    assert len(told) >= 8
    assert all(one == round(one, digits) for one, digits in told)


def test_the_state_itself_keeps_what_verdicts_are_told_from() -> None:
    bay = Bay(plan_for()).whole_job()
    exact, told = fold(bay.plan, bay.events).balance, view_of(bay).state.balance

    assert exact is not None
    assert told is not None
    assert exact.uncertainty.value != told.uncertainty.value
    assert told.uncertainty.value == round(exact.uncertainty.value, 3)


def test_what_is_to_be_put_back_or_drawn_off_is_told_to_the_millilitre() -> None:
    bay = Bay(plan_for())
    bay.arrive()
    moved: dict[str, Any] = {"volume": Volume(4.5, "L"), "temperature": Temperature(45, "Cel")}
    bay.add(FluidMoved, direction="out", step_id=bay.step("pan_and_filter"), **moved)
    lacking = amounts(bay)
    bay.add(FluidMoved, direction="in", step_id=bay.step("refill"), **moved)
    bay.add(FluidMoved, direction="in", step_id=bay.step("refill"), **moved)

    assert lacking == {"close_and_refill": Volume(4.4, "L")}
    assert amounts(bay) == {"draw_off": Volume(4.4, "L")}


def amounts(bay: Bay) -> dict[str, Volume]:
    steps = fold(bay.plan, bay.events).standing.make_safe
    return {step.action: step.quantity for step in steps if step.quantity is not None}


def share(expected: float, exchanged_l: float) -> ReachedShare:
    return ReachedShare(
        low=0.7, expected=expected, high=0.9, basis="calculated",
        exchanged_15=Volume(exchanged_l, "L"), refilled_15=Volume(4321.0, "mL"),
    )  # fmt: skip


def test_digits_are_three_for_litres_and_six_for_shares() -> None:
    told = rounded(share(0.12345649, 3.1234))

    assert (told.expected, told.exchanged_15) == (0.123456, Volume(3.123, "L"))
    assert rounded(share(0.1234567, 3.1236)).exchanged_15 == Volume(3.124, "L")
    assert told.refilled_15 == Volume(4321.0, "mL")


def test_nothing_has_no_sign_and_null_stays_null() -> None:
    assert str(rounded(share(-0.0000001, 3)).expected) == "0.0"
    assert rounded(None) is None
