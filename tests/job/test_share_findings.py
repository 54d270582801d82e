"""A share short of the plan is a remark, just below what still counts and not at it."""

import pytest
from msgspec.structs import replace

from libexchange.job.events import FluidMoved
from libexchange.job.fold import fold
from libexchange.job.share_findings import least_share, short_share
from libexchange.job.state import JobState
from libexchange.job.verdict import verdict
from libexchange.plan.records import Estimate
from libexchange.quantities import Volume
from tests.job.plans import Bay, litres, plan_for

PLAN = plan_for()
WHOLE = fold(PLAN, Bay(PLAN).whole_job().events)


def short_through_lines(amount_l: float) -> Bay:
    """A job in which so much went through the lines, all else as planned."""
    bay = Bay(PLAN).whole_job()
    for number, one in enumerate(bay.events):
        event = one.event
        if isinstance(event, FluidMoved) and event.step_id == bay.step("line_exchange"):
            bay.events[number] = replace(one, event=replace(event, mass=litres(amount_l)))
    return bay


def reached(share: float) -> JobState:
    assert WHOLE.fresh_share is not None
    return replace(WHOLE, fresh_share=replace(WHOLE.fresh_share, expected=share))


@pytest.mark.parametrize(
    ("band", "least"),
    [((0.74, 0.8, 0.83), 0.72), ((0.6, 0.8, 0.87), 0.6), ((0.72, 0.8, 0.9), 0.72)],
)
def test_the_edge_of_the_band_counts_unless_a_tenth_less_is_lower(
    band: tuple[float, float, float], least: float
) -> None:
    low, expected, high = band

    assert least_share(Estimate(low=low, expected=expected, high=high)) == pytest.approx(least)


@pytest.mark.parametrize(("share", "codes"), [(0.72, []), (0.7199, ["fresh-share-below-plan"])])
def test_the_share_is_short_just_below_what_still_counts(share: float, codes: list[str]) -> None:
    assert [one.code for one in short_share(PLAN, reached(share))] == codes


@pytest.mark.parametrize(("filled_l", "codes"), [(7.7, []), (7.69, ["fresh-share-below-plan"])])
def test_without_a_share_the_least_litres_count(filled_l: float, codes: list[str]) -> None:
    assert WHOLE.balance is not None
    balance = replace(WHOLE.balance, in_15=Volume(filled_l, "L"))
    state = replace(WHOLE, fresh_share=None, balance=balance)

    assert [one.code for one in short_share(PLAN, state)] == codes


def test_it_says_what_was_reached_and_what_was_planned() -> None:
    (found,) = short_share(PLAN, reached(0.53))

    assert found.message == (
        "About 53 of 100 parts are fresh; 80 are planned, and 72 still count as that."
    )
    assert found.values == {
        "fresh_share": 0.53, "least": pytest.approx(0.72), "planned": pytest.approx(0.8),
    }  # fmt: skip


@pytest.mark.parametrize(
    "state",
    [
        replace(reached(0.1), progress="running"),
        replace(WHOLE, fresh_share=None, balance=None),
    ],
)
def test_a_job_that_goes_on_and_one_without_litres_are_not_held_against_the_plan(
    state: JobState,
) -> None:
    assert short_share(PLAN, state) == []


def test_a_plan_without_a_forecast_falls_short_of_nothing() -> None:
    assert short_share(replace(PLAN, forecast=None), reached(0.1)) == []


def test_hardly_anything_through_the_lines_is_a_remark_and_enough_is_none() -> None:
    told = [verdict(PLAN, fold(PLAN, short_through_lines(one).events)) for one in (0.4, 3.9)]

    assert [one.verdict for one in told] == ["accepted_with_remarks", "accepted"]
    assert [one.code for one in told[0].findings] == ["fresh-share-below-plan"]
