"""Clocks of telephones: wrong by a day, turned with the season, or far from any sense."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from msgspec.structs import replace

from exchange_api.outside import real_outside
from tests.exchange_api.bay_desk import DEVICE, event, items, outcomes, plan_of, send, started
from tests.exchange_api.running import running
from tests.job.pointer_desk import leads_nowhere

NOW = datetime(2026, 3, 4, 8, tzinfo=UTC)
OUTSIDE = replace(real_outside(), now=lambda: NOW)


def posted(client: httpx.Client, path: str) -> list[dict[str, Any]]:
    kept: list[dict[str, Any]] = client.get(f"{path}/events").raise_for_status().json()["items"]
    return kept


def codes(shown: dict[str, Any]) -> list[str]:
    """What stands beside the state."""
    return [found["code"] for found in shown["findings"]]


@pytest.mark.parametrize("lead", [timedelta(days=1), timedelta(days=-1), timedelta(0)])
def test_case_85_both_times_are_kept_with_the_delay_between(
    tmp_path: Path, lead: timedelta
) -> None:
    at = (NOW + lead).isoformat()
    with running(tmp_path, outside=OUTSIDE) as app, app.client_of("A") as client:
        path, _ = started(client)
        body = {"device_id": DEVICE, "sent_at": at, "events": [event("started", occurred_at=at)]}
        assert outcomes(client.post(f"{path}/events", json=body)) == ["stored"]
        (kept,) = posted(client, path)
        shown = client.get(path).json()

    assert datetime.fromisoformat(kept["event"]["event"]["occurred_at"]) == NOW + lead
    assert datetime.fromisoformat(kept["received_at"]) == NOW
    assert kept["delay_s"] == -lead.total_seconds()
    assert shown["clock_offset_s"] == {DEVICE: lead.total_seconds()}
    ahead = ["events-ahead-of-time"] * (lead > timedelta(0))
    off = ["device-clock-off"] * (lead != timedelta(0))
    assert codes(shown) == ahead + off


def test_case_85_the_hour_that_comes_twice_is_told_by_its_offset(client: httpx.Client) -> None:
    path, _ = started(client)
    times = ["2026-10-25T02:50:00+02:00", "2026-10-25T02:10:00+01:00"]
    notes = [event("note", n, text=str(n), occurred_at=at) for n, at in enumerate(times)]
    send(client, path, notes[::-1])

    assert [one["event"]["event"]["text"] for one in posted(client, path)] == ["0", "1"]


def test_the_hour_that_never_is_is_a_moment_with_its_offset(client: httpx.Client) -> None:
    path, _ = started(client)
    times = ["2026-03-29T02:30:00+01:00", "2026-03-29T03:10:00+02:00"]
    notes = [event("note", n, text=str(n), occurred_at=at) for n, at in enumerate(times)]
    send(client, path, notes)

    assert [one["event"]["event"]["text"] for one in posted(client, path)] == ["1", "0"]


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"])
def test_a_moment_at_the_edge_of_time_is_kept(client: httpx.Client, at: str) -> None:
    path, _ = started(client)
    one = event("note", text="x", occurred_at=at)

    assert outcomes(send(client, path, [one])) == ["stored"]
    assert outcomes(send(client, path, [one])) == ["already_stored"]
    assert len(posted(client, path)) == 1
    assert client.get(path).status_code == 200


def test_case_85_a_finish_before_the_start_is_told_as_it_was_sent(client: httpx.Client) -> None:
    path, _ = started(client, plan_of(client))
    send(client, path, [event("work_finished", 0, occurred_at="2026-03-04T08:00:00Z"),
                        event("started", 1, occurred_at="2026-03-04T09:00:00Z")])  # fmt: skip
    shown = client.get(path).json()

    assert (shown["state"]["started_at"], shown["state"]["finished_at"]) == (
        "2026-03-04T09:00:00Z", "2026-03-04T08:00:00Z")  # fmt: skip
    assert "finished-before-started" in codes(shown)
    assert leads_nowhere(shown) == []
    assert client.get(f"{path}/guidance").status_code == 200


def test_case_85_a_count_against_the_clock_and_a_number_used_twice_are_told(
    client: httpx.Client,
) -> None:
    path, _ = started(client)
    note = {"text": "invented"}
    wrong = event("note", 1, occurred_at="2026-03-04T07:00:00Z", **note)
    send(client, path, [event("note", 0, **note), wrong, event("note", 0, **note)])
    told = client.get(path).json()
    send(client, path, [event("correction", 2, corrects=wrong["event_id"], reason="invented")])
    mended = client.get(path).json()

    assert codes(told) == ["device-clock-off", "sequence-used-twice", "sequence-against-clock"]
    assert leads_nowhere(told) == []
    assert codes(mended) == ["device-clock-off", "sequence-used-twice"]
    assert told["state"]["findings"] == mended["state"]["findings"] == []


def test_a_job_that_is_told_in_order_has_nothing_beside_it(client: httpx.Client) -> None:
    path, bay = started(client)
    now = datetime.now(UTC).isoformat()
    body = {"device_id": DEVICE, "sent_at": now, "events": items(bay.whole_job().events)}
    assert set(outcomes(client.post(f"{path}/events", json=body))) == {"stored"}

    assert codes(client.get(path).json()) == []


def test_the_version_of_the_program_on_a_device_is_shown(client: httpx.Client) -> None:
    path, _ = started(client)

    def post(device: str, number: int, **more: str) -> None:
        one = event("note", number, text="invented")
        body = {"device_id": device, "sent_at": NOW.isoformat(), "events": [one], **more}
        assert outcomes(client.post(f"{path}/events", json=body)) == ["stored"]

    post("phone-a", 0, app_version="3.2.1")
    post("phone-b", 0)
    first = client.get(path).json()["app_versions"]
    post("phone-a", 1, app_version="3.3.0")

    assert first == {"phone-a": "3.2.1", "phone-b": None}
    assert client.get(path).json()["app_versions"] == {"phone-a": "3.3.0", "phone-b": None}
