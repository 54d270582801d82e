"""The audit log: every change leaves a row with it, and nobody alters one unseen."""

import ast
import asyncio
import json
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

import httpx
import pytest
from litestar import Response, get
from sqlalchemy import bindparam, delete, update

from exchange_api import audit, audit_chain
from exchange_api.audit import Trace
from exchange_api.changing import change
from exchange_api.cli import main
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import AUDIT_EVENTS
from exchange_api.storage.units import Connection, Unit
from tests.exchange_api.audit_rows import added, unguarded
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.every_operation import ROUTES, recipe
from tests.exchange_api.running import Running, running

SOURCE = Path(audit.__file__).parent
CHANGING = [one for one, route in ROUTES.items() if route.declared.changes]
ROW = AUDIT_EVENTS.c.sequence == bindparam("of_number")
ALTER = Statement(update(AUDIT_EVENTS).where(ROW).values(actor="somebody else"))
REMOVE = Statement(delete(AUDIT_EVENTS).where(ROW))


def log(client: httpx.Client, **params: str) -> list[dict[str, str | int | None]]:
    """The whole log of a client's workshop, page by page."""
    found, cursor = [], None
    while True:
        told = client.get("/v1/audit-log", params=params | ({"cursor": cursor} if cursor else {}))
        assert told.status_code == 200, told.text
        found += told.json()["items"]
        cursor = told.json()["next_cursor"]
        if cursor is None:
            return found


@pytest.mark.parametrize("operation_id", CHANGING)
def test_a_change_leaves_its_row(
    app: Running, client: httpx.Client, administrator: httpx.Client, operation_id: str
) -> None:
    call = recipe(operation_id).ready(client)
    me = client.get("/v1/me").json()
    done = call.send(client, ROUTES[operation_id].method)
    of_all = operation_id == "exportPlans"  # a release belongs to the installation
    rows = log(administrator, log="installation", limit="200") if of_all else log(client)
    left = [row for row in rows if row["request_id"] == done.headers["x-request-id"]]
    if of_all and not left:  # a month is cut once on this database, by whoever came first
        left = [row for row in rows if row["operation"] == operation_id]
        me = {"key_id": str(left[0]["actor"]).removeprefix("key ")}

    (row,) = left
    assert done.is_success, done.text
    assert row["operation"] == operation_id
    assert row["actor"] == f"key {me['key_id']}"
    is_deleted = operation_id.startswith("delete")
    assert (row["after_sha256"] is None) == is_deleted
    assert not is_deleted or row["before_sha256"] is not None
    assert app.service.outside.stamp() >= str(row["at"])


def test_every_method_that_changes_by_its_nature_says_so() -> None:
    changing = {one for one, route in ROUTES.items() if route.method in {"PUT", "PATCH", "DELETE"}}

    assert changing <= set(CHANGING)


def _writes(path: Path) -> bool:
    """Whether a module hands a unit to a database to be written."""
    calls = (one for one in ast.walk(ast.parse(path.read_text())) if isinstance(one, ast.Call))
    called = (one.func for one in calls if isinstance(one.func, ast.Attribute))
    return any(one.attr == "write" and "database" in ast.unparse(one.value) for one in called)


def test_resources_write_in_one_way_only() -> None:
    paths = [path for path in SOURCE.rglob("*.py") if _writes(path)]
    writers = {path.relative_to(SOURCE).as_posix() for path in paths}

    assert not {one for one in writers if one.startswith(("v1/", "catalogue_serving"))}
    assert "changing.py" in writers


@get("/undeclared", **operation(Operation(
    operation_id="x", summary="", tag="t", scope="any", answers={200: Answer(description="")}
)))  # fmt: skip
async def undeclared(request: Request) -> Response[bytes]:
    await change(request, lambda _: None, lambda _: Trace(target="nothing"))
    return answer({})


def test_an_operation_that_does_not_say_so_cannot_change(tmp_path: Path) -> None:
    with running(tmp_path, more_handlers=(undeclared,)) as app, app.client_of("A") as client:
        assert client.get("/undeclared").status_code == 500
        assert log(client) == []


def test_what_changes_nothing_leaves_nothing(client: httpx.Client) -> None:
    key = str(uuid4())
    first, again = ask(client, key=key), ask(client, key=key)
    refused = ask(client, key=key, reason="maker_drain")

    assert (first.content, refused.status_code) == (again.content, 422)
    (row,) = log(client)
    assert row["target"] == f"plans/{first.json()['plan_id']}"
    assert row["before_sha256"] is None
    assert row["after_sha256"] == sha256(first.content).hexdigest()


def test_before_and_after_follow_one_another(client: httpx.Client) -> None:
    call = recipe("postEvents").ready(client)
    call.send(client, "POST")
    client.post(call.path.replace("/events", "/close"), headers={"If-Match": "*"})
    rows = [row for row in log(client) if str(row["target"]).startswith("jobs/")]

    assert [row["operation"] for row in rows] == ["startJob", "postEvents", "closeJob"]
    assert rows[1]["before_sha256"] == rows[0]["after_sha256"]
    assert rows[2]["before_sha256"] == rows[1]["after_sha256"]


def test_the_chain_can_be_computed_from_the_answer(client: httpx.Client) -> None:
    for _ in range(3):
        ask(client)
    chain, facts = "", (
        "audit_id", "workshop_id", "at", "actor", "operation", "target", "before_sha256",
        "after_sha256", "request_id",
    )  # fmt: skip
    for number, row in enumerate(log(client, limit="1"), 1):
        told = [chain, number, *(row[name] for name in facts)]
        raw = json.dumps(told, separators=(",", ":"), ensure_ascii=False)
        chain = sha256(raw.encode()).hexdigest()

        assert row["chain_sha256"] == chain
        assert row["sequence"] == number


def test_the_installations_log_is_the_administrators(
    client: httpx.Client, administrator: httpx.Client
) -> None:
    assert client.get("/v1/audit-log?log=installation").status_code == 403
    assert administrator.get("/v1/audit-log?log=installation").status_code == 200


def sealed(url: str, count: int, *more: Unit[object]) -> audit_chain.Report:
    """The report on a log of so many rows after more has happened to it."""

    async def run() -> audit_chain.Report:
        database = database_at(url)
        await database.open()
        try:
            for number in range(count):
                await database.write(added(owner="abc"[number % 3], target=str(number)))
            while await database.write(audit.seal):
                pass
            for unit in more:
                await database.write(unit)
            return await audit_chain.verify(database)
        finally:
            await database.close()

    migrate(url)
    return asyncio.run(run())


def at(statement: Statement, number: int) -> Unit[object]:
    def unit(connection: Connection) -> object:
        return connection.execute(statement, {"of_number": number})

    return unit


def test_a_whole_log_is_told_whole(url: str) -> None:
    report = sealed(url, 1201)

    assert [(head.workshop_id, head.sequence) for head in report.heads] == [
        ("a", 401), ("b", 400), ("c", 400)
    ]  # fmt: skip
    assert report.broken == []


@pytest.mark.parametrize("statement", [ALTER, REMOVE])
def test_tampering_shows(url: str, statement: Statement) -> None:
    report = sealed(url, 30, *unguarded(url), at(statement, 4))

    assert report.heads == []
    assert [(one.workshop_id, one.sequence) for one in report.broken] == [
        ("a", 4), ("b", 4), ("c", 4)
    ]  # fmt: skip


def test_the_command_tells_whole_from_broken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path}/a.db"
    told = ["audit", "verify", "--database", url]
    sealed(url, 9)
    whole = main(told, environ={})
    sealed(url, 0, *unguarded(url), at(ALTER, 2))
    broken = main(told, environ={})

    assert (whole, broken) == (0, 1)
    assert capsys.readouterr().out.count("broken") == 3


@pytest.mark.parametrize("revision", [None, "0002"])
def test_the_command_needs_a_database_with_the_newest_tables(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], revision: str | None
) -> None:
    url = f"sqlite:///{tmp_path}/a.db"
    if revision is not None:
        migrate(url, to=revision)

    assert main(["audit", "verify", "--database", url], environ={}) == 2
    assert capsys.readouterr().err.startswith("--database: ")
    assert (tmp_path / "a.db").exists() == (revision is not None)


def test_what_is_done_on_the_machine_is_logged_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path}/a.db"
    main(["keys", "create", "--workshop", "W", "--scopes", "*", "--database", url], environ={})
    key = capsys.readouterr().out.splitlines()[-1]
    with running(url) as app, app.client(key=key) as client:
        (row,) = log(client)

    assert (row["actor"], row["operation"]) == ("command line", "keys create")
