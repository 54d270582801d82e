"""Readings to judge a gate by, counted back from one moment, and the codes of an answer."""

from datetime import UTC, datetime, timedelta

from libexchange.gate_outcome import GateAnswer
from libexchange.quantities import Flow, Pressure, Temperature
from libexchange.readings import Reading, Source

AT = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)


def read(
    seconds_ago: float,
    celsius: float | None = None,
    *,
    flow: float | None = None,
    bar: float | None = None,
    source: Source = "scan_tool",
    running: bool | None = None,
    photo: str | None = None,
) -> Reading:
    return Reading(
        at=AT - timedelta(seconds=seconds_ago),
        source=source,
        temperature=None if celsius is None else Temperature(celsius, "Cel"),
        flow=None if flow is None else Flow(flow, "L/min"),
        pressure=None if bar is None else Pressure(bar, "bar"),
        engine_running=running,
        photo=photo,
    )


def flowing(litres: float = 2.0, *, celsius: float = 88, since: int = 20) -> list[Reading]:
    return [read(ago, celsius, flow=litres, source="in_line") for ago in range(0, since + 1, 5)]


def codes(answer: GateAnswer) -> list[str]:
    return [finding.code for finding in answer.findings]
