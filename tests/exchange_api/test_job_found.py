"""What a job says of itself over HTTP: pointers that lead somewhere, odd times, odd readings."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import msgspec
import pytest

from libexchange.job.events import FluidOpened, ReadingTaken
from libexchange.plan.records import Plan
from tests.exchange_api.bay_desk import (
    CLEANER,
    ask,
    close,
    event,
    items,
    outcomes,
    send,
    started,
    worked,
)
from tests.job.plans import START, Bay, celsius
from tests.job.pointer_desk import leads_nowhere, pointers


def found(findings: list[dict[str, Any]], code: str) -> dict[str, Any]:
    return next(one for one in findings if one["code"] == code)


def guide(client: httpx.Client, path: str, at: datetime) -> dict[str, Any]:
    told: dict[str, Any] = client.get(f"{path}/guidance", params={"at": at.isoformat()}).json()
    return told


def odd_job(client: httpx.Client) -> tuple[str, Bay]:
    """A job with something to say about nearly everything."""
    path, bay = started(client)
    bay.confirm("pan_and_filter", "raise_vehicle")
    bay.add(FluidOpened, fluid_kind="invented-red-six")
    bay.add(FluidOpened, fluid_kind="invented-other")
    bay.read(400.0)
    bay.move("in", 3.0, "line_exchange")
    bay.look("stream", 39.0, engine_running=False)
    assert set(outcomes(send(client, path, items(bay.events)))) == {"stored"}
    return path, bay


def test_every_pointer_of_an_answered_job_leads_somewhere(client: httpx.Client) -> None:
    path, bay = odd_job(client)
    told = [client.get(path).json(), guide(client, path, bay.now)]
    closed = close(client, path)
    told += [closed.json(), client.get(path).json()]
    record = client.get(f"{path}/record", headers={"Accept": "application/json"}).json()

    assert closed.status_code == 200
    assert [leads_nowhere(document) for document in told] == [[]] * 4
    assert leads_nowhere(record, apart=("plan",)) == []
    assert min(len(list(pointers(document))) for document in told) > 0
    other = found(told[0]["state"]["findings"], "fluid-opened-of-other-kind")
    assert other["pointer"] == "#/state/fluids_opened/1"


def test_a_job_closed_unfinished_names_no_next_step(client: httpx.Client) -> None:
    path, bay = odd_job(client)
    assert guide(client, path, bay.now)["next_step"] is not None
    close(client, path)

    for at in (bay.now, datetime.now(UTC)):
        told = guide(client, path, at)
        assert told["next_step"] is None
        assert [finding["code"] for finding in told["blocking"]] == ["job-closed"]
    assert leads_nowhere(told) == []


def test_a_job_closed_finished_says_that_it_is_closed(client: httpx.Client) -> None:
    path, bay = worked(client)
    assert guide(client, path, bay.now)["blocking"] == []
    close(client, path)

    assert [f["code"] for f in guide(client, path, bay.now)["blocking"]] == ["job-closed"]


def test_a_temperature_that_no_fluid_has_is_told_and_opens_nothing(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.read(400.0, 150.0, -40.0)
    send(client, path, items(bay.events))
    told = found(client.get(path).json()["state"]["findings"], "reading-implausible")

    assert (told["severity"], told["pointer"]) == ("caution", "#/state/readings")
    assert told["values"] == {"readings": 1, "temperature_c": 400}


def test_believable_temperatures_are_not(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.read(150.0, -40.0)
    send(client, path, items(bay.events))

    assert client.get(path).json()["state"]["findings"] == []


def test_events_of_the_future_are_told_beside_the_state(client: httpx.Client) -> None:
    path, _ = started(client)
    ahead = datetime.now(UTC) + timedelta(hours=3)
    send(client, path, [event("started") | {"occurred_at": ahead.isoformat()}, event("note", 1,
                        text="invented")])  # fmt: skip
    view = client.get(path).json()

    told = found(view["findings"], "events-ahead-of-time")
    assert (told["severity"], told["pointer"], told["values"]["events"]) == (
        "note", "#/clock_offset_s", 1,
    )  # fmt: skip
    assert 10_790 < told["values"]["lead_s"] < 10_810
    assert view["state"]["findings"] == []


def test_events_of_the_past_are_not(client: httpx.Client) -> None:
    path, _ = worked(client)
    told = client.get(path).json()["findings"]

    assert [one["code"] for one in told] == ["device-clock-off"]  # sent on that day, by its clock
    assert -1e12 < told[0]["values"]["offset_s"] < -300


def test_a_cleaner_is_followed_from_its_dose_to_its_time(client: httpx.Client) -> None:
    client.put("/v1/additives/invented-cleaner", json=CLEANER)
    plan = msgspec.json.decode(ask(client, cleaner_id="invented-cleaner").content, type=Plan)
    path, bay = started(client, plan)
    bay.arrive()
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening")
    due = guide(client, path, START)
    bay.move("additive", 0.325, "dose_cleaner")
    bay.confirm("dose_cleaner")
    for number in range(19):
        running = number not in (6, 7, 8)
        bay.add(ReadingTaken, after_s=30, source="scan_tool", engine_running=running,
                temperature=celsius(65 + number % 2))  # fmt: skip
    send(client, path, items(bay.events)).raise_for_status()
    told = guide(client, path, bay.now)

    assert [one["state"] for one in due["doses"]] == ["not_due"]
    assert [one["state"] for one in told["doses"]] == ["given"]
    assert told["next_step"]["kind"] == "cleaner_contact"
    assert told["contact"]["counted"] == {"value": 7.0, "unit": "min"}
    assert (told["contact"]["state"], told["contact"]["pauses"]) == ("running", 1)
    (closed,) = [f for f in told["blocking"] if f["code"] == "gate-not-open"]
    assert closed["values"]["gate_id"] == "gate-contact"


def test_the_running_balance_is_shown_with_its_limits(client: httpx.Client) -> None:
    path, bay = started(client)
    bay.move("in", 2.4, "line_exchange")
    bay.move("out", 2.0, "line_exchange")
    send(client, path, items(bay.events))
    line = guide(client, path, bay.now)["line_exchange"]

    assert line["difference"]["value"] == pytest.approx(0.4)
    assert (line["verdict"], line["warn_from"]["value"], line["stop_from"]["value"]) == (
        "warn", 0.3, 0.6,
    )  # fmt: skip
    assert line["further"] == "as_planned"
