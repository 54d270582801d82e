"""Gates: whether work may go on now, told from timestamped readings of temperature and flow.

A gate is asked for one moment; readings after it are ignored. The answer is the same for any order
of arrival and with exact duplicates.
"""

from collections.abc import Callable, Collection, Iterable
from datetime import datetime
from typing import Literal, NamedTuple

from libexchange import gate_findings as kinds
from libexchange import gate_line, gate_window
from libexchange.catalogue import BypassPlace, LevelMethod
from libexchange.findings import Finding
from libexchange.gate_contact import contact_time
from libexchange.gate_heat import unless_overheated
from libexchange.gate_opening import opening
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of
from libexchange.gate_trust import Stand, Trusted, trusted
from libexchange.reading_checks import STUCK_S
from libexchange.reading_findings import left_out
from libexchange.readings import SOURCES, Reading, Sample, flow_samples, pressure_samples

GateKind = Literal["line_exchange", "level_window", "opening", "contact_time"]


def evaluate(
    *,
    kind: GateKind,
    low_c: float | None,
    high_c: float | None = None,
    hold_s: float | None = None,
    readings: Iterable[Reading],
    at: datetime,
    method: LevelMethod | None = None,
    bypass: BypassPlace | None = None,
    expected_rate_k_per_min: float | None = None,
    maker_high_c: float | None = None,
    protection_confirmed: bool = False,
    checked_with_engine_running: bool = True,
    stand: Stand | None = None,
) -> GateAnswer:
    """Whether a gate is open at a moment.

    kind: `line_exchange` needs `low_c` where the bypass waits for it, and a seen flow of
    0.8 L/min, and closes when either is lost; `level_window` needs a temperature within `low_c` to
    `high_c` that does as `method` wants, passes above `high_c` and arms again below `low_c` or 3 K
    below `high_c`; `opening` needs the fluid below `high_c`, or the maker's word and protection;
    `contact_time` needs the fluid at `low_c` with the engine running for `hold_s`; none is open
    above 110 degC
    low_c, high_c: [degC]; a level window needs both, an opening takes 60 for a null `high_c`
    hold_s: how long it must hold, 20 s of flow, 10 s and 3 readings in the window, 12 min [s]
    at: the moment, with its offset from UTC
    method: of reading the level, null is an overflow plug    bypass: null is in the case
    expected_rate_k_per_min: of a forecast, to know a sensor that stands still [K/min]
    maker_high_c: the maker's own limit of an opening [degC]
    checked_with_engine_running: how the maker wants the level read
    stand: before the readings began, null where it is not known
    Raises: ValueError for a window without an edge, OutOfRange as `contact_time`
    Source: common practice.

    >>> from datetime import UTC
    >>> from libexchange.quantities import Temperature
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = Reading(at=at, source="scan_tool_typed", temperature=Temperature(40, "Cel"))
    >>> evaluate(kind="level_window", low_c=35, high_c=45, readings=[seen], at=at).state
    'open'
    """
    known = {reading for reading in readings if reading.at <= at}
    sources = gate_window.SOURCES if kind == "level_window" else SOURCES
    believed = trusted(known, at=at, sources=sources, stand=stand)
    asked = _Asked(
        known=known,
        at=at,
        low_c=low_c,
        high_c=high_c,
        hold_s=hold_s,
        method=method,
        bypass=bypass,
        expected_rate_k_per_min=_expected_rate(known, at, expected_rate_k_per_min),
        maker_high_c=maker_high_c,
        protection_confirmed=protection_confirmed,
        checked_with_engine_running=checked_with_engine_running,
    )
    outcome = _JUDGES[kind](asked, believed)
    return _answer(outcome, believed, asked, left_out(known, sources=sources))


class _Asked(NamedTuple):
    """What `evaluate` was asked, with the readings up to the moment."""

    known: set[Reading]
    at: datetime
    low_c: float | None
    high_c: float | None
    hold_s: float | None
    method: LevelMethod | None
    bypass: BypassPlace | None
    expected_rate_k_per_min: float | None
    maker_high_c: float | None
    protection_confirmed: bool
    checked_with_engine_running: bool


def _expected_rate(
    known: Collection[Reading], at: datetime, given_k_per_min: float | None
) -> float | None:
    """Without a forecast nothing is expected of a temperature once the engine has stopped."""
    recent = (r for r in known if (at - r.at).total_seconds() <= STUCK_S)
    stopped = any(reading.engine_running is False for reading in recent)
    return 0.0 if given_k_per_min is None and stopped else given_k_per_min


def _answer(outcome: Outcome, believed: Trusted, asked: _Asked, left: list[Finding]) -> GateAnswer:
    """A contradiction is the reason where it left nothing to judge by, else it is told beside."""
    remarks = [*believed.findings, *left]
    if believed.findings and not believed.samples and outcome.state == "unknown":
        outcome = outcome._replace(finding=remarks.pop(0))
    return answer_of(outcome, remarks, asked.at, photographed=_photographed(asked, outcome))


def _photographed(asked: _Asked, outcome: Outcome) -> bool:
    """Whether the typed value that decided has a photo."""
    now = outcome.sample
    return now is not None and any(
        reading.photo is not None and _is_of(reading, now, asked) for reading in asked.known
    )


def _is_of(reading: Reading, sample: Sample, asked: _Asked) -> bool:
    """Whether a sample comes from a reading."""
    at_once = (reading.at - asked.at).total_seconds() == sample.seconds
    return at_once and reading.source == sample.source and reading.temperature is not None


def _said_of_engine(asked: _Asked, now: Sample) -> set[bool | None]:
    """What is said of the engine with a sample and after it; null is a sample without a word."""
    return {
        reading.engine_running
        for reading in asked.known
        if _is_of(reading, now, asked)
        or (
            reading.engine_running is not None
            and (reading.at - asked.at).total_seconds() >= now.seconds
        )
    }


def _line(asked: _Asked, believed: Trusted) -> Outcome:
    return gate_line.line(
        believed.samples,
        flow_samples(asked.known, at=asked.at),
        pressure_samples(asked.known, at=asked.at),
        low_c=asked.low_c,
        high_c=asked.high_c,
        hold_s=gate_line.HOLD_S if asked.hold_s is None else asked.hold_s,
        bypass=asked.bypass,
        expected_rate_k_per_min=asked.expected_rate_k_per_min,
    )


def _window(asked: _Asked, believed: Trusted) -> Outcome:
    if asked.low_c is None or asked.high_c is None:
        raise ValueError("a level window needs both its edges")
    outcome = gate_window.window(
        believed.samples,
        edges_c=(asked.low_c, asked.high_c),
        hold_s=gate_window.HOLD_S if asked.hold_s is None else asked.hold_s,
        method=asked.method,
        expected_rate_k_per_min=asked.expected_rate_k_per_min,
    )
    return unless_overheated(_with_engine(outcome, asked))


def _with_engine(outcome: Outcome, asked: _Asked) -> Outcome:
    """A level is not read while the engine is said to be in the other state."""
    now, wanted = outcome.sample, asked.checked_with_engine_running
    if outcome.state != "open" or now is None or asked.method == "measured_refill":
        return outcome
    said = _said_of_engine(asked, now)
    if wanted in said or (not wanted) not in said:
        return outcome
    text = f"The engine is {'off' if wanted else 'on'} and has to be {'on' if wanted else 'off'}."
    found = kinds.ENGINE_STATE.at("#/readings", text)
    return Outcome("closed", found, sample=now, remarks=outcome.remarks)


def _opening(asked: _Asked, believed: Trusted) -> Outcome:
    newest = believed.samples[-1] if believed.samples else None
    return opening(
        believed.samples,
        below_c=asked.high_c,
        maker_high_c=asked.maker_high_c,
        protection_confirmed=asked.protection_confirmed,
        engine_off=newest is not None and _said_of_engine(asked, newest) == {False},
        expected_rate_k_per_min=asked.expected_rate_k_per_min,
    )


def _contact(asked: _Asked, believed: Trusted) -> Outcome:
    usable = [reading for reading in asked.known if reading.source in believed.sources]
    return unless_overheated(
        contact_time(usable, at=asked.at, operating_c=asked.low_c, needed_s=asked.hold_s)
    )


_JUDGES: dict[GateKind, Callable[[_Asked, Trusted], Outcome]] = {
    "line_exchange": _line,
    "level_window": _window,
    "opening": _opening,
    "contact_time": _contact,
}
