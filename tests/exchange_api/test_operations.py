"""Running the service: logs without secrets, metrics, health, settings from files, no CORS."""

import asyncio
import io
import json
import re
from pathlib import Path
from uuid import uuid4

import httpx
import pytest

from exchange_api.metrics import Metrics
from exchange_api.room import Room
from exchange_api.settings import database_folder, read_settings
from libexchange.errors import InvalidInput
from tests.exchange_api.bay_desk import ask, close, event, items, send, started
from tests.exchange_api.every_operation import ROUTES, recipe
from tests.exchange_api.running import Running, running

VIN = "1M8GDM9AXKP042788"
PLATE = "ZQ-MARKED-77"
PERSON = "Marianne Markedname"
IDEMPOTENCY = "marked-idempotency-key"
USER_AGENT = "marked-agent/1.0"


def whole_job(client: httpx.Client) -> list[httpx.Response]:
    """A plan, a job with events and notes, its close and record, and everything that is refused."""
    client.headers["User-Agent"] = USER_AGENT
    vehicle = {"vin": VIN, "reference": PLATE}
    path, bay = started(client)
    note = event("note", 9000, text=f"{PERSON} drove {PLATE}")
    bad = {"vehicle": vehicle, "reason": PERSON, "requested_at": PLATE}
    return [
        ask(client, vehicle=vehicle, key=IDEMPOTENCY),
        ask(client, bad),
        send(client, path, [*items(bay.whole_job().events), note, {"kind": PERSON}]),
        close(client, path),
        client.get(f"{path}/record"),
        client.get(f"/v1/plans/{PLATE}"),
        client.get("/v1/transmissions", params={"text": PERSON}),
        client.post("/v1/calculations/vin", json={"vin": VIN}),
        client.post("/v1/plans", content=f'{{"vin": "{VIN}'.encode()),
        client.put(f"/{PERSON}/{VIN}"),
        client.post("/v1/api-keys", json={"name": PERSON, "scopes": ["calculate"]}),
        client.get("/v1/audit-log"),
    ]


def test_no_log_line_holds_personal_data_or_secrets(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app:
        key = app.key(workshop="Marked")
        with app.client(key=key) as client:
            answers = whole_job(client)
    written = log.getvalue().decode() + "".join(capfd.readouterr())
    made = next(one.json()["text"] for one in answers if one.request.url.path == "/v1/api-keys")
    marked = [VIN, PLATE, *PERSON.split(), IDEMPOTENCY, USER_AGENT, "127.0.0.1"]
    marked += [*key.split("_")[2:], *made.split("_")[2:]]

    assert {answer.status_code // 100 for answer in answers} == {2, 4}
    assert len([line for line in written.splitlines() if '"request"' in line]) >= len(answers)
    assert not [one for one in marked if one.lower() in written.lower()]


def test_every_log_line_is_json_and_names_its_request(tmp_path: Path) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app, app.client_of("A") as client:
        ids = [answer.headers["x-request-id"] for answer in (client.get("/v1/me"), ask(client))]
    lines = [json.loads(line) for line in log.getvalue().splitlines()]

    assert all({"at", "level", "event"} <= line.keys() for line in lines)
    assert [line["request_id"] for line in lines if line["event"] == "request"] == ids


def test_the_newest_digest_of_the_audit_log_stands_in_the_log(tmp_path: Path) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app, app.client_of("A") as client:
        ask(client)
        (row,) = client.get("/v1/audit-log").json()["items"]
    lines = [json.loads(line) for line in log.getvalue().splitlines()]
    sealed = [line["chain_sha256"] for line in lines if line["event"] == "audit-sealed"]

    assert row["chain_sha256"] in sealed


def samples(client: httpx.Client) -> dict[str, float]:
    told = client.get("/metrics")
    assert told.headers["content-type"].startswith("text/plain; version=0.0.4")
    lines = [line for line in told.text.splitlines() if not line.startswith("#")]
    assert all(re.fullmatch(r'[a-z_]+(\{([a-z]+="[^"]*",?)+\})? [0-9.]+', line) for line in lines)
    return {name: float(value) for name, _, value in (line.rpartition(" ") for line in lines)}


def test_metrics_count_requests_by_template_method_and_class(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client_of("A") as client:
        for _ in range(3):
            client.get(f"/v1/plans/{uuid4()}")
        told = samples(client)

    route = 'route="/v1/plans/{plan_id}"'
    assert told[f'exchange_api_requests_total{{method="GET",{route},status="4xx"}}'] == 3
    assert told[f"exchange_api_request_seconds_count{{{route}}}"] == 3
    assert told[f'exchange_api_request_seconds_bucket{{{route},le="+Inf"}}'] == 3
    assert told["exchange_api_requests_in_flight"] == 1


def test_nobody_can_make_more_labels(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client() as client:
        for number in range(50):
            client.request(f"M{number}", f"/nowhere/{number}?q={number}")
            client.get(f"/v1/problems/{number}")
        told = samples(client)

    assert len([name for name in told if "requests_total" in name]) <= 3


def test_the_histogram_puts_a_time_into_its_bucket() -> None:
    metrics = Metrics()
    metrics.count(method="GET", route="/a", status=200, seconds=0.005)
    metrics.count(method="GET", route="/a", status=200, seconds=99)
    told = metrics.text()

    assert 'seconds_bucket{route="/a",le="0.005"} 1\n' in told
    assert 'seconds_bucket{route="/a",le="10.0"} 1\n' in told
    assert 'seconds_bucket{route="/a",le="+Inf"} 2\n' in told


def test_it_is_not_ready_when_the_disk_is_nearly_full_but_live(tmp_path: Path) -> None:
    with running(tmp_path, disk_reserve=2**60) as app, app.client() as client:
        ready, live = client.get("/health/ready"), client.get("/health/live")

    assert (ready.status_code, live.status_code) == (503, 200)
    assert "disk" in ready.json()["detail"]
    assert int(ready.headers["retry-after"]) > 0


def test_only_a_file_has_a_folder() -> None:
    assert database_folder("postgresql://a@b/c") is None
    assert database_folder("sqlite:////data/a.db") == Path("/data")


def test_a_setting_comes_from_a_file(tmp_path: Path) -> None:
    url = "postgresql://shop:hunter2@db/exchange"
    (tmp_path / "url").write_text(url + "\n", encoding="utf-8")

    settings = read_settings({"EXCHANGE_API_DATABASE_FILE": str(tmp_path / "url")}, {})

    assert settings.database == url


def test_faults_of_files_are_told_without_what_they_hold(tmp_path: Path) -> None:
    (tmp_path / "url").write_text("mysql://a:hunter2@b/c", encoding="utf-8")
    environ = {
        "EXCHANGE_API_DATABASE_FILE": str(tmp_path / "url"),
        "EXCHANGE_API_PORT_FILE": str(tmp_path / "missing"),
        "EXCHANGE_API_HOST": "a",
        "EXCHANGE_API_HOST_FILE": str(tmp_path / "url"),
    }
    with pytest.raises(InvalidInput) as refused:
        read_settings(environ, {})

    assert {fault.pointer for fault in refused.value.faults} == {
        "EXCHANGE_API_DATABASE_FILE", "EXCHANGE_API_PORT_FILE", "EXCHANGE_API_HOST"
    }  # fmt: skip
    assert "hunter2" not in "".join(map(str, refused.value.faults))


def test_what_a_wrong_file_holds_is_not_repeated(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("hunter2", encoding="utf-8")
    names = ["PORT", "HOST", "KEY_RATE", "LOG_LEVEL", "BODY_LIMIT"]
    (tmp_path / "host").write_text("hunter2 /", encoding="utf-8")
    files = {name: "host" if name == "HOST" else "secret" for name in names}
    with pytest.raises(InvalidInput) as refused:
        read_settings(
            {f"EXCHANGE_API_{name}_FILE": str(tmp_path / file) for name, file in files.items()}, {}
        )

    assert len(refused.value.faults) == len(names)
    assert "hunter2" not in "".join(map(str, refused.value.faults))


@pytest.mark.parametrize("method", ["GET", "OPTIONS"])
def test_no_other_origin_is_let_in(client: httpx.Client, method: str) -> None:
    asked = {"Origin": "https://elsewhere.example", "Access-Control-Request-Method": "GET"}
    answer = client.request(method, "/v1/me", headers=asked)

    assert not [name for name in answer.headers if name.startswith("access-control-")]
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"


def test_room_is_given_in_the_order_asked_and_never_beyond_its_size() -> None:
    async def run() -> list[str]:
        room, done = Room(10, wait_s=1), list[str]()
        held = await room.take(6)

        async def ask_for(name: str, size: int) -> None:
            taken = await room.take(size)
            done.append(name)
            room.give_back(taken)

        waiting = [asyncio.create_task(ask_for(*one)) for one in (("a", 6), ("b", 1), ("c", 99))]
        await asyncio.sleep(0.01)
        assert done == []  # b would fit, but a came first
        room.give_back(held)
        await asyncio.gather(*waiting)
        return done

    assert asyncio.run(run()) == ["a", "b", "c"]


def test_who_finds_no_room_in_time_leaves_the_line() -> None:
    async def run() -> int:
        room = Room(10, wait_s=0.01)
        held = await room.take(10)
        with pytest.raises(TimeoutError):
            await room.take(1)
        room.give_back(held)
        return await room.take(10)

    assert asyncio.run(run()) == 10


def test_a_request_without_room_is_told_to_come_again(app: Running, client: httpx.Client) -> None:
    room = app.service.room
    held, wait_s = room._free, room._wait_s
    room._free, room._wait_s = 0, 0.01
    try:
        answer = ask(client)
    finally:
        room._free, room._wait_s = held, wait_s

    assert answer.status_code == 503
    assert answer.json()["type"] == "/v1/problems/overloaded"
    assert int(answer.headers["retry-after"]) > 0
    assert ask(client).status_code == 201


@pytest.mark.parametrize("operation_id", [one for one, r in ROUTES.items() if r.declared.body])
def test_every_body_gives_its_room_back(
    app: Running, client: httpx.Client, operation_id: str
) -> None:
    before = app.service.room._free
    recipe(operation_id).ready(client).send(client, ROUTES[operation_id].method)

    assert app.service.room._free == before
