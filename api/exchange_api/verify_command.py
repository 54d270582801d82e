"""`exchange-api verify`: is a signed record authentic and whole? No server, network or database.

Needs `libexchange[verify]` alone. The exit code is 0 where the record is both authentic and whole,
1 where it is not, 2 where what was told is wrong or a file cannot be read.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from libexchange.verification import LARGEST_RECORD, Verification, verify_record

NAME = "verify"
HELP = "is a signed record authentic and whole? 1 when it is not; needs no server and no network"


class Unreadable(Exception):
    """A file that was named cannot be read."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("file", metavar="FILE", help="the signed record, as it was handed over")
    parser.add_argument(
        "--keys", metavar="FILE", required=True, help="the public keys as a JSON Web Key Set"
    )
    parser.add_argument(
        "--timestamp-certificates",
        metavar="FILE",
        help="PEM file of the certificates by which a time stamp is trusted",
    )
    parser.add_argument("--digest", metavar="HEX", help="the digest that was handed over")


def main(argv: Sequence[str]) -> int:
    """The subcommand by itself."""
    parser = argparse.ArgumentParser(prog=f"exchange-api {NAME}", description=HELP)
    add_arguments(parser)
    return run(parser.parse_args(argv))


def run(arguments: argparse.Namespace) -> int:
    """Verify a file and say what was found, the verdict on the last line."""
    try:
        data, keys = _read(arguments.file), _read(arguments.keys)
        stamp = _stamp(data, arguments.timestamp_certificates)
    except Unreadable as error:
        print(error, file=sys.stderr)
        return 2
    found = verify_record(data, keys=keys, digest=arguments.digest)
    if any(fault.code == "keys-not-readable" for fault in found.faults):
        print(f"{arguments.keys} is not a JSON Web Key Set.", file=sys.stderr)
        return 2
    is_good = _is_good(found) and not stamp.is_refused
    for line in _told(found, stamp):
        print(line)
    return 0 if is_good else 1


class Stamp(NamedTuple):
    """What is said of the time stamp; `is_refused` where it shows that something was altered."""

    line: str
    is_refused: bool = False


def _stamp(data: bytes, file: str | None) -> Stamp:
    """The time stamp of a record. Raises: Unreadable where the certificates are."""
    if file is None and b'"timestamp_token"' not in data:
        return Stamp("none")
    try:
        from exchange_api import timestamp_tokens as tokens  # noqa: PLC0415 -- few records need it
    except ImportError:
        raise Unreadable("Time stamps need rfc3161-client: install libexchange[verify].") from None
    try:
        trusted = tokens.certificates(_read(file)) if file else ()
    except ValueError:
        raise Unreadable(f"{file} holds no certificates.") from None
    found = tokens.timestamp_in(data, trusted)
    if found is None:
        return Stamp("none")
    said = f"{found.state.replace('_', ' ')}: "
    told = f"{found.at.isoformat()} by {found.authority}. " if found.at else ""
    return Stamp(f"{said}{told}{found.detail}", found.state == "refused")


def _is_good(found: Verification) -> bool:
    return found.authentic is True and found.whole


def _read(name: str) -> bytes:
    """A file, no further than what could be looked at; `-` is standard input."""
    try:
        if name == "-":
            return sys.stdin.buffer.read(LARGEST_RECORD + 1)
        with Path(name).open("rb") as file:
            return file.read(LARGEST_RECORD + 1)
    except OSError as error:
        raise Unreadable(f"{name} cannot be read: {error.strerror}.") from None


def _told(found: Verification, stamp: Stamp) -> list[str]:
    """What was found, in plain words."""
    lines = [f"job     {found.job_id or 'not told'}"]
    lines += [f"digest  {found.record_digest or 'not told'}", f"key     {found.kid or 'none'}"]
    lines += [f"stamp   {stamp.line}"]
    for fault in found.faults:
        lines += [f"{fault.code} at {fault.pointer or 'the document'}: {fault.detail}"]
        lines += [f"    {fault.remedy}"]
    return [*map(_printable, lines), _verdict(found, stamp)]


def _verdict(found: Verification, stamp: Stamp) -> str:
    if _is_good(found) and stamp.is_refused:
        return "Authentic, but its time stamp does not hold."
    if _is_good(found):
        return "Authentic and whole: signed with one of these keys, and nothing differs."
    if found.authentic:
        return "Authentic but not whole: the signature holds, yet something around it differs."
    if found.authentic is None:
        return "Not signed: nothing shows who made it."
    return "Not authentic: it is not what was signed with one of these keys."


def _printable(text: str) -> str:
    """A line without characters that a document could play with on a terminal."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)
