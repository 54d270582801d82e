"""Two ways to leave a database without space, and to give it some again.

A file system of its own is the true thing, but mounting needs rights that not everyone has. A bound
on the size of files is set for the processes that write them, which anyone may do.
"""

import multiprocessing
import os
import resource
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Protocol

_FORKED = multiprocessing.get_context("forkserver")
SMALL_BYTES = 24 * 2**20
FILE_BYTES = 2 * 2**20 + 4096
"""More than any file of a new database; a page lies across it, so that a write is cut in two."""


class Disk(Protocol):
    """Something that can be full."""

    def fill(self) -> None:
        """Leave no space, or so little that it is soon used up."""

    def free(self) -> None:
        """Give the space back."""


class SmallDisk:
    """A small file system that is mounted for a test."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._ballast = folder / "ballast"

    def fill(self) -> None:
        with self._ballast.open("wb", buffering=0) as ballast:
            try:
                while True:
                    ballast.write(b"x" * 4096)
            except OSError:
                return

    def free(self) -> None:
        self._ballast.unlink(missing_ok=True)


class FileQuota:
    """A bound on what the files of some processes may grow to."""

    def __init__(self, processes: Callable[[], list[int]]) -> None:
        self._processes = processes

    def fill(self) -> None:
        self._bound(FILE_BYTES)

    def free(self) -> None:
        self._bound(None)

    def _bound(self, size: int | None) -> None:
        """Set it as the user whose processes they are: even root may need rights for others."""
        first = self._processes()[:1]  # those that it makes from now on have its bound
        owner = Path(f"/proc/{first[0]}").stat().st_uid
        for processes in (first, self._processes()):
            setting = _FORKED.Process(target=_bound, args=(owner, processes, size))
            setting.start()
            setting.join()
            assert setting.exitcode == 0


def _bound(owner: int, processes: list[int], size: int | None) -> None:
    if os.geteuid() != owner:
        os.setuid(owner)
    for process in processes:
        with suppress(ProcessLookupError):  # it has ended meanwhile
            _, most = resource.prlimit(process, resource.RLIMIT_FSIZE)
            resource.prlimit(process, resource.RLIMIT_FSIZE, (most if size is None else size, most))


@contextmanager
def mounted() -> Iterator[SmallDisk]:
    """A small file system. Raises: CalledProcessError for who may not mount."""
    folder = tempfile.mkdtemp(prefix="exchange-small-")
    try:
        _run("mount", "-t", "tmpfs", "-o", f"size={SMALL_BYTES},mode=777", "none", folder)
        try:
            yield SmallDisk(Path(folder))
        finally:
            _run("umount", "--lazy", folder)
    finally:
        shutil.rmtree(folder)


def _run(*command: str) -> None:
    subprocess.run(command, check=True, capture_output=True)  # noqa: S603 -- fixed words


def _may_mount() -> bool:
    try:
        with mounted():
            return True
    except (OSError, subprocess.CalledProcessError):
        return False


MEANS = ("quota", "mount") if _may_mount() else ("quota",)
"""The true thing where it can be had, the other one everywhere."""
