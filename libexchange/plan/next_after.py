"""When the next service is due after what was really done, never later than the plan said."""

from msgspec.structs import replace

from libexchange.maker_schedule import LEAST_SHARE
from libexchange.plan.next_service import next_service, odometer_after
from libexchange.plan.offer import NextService
from libexchange.plan.records import Plan
from libexchange.plan.request import PlanRequest
from libexchange.quantities import Distance

SAME_SHARE = 0.005
"""Shares are told in parts of a hundred: up to half of one less counts as what was planned [-]."""


def next_after(
    *, plan: Plan, fresh_share: float | None, odometer: Distance | None = None
) -> NextService | None:
    """When the service after this one is due, from the share that was reached.

    fresh_share: as it was reached; null, or 0, where it cannot be told [-]
    odometer: as read on arrival, which counts before that of the request
    Returns: null where it cannot be told: without a share, where the plan tells nothing, and where
    so little was renewed that the maker's schedule goes on and the plan does not hold it
    Source: as `next_service`.

    >>> from libexchange.invented import routine_plan
    >>> plan = routine_plan()
    >>> [next_after(plan=plan, fresh_share=share).after_distance.value for share in (0.9, 0.5)]
    [123000.0, 68000.0]
    """
    planned = plan.next_service
    if plan.forecast is None or planned is None or not fresh_share:
        return None
    expected, at_hand = plan.forecast.fresh_share.expected, plan.request.transmission
    reached = fresh_share if fresh_share < expected - SAME_SHARE else expected
    if at_hand is None and reached < min(LEAST_SHARE, expected):
        return None
    request = _as_arrived(plan.request, odometer)
    told = next_service(
        request=request, transmission=at_hand, fresh_share=reached, route=plan.route
    )
    return _sooner(request, planned, told)


def _as_arrived(request: PlanRequest, odometer: Distance | None) -> PlanRequest:
    if odometer is None:
        return request
    return replace(request, vehicle=replace(request.vehicle, odometer=odometer))


def _sooner(request: PlanRequest, planned: NextService, told: NextService) -> NextService | None:
    """What holds of both: the shorter distance and the earlier day."""
    by_plan, by_share = planned.after_distance, told.after_distance
    if by_plan is None or by_share is None:
        return None
    sooner = by_share.km < by_plan.km
    after = by_share if sooner else by_plan
    days = [day for day in (planned.due_on, told.due_on) if day is not None]
    return replace(
        told,
        after_distance=after,
        after_months=planned.after_months,
        due_odometer=odometer_after(request, after.km),
        due_on=min(days, default=None),
        limited_by=told.limited_by if sooner else planned.limited_by,
    )
