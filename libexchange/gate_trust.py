"""Which temperatures a gate may go by: sources that contradict one another or the air are out."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import NamedTuple

from libexchange import reading_findings
from libexchange.findings import Finding
from libexchange.reading_checks import apart_k, off_ambient
from libexchange.readings import Reading, Sample, Source, temperature_samples

DISTRUSTED: tuple[Source, ...] = ("scan_tool", "scan_tool_typed", "in_line")
"""Left out when scan tool and line are too far apart; a typed value comes from a scan tool."""


class Stand(NamedTuple):
    """How long a vehicle had stood when its readings began [s], and in what air [degC]."""

    stood_s: float
    ambient_c: float


class Trusted(NamedTuple):
    """The temperatures that may gate, of which sources, and what took the others out."""

    samples: list[Sample]
    sources: list[Source]
    findings: list[Finding]


def trusted(
    known: Collection[Reading],
    *,
    at: datetime,
    sources: Collection[Source],
    stand: Stand | None = None,
) -> Trusted:
    """The temperatures of the sources that nothing contradicts.

    known: readings up to `at`    stand: null where it is not known
    Source: memory.

    >>> from datetime import UTC
    >>> from libexchange.quantities import Temperature
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = Reading(at=at, source="scan_tool", temperature=Temperature(40, "Cel"))
    >>> trusted([seen], at=at, sources=["scan_tool"], stand=Stand(36_000, 10)).samples
    []
    """
    scan, line = (temperature_samples(known, at=at, sources=(s,)) for s in ("scan_tool", "in_line"))
    difference_k = apart_k(scan, line)
    off = _off(known, at, sources, stand)
    out: set[Source] = {sample.source for sample in off}
    if difference_k is not None:
        out.update(DISTRUSTED)
    left = [source for source in sources if source not in out]
    findings = [*_apart(difference_k), *(_off_finding(first, stand) for first in off if stand)]
    return Trusted(temperature_samples(known, at=at, sources=left), left, findings)


def _off(
    known: Collection[Reading], at: datetime, sources: Collection[Source], stand: Stand | None
) -> list[Sample]:
    if stand is None:
        return []
    samples = temperature_samples(known, at=at, sources=sources)
    return off_ambient(samples, ambient_c=stand.ambient_c, stood_s=stand.stood_s)


def _apart(difference_k: float | None) -> Sequence[Finding]:
    if difference_k is None:
        return []
    text = f"They are {difference_k:.0f} K apart, and were for a minute."
    kind, values = reading_findings.SOURCES_DISAGREE, {"apart_k": difference_k}
    return [kind.at("#/readings", text, values=values)]


def _off_finding(first: Sample, stand: Stand) -> Finding:
    text = (
        f"{first.source} began at {first.value:.1f} °C after {stand.stood_s / 3600:.1f} h in air "
        f"of {stand.ambient_c:g} °C."
    )
    values = {"first_c": first.value, "ambient_c": stand.ambient_c, "source": first.source}
    return reading_findings.OFF_AMBIENT.at("#/readings", text, values=values)
