"""The gate of anything that is opened: how hot the fluid may be, and who says so."""

from collections.abc import Sequence

from libexchange import gate_findings as kinds
from libexchange.findings import Finding, Severity
from libexchange.gate_forecast import Crossing, crossing
from libexchange.gate_outcome import Outcome, remarks_on
from libexchange.reading_checks import checked
from libexchange.readings import ERROR_K, Sample, median_now

COUNTS_S = 300.0
"""How old a temperature may be when something is opened: with the engine off it only falls [s]."""

GLOVES_C, BLOCK_C, HARD_C, STOP_C = 45.0, 60.0, 80.0, 110.0
"""Gloves and shield, nothing opened, in no case without the maker's word, engine off and look for
the cause [degC] (common practice; skin burns from memory)."""


def opening(
    samples: Sequence[Sample],
    *,
    below_c: float | None,
    maker_high_c: float | None,
    protection_confirmed: bool,
) -> Outcome:
    """Whether plug, pan or line may be opened now.

    samples: of sources that may gate, the oldest first [degC]; a clamp-on sensor reads up to 15 K
        low and counts so much hotter
    below_c: open below this without more; null is 60 [degC]
    maker_high_c: the maker's own upper limit for this work, which wins over all of ours where the
        protection is confirmed; null where the maker says nothing [degC]
    Source: common practice.

    >>> hot = [Sample(-30.0, "scan_tool", 75.0)]
    >>> opening(hot, below_c=None, maker_high_c=None, protection_confirmed=True).state
    'closed'
    >>> opening(hot, below_c=None, maker_high_c=93, protection_confirmed=True).state
    'open'
    """
    recent = [_at_hottest(sample) for sample in samples if -sample.seconds <= COUNTS_S]
    if not recent:
        text = "No temperature of the last 5 min can be relied on."
        unknown = kinds.OPENING_TEMPERATURE_UNKNOWN.at("#/readings", text)
        return Outcome("unknown", unknown)
    seen = checked([sample for sample in recent if sample.source == recent[-1].source])
    now = _hotter(median_now(seen.recent), seen.unconfirmed)
    limit_c = BLOCK_C if below_c is None else below_c
    outcome = _judged(now, limit_c, maker_high_c, protection_confirmed)
    opens = (
        crossing(seen.recent, limit_c, rising=False) if outcome.state == "closed" else Crossing()
    )
    return outcome._replace(opens=opens, remarks=(*_heat_remarks(now), *remarks_on(seen)))


def _hotter(now: Sample, unconfirmed: Sample | None) -> Sample:
    """A newest value that nothing confirms yet counts where it is the hotter one."""
    return max(now, unconfirmed or now, key=lambda sample: sample.value)


def _at_hottest(sample: Sample) -> Sample:
    low_k = ERROR_K[sample.source] if sample.source == "clamp_on" else 0.0
    return sample._replace(value=sample.value + low_k)


def _judged(
    now: Sample, limit_c: float, maker_high_c: float | None, protection_confirmed: bool
) -> Outcome:
    values = {"temperature_c": now.value, "below_c": limit_c}
    if now.value < limit_c:
        return Outcome(
            "open", sample=now, text=f"It was at {now.value:.1f} Cel, below {limit_c:g} Cel."
        )
    if maker_high_c is None or now.value > maker_high_c:
        severity: Severity | None = "stop" if now.value > HARD_C else None
        text = f"It was at {now.value:.1f} Cel; it has to be below {limit_c:g} Cel."
        hot = kinds.TOO_HOT_TO_OPEN.at("#/readings", text, values=values, severity=severity)
        return Outcome("closed", hot, sample=now)
    text = f"It was at {now.value:.1f} Cel; the maker allows up to {maker_high_c:g} Cel."
    values |= {"maker_high_c": maker_high_c}
    if protection_confirmed:
        return Outcome(
            "open", kinds.HOT_BY_MAKER.at("#/maker_high", text, values=values), sample=now
        )
    missing = kinds.PROTECTION_MISSING.at("#/protection_confirmed", text, values=values)
    return Outcome("closed", missing, sample=now)


def _heat_remarks(now: Sample) -> list[Finding]:
    text, values = f"It was at {now.value:.1f} Cel.", {"temperature_c": now.value}
    if now.value > STOP_C:
        return [kinds.OVERHEATED.at("#/readings", text, values=values)]
    if now.value >= GLOVES_C:
        return [kinds.GLOVES.at("#/readings", text, values=values)]
    return []
