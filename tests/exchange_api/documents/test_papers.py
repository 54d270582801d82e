"""The documents over HTTP: chosen by reader and media type, each with its own tag."""

import asyncio
import time
from hashlib import sha256

import httpx
import pytest
from PIL import Image

from exchange_api.documents.printing import AT_ONCE, printed
from tests.exchange_api.attachments.album import put, written
from tests.exchange_api.bay_desk import close, event, problem, send, started, worked
from tests.exchange_api.documents.paper import page_texts, text_of

HTML, PDF, JSON = "text/html", "application/pdf", "application/json"


def closed(client: httpx.Client) -> str:
    path, _ = worked(client)
    assert close(client, path).status_code == 200
    return path


def read(client: httpx.Client, path: str, form: str, reader: str | None = None) -> httpx.Response:
    params = {"for": reader} if reader else {}
    answered = client.get(f"{path}/record", headers={"Accept": form}, params=params)
    assert answered.status_code == 200, answered.text
    assert answered.headers["content-type"].partition(";")[0] == form
    assert answered.headers["vary"] == "Accept"
    return answered


def test_each_reader_and_form_has_its_own_document(client: httpx.Client) -> None:
    path = closed(client)
    customer, workshop = ({form: read(client, path, form, reader) for form in (HTML, PDF)}
                          for reader in ("customer", "workshop"))  # fmt: skip

    for form in (HTML, PDF):
        assert "Your fluid service" in text_of(customer[form].content, form)
        assert "Record of a fluid service" in text_of(workshop[form].content, form)
    tags = {one.headers["etag"] for one in (*customer.values(), *workshop.values())}
    assert len(tags | {read(client, path, JSON).headers["etag"]}) == 5
    assert len(page_texts(customer[PDF].content)) == 1


def test_a_page_may_use_its_own_styles_and_nothing_else(client: httpx.Client) -> None:
    path = closed(client)
    page, program = (read(client, path, form) for form in (HTML, JSON))
    again = client.get(
        f"{path}/record", headers={"Accept": HTML, "If-None-Match": page.headers["etag"]}
    )

    assert "<style>" in page.text
    for answered in (page, again):
        policy = answered.headers["content-security-policy"].split("; ")
        assert policy == [
            "default-src 'none'",
            "style-src 'unsafe-inline'",
            "frame-ancestors 'none'",
        ]
    assert "style-src" not in program.headers["content-security-policy"]


def test_the_workshop_reads_by_default_and_programs_get_the_same_for_both(
    client: httpx.Client,
) -> None:
    path = closed(client)

    for form in (HTML, PDF):
        assert read(client, path, form).content == read(client, path, form, "workshop").content
    assert read(client, path, JSON, "customer").content == read(client, path, JSON).content


@pytest.mark.parametrize("params", [{"for": "dealer"}, {"for": ""}, {"reader": "customer"}])
def test_a_reader_that_there_is_not_is_refused(
    client: httpx.Client, params: dict[str, str]
) -> None:
    path = closed(client)
    answered = client.get(f"{path}/record", params=params)

    assert problem(answered) == (400, "invalid-parameter", set(params))


@pytest.mark.parametrize("tail", ["/record?for=customer", "/record", "/warranty-pack"])
def test_who_has_a_pdf_already_is_told_so(client: httpx.Client, tail: str) -> None:
    path = closed(client) + tail
    headers = {"Accept": PDF}
    first = client.get(path, headers=headers)
    again = client.get(path, headers=headers | {"If-None-Match": first.headers["etag"]})
    head = client.head(path, headers=headers)

    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == first.headers["etag"]
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["etag"] == first.headers["etag"]
    assert head.headers["content-length"] == str(len(first.content))


def test_the_customer_keeps_the_digest_that_the_close_answered(client: httpx.Client) -> None:
    path, bay = worked(client)
    digest = close(client, path).json()["record_digest"]
    late = event("leak_checked", 900, result="leak", occurred_at=bay.now.isoformat())
    send(client, path, [late])
    groups = " ".join(digest[n : n + 8] for n in range(0, 64, 8))

    assert read(client, path, JSON).json()["digest"] != digest
    for reader in ("customer", "workshop"):
        for form in (HTML, PDF):
            assert groups in text_of(read(client, path, form, reader).content, form)


def test_an_open_job_has_no_pack(client: httpx.Client) -> None:
    path, _ = started(client)

    assert problem(client.get(f"{path}/warranty-pack")) == (409, "conflict", {"job_id"})


def test_the_pack_is_the_record_with_its_photos(client: httpx.Client) -> None:
    path, bay = started(client)
    sent = written(Image.new("RGB", (60, 40), (10, 90, 30)), "JPEG", exif=b"")
    never = "ab" * 32
    at = bay.now.isoformat()
    readings = [
        event("reading", n, source="scan_tool_typed", occurred_at=at, photo=digest,
              temperature={"value": 40 + n, "unit": "Cel"})
        for n, digest in enumerate((sha256(sent).hexdigest(), never))
    ]  # fmt: skip
    assert put(client, sent, media_type="image/jpeg").status_code == 201
    send(client, path, readings)
    close(client, path)
    pack = client.get(f"{path}/warranty-pack").content
    text = text_of(pack)

    assert "Warranty pack of a fluid service" in text
    assert "Printed: 1 of 2 photos." in text
    assert "Photo 1. reading, 2026-03-04" in text
    assert "The file of this photo was not sent." in text
    assert " ".join(never[n : n + 8] for n in range(0, 64, 8)) in text
    assert pack.count(b"/Subtype/Image") == 1
    assert "Photo 1: reading, 2026".encode("utf-16-be").hex().upper().encode() in pack


def test_the_pack_has_photos_from_after_the_close_too(client: httpx.Client) -> None:
    path = closed(client)
    sent = written(Image.new("RGB", (60, 40), (10, 90, 30)), "JPEG", exif=b"")
    assert put(client, sent, media_type="image/jpeg").status_code == 201
    taken = event("photo_taken", 900, digest=sha256(sent).hexdigest(), size=len(sent),
                  media_type="image/jpeg", taken_at="2026-03-09T08:00:00Z",
                  shows="leak", occurred_at="2026-03-09T08:00:00Z")  # fmt: skip
    assert send(client, path, [taken]).json()["items"][0]["outcome"] == "stored_late"
    pack = client.get(f"{path}/warranty-pack").content

    assert "Photo 1. leak, taken 2026-03-09" in text_of(pack)
    assert pack.count(b"/Subtype/Image") == 1


def test_few_documents_are_made_at_one_time() -> None:
    running, most = 0, 0

    def make() -> bytes:
        nonlocal running, most
        running += 1
        most = max(most, running)
        time.sleep(0.02)
        running -= 1
        return b""

    async def all_at_once() -> None:
        await asyncio.gather(*(printed(make) for _ in range(8)))

    asyncio.run(all_at_once())
    assert most == AT_ONCE
