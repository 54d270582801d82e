"""Any permutation, repetition and batching of a job's events gives one state, late ones too."""

from random import Random
from typing import Any
from uuid import uuid4

import httpx
import pytest

from libexchange.job.events import Correction, LeakChecked, Note
from tests.exchange_api.bay_desk import DEVICE, close, items, outcomes, plan_of, send
from tests.exchange_api.running import Running
from tests.job.plans import Bay

Item = dict[str, Any]


def job(client: httpx.Client) -> tuple[str, Bay, Bay]:
    """A job, and what two devices record of it: the same ids in every workshop."""
    plan = plan_of(client)
    path = f"/v1/jobs/{uuid4()}"
    assert client.put(path, json={"plan_id": str(plan.plan_id)}).status_code == 201
    return path, Bay(plan, DEVICE), Bay(plan, "second-phone", first_id=5000)


def whole(first: Bay, second: Bay) -> list[tuple[str, Item]]:
    first.whole_job()
    wrong = second.add(LeakChecked, after_s=30_000, result="leak")
    second.add(Correction, corrects=wrong.event_id, reason="another vehicle")
    second.add(Note, text="seen by the second")
    return sent_by(first) + sent_by(second)


def sent_by(bay: Bay) -> list[tuple[str, Item]]:
    return [(bay.device_id, one) for one in items(bay.events)]


def arrive(client: httpx.Client, path: str, events: list[tuple[str, Item]], seed: int) -> None:
    """Send events in some order, some of them several times, in batches of some size."""
    chance = Random(seed)  # noqa: S311 -- the same arrival every time
    left = events + chance.choices(events, k=len(events) // 3)
    chance.shuffle(left)
    while left:
        device_id, size = left[0][0], chance.randint(1, 12)
        batch = [one for by, one in left[:size] if by == device_id]
        left = [one for one in left[:size] if one[0] != device_id] + left[size:]
        told = set(outcomes(send(client, path, batch, device_id=device_id)))
        assert told <= {"stored", "stored_late", "already_stored"}


def state(client: httpx.Client, path: str) -> Any:
    return client.get(path).raise_for_status().json()["state"]


@pytest.mark.parametrize("seed", range(6))
def test_any_arrival_gives_one_state(app: Running, client: httpx.Client, seed: int) -> None:
    path, first, second = job(client)
    events = whole(first, second)
    for device_id in (DEVICE, "second-phone"):
        send(client, path, [one for by, one in events if by == device_id], device_id=device_id)
    with app.client_of(f"Workshop {uuid4()}") as elsewhere:
        other, *_ = job(elsewhere)
        arrive(elsewhere, other, events, seed)
        arrived = state(elsewhere, other)

    assert arrived == state(client, path)
    assert arrived["withdrawn"]
    assert arrived["progress"] == "finished"


@pytest.mark.parametrize("seed", range(3))
def test_any_arrival_after_the_close_gives_one_state(
    app: Running, client: httpx.Client, seed: int
) -> None:
    states = []
    for each, chosen in ((client, 100), (None, seed)):
        with app.client_of(f"Workshop {uuid4()}") as fresh:
            at = each or fresh
            path, first, second = job(at)
            events = whole(first, second)
            arrive(at, path, sent_by(first), chosen)
            assert close(at, path).status_code == 200
            arrive(at, path, events, chosen)
            states.append(state(at, path))

    assert states[0] == states[1]
    assert states[0]["open_late_events"]
