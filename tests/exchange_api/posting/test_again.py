"""A phone that never reads our answer and posts everything again changes nothing at all."""

from pathlib import Path
from typing import Any

import httpx
import pytest

from exchange_api.storage.portable import sums
from tests.exchange_api.bay_desk import close, event, items, outcomes, send, worked
from tests.exchange_api.running import Running, running
from tests.job.plans import START

# sealed by the service itself, in its own time; used keys are noted by the hour
BESIDE = {"audit_events", "api_keys", "rate_windows"}


def kept(app: Running) -> tuple[dict[str, str], int]:
    """A digest of every row of every table, and how many changes were told."""
    told = {one.table: one for one in app.write(sums)}
    digests = {name: one.sha256 for name, one in told.items() if name not in BESIDE}
    assert {"jobs", "job_events", "job_devices", "plans"} <= digests.keys()
    return digests, told["audit_events"].count


def again(client: httpx.Client, path: str, events: list[dict[str, Any]]) -> set[str]:
    """Everything once more, in two batches with another moment of sending."""
    half = len(events) // 2
    later = START.replace(year=2027).isoformat()
    found: set[str] = set()
    for batch in (events[half:], events[:half], events):
        body = {"device_id": "invented-phone", "sent_at": later, "events": batch}
        found |= set(outcomes(client.post(f"{path}/events", json=body)))
    return found


@pytest.mark.parametrize("is_closed", [False, True])
def test_case_82_everything_again_changes_nothing(tmp_path: Path, is_closed: bool) -> None:
    with running(tmp_path) as app, app.client_of("A") as client:
        path, bay = worked(client)
        events = items(bay.events)
        if is_closed:
            assert close(client, path).status_code == 200
            late = event("leak_checked", 900, result="leak")
            send(client, path, [late])
            events.append(late)
        shown, before = client.get(path), kept(app)
        found = again(client, path, events)
        after, now = kept(app), client.get(path)

    assert found == {"already_stored"}
    assert after == before
    assert (now.content, now.headers["etag"]) == (shown.content, shown.headers["etag"])


def test_a_single_new_event_is_seen_by_this(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client_of("A") as client:
        path, _ = worked(client)
        before = kept(app)
        send(client, path, [event("note", 900, text="one more")])
        after = kept(app)

    assert after[1] == before[1] + 1
    assert {name for name in before[0] if before[0][name] != after[0][name]} >= {
        "jobs", "job_events"}  # fmt: skip
