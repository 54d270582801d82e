"""Gates: whether work may go on now, told from timestamped readings of temperature and flow.

A gate is asked for one moment; readings after it are ignored. The answer is the same for any order
of arrival and with exact duplicates.
"""

from collections.abc import Callable, Collection, Iterable
from datetime import datetime
from typing import Literal, NamedTuple

from libexchange import gate_line, gate_window, reading_findings
from libexchange.catalogue import BypassPlace, LevelMethod
from libexchange.findings import Finding
from libexchange.gate_contact import contact_time
from libexchange.gate_opening import opening
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of
from libexchange.reading_checks import apart_k
from libexchange.reading_findings import left_out
from libexchange.readings import (
    SOURCES,
    Reading,
    Sample,
    Source,
    flow_samples,
    pressure_samples,
    temperature_samples,
)

GateKind = Literal["line_exchange", "level_window", "opening", "contact_time"]
DISTRUSTED: tuple[Source, ...] = ("scan_tool", "scan_tool_typed", "in_line")
"""Left out when scan tool and line are too far apart; a typed value comes from a scan tool."""


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
) -> GateAnswer:
    """Whether a gate is open at a moment.

    kind: `line_exchange` needs `low_c` where the bypass waits for it, and a seen flow of
    0.8 L/min, and closes when either is lost; `level_window` needs a temperature within `low_c` to
    `high_c` that does as `method` wants, passes above `high_c` and arms again below `low_c` or 3 K
    below `high_c`; `opening` needs the fluid below `high_c`, or the maker's word and protection;
    `contact_time` needs the fluid at `low_c` with the engine running for `hold_s`
    low_c, high_c: [degC]; a level window needs both, an opening takes 60 for a null `high_c`
    hold_s: how long it must hold, 20 s of flow, 10 s and 3 readings in the window, 12 min [s]
    at: the moment, with its offset from UTC
    method: of reading the level, null is an overflow plug    bypass: null is in the case
    expected_rate_k_per_min: of a forecast, to know a sensor that stands still [K/min]
    maker_high_c: the maker's own limit of an opening [degC]
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
    trusted = _trusted(known, at, sources)
    asked = _Asked(
        known=known,
        at=at,
        low_c=low_c,
        high_c=high_c,
        hold_s=hold_s,
        method=method,
        bypass=bypass,
        expected_rate_k_per_min=expected_rate_k_per_min,
        maker_high_c=maker_high_c,
        protection_confirmed=protection_confirmed,
    )
    outcome = _JUDGES[kind](asked, trusted)
    return _answer(outcome, trusted, left_out(known, sources=sources), at)


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


class _Trusted(NamedTuple):
    """The temperatures that may gate, of which sources, and what took the others out."""

    samples: list[Sample]
    sources: list[Source]
    finding: Finding | None


def _trusted(known: Collection[Reading], at: datetime, sources: Collection[Source]) -> _Trusted:
    """Both scan tool and line are out where they contradict each other."""
    scan, line = (temperature_samples(known, at=at, sources=(s,)) for s in ("scan_tool", "in_line"))
    difference_k = apart_k(scan, line)
    finding = None
    if difference_k is not None:
        sources = [source for source in sources if source not in DISTRUSTED]
        text = f"They are {difference_k:.0f} K apart, and were for a minute."
        finding = reading_findings.SOURCES_DISAGREE.at(
            "#/readings", text, values={"apart_k": difference_k}
        )
    samples = temperature_samples(known, at=at, sources=sources)
    return _Trusted(samples, list(sources), finding)


def _answer(
    outcome: Outcome, trusted: _Trusted, remarks: list[Finding], at: datetime
) -> GateAnswer:
    """The contradiction is the reason where it left nothing to judge by, else it is told beside."""
    if trusted.finding is None:
        return answer_of(outcome, remarks, at)
    if not trusted.samples and outcome.state == "unknown":
        return answer_of(outcome._replace(finding=trusted.finding), remarks, at)
    return answer_of(outcome, [trusted.finding, *remarks], at)


def _line(asked: _Asked, trusted: _Trusted) -> Outcome:
    return gate_line.line(
        trusted.samples,
        flow_samples(asked.known, at=asked.at),
        pressure_samples(asked.known, at=asked.at),
        low_c=asked.low_c,
        high_c=asked.high_c,
        hold_s=gate_line.HOLD_S if asked.hold_s is None else asked.hold_s,
        bypass=asked.bypass,
        expected_rate_k_per_min=asked.expected_rate_k_per_min,
    )


def _window(asked: _Asked, trusted: _Trusted) -> Outcome:
    if asked.low_c is None or asked.high_c is None:
        raise ValueError("a level window needs both its edges")
    return gate_window.window(
        trusted.samples,
        edges_c=(asked.low_c, asked.high_c),
        hold_s=gate_window.HOLD_S if asked.hold_s is None else asked.hold_s,
        method=asked.method,
        expected_rate_k_per_min=asked.expected_rate_k_per_min,
    )


def _opening(asked: _Asked, trusted: _Trusted) -> Outcome:
    return opening(
        trusted.samples,
        below_c=asked.high_c,
        maker_high_c=asked.maker_high_c,
        protection_confirmed=asked.protection_confirmed,
    )


def _contact(asked: _Asked, trusted: _Trusted) -> Outcome:
    usable = [reading for reading in asked.known if reading.source in trusted.sources]
    return contact_time(usable, at=asked.at, operating_c=asked.low_c, needed_s=asked.hold_s)


_JUDGES: dict[GateKind, Callable[[_Asked, _Trusted], Outcome]] = {
    "line_exchange": _line,
    "level_window": _window,
    "opening": _opening,
    "contact_time": _contact,
}
