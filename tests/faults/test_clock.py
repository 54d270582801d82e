"""The clock steps back a day: ids go on growing, nothing is refused, lost or done twice."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID

import httpx
import pytest
from msgspec.structs import replace

from exchange_api.outside import Outside, real_outside
from tests.exchange_api.bay_desk import ask, close, plan_of, worked
from tests.exchange_api.running import Running, running

DAY = timedelta(days=1)


class Clock:
    """The machine's clock, with a step."""

    def __init__(self) -> None:
        self.step = timedelta()

    def now(self) -> datetime:
        return datetime.now(UTC) + self.step

    def time_ns(self) -> int:
        return int(self.now().timestamp() * 1e9)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr("time.time_ns", clock.time_ns)  # where ids take their time from
    return clock


@pytest.fixture
def stepped(clock: Clock) -> Outside:
    return replace(real_outside(), now=clock.now)


@pytest.fixture
def service(url: str, stepped: Outside) -> Iterator[Running]:
    with running(url, outside=stepped) as app:
        yield app


def test_ids_grow_whatever_the_clock_does(clock: Clock, stepped: Outside) -> None:
    ids = []
    for step in (0, -1, -1, 1, 0):
        clock.step = step * DAY
        ids += [stepped.new_id() for _ in range(1000)]

    assert ids == sorted(set(ids))
    assert {UUID(one).version for one in ids} == {7}


def test_a_job_that_began_tomorrow_is_worked_closed_and_recorded(
    client: httpx.Client, clock: Clock
) -> None:
    path, _ = worked(client)
    before = client.get(path)
    clock.step = -DAY
    closed = close(client, path)
    after = client.get(path)

    assert (closed.status_code, after.status_code) == (200, 200)
    assert datetime.fromisoformat(closed.json()["closed_at"]) < datetime.now(UTC) - DAY / 2
    assert client.get(f"{path}/record").status_code == 200
    assert after.headers["etag"] != before.headers["etag"]


def test_a_key_answers_the_plan_of_tomorrow(client: httpx.Client, clock: Clock) -> None:
    first = ask(client, key="once")
    clock.step = -DAY
    again, new = ask(client, key="once"), ask(client, key="new")

    assert again.content == first.content
    assert new.json()["created_at"] < first.json()["created_at"]
    assert new.json()["plan_id"] > first.json()["plan_id"]


def test_every_plan_is_on_one_page(client: httpx.Client, clock: Clock) -> None:
    made = []
    for step in (0, -1, 0, -1):
        clock.step = step * DAY
        made += [str(plan_of(client).plan_id) for _ in range(3)]
    listed: list[str] = []
    query = {"limit": "5"}
    while query.get("cursor") != "":
        page = client.get("/v1/plans", params=query).json()
        listed += [item["plan_id"] for item in page["items"]]
        query["cursor"] = page["next_cursor"] or ""

    assert sorted(listed) == sorted(made)


def test_a_job_never_seems_to_have_changed_earlier(client: httpx.Client, clock: Clock) -> None:
    """Who follows the list by `updated_since` must see the close."""
    path, _ = worked(client)
    seen = client.get("/v1/jobs").json()["items"][-1]
    clock.step = -DAY
    assert close(client, path).status_code == 200
    since = {"updated_since": seen["updated_at"]}

    (followed,) = client.get("/v1/jobs", params=since).json()["items"]
    assert (seen["state"] != "closed", followed["state"]) == (True, "closed")
    assert followed["updated_at"] >= seen["updated_at"]


def test_a_key_made_tomorrow_is_valid(service: Running, clock: Clock) -> None:
    key = service.key(workshop="Tomorrow")
    with service.client(key=key) as client:
        assert client.get("/v1/me").status_code == 200
        clock.step = -DAY
        assert client.get("/v1/me").status_code == 200
