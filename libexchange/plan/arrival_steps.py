"""The first steps: what is seen on arrival, and whether it may be started or driven before work."""

from collections.abc import Iterator

from libexchange.catalogue import TransmissionProfile
from libexchange.plan.draft import Draft
from libexchange.plan.level_steps import cool_for_level, set_level
from libexchange.plan.request import PlanRequest, Reason, Route

LOOK = "Note odometer, fault codes, level, colour, smell and leaks"
NOT_STARTED: dict[Reason, str] = {
    "wrong_fluid": "Do not start until it is known whether it has run on the wrong fluid",
    "unknown_fluid": "Do not start until it is known what is in it and whether it has run on it",
}
"""What may ruin a unit that runs on it (common practice)."""

THREE_CASES = (
    "not run since it was filled: drain that space before any start; brake fluid, coolant, fuel, "
    "solvent or urea solution: no exchange, tag and tow"
)
DRIVE = "Lower it; drive gently through all gears and reverse; read fault codes"
RAISE = "Raise the vehicle level and secure it"


def before(
    request: PlanRequest, transmission: TransmissionProfile, route: Route
) -> Iterator[Draft]:
    """Everything before the route itself; a level that was off is set before the first drive."""
    yield Draft(kind="arrival_check", title=_arrival(request, transmission))
    yield Draft(kind="raise_vehicle", title=RAISE)
    yield Draft(
        kind="prove_fill_opening", title="Prove that the fill opening loosens; tag wheel and key"
    )
    if level_was_off(request) and _drives(request, transmission) and route != "level_only":
        yield from cool_for_level(transmission)
        yield set_level(transmission, "level_before_drive")
        yield Draft(kind="arrival_check", title=DRIVE)
        yield Draft(kind="raise_vehicle", title=f"{RAISE} again; tag wheel and key")


def level_was_off(request: PlanRequest) -> bool:
    """Whether the level was low or high on arrival.

    >>> from libexchange.invented import routine_request
    >>> level_was_off(routine_request())
    False
    """
    return bool({"level_low_on_arrival", "level_high_on_arrival"} & set(request.conditions))


def _drives(request: PlanRequest, transmission: TransmissionProfile) -> bool:
    """Whether it may be driven before the work, after its level was set where that was off."""
    if request.reason in NOT_STARTED or "no_drive" in request.conditions:
        return False
    return transmission.level.window is not None or not level_was_off(request)


def _arrival(request: PlanRequest, transmission: TransmissionProfile) -> str:
    if request.reason in NOT_STARTED:
        return f"{NOT_STARTED[request.reason]}; {THREE_CASES}. {LOOK}; no drive; keep a sample"
    if not _drives(request, transmission):
        return f"{LOOK}; {_why_no_drive(request)}; keep a sample"
    if level_was_off(request):
        return f"{LOOK}; no drive before the level is set; keep a sample"
    return f"{LOOK}; drive; keep a sample"


def _why_no_drive(request: PlanRequest) -> str:
    if "no_drive" in request.conditions:
        return "no drive"
    return "no drive, since the level was off and cannot be verified without its window"
