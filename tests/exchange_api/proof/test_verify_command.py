"""`exchange-api verify`: from files alone, with plain words and an exit code."""

import subprocess
import sys
from pathlib import Path

import pytest

from exchange_api.entry import main
from libexchange.canonical import canonical_json
from libexchange.invented import closed_record
from libexchange.signature import public_jwk
from libexchange.signed_record import sign_record

SEED = bytes(32)
RECORD = closed_record()


@pytest.fixture
def files(tmp_path: Path) -> Path:
    (tmp_path / "record.json").write_bytes(sign_record(RECORD, private_key=SEED))
    (tmp_path / "keys.json").write_bytes(canonical_json({"keys": [public_jwk(SEED)]}))
    return tmp_path


def verified(folder: Path, *more: str, record: str = "record.json") -> int:
    return main(["verify", str(folder / record), "--keys", str(folder / "keys.json"), *more])


def test_a_record_as_it_was_signed_is_good(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = verified(files, "--digest", RECORD.digest)
    told = capsys.readouterr().out

    assert code == 0
    assert str(RECORD.job_id) in told
    assert RECORD.digest in told
    assert told.splitlines()[-1].startswith("Authentic and whole")


def test_one_byte_more_is_named(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (files / "record.json").open("ab") as file:
        file.write(b" ")
    code = verified(files)
    told = capsys.readouterr().out

    assert code == 1
    assert "not-canonical at the document" in told
    assert told.splitlines()[-1].startswith("Authentic but not whole")


def test_another_digest_is_named(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert verified(files, "--digest", "0" * 64) == 1
    assert "other-digest at /digest" in capsys.readouterr().out


def test_another_key_is_not_authentic(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (files / "keys.json").write_bytes(canonical_json({"keys": [public_jwk(bytes([1] * 32))]}))

    assert verified(files) == 1
    told = capsys.readouterr().out
    assert "unknown-key" in told
    assert told.splitlines()[-1].startswith("Not authentic")


def test_what_nobody_signed_is_not_good(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (files / "plain.json").write_bytes(canonical_json(RECORD))

    assert verified(files, record="plain.json") == 1
    assert capsys.readouterr().out.splitlines()[-1].startswith("Not signed")


@pytest.mark.parametrize(
    ("record", "keys", "told"),
    [
        ("nowhere", "keys.json", "nowhere cannot be read"),
        ("record.json", "nowhere", "nowhere cannot be read"),
        ("record.json", "record.json", "record.json is not a JSON Web Key Set"),
    ],
)
def test_files_that_cannot_be_used_are_told(
    files: Path, capsys: pytest.CaptureFixture[str], record: str, keys: str, told: str
) -> None:
    code = main(["verify", str(files / record), "--keys", str(files / keys)])

    assert code == 2
    assert told in capsys.readouterr().err


def test_keys_must_be_told(files: Path) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["verify", str(files / "record.json")])

    assert ended.value.code == 2


def test_nothing_that_a_document_says_plays_with_the_terminal(
    files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (files / "record.json").write_text('{"job_id": "\\u001b[2J", "digest": "\\u202e"}')

    assert verified(files) == 1
    assert not {"\x1b", "\u202e"} & set(capsys.readouterr().out)


def test_it_needs_neither_the_service_nor_what_it_is_built_on(files: Path) -> None:
    """Run where whatever the service is built on cannot be imported, nor a socket be made."""
    program = f"""
import sys
for name in ("litestar", "sqlalchemy", "alembic", "httpx", "uvicorn", "psycopg", "sqlite3",
             "socket", "rfc3161_client", "typst"):
    sys.modules[name] = None
from exchange_api.entry import main
sys.exit(main(["verify", {str(files / "record.json")!r}, "--keys", {str(files / "keys.json")!r}]))
"""
    ended = subprocess.run(  # noqa: S603 -- our own interpreter and program
        [sys.executable, "-c", program], capture_output=True, text=True, check=False
    )

    assert (ended.returncode, ended.stderr) == (0, "")


def test_the_other_commands_are_still_there(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])

    assert {"serve", "verify", "signing-keys"} <= set(capsys.readouterr().out.split())
