"""Personal data are erased for good, and everything that was proved stays proved."""

from typing import Any
from uuid import uuid4

import httpx
import msgspec
from sqlalchemy import text

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import METADATA
from exchange_api.storage.units import Connection
from libexchange.verification import verify_record
from tests.exchange_api.bay_desk import (
    ask,
    close,
    event,
    items,
    outcomes,
    plan_of,
    problem,
    routine,
    send,
    started,
)
from tests.exchange_api.proof.test_signed_records import REOPENING, keys, reopened, signed
from tests.exchange_api.running import Running

VIN = "1M8GDM9AXKP042788"
NAME, REASON, REMARK = "Invented Ida", "an invented reason of Ida's", "an invented remark"
SECRETS = (VIN, NAME, REASON, REMARK, "Invented 7 of Ida", REOPENING["by"], REOPENING["reason"])
VEHICLE = {"reference": "Invented 7 of Ida", "vin": VIN}
WHY = {"reason": "the claim period is over"}


def acknowledged(bay: Any, **members: Any) -> dict[str, Any]:
    told = {"code": "lift-and-pit", "by": NAME, "reason": REASON}
    return event("caution_acknowledged", 800, occurred_at=bay.now.isoformat(), **(told | members))


def told_job(client: httpx.Client, **changes: Any) -> tuple[str, list[dict[str, Any]]]:
    """A closed job, once reopened, with personal texts everywhere; what its phone sent."""
    path, bay = started(client, plan_of(client, vehicle=VEHICLE, **changes))
    sent = [
        *items(bay.whole_job().events),
        acknowledged(bay),
        event("note", 801, text=REMARK, occurred_at=bay.now.isoformat()),
    ]
    assert set(outcomes(send(client, path, sent))) == {"stored"}
    assert close(client, path).status_code == 200
    reopened(client, path)
    assert close(client, path).status_code == 200
    return path, sent


def erase(client: httpx.Client, path: str, *, tag: str | None = None) -> httpx.Response:
    tag = tag or client.get(path).headers["etag"]
    return client.post(f"{path}/erase-personal-data", json=WHY, headers={"If-Match": tag})


def everything_kept(app: Running) -> bytes:
    """Every row of every table."""

    def unit(connection: Connection) -> bytes:
        found = []
        for table in METADATA.sorted_tables:
            rows = connection.execute(Statement(table.select()))
            found += [bytes(v) if isinstance(v, bytes | memoryview) else str(v).encode()
                      for row in rows for v in row]  # fmt: skip
        return b"\n".join(found)

    return app.write(unit)


def test_nothing_personal_is_left_and_all_still_verifies(
    app: Running, client: httpx.Client
) -> None:
    unique = f"{NAME} {uuid4()}"
    path, bay = started(client, plan_of(client, vehicle=VEHICLE | {"reference": unique}))
    send(client, path, [acknowledged(bay, by=unique, reason=unique)])
    close(client, path)
    assert unique.encode() in everything_kept(app)
    erased = erase(client, path)

    assert erased.status_code == 200, erased.text
    assert unique.encode() not in everything_kept(app)


def test_chain_digest_and_signature_hold_after_erasure(client: httpx.Client) -> None:
    path, _ = told_job(client)
    before, digest = signed(client, path), client.get(path).json()["record_digest"]
    plan_id = client.get(path).json()["plan_id"]
    assert erase(client, path).status_code == 200
    found = [
        verify_record(signed(client, path, closing=number), keys=keys(client)) for number in (1, 2)
    ]
    record = client.get(f"{path}/record")
    plain = verify_record(record.content, digest=digest)
    shown = [client.get(path + tail).text for tail in ("", "/events", "/record", "/guidance")]
    page = client.get(f"{path}/record", headers={"Accept": "text/html"}).text
    plan = client.get(f"/v1/plans/{plan_id}").text

    assert [(one.authentic, one.whole, one.disclosed) for one in found] == [(True, True, 0)] * 2
    assert verify_record(before, keys=keys(client)).disclosed > 0
    assert (plain.whole, plain.faults) == (True, ())
    assert record.json()["digest"] == digest
    assert not [s for s in SECRETS for text in (*shown, page, plan) if s in text]


def test_erasing_twice_is_harmless(client: httpx.Client) -> None:
    path, _ = told_job(client)
    erase(client, path)
    first = signed(client, path), client.get(f"{path}/record").content
    assert erase(client, path).status_code == 200

    assert (signed(client, path), client.get(f"{path}/record").content) == first


def test_what_was_erased_and_is_posted_again_is_already_stored(client: httpx.Client) -> None:
    path, sent = told_job(client)
    erase(client, path)
    before = client.get(path).content
    again = outcomes(send(client, path, sent))

    assert set(again) == {"already_stored"}
    assert client.get(path).content == before


def test_another_event_under_an_erased_id_is_a_conflict(client: httpx.Client) -> None:
    path, sent = told_job(client)
    erase(client, path)
    other = sent[-2] | {"code": "another-caution"}

    assert outcomes(send(client, path, [other])) == ["conflict"]


def test_what_comes_after_the_erasure_is_erased_by_the_next(client: httpx.Client) -> None:
    path, _ = told_job(client)
    erase(client, path)
    late = "an invented late remark"
    assert outcomes(send(client, path, [event("note", 990, text=late)])) == ["stored_late"]
    assert late in client.get(f"{path}/events").text
    erase(client, path)

    assert late not in client.get(f"{path}/events").text
    assert verify_record(client.get(f"{path}/record").content).whole


def test_a_job_is_erased_only_when_it_is_closed_and_was_seen(client: httpx.Client) -> None:
    path, _ = started(client)
    stale = client.get(path).headers["etag"]
    open_job = erase(client, path)
    close(client, path)
    unseen = client.post(f"{path}/erase-personal-data", json=WHY)
    outdated = erase(client, path, tag=stale)

    assert problem(open_job) == (409, "conflict", {"job_id"})
    assert (unseen.status_code, outdated.status_code) == (428, 412)


def test_a_plan_of_two_jobs_is_erased_with_the_last(client: httpx.Client) -> None:
    plan = plan_of(client, vehicle=VEHICLE)
    paths = [started(client, plan)[0] for _ in range(2)]
    digests = [close(client, path).json()["record_digest"] for path in paths]
    first = erase(client, paths[0]).json()
    assert VIN not in client.get(f"{paths[0]}/record").text
    kept = client.get(f"/v1/plans/{plan.plan_id}")
    assert VIN in kept.text
    assert VIN in client.get(f"{paths[1]}/record").text
    second = erase(client, paths[1]).json()
    gone = client.get(f"/v1/plans/{plan.plan_id}")

    assert first["plan_kept_for"] == [paths[1].rpartition("/")[2]]
    assert second["plan_kept_for"] == []
    assert VIN not in gone.text
    assert gone.headers["etag"] != kept.headers["etag"]
    assert [client.get(f"{path}/record").json()["digest"] for path in paths] == digests


def test_the_request_of_an_erased_plan_cannot_be_guessed_by_its_digest(
    client: httpx.Client,
) -> None:
    key = str(uuid4())
    made = ask(client, routine(vehicle=VEHICLE), key=key)
    assert made.status_code == 201
    path, _ = started(client, msgspec.json.decode(made.content, type=type(plan_of(client))))
    close(client, path)
    erase(client, path)

    assert problem(ask(client, routine(vehicle=VEHICLE), key=key))[1] == "key-reused"


def test_a_reopened_job_that_was_erased_closes_with_a_record_that_holds(
    client: httpx.Client,
) -> None:
    path, _ = told_job(client)
    erase(client, path)
    reopened(client, path)
    digest = close(client, path).json()["record_digest"]
    found = verify_record(signed(client, path, closing=3), keys=keys(client), digest=digest)

    assert (found.authentic, found.whole) == (True, True)


def test_the_salt_is_another_one_afterwards(app: Running, client: httpx.Client) -> None:
    path, _ = told_job(client)
    of = Statement(text("SELECT salt FROM jobs WHERE job_id = :job_id").columns())
    job_id = path.rpartition("/")[2]

    def salt() -> bytes:
        return app.write(lambda connection: bytes(connection.execute(of, {"job_id": job_id})[0][0]))

    before = salt()
    erase(client, path)

    assert len(before) == len(salt()) == 32
    assert salt() != before


def test_texts_that_look_erased_are_not_taken(client: httpx.Client) -> None:
    forged = f"[erased {'ab' * 32}]"
    path, _ = started(client)
    posted = send(client, path, [event("note", text=forged), event("note", 1, text="invented")])
    hold = client.put(f"{path}/legal-hold", json={"by": forged, "reason": "invented"})
    planned = ask(client, routine(vehicle={"reference": "invented", "vin": forged}))
    close(client, path)
    tag = client.get(path).headers["etag"]
    opened = client.post(
        f"{path}/reopen", json={"by": "invented", "reason": forged}, headers={"If-Match": tag}
    )

    assert outcomes(posted) == ["refused", "stored"]
    assert posted.json()["items"][0]["errors"][0]["pointer"] == "#/events/0/text"
    assert [problem(one)[::2] for one in (hold, planned, opened)] == [
        (422, {"#/by"}), (422, {"#/vehicle/vin"}), (422, {"#/reason"})
    ]  # fmt: skip
