"""Guidance at a moment: what is next, which gate is open and when, and what stands in the way."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import httpx
import pytest

from libexchange.job.guidance import guidance
from tests.exchange_api.bay_desk import (
    event,
    items,
    json_of,
    plan_of,
    problem,
    send,
    started,
    worked,
)
from tests.job.plans import START, Bay


def guide(client: httpx.Client, path: str, at: datetime) -> dict[str, Any]:
    told = client.get(f"{path}/guidance", params={"at": at.isoformat()})
    assert told.status_code == 200, told.text
    body: dict[str, Any] = told.json()
    return body


def gate(told: dict[str, Any], kind: str) -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in told["gates"] if one["gate_id"] == kind)
    return found


def gate_id(bay: Bay, kind: str) -> str:
    return next(s.gate.gate_id for s in bay.plan.steps if s.gate and s.gate.kind == kind)


def sent(client: httpx.Client, path: str, bay: Bay) -> None:
    send(client, path, items(bay.events)).raise_for_status()


def codes(told: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in told["blocking"]}


def test_a_job_begins_with_its_first_step(client: httpx.Client) -> None:
    path, bay = started(client)
    told = guide(client, path, START)

    assert told["next_step"] == json_of(bay.plan.steps[0])
    assert datetime.fromisoformat(told["as_of"]) == START
    assert {one["state"] for one in told["gates"]} == {"unknown"}
    assert told["blocking"] == []


def test_a_gate_that_is_shut_says_when_it_is_expected_to_open(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.work_to_level()
    bay.read(20.0, 21.0, 22.0, 23.0, 24.0, every_s=30)
    sent(client, path, bay)
    told = guide(client, path, bay.now)
    level = gate(told, gate_id(bay, "level_window"))
    expected = bay.now + timedelta(seconds=(35 - 24) * 30)

    assert told["next_step"]["kind"] == "set_level"
    assert level["state"] == "closed"
    assert abs(datetime.fromisoformat(level["opens_at"]) - expected) < timedelta(seconds=30)
    assert codes(told) == {"gate-not-open"}


def test_a_gate_that_is_open_lets_the_work_go_on(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.work_to_level()
    bay.read(36.0, 36.3, 36.6, 36.9, 37.2, every_s=4)
    sent(client, path, bay)
    told = guide(client, path, bay.now)

    assert gate(told, gate_id(bay, "level_window"))["state"] == "open"
    assert told["blocking"] == []


def test_an_old_reading_opens_nothing(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.work_to_level()
    bay.read(36.0, 36.3, 36.6, every_s=4)
    sent(client, path, bay)
    told = guide(client, path, bay.now + timedelta(minutes=4))

    assert gate(told, gate_id(bay, "level_window"))["state"] == "unknown"
    assert codes(told) == {"gate-not-open"}


def test_what_happened_after_the_moment_is_not_looked_at(client: httpx.Client) -> None:
    path, bay = worked(client)
    first = bay.plan.steps[0].step_id

    assert guide(client, path, START)["next_step"]["step_id"] == first
    assert guide(client, path, bay.now)["next_step"] is None


def test_a_caution_without_an_answer_stands_in_the_way(client: httpx.Client) -> None:
    plan = plan_of(client, conditions=["level_low_on_arrival"])
    path, bay = started(client, plan)
    before = guide(client, path, START)
    bay.acknowledge_all()
    sent(client, path, bay)
    after = guide(client, path, bay.now)

    assert codes(before) == {"caution-not-acknowledged"}
    assert after["blocking"] == []


def test_too_much_of_a_difference_stops_the_line_exchange(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.confirm(
        "arrival_check", "raise_vehicle", "prove_fill_opening", "pan_and_filter", "refill",
        "connect_lines", "warm_up",
    )  # fmt: skip
    bay.move("in", 4.0, "line_exchange")
    bay.move("out", 1.0, "line_exchange")
    sent(client, path, bay)
    told = guide(client, path, bay.now)

    assert told["next_step"]["kind"] == "line_exchange"
    assert "stop" in {finding["severity"] for finding in told["blocking"]}


def test_the_level_correction_is_told_in_litres(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.work_to_level()
    bay.read(36.0, 36.3, 36.6, 36.9, every_s=10)
    bay.look("nothing", 37.0)
    sent(client, path, bay)
    told = guide(client, path, bay.now)

    assert told["level_correction"]["what"] == "add"
    assert told["level_correction"]["litres"] == {"value": 0.3, "unit": "L"}
    assert told["balance"]["in_15"]["unit"] == "L"


def test_it_is_the_guidance_of_the_library(client: httpx.Client) -> None:
    path, bay = worked(client)
    for one in bay.events[:: len(bay.events) // 6]:
        at = one.event.occurred_at
        own = json_of(guidance(bay.plan, bay.events, at))

        assert guide(client, path, at) == own


def test_without_a_moment_it_is_for_now(client: httpx.Client) -> None:
    path, _ = worked(client)

    assert client.get(f"{path}/guidance").json()["next_step"] is None


@pytest.mark.parametrize("params", [{"at": "2026-03-04T08:00:00"}, {"at": "soon"}, {"as_of": "x"}])
def test_a_moment_needs_its_offset(client: httpx.Client, params: dict[str, str]) -> None:
    answered = client.get(f"/v1/jobs/{uuid4()}/guidance", params=params)

    assert problem(answered) == (400, "invalid-parameter", set(params))


@pytest.mark.parametrize("lead_s", [3, 240])
def test_what_a_fast_clock_saw_stops_the_work_without_a_moment(
    client: httpx.Client, lead_s: float
) -> None:
    path, _ = started(client)
    now = datetime.now(UTC)
    seen = event("bench_checked", 1, bench={"colour": "milky"},
                 occurred_at=(now + timedelta(seconds=lead_s)).isoformat())  # fmt: skip
    send(client, path, [event("started", occurred_at=now.isoformat()), seen]).raise_for_status()
    told = client.get(f"{path}/guidance").raise_for_status().json()
    earlier = guide(client, path, now)

    assert codes(told) == {"used-fluid-milky"}
    assert told["standing"]["may_run"] is False
    assert [(one["code"], one["severity"]) for one in earlier["blocking"]] == [
        ("later-events-left-out", "stop")
    ]


def test_a_moment_at_the_edge_of_time_is_judged_by(client: httpx.Client) -> None:
    path, bay = started(client)
    at = "9999-12-31T23:59:59-12:00"
    shown = event("reading", source="scan_tool", temperature={"value": 90, "unit": "Cel"},
                  occurred_at=at)  # fmt: skip
    send(client, path, [shown, *items(bay.events)]).raise_for_status()
    told = client.get(f"{path}/guidance").raise_for_status().json()

    assert told["next_step"]["kind"] == "arrival_check"
    assert "open" not in {one["state"] for one in told["gates"]}


def test_a_leak_after_the_hand_over_stands_against_it(client: httpx.Client) -> None:
    path, bay = worked(client)
    later = (bay.now + timedelta(minutes=1)).isoformat()
    leak = event("leak_checked", 900, result="leak", occurred_at=later)
    send(client, path, [leak]).raise_for_status()
    told = client.get(f"{path}/guidance").raise_for_status().json()

    assert told["next_step"]["kind"] == "hand_over"
    assert "leak-found" in codes(told)
