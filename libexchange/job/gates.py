"""The gates of a plan at one moment of a job; openings are judged here, the others by `gate`."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.gate import HORIZON_S, GateAnswer, GateState, evaluate
from libexchange.job.events import CautionAcknowledged
from libexchange.plan.records import Gate
from libexchange.readings import Reading, fitted_line, temperature_samples

HOT_FLUID = "hot-fluid"
"""The caution whose acknowledgement says that hot work is the maker's and protection is worn."""

OPENING_COUNTS_S = 300.0
"""How old a temperature may be when something is opened: with the engine off it only falls [s]."""

TOO_HOT_TO_OPEN = Kind(
    code="opening-too-hot",
    severity="caution",
    title="The fluid is too hot to open anything",
    remedy="Engine off and wait. Where the maker demands hot work, wear the protection and "
    "acknowledge the caution hot-fluid with the reason.",
    source=COMMON_PRACTICE,
)
OPENING_TEMPERATURE_UNKNOWN = Kind(
    code="opening-temperature-unknown",
    severity="caution",
    title="Nobody has read the temperature before opening",
    remedy="Read it with a scan tool or in the line; it counts for 5 min.",
    source=COMMON_PRACTICE,
)
KINDS = (TOO_HOT_TO_OPEN, OPENING_TEMPERATURE_UNKNOWN)
"""Every finding code of an opening."""


def gate_answer(
    gate: Gate,
    *,
    readings: Sequence[Reading],
    acknowledged: Mapping[str, CautionAcknowledged],
    at: datetime,
) -> GateAnswer:
    """Whether a gate of a plan is open at a moment.

    acknowledged: by code; `hot-fluid` opens an opening gate at any temperature
    Source: common practice; the maker's own demand comes first.

    >>> from datetime import UTC
    >>> from libexchange.quantities import Temperature
    >>> gate = Gate(gate_id="gate-open", kind="opening", low=None, high=Temperature(60, "Cel"),
    ...             minimum_flow=None, hold=None, continuing=False, text="")
    >>> at = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
    >>> gate_answer(gate, readings=[], acknowledged={}, at=at).state
    'unknown'
    """
    if gate.kind == "opening":
        return _opening(gate, readings, acknowledged.get(HOT_FLUID), at)
    if gate.kind == "level_window" and (gate.low is None or gate.high is None):
        return _told("unknown", gate.text)
    return evaluate(
        kind=gate.kind,
        low_c=gate.low.c if gate.low else None,
        high_c=gate.high.c if gate.high else None,
        hold_s=gate.hold.s if gate.hold else None,
        readings=readings,
        at=at,
    )


def _opening(
    gate: Gate, readings: Sequence[Reading], hot: CautionAcknowledged | None, at: datetime
) -> GateAnswer:
    if hot is not None:
        return _told("open", f"Hot work was acknowledged by {hot.by}: {hot.reason}")
    samples = temperature_samples(readings, at=at)
    recent = [sample for sample in samples if -sample.seconds <= OPENING_COUNTS_S]
    if not recent or gate.high is None:
        text = "No temperature of the last 5 min can be relied on."
        return _told("unknown", text, OPENING_TEMPERATURE_UNKNOWN.at("#/readings", text))
    now_c, high_c = recent[-1].value, gate.high.c
    if now_c < high_c:
        return _told("open", f"It was at {now_c:.1f} Cel, below {high_c:g} Cel.")
    text = f"It was at {now_c:.1f} Cel; it has to be below {high_c:g} Cel."
    finding = TOO_HOT_TO_OPEN.at(
        "#/readings", text, values={"temperature_c": now_c, "below_c": high_c}
    )
    line = fitted_line([sample for sample in recent if sample.source == recent[-1].source])
    return _told("closed", text, finding, opens_at=_falls_to(high_c, line, at))


def _falls_to(high_c: float, line: tuple[float, float] | None, at: datetime) -> datetime | None:
    """When the temperature is expected at the limit, null unless it falls there within 2 h."""
    if line is None or line[1] >= 0:
        return None
    value_now, slope_per_s = line
    seconds = max((high_c - value_now) / slope_per_s, 0.0)
    try:
        return at + timedelta(seconds=seconds) if seconds <= HORIZON_S else None
    except OverflowError:  # past the year 9999
        return None


def _told(
    state: GateState, reason: str, *findings: Finding, opens_at: datetime | None = None
) -> GateAnswer:
    return GateAnswer(
        state=state, reason=reason, opens_at=opens_at, closes_at=None, findings=list(findings)
    )
