"""The record of a closed job: the library's own, as JSON or as a page, by Accept."""

from html.parser import HTMLParser

import httpx
import msgspec
import pytest
from sqlalchemy import bindparam, select

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOBS
from libexchange.job.view import Closing
from libexchange.record import JobRecord, make_record
from libexchange.verification import verify_record
from tests.exchange_api.bay_desk import close, event, plan_of, problem, send, started, worked
from tests.exchange_api.running import Running

PAGE = {"Accept": "text/html"}


class Page(HTMLParser):
    """The words of a page and whatever it would load."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.loads: list[str] = []
        self.tags: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.loads += [value or "" for name, value in attrs if name in ("src", "href", "action")]

    def handle_data(self, data: str) -> None:
        self.words.append(data.strip())


def test_an_open_job_has_no_record(client: httpx.Client) -> None:
    path, _ = worked(client)

    assert problem(client.get(f"{path}/record")) == (409, "conflict", {"job_id"})


def salt_of(app: Running, path: str) -> bytes:
    found = Statement(select(JOBS.c.salt).where(JOBS.c.job_id == bindparam("job_id")))
    job_id = {"job_id": path.rpartition("/")[2]}
    return bytes(app.write(lambda connection: connection.execute(found, job_id))[0][0])


def test_the_record_is_the_one_the_library_makes(app: Running, client: httpx.Client) -> None:
    path, bay = worked(client)
    closed = close(client, path)
    record = client.get(f"{path}/record")
    own = make_record(
        job_id=msgspec.json.decode(record.content, type=JobRecord).job_id,
        plan=bay.plan,
        device_events=bay.events,
        late_events=[],
        closing=msgspec.json.decode(closed.content, type=Closing),
        salt=salt_of(app, path),
    )

    assert record.content == msgspec.json.encode(own)
    assert verify_record(record.content, digest=own.digest).whole
    assert record.headers["content-type"] == "application/json"


def test_late_events_stand_apart_in_the_record(client: httpx.Client) -> None:
    path, bay = worked(client)
    close(client, path)
    before = client.get(f"{path}/record")
    late = event("leak_checked", 900, result="leak", occurred_at=bay.now.isoformat())
    send(client, path, [late])
    after = client.get(f"{path}/record")

    assert [one["event"]["event_id"] for one in after.json()["late_events"]] == [late["event_id"]]
    assert after.json()["chain_head"] == before.json()["chain_head"]
    assert after.json()["closing"] == before.json()["closing"]
    assert after.headers["etag"] != before.headers["etag"]


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/html", "text/html; charset=utf-8"),
        ("text/html, application/json;q=0.5", "text/html; charset=utf-8"),
        ("text/html;q=0.2, application/json", "application/json"),
        ("application/pdf", "application/pdf"),
        ("text/html;q=0.2, application/pdf;q=0.3", "application/pdf"),
    ],
)
def test_accept_chooses_the_form(client: httpx.Client, accept: str, kind: str) -> None:
    path, _ = worked(client)
    close(client, path)
    answered = client.get(f"{path}/record", headers={"Accept": accept})

    assert (answered.status_code, answered.headers["content-type"]) == (200, kind)
    assert answered.headers["vary"] == "Accept"


def test_a_form_that_we_do_not_make_is_refused(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    answered = client.get(f"{path}/record", headers={"Accept": "image/png"})

    assert problem(answered) == (406, "not-acceptable", {"Accept"})


def test_each_form_has_its_own_tag(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    page, record = client.get(f"{path}/record", headers=PAGE), client.get(f"{path}/record")
    tag = page.headers["etag"]
    known = client.get(f"{path}/record", headers=PAGE | {"If-None-Match": tag})
    other = client.get(f"{path}/record", headers={"If-None-Match": tag})

    assert tag != record.headers["etag"]
    assert (known.status_code, known.headers["vary"], known.headers["etag"]) == (304, "Accept", tag)
    assert (other.status_code, other.content) == (200, record.content)


def test_the_page_stands_alone_and_tells_the_verdict_first(client: httpx.Client) -> None:
    path, _ = started(client)
    close(client, path)
    page = Page(client.get(f"{path}/record", headers=PAGE).text)
    text = " ".join(page.words)

    assert page.loads == []
    assert page.tags.isdisjoint({"script", "link", "img", "iframe", "form"})
    assert text.index("Incomplete") < text.index("Not done") < text.index("What was planned")
    assert "not measured" in text
    assert "invented" in text.lower()


def test_the_page_names_what_was_gone_on_with(client: httpx.Client) -> None:
    path, _ = worked(client, plan_of(client, conditions=["level_low_on_arrival"]))
    close(client, path)
    text = client.get(f"{path}/record", headers=PAGE).text

    assert text.index("Accepted with remarks") < text.index("invented foreman")
    assert text.index("invented foreman") < text.index("What was planned")


def test_what_people_type_stays_text(client: httpx.Client) -> None:
    path, bay = started(client)
    written = "<script>alert(1)</script>"
    send(client, path, [event("note", text=written, occurred_at=bay.now.isoformat())])
    close(client, path)
    page = Page(client.get(f"{path}/record", headers=PAGE).text)

    assert "script" not in page.tags
    assert written in " ".join(page.words)
