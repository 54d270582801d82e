"""Gates that the engine closes or leaves in doubt, and a fall that half a minute has not shown."""

from datetime import timedelta

import pytest

from libexchange.gate import evaluate
from libexchange.gate_contact import contact_seen
from libexchange.gate_opening import opening
from libexchange.gate_window import window
from libexchange.readings import Sample
from tests.libexchange.gate_readings import AT, codes, read

TYPED = "reading-typed-by-hand"


def test_a_gate_that_the_engine_closes_still_names_the_typed_reading() -> None:
    seen = read(3, 40, source="scan_tool_typed", running=False)
    answer = evaluate(kind="level_window", low_c=35, high_c=45, readings=[seen], at=AT)

    assert answer.state == "closed"
    assert codes(answer) == ["gate-engine-state-wrong", TYPED]


def test_a_gate_that_the_engine_closes_keeps_what_else_was_to_be_said() -> None:
    seen = [read(ago, 40 - ago * 0.5, running=False) for ago in range(20, -1, -1)]
    doubtful = [*seen[:10], read(10.5, 60, running=False), *seen[10:]]
    told = {
        running: evaluate(
            kind="level_window", low_c=35, high_c=45, readings=doubtful, at=AT,
            checked_with_engine_running=running,
        )
        for running in (False, True)
    }  # fmt: skip

    assert [told[running].state for running in (False, True)] == ["open", "closed"]
    assert codes(told[False])
    assert codes(told[True]) == ["gate-engine-state-wrong", *codes(told[False])]


def test_a_gate_that_is_closed_already_says_nothing_of_the_engine() -> None:
    seen = read(3, 30, source="scan_tool_typed", running=False)
    answer = evaluate(kind="level_window", low_c=35, high_c=45, readings=[seen], at=AT)

    assert answer.state == "closed"
    assert "gate-engine-state-wrong" not in codes(answer)


def test_an_old_reading_is_overtaken_unless_somebody_says_that_the_engine_is_off() -> None:
    old = [Sample(-240.0, "in_line", 50.0)]
    unsaid = opening(old, below_c=None, maker_high_c=None, protection_confirmed=False)
    off = opening(old, below_c=None, maker_high_c=None, protection_confirmed=False, engine_off=True)

    assert (unsaid.state, unsaid.sample, off.state) == ("unknown", old[0], "open")


def test_the_best_source_is_none_of_the_others() -> None:
    own, other = read(2, 70, source="scan_tool"), read(1, 69, source="clamp_on")
    assert contact_seen([], at=AT) == (None, [], [])

    seen = contact_seen([own, other, read(0, 90, source="dashboard")], at=AT)

    assert [one.at for one in seen.readings] == [AT - timedelta(seconds=2)]
    assert [one.at for one in seen.others] == [AT - timedelta(seconds=1)]


def falls(*values: tuple[float, float]) -> bool:
    """Whether a fall shuts a window of 35 to 45 degC that is read through an overflow plug."""
    samples = [Sample(-age_s, "scan_tool", celsius) for age_s, celsius in values]
    outcome = window(
        samples, edges_c=(35, 45), hold_s=0.5, method="overflow_plug", expected_rate_k_per_min=None
    )
    return outcome.finding is not None and outcome.finding.code == "gate-temperature-falling"


@pytest.mark.parametrize(("apart_s", "shut"), [(1.0, True), (1.5, True), (0.9, False)])
def test_a_fall_is_seen_from_one_second_on(apart_s: float, shut: bool) -> None:
    assert falls((apart_s, 40.0), (0.0, 39.8)) == shut


def test_only_what_fell_in_the_span_counts() -> None:
    """Two readings of the last minute fell by 0.05 K; an older one makes the fall no larger."""
    assert not falls((100.0, 40.05), (8.0, 40.05), (3.0, 40.0))
    assert falls((8.0, 40.15), (3.0, 40.0))
