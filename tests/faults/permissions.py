"""Running a command as somebody whom the permissions of files bind, even when that is root."""

import ctypes
import multiprocessing
import os
from pathlib import Path

from exchange_api.cli import main

_FORKED = multiprocessing.get_context("forkserver")
_VERSION_3 = 0x20080522
_DAC_OVERRIDE, _DAC_READ_SEARCH = 1, 2
_EFFECTIVE = 0


class _Header(ctypes.Structure):
    _fields_ = (("version", ctypes.c_uint32), ("pid", ctypes.c_int))


class _Capabilities(ctypes.Structure):
    """Two of each, the low 32 first: effective, permitted, inheritable."""

    _fields_ = (("words", ctypes.c_uint32 * 6),)


def run_bound(told: list[str], log: Path) -> int:
    """Run a command; its exit code. What it prints is put into `log`."""
    command = _FORKED.Process(target=_run, args=(told, str(log)))
    command.start()
    command.join()
    assert command.exitcode is not None
    return command.exitcode


def _run(told: list[str], log: str) -> None:
    descriptor = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    os.dup2(descriptor, 1)
    os.dup2(descriptor, 2)
    _be_bound_by_permissions()
    os._exit(main(told, environ={}))


def _be_bound_by_permissions() -> None:
    """Let go of what lets root write where it may not; who has no such right changes nothing."""
    libc = ctypes.CDLL(None, use_errno=True)
    header, held = _Header(_VERSION_3, 0), _Capabilities()
    assert libc.capget(ctypes.byref(header), ctypes.byref(held)) == 0
    held.words[_EFFECTIVE] &= ~(1 << _DAC_OVERRIDE | 1 << _DAC_READ_SEARCH)
    assert libc.capset(ctypes.byref(header), ctypes.byref(held)) == 0
