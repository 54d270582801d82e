"""A catalogue file: good lines are kept, bad ones told, and the same file again changes nothing."""

from pathlib import Path
from typing import Any

import httpx
import msgspec
import pytest
from msgspec import to_builtins

from exchange_api.catalogue_store import find_fluid, find_transmission
from exchange_api.cli import main
from exchange_api.storage.sqlite import SqliteConnection, connect
from libexchange.invented import red_fluid, six_speed
from libexchange.plan.records import CatalogueVersion
from tests.exchange_api.running import running

EXAMPLES = Path(__file__).parents[2] / "examples" / "catalogue" / "invented.ndjson"


def line(**entry: Any) -> bytes:
    return msgspec.json.encode(entry) + b"\n"


def imported(folder: Path, *lines: bytes) -> int:
    file = folder / "entries.ndjson"
    file.write_bytes(b"".join(lines))
    return main(["import", str(file), "--database", f"sqlite:///{folder}/exchange.db"], environ={})


def test_the_example_file_is_kept_whole_and_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ["import", str(EXAMPLES), "--database", f"sqlite:///{tmp_path}/exchange.db"]
    entries = EXAMPLES.read_bytes().count(b"\n")

    assert [main(told, environ={}), main(told, environ={})] == [0, 0]
    assert capsys.readouterr().out.splitlines() == [
        f"{entries} created, 0 changed, 0 unchanged, 0 refused.",
        f"0 created, 0 changed, {entries} unchanged, 0 refused.",
    ]


def test_every_workshop_sees_what_was_imported(tmp_path: Path) -> None:
    assert imported(tmp_path, line(transmission=to_builtins(six_speed()))) == 0

    with running(tmp_path) as app, app.client_of("Workshop") as client:
        got: httpx.Response = client.get("/v1/transmissions/invented-six-speed")
        assert (got.status_code, got.json()["scope"]) == (200, "installation")


def test_a_changed_entry_becomes_its_next_version(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    entry = to_builtins(red_fluid())
    imported(tmp_path, line(fluid=entry))
    imported(tmp_path, line(fluid={**entry, "name": "Redder"}), line(fluid=entry))

    assert "0 created, 2 changed, 0 unchanged" in capsys.readouterr().out
    found = find_fluid(
        SqliteConnection(connect(tmp_path / "exchange.db")), "any", "invented-red-fluid"
    )
    version = CatalogueVersion(entry_id="invented-red-fluid", version=3, scope="installation")
    assert found == (red_fluid(), version)


def test_an_id_of_another_kind_or_nobody_is_not_found(tmp_path: Path) -> None:
    imported(tmp_path, line(fluid=to_builtins(red_fluid())))
    connection = SqliteConnection(connect(tmp_path / "exchange.db"))

    assert find_transmission(connection, "any", "invented-red-fluid") is None
    assert find_fluid(connection, "any", "nobody") is None


BAD = {
    "no JSON": (b"nope\n", "JSON"),
    "no UTF-8": (b"\xff\n", "UTF-8"),
    "neither": (b"{}\n", "exactly one of transmission, fluid and additive"),
    "both": (
        line(fluid=to_builtins(red_fluid()), transmission=to_builtins(six_speed())),
        "exactly one of transmission, fluid and additive",
    ),
    "another thing": (line(motor={}), "motor"),
    "missing members": (line(fluid={"fluid_id": "invented-x", "kinds": []}), "#/fluid/source"),
    "wrong unit": (
        line(
            fluid={
                **to_builtins(red_fluid()),
                "fluid_id": "invented-x",
                "density_15": {"value": 850, "unit": "kg"},
            }
        ),
        "#/fluid/density_15",
    ),
}


@pytest.mark.parametrize(("bad", "told"), BAD.values(), ids=BAD)
def test_a_bad_line_is_told_by_its_number_and_the_others_are_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], bad: bytes, told: str
) -> None:
    good = line(transmission=to_builtins(six_speed()))
    code = imported(tmp_path, good, b"\n", bad, line(fluid=to_builtins(red_fluid())))

    out, err = capsys.readouterr()
    assert (code, out) == (1, "2 created, 0 changed, 0 unchanged, 1 refused.\n")
    assert err.startswith("line 3: ")
    assert told in err


def test_more_lines_than_a_unit_of_work_takes_are_all_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    entry = to_builtins(red_fluid())
    lines = [line(fluid={**entry, "fluid_id": f"invented-{number}"}) for number in range(250)]

    assert imported(tmp_path, *lines) == 0
    assert "250 created" in capsys.readouterr().out


def test_a_file_that_is_not_there_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ["import", str(tmp_path / "none"), "--database", f"sqlite:///{tmp_path}/exchange.db"]

    assert main(told, environ={}) == 2
    assert "FILE" in capsys.readouterr().err
