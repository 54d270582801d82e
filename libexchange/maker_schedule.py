"""How much of the maker's schedule is used up, and which of its limits cannot be applied."""

from collections.abc import Sequence

from libexchange import interval_findings as kinds
from libexchange.findings import Finding
from libexchange.interval_measures import Measure
from libexchange.use_case import PastService, UseCase

LEAST_SHARE = 0.2
"""Less than a drain renews: such a service does not begin the maker's interval anew [-]."""


def last_full(services: Sequence[PastService]) -> int | None:
    """Place of the last service from which the maker's schedule counts, null where there is none.

    services: the oldest first
    Source: common practice.

    >>> from datetime import date
    >>> day = date(2024, 5, 2)
    >>> two = [PastService(service_date=day, fresh_share=share) for share in (0.2, 0.1)]
    >>> last_full(two)
    0
    """
    places = [at for at, service in enumerate(services) if service.fresh_share >= LEAST_SHARE]
    return max(places, default=None)


def maker_used(measure: Measure, services: Sequence[PastService]) -> float | None:
    """Use since the last service that counts, or since 0; null where today's reading is missing.

    >>> maker_used(Measure("km", ["#/odometer"], [100_000.0], 160_000.0, 60_000.0, None), [])
    100000.0
    """
    if measure.readings[-1] is None:
        return None
    last, steps = last_full(services), measure.steps()
    if last is not None:
        return sum(steps[last:])
    first = next(reading for reading in measure.readings if reading is not None)
    return first + sum(steps)


def maker_reasons(case: UseCase, services: Sequence[PastService]) -> list[str]:
    """From where the maker's schedule counts, where that is not the last service."""
    last = last_full(services)
    if case.maker is None or (services and last == len(services) - 1):
        return []
    start = "from new" if last is None else f"from the service of {services[last].service_date}"
    small = f" A service that renews less than {LEAST_SHARE:g} does not begin it anew."
    return [f"The maker's schedule counts {start}.{small * bool(services)}"]


def not_applied(
    case: UseCase, services: Sequence[PastService], measured: Sequence[Measure]
) -> list[Finding]:
    """Limits of the maker's schedule that nothing is known to count by."""
    words = {"km": "distance", "h": "engine hours"}
    missing = [
        words[measure.unit]
        for measure in measured
        if measure.maker is not None and measure.readings[-1] is None
    ]
    if case.maker and case.maker.months is not None and last_full(services) is None:
        missing.append("months")
    if not missing:
        return []
    names = ", ".join(missing)
    text = f"Not counted: {names}."
    return [kinds.SCHEDULE_NOT_APPLIED.at("#/maker", text, values={"missing": names})]
