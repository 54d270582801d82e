"""The command, its settings and its clean stop, in a process of its own."""

import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import sleep

import httpx
import pytest

from exchange_api.cli import COMMANDS, main
from exchange_api.settings import SETTINGS, Settings, read_settings, without_password
from libexchange.errors import InvalidInput
from tests.exchange_api.running import Running


def test_settings_come_from_variables_and_flags_win() -> None:
    environ = {"EXCHANGE_API_PORT": "1", "EXCHANGE_API_HOST": "h", "PATH": "/bin"}

    settings = read_settings(environ, {"port": "2", "host": None})

    assert settings == Settings(port=2, host="h")


def test_every_setting_can_be_set_and_has_a_default() -> None:
    assert {setting.name for setting in SETTINGS} == set(Settings.__struct_fields__)


def test_every_fault_of_the_settings_is_listed_at_once() -> None:
    environ = {
        "EXCHANGE_API_PORT": "70000",
        "EXCHANGE_API_LOG_LEVEL": "loud",
        "EXCHANGE_API_PROT": "1",
    }

    with pytest.raises(InvalidInput) as refused:
        read_settings(environ, {"database": "mysql://root:hunter2@h/x"})

    places = [fault.pointer for fault in refused.value.faults]
    assert places == [
        "EXCHANGE_API_PROT", "EXCHANGE_API_PORT", "--database", "EXCHANGE_API_LOG_LEVEL"
    ]  # fmt: skip
    assert "hunter2" not in str(refused.value)


def test_a_password_is_never_shown() -> None:
    assert "hunter2" not in without_password("postgresql://u:hunter2@h/x")


def test_wrong_settings_end_with_2_and_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["migrate", "--database", "mysql://a:b@c/d"], environ={})

    assert code == 2
    assert capsys.readouterr().err.startswith("--database: ")


def test_a_database_that_is_away_is_told_before_anything_listens(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ["serve", "--port", "0", "--database", f"sqlite:///{tmp_path}/missing/a.db"]

    assert main(told, environ={}) == 1
    assert capsys.readouterr() == (
        "",
        "The database does not answer: unable to open database file\n",
    )


@pytest.mark.parametrize("command", [[], *([command.name] for command in COMMANDS)])
def test_help_lists_the_variables(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([*command, "--help"], environ={})

    assert left.value.code == 0
    assert "EXCHANGE_API_DATABASE" in capsys.readouterr().out


def test_keys_create_prints_the_key_alone_on_the_last_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    database = f"sqlite:///{tmp_path}/a.db"
    told = ["keys", "create", "--workshop", "Invented", "--scopes", "*", "--database", database]

    codes = [main(told, environ={}), main(told, environ={})]

    assert codes == [0, 0]
    assert capsys.readouterr().out.splitlines()[-1].startswith("lxk_")
    assert _count(tmp_path / "a.db", "workshops") == 1
    assert _count(tmp_path / "a.db", "api_keys") == 2


def _count(path: Path, table: str) -> int:
    raw = sqlite3.connect(path)
    (count,) = raw.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608 -- our own names
    raw.close()
    return int(count)


def test_unknown_scopes_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = ["keys", "create", "--workshop", "X", "--scopes", "plans"]

    assert main([*told, "--database", f"sqlite:///{tmp_path}/a.db"], environ={}) == 2
    assert "--scopes" in capsys.readouterr().err
    assert not (tmp_path / "a.db").exists()


def test_openapi_writes_the_contract(tmp_path: Path) -> None:
    assert main(["openapi", "--out", str(tmp_path / "v1.json")], environ={}) == 0
    assert (tmp_path / "v1.json").read_bytes().startswith(b'{\n  "components"')


@contextmanager
def process(*told: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A serving process and its address."""
    with subprocess.Popen(  # noqa: S603 -- our own program
        [sys.executable, "-m", *told], text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as serving:
        assert serving.stdout is not None
        try:
            yield serving, serving.stdout.readline().split()[-1]
        finally:
            serving.kill()


def test_serve_listens_announces_the_key_and_ends_with_0_on_sigterm(tmp_path: Path) -> None:
    told = ["exchange_api.cli", "serve", "--port", "0", "--database", f"sqlite:///{tmp_path}/a.db"]
    with process(*told) as (serving, url):
        assert serving.stdout is not None
        key = serving.stdout.readlines(100)[-1].strip()
        me = httpx.get(url + "/v1/me", headers={"Authorization": f"Bearer {key}"})
        serving.send_signal(signal.SIGTERM)
        code = serving.wait(20)

    assert me.json()["administrator"] is True
    assert code == 0


def test_sigterm_finishes_the_request_in_flight(tmp_path: Path) -> None:
    """`100 Continue` shows that the handler waits for the body when the signal comes."""
    body = b'{"sump": {"value": 5.5, "unit": "L"}}'
    head = b"POST /orders HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    head += b"Expect: 100-continue\r\nContent-Length: %d\r\n\r\n" % len(body)
    served = process("tests.exchange_api.serve_shapes", f"sqlite:///{tmp_path}/a.db")
    with served as (serving, url), _connected(url) as raw:
        raw.sendall(head)
        told = raw.recv(100)
        serving.send_signal(signal.SIGTERM)
        _wait_until_refused(url)
        raw.sendall(body)
        answer = raw.recv(100)
        code = serving.wait(20)

    assert told.startswith(b"HTTP/1.1 100 ")
    assert answer.startswith(b"HTTP/1.1 200 ")
    assert code == 0


def _connected(url: str) -> socket.socket:
    host, port = url.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=10)


def _wait_until_refused(url: str) -> None:
    for _ in range(500):
        try:
            _connected(url).close()
        except ConnectionRefusedError:
            return
        sleep(0.01)
    pytest.fail("it still accepts connections")


def test_a_taken_port_is_told(app: Running) -> None:
    code = main(["serve", "--port", app.url.rpartition(":")[2]], environ={})

    assert code == 2
