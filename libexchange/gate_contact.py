"""The gate of a cleaner's contact time: it opens when the cleaner has acted long enough."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from libexchange import contact as timer
from libexchange import gate_findings as kinds
from libexchange.contact import Contact, ContactReading
from libexchange.gate_forecast import Crossing
from libexchange.gate_outcome import Outcome, stale, unread
from libexchange.quantities import Temperature
from libexchange.readings import (
    SOURCES,
    Reading,
    Sample,
    blind_in_line,
    of_best_source,
    plausible,
    temperature_samples,
)


def contact_time(
    readings: Iterable[Reading],
    *,
    at: datetime,
    operating_c: float | None = None,
    needed_s: float | None = None,
) -> Outcome:
    """Whether the cleaner has acted long enough and not too long.

    The timer runs while the engine runs and the fluid is warm enough, and pauses with either.

    readings: up to `at`; only the best source counts
    operating_c: 20 to 120, null is 60 [degC]    needed_s: 60 to 3,600, null is 12 min [s]
    Raises: OutOfRange    Source: common practice.

    >>> from datetime import UTC
    >>> contact_time([], at=datetime(2024, 5, 2, 9, 0, tzinfo=UTC)).state
    'unknown'
    """
    operating_c = timer.OPERATING_C if operating_c is None else operating_c
    needed_s = timer.NEEDED_S if needed_s is None else needed_s
    newest, seen, others = contact_seen(readings, at=at)
    if newest is None:
        return unread()
    found = timer.contact(seen, needed_s=needed_s, operating_c=operating_c, until=at, others=others)
    if -newest.seconds > timer.LONGEST_GAP_S and found.state != "too_long":
        return stale(newest, timer.LONGEST_GAP_S)
    return _judged(found, newest, operating_c, needed_s)


class ContactSeen(NamedTuple):
    """What a timer goes by: the newest temperature, null without one, and all of its source.

    others: of other sources, which tell only how long the fluid has been warm
    """

    newest: Sample | None
    readings: list[ContactReading]
    others: list[ContactReading]


def contact_seen(readings: Iterable[Reading], *, at: datetime) -> ContactSeen:
    """What the best source saw up to `at`; dashboard and infrared tell nothing of the fluid.

    Source: common practice.

    >>> from datetime import UTC
    >>> contact_seen([], at=datetime(2024, 5, 2, 9, 0, tzinfo=UTC))
    ContactSeen(newest=None, readings=[], others=[])
    """
    known = [r for r in readings if r.at <= at and plausible(r) and not blind_in_line(r)]
    own = of_best_source(temperature_samples(known, at=at))
    if not own:
        return ContactSeen(None, [], [])
    newest = own[-1]
    told = [(r.source, _seen(r, r.temperature)) for r in known if r.temperature]
    return ContactSeen(
        newest,
        [seen for source, seen in told if source == newest.source],
        [seen for source, seen in told if source != newest.source and source in SOURCES],
    )


def _seen(reading: Reading, temperature: Temperature) -> ContactReading:
    running = reading.engine_running is not False
    return ContactReading(at=reading.at, temperature=temperature, engine_running=running)


def _judged(found: Contact, newest: Sample, operating_c: float, needed_s: float) -> Outcome:
    text = f"It has acted for {found.counted_s / 60:.1f} of {needed_s / 60:g} min."
    values = {"counted_s": found.counted_s, "needed_s": needed_s, "pauses": float(found.pauses)}
    if found.state == "too_long":
        text += (
            f" It has been in warm fluid for {found.in_warm_s / 60:.1f} min, "
            f"{found.unseen_s / 60:.1f} of them unseen; after {found.limit_s / 60:g} min it has to "
            "be out."
        )
        values |= {
            "in_warm_s": found.in_warm_s,
            "unseen_s": found.unseen_s,
            "limit_s": found.limit_s,
        }
        over = kinds.TIMER_EXCEEDED.at("#/hold", text, values=values)
        return Outcome("passed", over, sample=newest)
    if found.state == "done":
        return Outcome("open", text=text, sample=newest, closes=Crossing(found.left_s))
    if found.state == "running":
        enough_s = max(needed_s - found.counted_s + newest.seconds, 0.0)
        opens = Crossing(enough_s) if enough_s <= found.left_s else Crossing()
        runs = kinds.TIMER_RUNS.at("#/hold", text, values=values)
        return Outcome("closed", runs, opens, sample=newest)
    if newest.value < operating_c:
        cold = f"It is at {newest.value:.1f} °C, needed are {operating_c:g} °C. {text}"
        values |= {"temperature_c": newest.value, "low_c": operating_c}
        return Outcome("closed", kinds.BELOW_LOW.at("#/low", cold, values=values), sample=newest)
    paused = kinds.TIMER_PAUSED.at("#/readings", text, values=values)
    return Outcome("closed", paused, sample=newest)
