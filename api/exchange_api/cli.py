"""The command `exchange-api`: one subcommand a job, listed in COMMANDS."""

import argparse
import os
import sys
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from exchange_api import (
    audit_chain,
    backups,
    catalogue_import,
    commands,
    key_commands,
    signing_commands,
    verify_command,
)
from exchange_api.demo import run as demo
from exchange_api.settings import SETTINGS, Settings, read_settings
from exchange_api.storage.units import StorageUnavailable
from libexchange.errors import InvalidInput


class Command(Struct, frozen=True, kw_only=True):
    """A subcommand: which settings it takes as flags, what else it takes, what it does.

    run: given the settings and the arguments, answers the exit code
    """

    name: str
    help: str
    settings: tuple[str, ...] = ()
    arguments: Callable[[argparse.ArgumentParser], None] = lambda _: None
    run: Callable[[Settings, argparse.Namespace], int]


def _openapi_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="FILE", help="write it there instead of to stdout")
    parser.add_argument("--findings", metavar="FILE", help="write the catalogue of findings there")


COMMANDS: tuple[Command, ...] = (
    Command(
        name="demo",
        help="play an invented story on a service of its own",
        arguments=demo.add_arguments,
        run=demo.run,
    ),
    Command(
        name="serve",
        help="run the service",
        settings=tuple(setting.name for setting in SETTINGS),
        run=commands.serve,
    ),
    Command(
        name="keys",
        help="make, list or revoke API keys; create prints the key alone on the last line",
        settings=("database",),
        arguments=key_commands.add_arguments,
        run=key_commands.run,
    ),
    Command(
        name="signing-keys",
        help="list, rotate or retire the keys that sign records; old public keys stay for ever",
        settings=("database",),
        arguments=signing_commands.add_arguments,
        run=signing_commands.run,
    ),
    Command(
        name=verify_command.NAME,
        help=verify_command.HELP,
        arguments=verify_command.add_arguments,
        run=lambda _, arguments: verify_command.run(arguments),
    ),
    Command(
        name="audit",
        help="compute the digest chains of the audit log anew; 1 when one is broken",
        settings=("database",),
        arguments=audit_chain.add_arguments,
        run=audit_chain.run,
    ),
    Command(
        name="import",
        help="take over catalogue entries for the whole installation",
        settings=("database",),
        arguments=catalogue_import.add_arguments,
        run=catalogue_import.run,
    ),
    Command(
        name="migrate",
        help="bring the database to the newest tables",
        settings=("database",),
        run=commands.migrate_database,
    ),
    Command(
        name="purge",
        help="forget Idempotency-Keys older than 90 days, as every start of the service does",
        settings=("database",),
        run=commands.purge,
    ),
    Command(
        name="backup",
        help="write a snapshot of a database, which may be in use, to one file",
        settings=("database",),
        arguments=backups.add_backup_arguments,
        run=backups.backup,
    ),
    Command(
        name="restore",
        help="fill an empty database from a backup and check every table",
        settings=("database",),
        arguments=backups.add_restore_arguments,
        run=backups.restore,
    ),
    Command(
        name="move",
        help="fill an empty database of any kind from another and check every table",
        arguments=backups.add_move_arguments,
        run=backups.move,
    ),
    Command(
        name="openapi",
        help="print the contract",
        arguments=_openapi_arguments,
        run=commands.write_contract,
    ),
)
"""Every subcommand; a new one is added here."""


def main(argv: Sequence[str] | None = None, environ: Mapping[str, str] = os.environ) -> int:
    """Run one subcommand; 2 when what it was told is wrong, with every fault on stderr.

    1 when it failed, for instance because the database does not answer.
    """
    arguments = _parser().parse_args(_joined(sys.argv[1:] if argv is None else argv))
    command: Command = arguments.command
    try:
        settings = read_settings(environ, _flags(command, arguments))
        return command.run(settings, arguments)
    except InvalidInput as error:
        for fault in error.faults:
            print(f"{fault.pointer}: {fault.detail}; allowed: {fault.allowed}", file=sys.stderr)
        return 2
    except StorageUnavailable as error:
        print(f"The database does not answer: {error}", file=sys.stderr)
        return 1


def _joined(words: Sequence[str]) -> list[str]:
    """The words with `--kid X` as `--kid=X`: a thumbprint that begins with a dash is no flag."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] == "--kid":
            joined[-1] = f"--kid={word}"
        else:
            joined.append(word)
    return joined


def _flags(command: Command, arguments: argparse.Namespace) -> dict[str, str | None]:
    return {name: getattr(arguments, name) for name in command.settings}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="exchange-api",
        description="Rules of automatic-transmission fluid service over HTTP.",
        epilog=_environment_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    subparsers = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        subparser = subparsers.add_parser(
            command.name,
            help=command.help,
            description=command.help,
            epilog=_environment_text(),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        subparser.set_defaults(command=command)
        command.arguments(subparser)
        for setting in (setting for setting in SETTINGS if setting.name in command.settings):
            default = getattr(Settings(), setting.name)
            told = "none" if default in ("", frozenset()) else default
            text = f"{setting.help} ({setting.allowed}; default {told})"
            subparser.add_argument(setting.flag, dest=setting.name, metavar="X", help=text)
    return parser


def _environment_text() -> str:
    lines = [f"  {setting.variable:<30} {setting.help}" for setting in SETTINGS]
    return "\n".join(
        ["environment variables (a flag wins; NAME_FILE names a file with the value):", *lines]
    )


if __name__ == "__main__":
    sys.exit(main())
