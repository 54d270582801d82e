"""A service of its own for each fault, on each kind of database."""

import io
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.exchange_api.running import Running, running

SMALL_BYTES = 24 * 2**20


@pytest.fixture
def log() -> io.BytesIO:
    """What the service says of itself."""
    return io.BytesIO()


@pytest.fixture
def service(url: str, log: io.BytesIO) -> Iterator[Running]:
    with running(url, log=log) as app:
        yield app


@pytest.fixture
def client(service: Running) -> Iterator[httpx.Client]:
    with service.client_of("Faults", timeout=30) as client:
        yield client


class SmallDisk:
    """A file system of its own that can be filled and freed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._ballast = folder / "ballast"

    def fill(self) -> None:
        """Leave not one block free."""
        with self._ballast.open("wb", buffering=0) as ballast:
            try:
                while True:
                    ballast.write(b"x" * 4096)
            except OSError:
                return

    def free(self) -> None:
        """Give the space back."""
        self._ballast.unlink(missing_ok=True)

    def read_only(self, *, yes: bool) -> None:
        """Let nothing on it be changed, or let it again."""
        _run("mount", "-o", "remount,ro" if yes else "remount,rw", str(self.folder))


@pytest.fixture
def small_disk() -> Iterator[SmallDisk]:
    """Mounting needs root; without it `test_a_file_that_may_not_grow` stands for the full disk."""
    if os.geteuid() != 0:
        pytest.skip("mounting a small file system needs root")
    folder = tempfile.mkdtemp(prefix="exchange-small-")
    _run("mount", "-t", "tmpfs", "-o", f"size={SMALL_BYTES},mode=777", "none", folder)
    try:
        yield SmallDisk(Path(folder))
    finally:
        _run("umount", "--lazy", folder)
        shutil.rmtree(folder)


def _run(*command: str) -> None:
    subprocess.run(command, check=True)  # noqa: S603 -- fixed words
