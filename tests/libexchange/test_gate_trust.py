"""Edge case 30: after a long stand the first reading tells whether a sensor is to be believed."""

import pytest

from libexchange.gate import evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.gate_trust import Stand
from libexchange.reading_checks import off_ambient
from libexchange.readings import Reading, Sample
from tests.libexchange.gate_readings import AT, codes, read

NIGHT = Stand(stood_s=8 * 3600 + 1, ambient_c=10)


def level(*readings: Reading, stand: Stand | None = NIGHT) -> GateAnswer:
    return evaluate(kind="level_window", low_c=5, high_c=45, readings=readings, at=AT, stand=stand)


def began(celsius: float) -> list[Reading]:
    return [read(ago, celsius) for ago in (0, 5, 10)]


@pytest.mark.parametrize(
    ("celsius", "state"), [(18, "open"), (18.1, "unknown"), (2.0, "closed"), (1.9, "unknown")]
)
def test_case_30_a_sensor_eight_kelvin_off_the_air_after_a_night_is_out(
    celsius: float, state: str
) -> None:
    answer = level(*began(celsius))

    assert answer.state == state
    assert ("reading-off-ambient-after-stand" in codes(answer)) is (state == "unknown")


def test_the_reason_names_source_and_temperatures() -> None:
    answer = level(*began(40))

    assert codes(answer) == ["reading-off-ambient-after-stand"]
    assert answer.reason == "scan_tool began at 40.0 °C after 8.0 h in air of 10 °C."
    assert answer.findings[0].values == {"first_c": 40, "ambient_c": 10, "source": "scan_tool"}


@pytest.mark.parametrize("stand", [None, Stand(stood_s=8 * 3600, ambient_c=10)])
def test_a_short_or_unknown_stand_tells_nothing(stand: Stand | None) -> None:
    assert level(*began(40), stand=stand).state == "open"


def test_only_the_first_reading_is_compared_with_the_air() -> None:
    answer = level(read(1200, 10), *began(40))

    assert (answer.state, codes(answer)) == ("open", [])


def test_another_source_that_began_at_the_air_still_tells() -> None:
    answer = evaluate(
        kind="opening", low_c=None, at=AT, stand=NIGHT,
        readings=[read(5, 70), read(0, 12, source="clamp_on")],
    )  # fmt: skip

    assert answer.state == "open"
    assert "reading-off-ambient-after-stand" in codes(answer)


@pytest.mark.parametrize(("after_s", "off"), [(60, True), (60.1, False)])
def test_a_source_that_begins_a_minute_later_is_not_judged(after_s: float, off: bool) -> None:
    samples = [Sample(0.0, "clamp_on", 10), Sample(after_s, "scan_tool", 40)]

    found = off_ambient(samples, ambient_c=10, stood_s=36_000)
    assert found == ([samples[1]] if off else [])


def test_nothing_read_is_nothing_off() -> None:
    assert off_ambient([], ambient_c=10, stood_s=36_000) == []
