"""The gate of anything that is opened: how hot the fluid may be, and who says so."""

from collections.abc import Sequence

from libexchange import gate_findings as kinds
from libexchange.findings import Finding, Severity, Value
from libexchange.gate_forecast import Crossing, crossing
from libexchange.gate_heat import STOP_C, unless_overheated
from libexchange.gate_outcome import Outcome, doubtful, remarks_on
from libexchange.reading_checks import LARGEST_RISE_K_PER_MIN, checked
from libexchange.readings import ERROR_K, FRESH_S, Sample, median_now

COUNTS_S = 300.0
"""How old a temperature may be when something is opened, a typed one only 60 s [s].

With the engine off it only falls; else the fluid counts as warming up by 4 K/min since.
"""

GLOVES_C, BLOCK_C, HARD_C = 45.0, 60.0, 80.0
"""Gloves and shield, nothing opened, in no case without the maker's word [degC] (common practice;
skin burns from memory)."""


def opening(
    samples: Sequence[Sample],
    *,
    below_c: float | None,
    maker_high_c: float | None,
    protection_confirmed: bool,
    engine_off: bool = False,
    expected_rate_k_per_min: float | None = None,
) -> Outcome:
    """Whether plug, pan or line may be opened now.

    samples: of sources that may gate, the oldest first [degC]; a clamp-on sensor reads up to 15 K
        low and counts so much hotter
    below_c: open below this without more; null is 60 [degC]
    maker_high_c: the maker's own upper limit for this work, which wins over ours, above it where
        the protection is confirmed and never above 110; null where the maker says nothing [degC]
    engine_off: whether the newest sample came with the word that the engine is off
    expected_rate_k_per_min: of a forecast, to know a sensor that stands still; with the engine off
        a still temperature alone is no sign of one [K/min]
    Source: common practice.

    >>> hot = [Sample(-30.0, "scan_tool", 75.0)]
    >>> opening(hot, below_c=None, maker_high_c=None, protection_confirmed=True).state
    'closed'
    >>> opening(hot, below_c=None, maker_high_c=93, protection_confirmed=True).state
    'open'
    """
    recent = [_at_hottest(sample) for sample in samples if sample.age_s <= _counts_s(sample)]
    if not recent:
        text = "No temperature of the last 5 min can be relied on."
        unknown = kinds.OPENING_TEMPERATURE_UNKNOWN.at("#/readings", text)
        return Outcome("unknown", unknown)
    seen = checked([sample for sample in recent if sample.source == recent[-1].source])
    now = _hotter(median_now(seen.recent), seen.unconfirmed)
    limit_c = BLOCK_C if below_c is None else below_c
    outcome = _judged(now, limit_c, maker_high_c, protection_confirmed)
    rate = expected_rate_k_per_min or 0.0
    doubt = doubtful(seen._replace(unconfirmed=None), expected_rate_k_per_min=rate)
    if outcome.state == "open" and doubt:
        return doubt
    up_to_c = _up_to_c(limit_c, maker_high_c, protection_confirmed)
    opens, closes = _times(seen.recent, now, up_to_c)
    remarks = (*_gloves(now), *remarks_on(seen))
    by_now = now if engine_off else _risen(now)
    still = _judged(by_now, limit_c, maker_high_c, protection_confirmed).state == "open"
    if outcome.state == "open" and not (still and closes.expected_s != 0):
        return _overtaken(now, by_now, up_to_c, still=still)._replace(remarks=remarks)
    return unless_overheated(outcome._replace(opens=opens, closes=closes, remarks=remarks))


def _counts_s(sample: Sample) -> float:
    return FRESH_S[sample.source] if sample.source == "scan_tool_typed" else COUNTS_S


def _risen(now: Sample) -> Sample:
    """As hot as the fluid may have become since, with an engine that nobody knows to be off."""
    return now._replace(value=now.value + LARGEST_RISE_K_PER_MIN * now.age_s / 60)


def _overtaken(now: Sample, by_now: Sample, up_to_c: float, *, still: bool) -> Outcome:
    """It was cool enough when it was read, and may not be so any more."""
    text = f"It was at {now.value:.1f} °C {now.age_s:.0f} s ago and "
    text += (
        f"rises, so that it is at {up_to_c:g} °C by now." if still
        else f"may be at {by_now.value:.1f} by now: nobody says that the engine is off."
    )  # fmt: skip
    values = {"temperature_c": now.value, "age_s": now.age_s, "by_now_c": by_now.value,
              "up_to_c": up_to_c}  # fmt: skip
    return Outcome("unknown", kinds.READING_STALE.at("#/readings", text, values=values), sample=now)


def _up_to_c(limit_c: float, maker_high_c: float | None, protection_confirmed: bool) -> float:
    """Up to where it is open, as things stand."""
    if maker_high_c is None:
        return limit_c
    return min(maker_high_c, STOP_C if protection_confirmed else limit_c)


def _times(recent: Sequence[Sample], now: Sample, up_to_c: float) -> tuple[Crossing, Crossing]:
    """When it opens by cooling down, or closes by warming up."""
    if now.value > up_to_c:
        return crossing(recent, up_to_c, rising=False), Crossing()
    return Crossing(), crossing(recent, up_to_c)


def _hotter(now: Sample, unconfirmed: Sample | None) -> Sample:
    """A newest value that nothing confirms yet counts where it is the hotter one."""
    return max(now, unconfirmed or now, key=lambda sample: sample.value)


def _at_hottest(sample: Sample) -> Sample:
    low_k = ERROR_K[sample.source] if sample.source == "clamp_on" else 0.0
    return sample._replace(value=sample.value + low_k)


def _judged(
    now: Sample, limit_c: float, maker_high_c: float | None, protection_confirmed: bool
) -> Outcome:
    values: dict[str, Value] = {"temperature_c": now.value, "below_c": limit_c}
    allowed = maker_high_c is not None and now.value <= maker_high_c
    if now.value < limit_c and (allowed or maker_high_c is None):
        return Outcome(
            "open", sample=now, text=f"It was at {now.value:.1f} °C, below {limit_c:g} °C."
        )
    if maker_high_c is None:
        text = f"It was at {now.value:.1f} °C; it has to be below {limit_c:g} °C."
        return _too_hot(now, text, values)
    values |= {"maker_high_c": maker_high_c}
    text = f"It was at {now.value:.1f} °C; the maker allows up to {maker_high_c:g} °C."
    if not allowed:
        return _too_hot(now, text, values)
    if protection_confirmed:
        return Outcome(
            "open", kinds.HOT_BY_MAKER.at("#/maker_high", text, values=values), sample=now
        )
    missing = kinds.PROTECTION_MISSING.at("#/protection_confirmed", text, values=values)
    return Outcome("closed", missing, sample=now)


def _too_hot(now: Sample, text: str, values: dict[str, Value]) -> Outcome:
    severity: Severity | None = "stop" if now.value > HARD_C else None
    hot = kinds.TOO_HOT_TO_OPEN.at("#/readings", text, values=values, severity=severity)
    return Outcome("closed", hot, sample=now)


def _gloves(now: Sample) -> list[Finding]:
    if not GLOVES_C <= now.value <= STOP_C:
        return []
    text, values = f"It was at {now.value:.1f} °C.", {"temperature_c": now.value}
    return [kinds.GLOVES.at("#/readings", text, values=values)]
