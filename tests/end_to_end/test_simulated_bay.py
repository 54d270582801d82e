"""The simulated bay: verdicts of the real service held against what is true of the vehicle."""

from collections.abc import Iterator
from dataclasses import replace

import httpx
import pytest

from examples.simulated_bay import job as jobs
from examples.simulated_bay.__main__ import main, play
from examples.simulated_bay.instruments import Instruments
from examples.simulated_bay.job import Outcome, run_job
from examples.simulated_bay.scenario import FAULTS, Scenario, draw
from examples.simulated_bay.tally import conclusions, met, routine, table, upper_bound
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


def fault_job(fault: str) -> Scenario:
    """The first job of the seed with a fault, with a signal everywhere and nothing else wrong."""
    found = next(one for n in range(500) if (one := draw(SEED, n)).fault == fault)
    return replace(
        found, offline=0.0, repairs=False, level_on_arrival_l=0.15, slope_deg=0.0,
        leak_ml_per_min=2.0,
    )  # fmt: skip


def test_a_small_run_has_no_unsafe_outcome(outcomes: list[Outcome]) -> None:
    assert [one for one in outcomes if one.unsafe_accepted] == []
    assert sum(one.accepted for one in outcomes) > JOBS / 2
    assert len({one.fault for one in outcomes}) > 5


def test_the_same_seed_comes_to_the_same(served: Served, outcomes: list[Outcome]) -> None:
    again = play(served.url, served.keys[WORKSHOP], seed=SEED, jobs=8, at_once=1)

    assert again == outcomes[:8]
    assert draw(SEED + 1, 0) != draw(SEED, 0)


def test_a_leak_that_nobody_records_is_counted_unsafe(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The counter can fail: the truth does not follow what was written down."""
    monkeypatch.setattr(jobs, "draw", lambda _seed, _number: fault_job("leak"))
    honest = run_job(client, SEED, 0)
    monkeypatch.setattr(Instruments, "leak_seen", lambda _self, _minutes: False)
    wrong = run_job(client, SEED, 0)

    assert (honest.unsafe, honest.accepted, honest.unsafe_accepted) == (("leak",), False, False)
    assert (wrong.unsafe, wrong.unsafe_accepted) == (("leak",), True)
    assert not met([wrong])
    assert "UNSAFE: 1 jobs" in "\n".join(conclusions([wrong]))


def test_coolant_that_no_check_finds_is_counted_unsafe(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "draw", lambda _seed, _number: fault_job("coolant"))
    for check in ("strip_positive", "crackles", "looks_milky"):
        monkeypatch.setattr(Instruments, check, lambda _self: False)

    assert run_job(client, SEED, 0).unsafe == ("coolant",)


def test_a_wrong_drum_is_told_before_it_is_filled_in(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "draw", lambda _seed, _number: fault_job("wrong_fluid"))

    assert run_job(client, SEED, 0).unsafe == ()


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
        number=0, unit="six", fault="none", verdict="accepted", unsafe=(), codes=(), ended="",
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

    assert met([good] * 98 + [refused] * 2)
    assert not met([good] * 97 + [refused] * 3)


def test_what_is_printed(outcomes: list[Outcome]) -> None:
    told = "\n".join([*table(outcomes), *conclusions(outcomes), *routine(outcomes)])

    assert "wrong fluid" in told
    assert f"No unsafe outcome in {JOBS} jobs: the rate is below 7.50% at 95 %" in told
    for cost in ("typed entries", "cautions shown", "minutes of waiting", "False refusals"):
        assert cost in told


def test_the_command_takes_a_running_service(
    served: Served, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["--jobs", "3", "--seed", "2", "--url", served.url, "--key", served.keys[WORKSHOP]]
    code = main(asked)
    printed = capsys.readouterr().out

    assert printed.startswith("3 invented jobs, seed 2\n")
    assert code == (0 if "(0.00%" in printed and "UNSAFE:" not in printed else 1)
