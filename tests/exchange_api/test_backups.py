"""Databases carried as a whole: saved while in use, restored and moved with every table checked."""

import gzip
import json
import stat
from collections.abc import Callable
from pathlib import Path
from threading import Thread

import httpx
import pytest

from exchange_api.cli import main
from exchange_api.storage import portable
from exchange_api.storage.migrate import migrate
from exchange_api.storage.tables import METADATA
from tests.exchange_api.bay_desk import ask, close, plan_of, worked
from tests.exchange_api.postgresql_server import Server
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_databases import add, names, using, written


@pytest.fixture
def empty(request: pytest.FixtureRequest, backend: str, tmp_path: Path) -> str:
    """A new database of the other kind."""
    if backend == "postgresql":
        return f"sqlite:///{tmp_path}/other.db"
    server: Server = request.getfixturevalue("postgresql")
    return server.database()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "saved"


def told(*words: object) -> int:
    return main([str(word) for word in words], environ={})


def work(client: httpx.Client) -> list[str]:
    """Some of everything that is kept; the paths that answer it."""
    path, _ = worked(client, plan_of(client))
    assert close(client, path).status_code == 200
    return [ask(client).headers["location"], path, f"{path}/events", f"{path}/record"]


def bodies(app: Running, key: str, paths: list[str]) -> list[bytes]:
    with app.client(key=key) as client:
        return [client.get(path).content for path in paths]


def test_what_is_moved_answers_as_before(url: str, empty: str) -> None:
    with running(url) as app:
        key = app.key(workshop="Mover")
        with app.client(key=key) as client:
            paths = work(client)
        before = bodies(app, key, paths)

    code = told("move", "--from", url, "--to", empty)

    with running(empty) as app:
        assert code == 0
        assert app.announced == []
        assert bodies(app, key, paths) == before
        with app.client(key=key) as client:
            work(client)


def test_a_move_tells_count_and_digest_of_every_table(
    url: str, empty: str, capsys: pytest.CaptureFixture[str]
) -> None:
    migrate(url)
    written(url, add("a"), add("b"))

    assert told("move", "--from", url, "--to", empty) == 0

    lines = capsys.readouterr().out.splitlines()
    counts = {line.split()[0]: int(line.split()[1]) for line in lines[:-1]}
    assert counts == dict.fromkeys(METADATA.tables, 0) | {"workshops": 2}
    assert using(empty, lambda database: database.read(portable.sums)) == using(
        url, lambda database: database.read(portable.sums)
    )


def test_a_move_from_a_database_in_use_is_told(
    url: str, empty: str, capsys: pytest.CaptureFixture[str]
) -> None:
    migrate(url)
    stop: list[bool] = []

    def busy() -> None:
        number = 0
        while not stop:
            written(url, add(f"{number}"))
            number += 1

    thread = Thread(target=busy)
    thread.start()
    code = told("move", "--from", url, "--to", empty)
    stop.append(True)
    thread.join()

    assert code == 2
    assert "--from: it was written to while it was moved" in capsys.readouterr().err


def test_a_backup_while_in_use_is_one_snapshot(url: str, empty: str, file: Path) -> None:
    """Each plan needs its key and each event its job: half of a write would be refused."""
    with running(url) as app, app.client_of("Busy") as client:
        work(client)
        stop: list[bool] = []

        def busy() -> None:
            while not stop:
                work(client)

        thread = Thread(target=busy)
        thread.start()
        code = told("backup", "--database", url, "--to", file)
        stop.append(True)
        thread.join()

    assert code == 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert told("restore", "--database", empty, "--from", file) == 0
    saved = using(empty, lambda database: database.read(portable.sums))
    rows = {one.table: one.count for one in saved}
    assert rows["idempotency"] == rows["plans"] >= 2
    assert rows["jobs"] >= 1


def test_the_same_rows_make_the_same_digests_on_every_kind(
    url: str, empty: str, file: Path
) -> None:
    migrate(url)
    written(url, *map(add, ["a-b", "ab", "B", "ä", "\U0001f697", "quo'ted", "%s", "a\tb"]))
    written(url, *(add(f"{number:04}") for number in range(450)))

    told("backup", "--database", url, "--to", file)
    told("restore", "--database", empty, "--from", file)

    assert using(url, lambda d: d.read(names)) == using(empty, lambda d: d.read(names))


def test_a_database_with_rows_is_not_filled(
    url: str, empty: str, capsys: pytest.CaptureFixture[str]
) -> None:
    migrate(url)
    migrate(empty)
    written(url, add("a"))
    written(empty, add("mine"))

    assert told("move", "--from", url, "--to", empty) == 2
    assert "--to: the table workshops holds rows already" in capsys.readouterr().err
    assert using(empty, lambda database: database.read(names)) == ["mine"]


def changed_row(lines: list[bytes]) -> list[bytes]:
    return [line.replace(b'"mine"', b'"mime"') for line in lines]


def dropped_row(lines: list[bytes]) -> list[bytes]:
    return [line for line in lines if b'"mine"' not in line]


def without_end(lines: list[bytes]) -> list[bytes]:
    return lines[:-1]


def without_a_table(lines: list[bytes]) -> list[bytes]:
    at = next(n for n, line in enumerate(lines) if b'"columns"' in line)
    return lines[:at] + lines[at + 2 :]


def another_format(lines: list[bytes]) -> list[bytes]:
    return [json.dumps(json.loads(lines[0]) | {"format": "?"}).encode() + b"\n", *lines[1:]]


def no_json(lines: list[bytes]) -> list[bytes]:
    return [lines[0], b"\xff\n", *lines[2:]]


def unknown_revision(lines: list[bytes]) -> list[bytes]:
    return [json.dumps(json.loads(lines[0]) | {"revision": "9999"}).encode() + b"\n", *lines[1:]]


@pytest.mark.parametrize(
    "damage",
    [
        changed_row, dropped_row, without_end, without_a_table, another_format, no_json,
        unknown_revision,
    ],
)  # fmt: skip
def test_a_damaged_backup_keeps_nothing(
    url: str,
    empty: str,
    file: Path,
    damage: Callable[[list[bytes]], list[bytes]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    migrate(url)
    written(url, add("mine"), add("other"))
    told("backup", "--database", url, "--to", file)
    file.write_bytes(
        gzip.compress(b"".join(damage(gzip.decompress(file.read_bytes()).splitlines(True))))
    )

    assert told("restore", "--database", empty, "--from", file) == 2
    assert "--from: " in capsys.readouterr().err
    migrate(empty)
    assert using(empty, lambda database: database.read(names)) == []


@pytest.mark.parametrize("keep", [0, 10, 100, -1])
def test_a_backup_that_was_cut_short_keeps_nothing(
    url: str, empty: str, file: Path, keep: int
) -> None:
    migrate(url)
    written(url, add("mine"))
    told("backup", "--database", url, "--to", file)
    file.write_bytes(file.read_bytes()[:keep])

    assert told("restore", "--database", empty, "--from", file) == 2
    migrate(empty)
    assert using(empty, lambda database: database.read(names)) == []


def test_what_cannot_be_saved_is_told(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    no_tables = told("backup", "--database", url, "--to", tmp_path / "a")
    migrate(url)
    no_folder = told("backup", "--database", url, "--to", tmp_path / "none" / "a")
    not_there = told(
        "backup", "--database", f"sqlite:///{tmp_path}/none.db", "--to", tmp_path / "a"
    )
    no_url = told("move", "--from", "mysql://u:hunter2@h/x", "--to", url)

    assert [no_tables, no_folder, not_there, no_url] == [2] * 4
    err = capsys.readouterr().err
    assert [line.split(":")[0] for line in err.splitlines()] == [
        "--database", "--to", "--database", "--from"
    ]  # fmt: skip
    assert "hunter2" not in err
    assert not (tmp_path / "none.db").exists()
