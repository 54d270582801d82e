"""The gate of a cleaner's contact time: it opens when the cleaner has acted long enough."""

from collections.abc import Iterable
from datetime import datetime

from libexchange import contact as timer
from libexchange import gate_findings as kinds
from libexchange.contact import Contact, ContactReading
from libexchange.gate_forecast import Crossing
from libexchange.gate_outcome import Outcome, stale, unread
from libexchange.quantities import Temperature
from libexchange.readings import (
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
    known = [r for r in readings if plausible(r) and not blind_in_line(r)]
    own = of_best_source(temperature_samples(known, at=at))
    if not own:
        return unread()
    newest = own[-1]
    if -newest.seconds > timer.LONGEST_GAP_S:
        return stale(newest, timer.LONGEST_GAP_S)
    seen = [_seen(r, r.temperature) for r in known if r.temperature and r.source == newest.source]
    found = timer.contact(seen, needed_s=needed_s, operating_c=operating_c)
    return _judged(found, newest, operating_c, needed_s)


def _seen(reading: Reading, temperature: Temperature) -> ContactReading:
    running = reading.engine_running is not False
    return ContactReading(at=reading.at, temperature=temperature, engine_running=running)


def _judged(found: Contact, newest: Sample, operating_c: float, needed_s: float) -> Outcome:
    text = f"It has acted for {found.counted_s / 60:.1f} of {needed_s / 60:g} min."
    values = {"counted_s": found.counted_s, "needed_s": needed_s, "pauses": float(found.pauses)}
    left_s = timer.TOO_LONG_S - found.counted_s + newest.seconds
    if found.state == "too_long":
        over = kinds.TIMER_EXCEEDED.at("#/hold", text, values=values)
        return Outcome("passed", over, sample=newest)
    if found.state == "done":
        return Outcome("open", text=text, sample=newest, closes=Crossing(max(left_s, 0.0)))
    if found.state == "running":
        opens = Crossing(max(needed_s - found.counted_s + newest.seconds, 0.0))
        runs = kinds.TIMER_RUNS.at("#/hold", text, values=values)
        return Outcome("closed", runs, opens, sample=newest)
    if newest.value < operating_c:
        cold = f"It is at {newest.value:.1f} Cel, needed are {operating_c:g} Cel. {text}"
        values |= {"temperature_c": newest.value, "low_c": operating_c}
        return Outcome("closed", kinds.BELOW_LOW.at("#/low", cold, values=values), sample=newest)
    paused = kinds.TIMER_PAUSED.at("#/readings", text, values=values)
    return Outcome("closed", paused, sample=newest)
