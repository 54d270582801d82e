"""Pictures over HTTP: kept under the digest of what was sent, safe to repeat, one's own."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from uuid import uuid4

import httpx
import pytest

from exchange_api.attachment_store import PIECE_BYTES, PIECES_AT_A_TIME, attachment
from exchange_api.v1.attachments.operations import LARGEST_SENT
from tests.exchange_api.attachments.album import (
    address,
    digest,
    noise,
    opened,
    photo,
    picture,
    put,
)
from tests.exchange_api.bay_desk import problem
from tests.exchange_api.running import Running, running


def test_a_picture_is_kept_and_read(client: httpx.Client) -> None:
    raw = picture()
    made = put(client, raw)
    read = client.get(address(raw))

    assert (made.status_code, made.headers["location"]) == (201, address(raw))
    assert (made.json()["digest"], made.json()["sent_size"]) == (digest(raw), len(raw))
    assert (made.json()["kept_digest"], made.json()["kept_size"]) == (
        digest(read.content), len(read.content))  # fmt: skip
    assert opened(read.content).tobytes() == opened(raw).tobytes()
    assert read.headers["etag"] == made.headers["etag"] == f'"{digest(read.content)}"'
    assert read.headers["content-type"] == "image/png"
    assert read.headers["x-content-type-options"] == "nosniff"
    assert read.headers["content-disposition"] == f'attachment; filename="{digest(raw)[:16]}.png"'


def test_the_same_again_changes_nothing_for_ever(client: httpx.Client) -> None:
    raw = photo()
    made = put(client, raw, media_type="image/jpeg")
    again = [put(client, raw, media_type="image/jpeg") for _ in range(3)]

    assert {one.status_code for one in again} == {200}
    assert all(one.json() == made.json() for one in again)
    assert all("location" not in one.headers for one in again)
    assert [row["operation"] for row in audit(client)].count("putAttachment") == 1


def audit(client: httpx.Client) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = client.get("/v1/audit-log").raise_for_status().json()["items"]
    return rows


def test_sixteen_at_once_keep_one(client: httpx.Client) -> None:
    raw = picture()
    with ThreadPoolExecutor(16) as callers:
        answers = list(callers.map(lambda _: put(client, raw), range(16)))

    assert sorted(one.status_code for one in answers) == [200] * 15 + [201]
    assert len({one.content for one in answers}) == 1
    assert digest(client.get(address(raw)).content) == answers[0].json()["kept_digest"]


def test_a_picture_of_many_pieces_comes_back_whole(client: httpx.Client, app: Running) -> None:
    raw = noise(1400, 1000)
    made = put(client, raw)
    read = client.get(address(raw))
    workshop_id = client.get("/v1/me").json()["workshop_id"]
    found = app.write(lambda connection: attachment(connection, workshop_id, digest(raw)))

    assert len(read.content) > PIECE_BYTES * PIECES_AT_A_TIME * 2
    assert read.headers["content-length"] == str(made.json()["kept_size"])
    assert opened(read.content).tobytes() == opened(raw).tobytes()
    assert found is not None
    assert (found.media_type, found.content) == ("image/png", read.content)


def test_head_and_conditions(client: httpx.Client) -> None:
    raw = picture()
    tag = put(client, raw).headers["etag"]
    head = client.head(address(raw))
    same = client.get(address(raw), headers={"If-None-Match": tag})
    other = client.get(address(raw), headers={"If-None-Match": f'"{digest(raw)}"'})

    assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", tag)
    assert head.headers["content-length"] == other.headers["content-length"]
    assert (same.status_code, same.content) == (304, b"")
    assert other.status_code == 200


def test_a_picture_of_another_workshop_is_simply_ours_to_put(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    raw = picture()
    put(client, raw)
    absent = other_client.get(address(raw))
    own = put(other_client, raw)

    assert problem(absent) == (404, "not-found", {"digest"})
    assert own.status_code == 201
    assert other_client.get(address(raw)).content == client.get(address(raw)).content


@pytest.mark.parametrize(
    "name", ["0" * 63, "0" * 65, "G" * 64, "A" * 64, "01920000-0000-7000-8000-000000000001"]
)
def test_what_is_no_digest_names_nothing(client: httpx.Client, name: str) -> None:
    headers = {"Content-Type": "image/png"}

    assert problem(client.get(f"/v1/attachments/{name}"))[0] == 404
    sent = client.put(f"/v1/attachments/{name}", content=picture(), headers=headers)
    assert problem(sent) == (404, "not-found", {"digest"})


def test_what_was_damaged_on_the_way_is_told_with_both_digests(client: httpx.Client) -> None:
    raw = picture()
    damaged = raw[:-1] + b"\x00"
    refused = client.put(address(raw), content=damaged, headers={"Content-Type": "image/png"})
    (error,) = refused.json()["errors"]

    assert problem(refused) == (422, "invalid-body", {"#"})
    assert (error["code"], error["value"], error["allowed"]) == (
        "digest-differs", digest(damaged), digest(raw))  # fmt: skip
    assert client.get(address(raw)).status_code == 404


def test_an_empty_body_is_no_picture(client: httpx.Client) -> None:
    refused = put(client, b"")

    assert problem(refused) == (422, "invalid-body", {"#"})
    assert refused.json()["errors"][0]["code"] == "not-a-picture"


@pytest.mark.parametrize(
    "media_type", ["image/webp", "image/gif", "application/pdf", "application/json", "", "text/x"]
)
def test_case_95_other_media_types_are_refused(client: httpx.Client, media_type: str) -> None:
    refused = put(client, picture(), media_type=media_type)

    assert problem(refused) == (415, "unsupported-media-type", {"Content-Type"})
    assert refused.json()["errors"][0]["allowed"] == "image/jpeg or image/png"


def test_a_coded_body_is_refused(client: httpx.Client) -> None:
    refused = put(client, picture(), **{"Content-Encoding": "gzip"})

    assert problem(refused) == (415, "unsupported-media-type", {"Content-Encoding"})


def test_case_95_one_byte_too_many_is_refused_and_the_limit_is_not(client: httpx.Client) -> None:
    whole = picture().ljust(LARGEST_SENT, b"\x00")
    beyond = whole + b"\x00"

    assert problem(put(client, beyond)) == (413, "body-too-large", {"#"})
    assert put(client, whole).status_code == 201


def test_a_reader_gets_only_what_it_accepts(client: httpx.Client) -> None:
    raw = picture()
    put(client, raw)

    def asked(accept: str) -> int:
        return client.get(address(raw), headers={"Accept": accept}).status_code

    assert [asked(one) for one in ("image/*", "image/png", "*/*", "image/jpeg", "text/html")] == [
        200, 200, 200, 406, 406]  # fmt: skip


def test_each_act_needs_its_scope(app: Running) -> None:
    raw, workshop = picture(), f"Workshop {uuid4()}"
    with (
        app.client_of(workshop, scopes="jobs:read") as reader,
        app.client_of(workshop, scopes="jobs:write") as writer,
    ):
        assert problem(put(reader, raw))[:2] == (403, "forbidden")
        assert put(writer, raw).status_code == 201
        assert problem(writer.get(address(raw)))[:2] == (403, "forbidden")
        assert reader.get(address(raw)).status_code == 200


def test_a_workshop_keeps_no_more_than_its_quota(tmp_path: Path) -> None:
    raw, other = picture(), picture()
    with running(tmp_path) as app, app.client_of("A") as client:
        size = put(client, raw).json()["kept_size"]
    with running(tmp_path, attachment_quota=2 * size - 1) as app, app.client_of("A") as client:
        refused = put(client, other)
        again = put(client, raw)
        with app.client_of("B") as neighbour:
            own = put(neighbour, other)
    with running(tmp_path, attachment_quota=2 * size) as app, app.client_of("A") as client:
        kept = put(client, other)

    assert problem(refused) == (507, "quota-reached", {"#"})
    assert (again.status_code, own.status_code, kept.status_code) == (200, 201, 201)


def test_the_reserve_of_the_disk_is_left_alone(tmp_path: Path) -> None:
    with running(tmp_path, disk_reserve=2**60) as app, app.client_of("A") as client:
        refused = put(client, picture())

    assert problem(refused)[:2] == (503, "storage-unavailable")
    assert "retry-after" in refused.headers
