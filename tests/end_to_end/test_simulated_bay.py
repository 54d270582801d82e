"""The simulated bay: verdicts of the real service held against what is true of the vehicle."""

from collections.abc import Iterator
from dataclasses import replace

import httpx
import pytest

from examples.simulated_bay import job as jobs
from examples.simulated_bay.__main__ import main, play
from examples.simulated_bay.instruments import Instruments
from examples.simulated_bay.job import Outcome, run_job
from examples.simulated_bay.scenario import FAULTS, SLIPPED_KINDS, Conduct, Scenario, draw
from examples.simulated_bay.tally import (
    conclusions,
    met,
    put_to_verdict,
    routine,
    table,
    upper_bound,
)
from tests.end_to_end.conftest import Served

SEED, JOBS = 1, 40
WORKSHOP = "Invented workshop Alder"


@pytest.fixture(scope="module")
def outcomes(served: Served) -> list[Outcome]:
    return play(served.url, served.keys[WORKSHOP], seed=SEED, jobs=JOBS)


@pytest.fixture
def client(served: Served) -> Iterator[httpx.Client]:
    with served.client(WORKSHOP) as client:
        yield client


def fault_job(fault: str, conduct: Conduct = "careful") -> Scenario:
    """The first job of the seed with a fault, with a signal everywhere and nothing else wrong."""
    found = next(one for n in range(500) if (one := draw(SEED, n)).fault == fault)
    return replace(
        found, conduct=conduct, offline=0.0, repairs=False, level_on_arrival_l=0.15, slope_deg=0.0,
        leak_ml_per_min=2.0,
    )  # fmt: skip


def worked(client: httpx.Client, monkeypatch: pytest.MonkeyPatch, scenario: Scenario) -> Outcome:
    monkeypatch.setattr(jobs, "draw", lambda _seed, _number: scenario)
    return run_job(client, SEED, 0)


def test_a_small_run_has_no_unsafe_outcome(outcomes: list[Outcome]) -> None:
    assert [one for one in outcomes if one.unsafe_accepted] == []
    assert sum(one.accepted for one in outcomes) > JOBS / 2
    assert len({one.fault for one in outcomes}) > 5
    assert put_to_verdict(outcomes)


def test_the_same_seed_comes_to_the_same(served: Served, outcomes: list[Outcome]) -> None:
    again = play(served.url, served.keys[WORKSHOP], seed=SEED, jobs=8, at_once=1)

    assert again == outcomes[:8]
    assert draw(SEED + 1, 0) != draw(SEED, 0)


def test_a_leak_that_nobody_sees_is_hidden_from_the_service(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The truth does not follow what was written down."""
    honest = worked(client, monkeypatch, fault_job("leak"))
    monkeypatch.setattr(Instruments, "leak_seen", lambda _self, _minutes: False)
    unseen = worked(client, monkeypatch, fault_job("leak"))

    assert (honest.told, honest.accepted, honest.put_to_verdict) == (("leak",), False, False)
    assert (unseen.unsafe, unseen.told, unseen.accepted) == (("leak",), (), True)
    assert (unseen.hidden_from_service, unseen.unsafe_accepted) == (True, False)
    assert "recorded): 1, of which accepted: 1" in "\n".join(conclusions([unseen]))


def test_coolant_that_no_check_finds_is_hidden_from_the_service(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    for check in ("strip_positive", "crackles", "looks_milky"):
        monkeypatch.setattr(Instruments, check, lambda _self: False)
    unseen = worked(client, monkeypatch, fault_job("coolant"))

    assert (unseen.unsafe, unseen.hidden) == (("coolant",), ("coolant",))


@pytest.mark.parametrize(
    ("fault", "conduct", "told"),
    [
        ("coolant", "goes_on", "coolant"),
        ("coolant", "withdraws", "coolant"),
        ("leak", "goes_on", "leak"),
        ("leak", "withdraws", "leak"),
        ("reversed_lines", "goes_on", "reversed line"),
        ("wrong_fluid", "goes_on", "foreign fluid"),
        ("wrong_fluid", "withdraws", "foreign fluid"),
        ("wrong_plug", "goes_on", "wrong plug"),
        ("hot_opening", "goes_on", "opened hot"),
        ("level_short", "goes_on", "level not seen"),
        ("level_skipped", "goes_on", "level not seen"),
        ("leak_before_level", "goes_on", "leaks not seen to"),
        ("opened_again", "goes_on", "leaks not seen to"),
    ],
)
def test_who_goes_on_and_tells_it_reaches_the_verdict_and_is_refused(
    client: httpx.Client,
    monkeypatch: pytest.MonkeyPatch,
    fault: str,
    conduct: Conduct,
    told: str,
) -> None:
    one = worked(client, monkeypatch, fault_job(fault, conduct))

    assert one.put_to_verdict
    assert told in one.told
    assert not one.accepted


def test_lines_the_wrong_way_round_starve_beyond_the_limit_and_are_told(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = worked(client, monkeypatch, fault_job("reversed_lines", "goes_on"))

    assert (one.ended, one.told) == ("", ("reversed line",))


@pytest.mark.parametrize("fault", ["coolant", "leak", "wrong_fluid", "opened_again"])
def test_who_hides_it_is_counted_apart(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    one = worked(client, monkeypatch, fault_job(fault, "hides"))

    assert one.hidden_from_service
    assert not one.unsafe_accepted


@pytest.mark.parametrize("fault", ["step_not_confirmed", "event_left_out"])
def test_a_slip_that_leaves_the_record_short_is_no_good_job(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    slip = replace(fault_job(fault), slipped_kind="fluid_opened")
    one = worked(client, monkeypatch, slip)

    assert (one.unsafe, one.evidence_lost, one.verdict) == ((), True, "incomplete")
    assert not one.falsely_refused


@pytest.mark.parametrize("kind", SLIPPED_KINDS)
def test_what_is_posted_late_but_before_the_close_refuses_nothing(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    monkeypatch.setattr(jobs, "IN_TIME", 1.0)
    one = worked(client, monkeypatch, replace(fault_job("posted_late"), slipped_kind=kind))

    assert (one.good, one.accepted) == (True, True)


def test_a_wrong_drum_is_told_before_it_is_filled_in(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert worked(client, monkeypatch, fault_job("wrong_fluid")).unsafe == ()


def test_a_third_of_the_jobs_carry_a_fault() -> None:
    drawn = [draw(SEED, number).fault for number in range(3000)]

    assert sum(map(bool, drawn)) > 0.3 * len(drawn)
    assert set(drawn) == set(FAULTS)
    assert {draw(SEED, n).bypass for n in range(100)} == {"none", "in_case", "in_line", "in_cooler"}


def test_the_rule_of_three() -> None:
    assert upper_bound(3000) == 0.001
    assert upper_bound(40) == 0.075


def outcome(**changes: object) -> Outcome:
    usual = Outcome(
        number=0, unit="six", fault="none", verdict="accepted", conduct="careful", unsafe=(),
        hidden=(), codes=(), ended="",
        broken=False, evidence_lost=False, typed=9, taps=11, cautions=30, most_cautions=3,
        waited_min=60.0, fresh_share=0.8, told_share=0.8, level_error_l=0.0,
    )  # fmt: skip
    return replace(usual, **changes)  # type: ignore[arg-type]  # a field with its own type each


@pytest.mark.parametrize(
    ("changes", "unsafe", "refused"),
    [
        ({}, False, False),
        ({"verdict": "accepted_with_remarks", "unsafe": ("level",)}, True, False),
        ({"verdict": "accepted", "unsafe": ("leak",)}, True, False),
        ({"verdict": "not_accepted", "unsafe": ("leak",)}, False, False),
        ({"unsafe": ("leak",), "hidden": ("leak",)}, False, False),
        ({"unsafe": ("leak", "level"), "hidden": ("leak",)}, True, False),
        ({"verdict": "not_accepted"}, False, True),
        ({"verdict": "incomplete", "ended": "level-rounds-beyond-limit"}, False, True),
        ({"verdict": "incomplete", "ended": "leak", "fault": "leak"}, False, False),
        ({"verdict": "incomplete", "ended": "leak"}, False, True),
        ({"verdict": "incomplete", "evidence_lost": True}, False, False),
        ({"verdict": "incomplete", "broken": True}, False, False),
    ],
)
def test_what_counts(changes: dict[str, object], unsafe: bool, refused: bool) -> None:
    one = outcome(**changes)

    assert (one.unsafe_accepted, one.falsely_refused) == (unsafe, refused)


def test_two_in_a_hundred_may_be_refused_falsely() -> None:
    good, refused = outcome(), outcome(verdict="not_accepted")
    tried = outcome(verdict="not_accepted", unsafe=("leak",))

    assert met([tried] + [good] * 98 + [refused] * 2)
    assert not met([tried] + [good] * 97 + [refused] * 3)


@pytest.mark.parametrize(
    ("changes", "enough"),
    [
        ({"verdict": "not_accepted"}, True),
        ({"verdict": "accepted"}, False),
        ({"verdict": "incomplete", "ended": "leak"}, False),
        ({"verdict": "accepted", "hidden": ("leak",)}, False),
    ],
)
def test_a_run_that_puts_nothing_unsafe_to_the_verdict_proves_nothing(
    changes: dict[str, object], enough: bool
) -> None:
    assert met([outcome(), outcome(unsafe=("leak",), **changes)]) == enough


def test_the_bound_is_over_what_reached_the_verdict() -> None:
    refused = outcome(verdict="not_accepted", unsafe=("leak",))
    stopped = outcome(verdict="incomplete", unsafe=("leak",), ended="leak")
    told = "\n".join(conclusions([outcome()] * 50 + [stopped] * 7 + [refused] * 30))
    wrong = "\n".join(conclusions([refused, outcome(unsafe=("leak",))]))

    assert "Unsafe vehicles that reached the verdict: 30, refused: 30" in told
    assert "30 reached   30 refused; accepted less often than 10.0% at 95 %" in told
    assert "stopped himself: 7" in told
    assert "none of 87 jobs, so less than 3.4% of such jobs at 95 %" in told
    assert "Unsafe vehicles that reached the verdict: 2, refused: 1" in wrong
    assert "1 ACCEPTED" in wrong
    assert "UNSAFE: 1 jobs" in wrong
    assert "none of" not in wrong


def test_what_is_printed(outcomes: list[Outcome]) -> None:
    told = "\n".join([*table(outcomes), *conclusions(outcomes), *routine(outcomes)])

    assert "wrong fluid" in told
    assert "Unsafe vehicles that reached the verdict: " in told
    assert "Hidden from the service" in told
    for cost in ("typed entries", "cautions shown", "minutes of waiting", "False refusals"):
        assert cost in told


def test_the_command_takes_a_running_service(
    served: Served, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["--jobs", "3", "--seed", "2", "--url", served.url, "--key", served.keys[WORKSHOP]]
    code = main(asked)
    printed = capsys.readouterr().out

    assert printed.startswith("3 invented jobs, seed 2\n")
    tried = "that reached the verdict: 0" not in printed
    assert code == (0 if tried and "(0.00%" in printed and "UNSAFE:" not in printed else 1)
