"""A fresh share that falls short of the plan: the customer was told of another one."""

from collections.abc import Iterator

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.share import NEAR_SHARE, ReachedShare
from libexchange.job.state import JobState
from libexchange.plan.records import Estimate, Plan
from libexchange.quantities import Volume

SHARE_BELOW_PLAN = Kind(
    code="fresh-share-below-plan",
    severity="caution",
    title="Clearly less of the fluid was renewed than the plan forecasts",
    remedy="Go on with the exchange, or tell the customer the share that was reached and that the "
    "next service is due sooner. Litres that were moved and not entered: post them with their "
    "step.",
    source=COMMON_PRACTICE,
)
KINDS = (SHARE_BELOW_PLAN,)
"""Every finding code of a share that falls short."""


def short_share(plan: Plan, state: JobState) -> list[Finding]:
    """A finding once the bay is done, where the share is below `least_share`.

    Where no share can be told: with less fresh fluid than the least that could reach the target;
    where no litres are known at all, that is told as such. Source: common practice.
    """
    if state.progress != "finished" or plan.forecast is None or plan.litres is None:
        return []
    if state.fresh_share is not None:
        return list(_by_share(plan.forecast.fresh_share, state.fresh_share))
    return list(_by_litres(plan.litres.minimum, state.balance.in_15)) if state.balance else []


def least_share(planned: Estimate) -> float:
    """What still counts as the share that was planned: its 5 % edge, or a tenth less than expected.

    >>> round(least_share(Estimate(low=0.74, expected=0.8, high=0.83)), 3)
    0.72
    """
    return min(planned.low, planned.expected * (1 - NEAR_SHARE))


def _by_share(planned: Estimate, share: ReachedShare) -> Iterator[Finding]:
    reached, least = share.expected, least_share(planned)
    if reached >= least - 1e-9:
        return
    text = (
        f"About {100 * reached:.0f} of 100 parts are fresh; {100 * planned.expected:.0f} are "
        f"planned, and {100 * least:.0f} still count as that."
    )
    values = {"fresh_share": reached, "least": least, "planned": planned.expected}
    yield SHARE_BELOW_PLAN.at("#/fresh_share", text, values=values)


def _by_litres(least: Volume, filled: Volume) -> Iterator[Finding]:
    if filled.l >= least.l:
        return
    text = f"{filled.l:.1f} L of fresh fluid went in; it takes at least {least.l:.1f} L."
    values = {"filled_l": filled.l, "least_l": least.l}
    yield SHARE_BELOW_PLAN.at("#/balance", text, values=values)
