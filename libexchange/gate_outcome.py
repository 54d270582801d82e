"""What judging a gate arrives at, and what all gates have in common."""

from collections.abc import Sequence
from datetime import datetime
from math import ceil
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange import gate_findings as kinds
from libexchange import reading_findings
from libexchange.fields import Instant
from libexchange.findings import Finding, Kind, Severity
from libexchange.gate_forecast import Crossing, Expected, between, moment
from libexchange.reading_checks import (
    FAST_K_PER_MIN,
    STUCK_S,
    TOO_FAST_K_PER_MIN,
    Checked,
    stuck_k,
    trend,
)
from libexchange.readings import ERROR_K, FRESH_S, Sample, Source, is_fresh

GateState = Literal["closed", "open", "passed", "unknown"]

_SOURCE_REMARKS: dict[Source, Kind] = {
    "clamp_on": reading_findings.CLAMP_ON,
    "scan_tool_typed": reading_findings.TYPED,
}


class GateAnswer(Struct, frozen=True, kw_only=True):
    """The state of a gate at one moment, why, and when it is expected to open and to close.

    `opens_at` and `closes_at` are null where nothing tells them or they lie more than 2 h ahead;
    `opens_between` and `closes_between` are their 90 % intervals where six readings tell them; what
    may happen or not has an interval without its end, and perhaps no expected moment.

    state: closed, open, passed or unknown    reason: in words
    opens_at, closes_at: forecast, null where none can be told
    opens_between, closes_between: 90 % of what they may be    findings: the own one first
    """

    state: GateState
    reason: str
    opens_at: Instant | None
    closes_at: Instant | None
    opens_between: Expected | None
    closes_between: Expected | None
    findings: list[Finding]


class Outcome(NamedTuple):
    """A state with its reason; `text` is the reason where no finding is.

    sample: what decided    remarks: what to know beside it
    """

    state: GateState
    finding: Finding | None = None
    opens: Crossing = Crossing()
    closes: Crossing = Crossing()
    sample: Sample | None = None
    text: str = ""
    remarks: tuple[Finding, ...] = ()


def answer_of(
    outcome: Outcome, remarks: Sequence[Finding], at: datetime, *, photographed: bool = False
) -> GateAnswer:
    """The answer that an outcome makes, its own finding first.

    photographed: whether a photo shows the value, which a typed one should have

    >>> from datetime import UTC
    >>> answer_of(Outcome("open", text="It is warm."), [], datetime(2024, 5, 2, tzinfo=UTC)).reason
    'It is warm.'
    """
    found = [outcome.finding] if outcome.finding else []
    return GateAnswer(
        state=outcome.state,
        reason=outcome.finding.message if outcome.finding else outcome.text,
        opens_at=moment(at, outcome.opens.expected_s),
        closes_at=moment(at, outcome.closes.expected_s),
        opens_between=between(at, outcome.opens),
        closes_between=between(at, outcome.closes),
        findings=[
            *found,
            *_source_remark(outcome.sample, photographed),
            *outcome.remarks,
            *remarks,
        ],
    )


def _source_remark(now: Sample | None, photographed: bool) -> list[Finding]:
    if now is None or now.source not in _SOURCE_REMARKS:
        return []
    kind, error_k = _SOURCE_REMARKS[now.source], ERROR_K[now.source]
    bare = kind is reading_findings.TYPED and not photographed
    text = f"{now.value:.1f} °C, {now.age_s:.0f} s ago{', without a photo' * bare}."
    values = {"temperature_c": now.value, "uncertainty_k": error_k}
    return [kind.at("#/readings", text, values=values, severity="caution" if bare else None)]


def missing(samples: Sequence[Sample]) -> Outcome | None:
    """The outcome where there is no reading, or none young enough; null where there is one.

    >>> missing([]).state, missing([Sample(0.0, "scan_tool", 40.0)])
    ('unknown', None)
    """
    if not samples:
        return unread()
    newest = samples[-1]
    return None if any(map(is_fresh, samples)) else stale(newest, FRESH_S[newest.source])


def unread() -> Outcome:
    """The outcome without any reading to rely on.

    >>> unread().state
    'unknown'
    """
    text = "There is no reading to rely on."
    return Outcome("unknown", kinds.READING_MISSING.at("#/readings", text))


def stale(newest: Sample, limit_s: float) -> Outcome:
    """The outcome where the newest sample is older than it may be.

    >>> stale(Sample(-90.0, "scan_tool", 40.0), 60).finding.values["age_s"]
    90.0
    """
    age_s = -newest.seconds
    values = {"age_s": age_s, "limit_s": limit_s, "source": newest.source}
    text = f"The newest is {ceil(age_s)} s old; at this gate it counts for {limit_s:.0f} s."
    return Outcome("unknown", kinds.READING_STALE.at("#/readings", text, values=values))


def doubtful(
    seen: Checked, *, expected_rate_k_per_min: float | None, falls_fast: bool = False
) -> Outcome | None:
    """The outcome where the readings of a source cannot be true; null where they may be.

    falls_fast: whether cold fluid is fed, so that a fast fall is real

    >>> from libexchange.reading_checks import checked
    >>> row = checked([Sample(-1.0, "scan_tool", 40.0), Sample(0.0, "scan_tool", 60.0)])
    >>> doubtful(row, expected_rate_k_per_min=None).finding.code
    'reading-jumps'
    """
    if seen.unconfirmed is not None:
        return _jumped(seen.recent[-1], seen.unconfirmed)
    rate = _rate_k_per_min(seen)
    if rate > TOO_FAST_K_PER_MIN or (rate < -TOO_FAST_K_PER_MIN and not falls_fast):
        text = f"It changes by {rate:.1f} K/min; up to {TOO_FAST_K_PER_MIN:g} can be true."
        found = reading_findings.CHANGES_TOO_FAST.at("#/readings", text, values={"k_per_min": rate})
        return Outcome("unknown", found)
    expected_k = stuck_k(seen.recent, expected_rate_k_per_min=expected_rate_k_per_min)
    if expected_k is None or seen.recent[-1].source == "scan_tool_typed":
        return None
    text = f"It stands still for {STUCK_S / 60:.0f} min; {expected_k:.1f} K were expected."
    return Outcome(
        "unknown",
        reading_findings.STUCK.at("#/readings", text, values={"expected_k": expected_k}),
    )


def _jumped(before: Sample, now: Sample) -> Outcome:
    text = f"From {before.value:.1f} to {now.value:.1f} °C; nothing confirms it yet."
    values = {"before_c": before.value, "now_c": now.value}
    return Outcome("unknown", reading_findings.JUMPED.at("#/readings", text, values=values))


def _rate_k_per_min(seen: Checked) -> float:
    line = trend(seen.recent)
    return 60 * line.slope_per_s if line else 0.0


def remarks_on(seen: Checked, *, falls_fast: bool = False) -> tuple[Finding, ...]:
    """Spikes that were left out, a jump that was taken as true, and an unusual rate.

    >>> from libexchange.reading_checks import checked
    >>> remarks_on(checked([Sample(0.0, "scan_tool", 40.0)]))
    ()
    """
    found = []
    if seen.spikes:
        text, values = f"{_counted(seen.spikes)}.", {"readings": float(seen.spikes)}
        found.append(reading_findings.SPIKES.at("#/readings", text, values=values))
    if len(seen.recent) < len(seen.kept):
        text = f"It goes on from {seen.recent[0].value:.1f} °C after a jump."
        found.append(reading_findings.JUMPED.at("#/readings", text))
    rate = _rate_k_per_min(seen)
    if rate > FAST_K_PER_MIN or (rate < -FAST_K_PER_MIN and not falls_fast):
        text = f"It changes by {rate:.1f} K/min."
        found.append(
            reading_findings.CHANGES_FAST.at("#/readings", text, values={"k_per_min": rate})
        )
    return tuple(found)


def _counted(readings: int) -> str:
    return f"{readings} reading{'s' * (readings != 1)}"


def not_held(run: Sequence[Sample], hold_s: float, *, least: int = 1) -> Outcome:
    """The outcome of a condition that holds, but not yet long enough or by too few readings.

    >>> not_held([Sample(-4.0, "scan_tool", 40.0)], 10).opens.expected_s
    6.0
    """
    held_s = run[-1].seconds - run[0].seconds
    values = {"held_s": held_s, "hold_s": hold_s, "readings": float(len(run))}
    needed = f"it has to hold for {hold_s:.0f} s."
    if len(run) < least:
        needed = f"it takes {least} over {hold_s:.0f} s."
    text = f"{_counted(len(run))} over {held_s:.0f} s; {needed}"
    finding = kinds.NOT_HELD.at("#/readings", text, values=values)
    opens = Crossing(max(run[0].seconds + hold_s, 0.0))
    return Outcome("closed", finding, opens, sample=run[-1])


def too_cold(now: Sample, low_c: float, warm: Crossing, hold_s: float) -> Outcome:
    """The outcome below the lower edge: when it will be warm, and whether idling gets it there.

    warm: when `low_c` is expected    hold_s: how long it has to hold then [s]

    >>> too_cold(Sample(0.0, "scan_tool", 30.0), 35, Crossing(90.0), 10).opens.expected_s
    100.0
    """
    values = {"temperature_c": now.value, "low_c": low_c}
    text = f"It is at {now.value:.1f} °C, needed are {low_c:g} °C."
    finding = kinds.BELOW_LOW.at("#/low", text, values=values)
    return Outcome(
        "closed", finding, warm.later(hold_s), sample=now, remarks=_stays_shut(low_c, warm)
    )


def _stays_shut(low_c: float, warm: Crossing) -> tuple[Finding, ...]:
    settled = warm.settled
    if settled is None or settled.expected >= low_c:
        return ()
    values = {
        "settles_low_c": settled.low, "settles_c": settled.expected,
        "settles_high_c": settled.high, "low_c": low_c,
    }  # fmt: skip
    surely = settled.high < low_c
    text = (
        f"It settles at {settled.expected:.0f} °C ({settled.low:.0f} to {settled.high:.0f}), "
        f"{'below' if surely else 'probably below'} {low_c:g} °C."
    )
    severity: Severity | None = None if surely else "note"
    return (kinds.STAYS_SHUT.at("#/low", text, values=values, severity=severity),)
