"""Idempotency-Keys live ninety days, and what they made for ever."""

from datetime import UTC, datetime, timedelta
from time import monotonic, sleep

import pytest
from msgspec.structs import replace
from sqlalchemy import bindparam, func, insert, select, update

from exchange_api import forgetting, upkeep
from exchange_api.cli import main
from exchange_api.outside import Outside, as_stamp, real_outside
from exchange_api.storage.migrate import migrate
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import IDEMPOTENCY, WORKSHOPS
from exchange_api.storage.units import Connection
from tests.exchange_api.bay_desk import ask, plans_kept
from tests.exchange_api.running import running
from tests.exchange_api.test_databases import using, written

NOW = datetime(2026, 6, 1, tzinfo=UTC)
AGE = Statement(update(IDEMPOTENCY).values(created_at=bindparam("then")))
COUNT = Statement(select(func.count()).select_from(IDEMPOTENCY))


def at(moment: datetime) -> Outside:
    return replace(real_outside(), now=lambda: moment)


def keys(url: str) -> int:
    counted: int = using(url, lambda database: database.read(lambda c: c.execute(COUNT)[0][0]))
    return counted


@pytest.mark.parametrize(("days", "kept"), [(89, 1), (91, 0)])
def test_a_start_forgets_keys_after_ninety_days(url: str, days: int, kept: int) -> None:
    with running(url, outside=at(NOW)) as app:
        text = app.key(workshop="Old")
        with app.client(key=text) as client:
            first = ask(client, key="once")
    with (
        running(url, outside=at(NOW + timedelta(days=days))) as app,
        app.client(key=text) as client,
    ):
        left = keys(url)
        again = ask(client, key="once")

        assert left == kept
        assert (again.content == first.content) is bool(kept)
        assert plans_kept(client) == 2 - kept
        assert client.get(first.headers["location"]).content == first.content


def test_a_service_that_runs_on_forgets_them_too(url: str) -> None:
    days = 0
    outside = replace(real_outside(), now=lambda: NOW + timedelta(days=days))
    with running(url, outside=outside) as app, app.client_of("Old") as client:
        made = ask(client, key="once")
        days = 89
        sleep(2.5 * upkeep.EVERY_S)
        kept = keys(url)
        days, end = 91, monotonic() + 15
        while keys(url) and monotonic() < end:
            sleep(0.1)

        assert (kept, keys(url)) == (1, 0)
        assert client.get(made.headers["location"]).content == made.content


def test_many_are_forgotten_in_pieces(url: str) -> None:
    migrate(url)
    many = forgetting.KEYS_PER_UNIT * 2 + 17
    row = {"workshop_id": "w", "operation": "o", "request_sha256": "", "target": ""}
    old = [row | {"key": f"{n}", "created_at": as_stamp(NOW)} for n in range(many)]
    new = [row | {"key": "new", "created_at": as_stamp(NOW + timedelta(days=1))}]

    def fill(connection: Connection) -> None:
        workshop = {"workshop_id": "w", "name": "", "region": "", "created_at": ""}
        connection.execute(Statement(insert(WORKSHOPS)), workshop)
        connection.execute_many(Statement(insert(IDEMPOTENCY)), [*old, *new])

    written(url, fill)
    later = at(NOW + forgetting.KEPT + timedelta(seconds=1))
    forgotten = using(url, lambda database: forgetting.forget_old_keys(database, later))

    assert (forgotten, keys(url)) == (many, 1)


def test_the_command_forgets_and_tells_how_many(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with running(url) as app, app.client_of("Old") as client:
        ask(client)
        ask(client)
        app.write(lambda connection: connection.execute(AGE, {"then": "2020"}))

    assert main(["purge", "--database", url], environ={}) == 0
    assert capsys.readouterr().out == "2 keys forgotten.\n"
    assert main(["purge", "--database", url], environ={}) == 0
    assert capsys.readouterr().out == "0 keys forgotten.\n"
