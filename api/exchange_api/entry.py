"""The start of `exchange-api`. `verify` needs no service, so it works where none is installed."""

import sys
from collections.abc import Sequence

from exchange_api import verify_command


def main(argv: Sequence[str] | None = None) -> int:
    """Run one subcommand; the service is loaded only for those that need it."""
    told = sys.argv[1:] if argv is None else list(argv)
    if told[:1] == [verify_command.NAME]:
        return verify_command.main(told[1:])
    from exchange_api.cli import main as every_command  # noqa: PLC0415 -- verify needs none of it

    return every_command(told)
