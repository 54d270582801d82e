"""How the level is set on this unit: what to cool down to, with what, by which steps."""

from collections.abc import Iterator

from libexchange.catalogue import LevelMethod, TransmissionProfile
from libexchange.level import FEED_STEP_L, correction_limit_l, step_l
from libexchange.plan.draft import OPEN_BELOW, Draft
from libexchange.plan.heat import cool_below_c
from libexchange.plan.records import Gate, StepKind
from libexchange.quantities import Duration

WINDOW_HOLD = Duration(10, "s")

BY_METHOD: dict[LevelMethod | None, str] = {
    "overflow_plug": "at the plug; new plug seal",
    "overflow_feed": "by feeding up to {at_once_l:g} L at a time through the overflow and letting "
    "it run back to a drip; new plug seal",
    "dipstick": "by the stick",
    "sight": "by the sight tube, glass or read-out",
    "measured_refill": "by putting back exactly what came out, by weight",
    None: "by the maker's method",
}
"""How a level is read, in words."""

ENGINE: dict[bool | None, str] = {
    True: "engine running, every selector position held before and the selector then where the "
    "maker wants it",
    False: "engine off, selector where the maker wants it",
    None: "engine and selector as the maker says",
}
"""How engine and selector stand while the level is looked at (common practice)."""

NOT_VERIFIED = (
    "Put back exactly what came out, by weight; mark the level as not verified and hold the "
    "release until the window is known"
)
NO_WINDOW = (
    "The window is not known: ask the maker's data. The level cannot be verified without it."
)


def at_once_l(transmission: TransmissionProfile) -> float:
    """The most that is added at once where the level is low [L].

    A feed through the overflow needs more to show, a stick no more than half of what lies between
    its marks. Source: common practice.

    >>> from libexchange.invented import six_speed
    >>> at_once_l(six_speed())
    0.3
    """
    level, total_l = transmission.level, transmission.total.l
    if level.method == "overflow_feed":
        return max(FEED_STEP_L, step_l(total_l=total_l))
    if level.method in ("dipstick", "sight") and level.between_marks and level.between_marks.l:
        return min(level.between_marks.l / 2, correction_limit_l(total_l=total_l))
    return step_l(total_l=total_l)


def cool_down(transmission: TransmissionProfile) -> Draft:
    """Below what may be opened, and to where the level window can be read."""
    below_c = cool_below_c(transmission)
    title = f"Engine off; let the fluid cool below {round(below_c, 1):g} °C (this takes time)"
    return Draft(kind="cool_down", title=title)


def cool_for_level(transmission: TransmissionProfile) -> Iterator[Draft]:
    """A wait before a level window that a warm engine would have passed."""
    if cool_below_c(transmission) < OPEN_BELOW.c:
        yield cool_down(transmission)


def set_level(transmission: TransmissionProfile, kind: StepKind = "set_level") -> Draft:
    """The level set in its window, or put back by weight where the window is not known."""
    return Draft(kind=kind, title=_title(transmission), gate=_gate(transmission))


def _title(transmission: TransmissionProfile) -> str:
    level = transmission.level
    if level.window is None:
        return NOT_VERIFIED
    how = BY_METHOD[level.method].format(at_once_l=at_once_l(transmission))
    return f"Set the level inside its temperature window, {ENGINE[level.engine_running]}, {how}"


def _gate(transmission: TransmissionProfile) -> Gate:
    window = transmission.level.window
    text = NO_WINDOW
    if window is not None:
        text = f"Fluid between {window.low.c:g} and {window.high.c:g} °C, read while it holds."
    return Gate(
        gate_id="gate-level",
        kind="level_window",
        low=window.low if window else None,
        high=window.high if window else None,
        minimum_flow=None,
        hold=WINDOW_HOLD,
        continuing=False,
        text=text,
    )
