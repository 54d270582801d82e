"""What the service is told at start, from environment variables and flags."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

from exchange_api.logs import LEVELS, Level
from exchange_api.setting_values import file, host, hosts, url, whole_number
from exchange_api.storage.database import database_at
from libexchange.errors import Fault, InvalidInput

PREFIX = "EXCHANGE_API_"


class Settings(Struct, frozen=True, kw_only=True):
    """Checked settings; `database` may hold a password, so show `shown_database` instead."""

    host: str = "127.0.0.1"
    port: int = 8000
    public_url: str = ""
    database: str = "sqlite:///exchange.db"
    body_limit: int = 1024 * 1024
    body_memory: int = 32 * 1024 * 1024
    disk_reserve: int = 64 * 1024 * 1024
    attachment_quota: int = 20 * 1024 * 1024 * 1024
    key_rate: int = 60_000
    address_rate: int = 120_000
    head_seconds: int = 10
    body_seconds: int = 60
    unread_seconds: int = 30
    log_level: Level = "info"
    shutdown_seconds: int = 30
    webhook_hosts: frozenset[str] = frozenset()
    webhook_seconds: int = 20
    timestamp_url: str = ""
    timestamp_certificates: str = ""
    timestamp_seconds: int = 20

    @property
    def shown_database(self) -> str:
        """The database URL without its password."""
        return without_password(self.database)


def without_password(url: str) -> str:
    """A database URL as it may be printed.

    >>> without_password("postgresql://shop:hunter2@db/exchange")
    'postgresql://shop:***@db/exchange'
    >>> without_password("postgresql://db/exchange?user=shop&password=hunter2")
    'postgresql://db/exchange?password=%2A%2A%2A&user=shop'
    """
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError):
        return "(not a URL)"
    if "password" in parsed.query:
        parsed = parsed.update_query_dict({"password": "***"})
    return parsed.render_as_string(hide_password=True)


def database_folder(url: str) -> Path | None:
    """Where an SQLite database lies; None for a database that a server keeps.

    >>> database_folder("postgresql://shop@db/exchange") is None
    True
    """
    told = make_url(url)
    return Path(str(told.database)).absolute().parent if told.drivername == "sqlite" else None


class Setting(Struct, frozen=True, kw_only=True):
    """One thing that can be set: its name in `Settings`, what it means and how text becomes it."""

    name: str
    help: str
    allowed: str
    parse: Callable[[str], Any]

    @property
    def variable(self) -> str:
        """The environment variable."""
        return PREFIX + self.name.upper()

    @property
    def file_variable(self) -> str:
        """The environment variable that names a file which holds the value, as secrets come."""
        return self.variable + "_FILE"

    @property
    def flag(self) -> str:
        """The command-line flag."""
        return "--" + self.name.replace("_", "-")


def _database(text: str) -> str:
    database_at(text)
    return text


def _level(text: str) -> Level:
    for level in LEVELS:
        if level == text:
            return level
    raise ValueError(f"{text!r} is no log level")


def _setting(name: str, help_: str, allowed: str, parse: Callable[[str], Any]) -> Setting:
    return Setting(name=name, help=help_, allowed=allowed, parse=parse)


_MOST_BODY = 256 * 1024 * 1024
_MOST_MEMORY = 2**40
_RATES = f"0 to {10**9}"
_rate = whole_number(0, 10**9)
_seconds = whole_number(1, 600)

SETTINGS: tuple[Setting, ...] = (
    _setting("host", "address to listen on", "a host name or address", host),
    _setting("port", "port to listen on, 0 for any free one", "0 to 65535", whole_number(0, 65535)),
    _setting(
        "public_url",
        "address by which callers reach the service, printed in the codes of labels; that of the "
        "request when left out",
        "an http or https URL",
        url,
    ),
    _setting(
        "database", "database URL", "sqlite:///FILE or postgresql://USER@HOST/NAME", _database
    ),
    _setting(
        "body_limit",
        "largest body of an ordinary request, in bytes",
        f"1024 to {_MOST_BODY}",
        whole_number(1024, _MOST_BODY),
    ),
    _setting(
        "body_memory",
        "bytes of bodies in memory at one time; who finds no room waits",
        f"{4 * 1024 * 1024} to {_MOST_MEMORY}",
        whole_number(4 * 1024 * 1024, _MOST_MEMORY),
    ),
    _setting(
        "disk_reserve",
        "free bytes on the disk of an SQLite database below which the service is not ready",
        f"0 to {_MOST_MEMORY}",
        whole_number(0, _MOST_MEMORY),
    ),
    _setting(
        "attachment_quota",
        "bytes of attachments that one workshop may have kept",
        f"0 to {_MOST_MEMORY}",
        whole_number(0, _MOST_MEMORY),
    ),
    _setting("key_rate", "requests a minute of one key, 0 for no limit", _RATES, _rate),
    _setting("address_rate", "requests a minute of one address, 0 for no limit", _RATES, _rate),
    _setting("head_seconds", "how long a request's headers may take", "1 to 600", _seconds),
    _setting("body_seconds", "how long a request's body may take", "1 to 600", _seconds),
    _setting("unread_seconds", "how long an answer may stay unread", "1 to 600", _seconds),
    _setting("log_level", "lowest level that is logged", ", ".join(LEVELS), _level),
    _setting(
        "shutdown_seconds",
        "how long requests in flight may take after a stop signal",
        "1 to 600",
        _seconds,
    ),
    _setting(
        "webhook_hosts",
        "in-house receivers of webhooks: may have any address and be reached by http",
        "host names or addresses with commas between",
        hosts,
    ),
    _setting(
        "timestamp_url",
        "RFC 3161 authority that stamps signed records; none when left out",
        "an http or https URL",
        url,
    ),
    _setting(
        "timestamp_certificates",
        "PEM file of the certificates by which its stamps are trusted; needed with timestamp_url",
        "a file that can be read",
        file,
    ),
    _setting(
        "timestamp_seconds", "how long the authority may take", "1 to 60", whole_number(1, 60)
    ),
    _setting(
        "webhook_seconds",
        "how long a receiver of webhooks may take",
        "1 to 60",
        whole_number(1, 60),
    ),
)


def read_settings(environ: Mapping[str, str], flags: Mapping[str, str | None]) -> Settings:
    """Settings from the environment, overridden by flags.

    Raises: InvalidInput with every fault: unknown variables and values that are not allowed.

    >>> read_settings({"EXCHANGE_API_PORT": "8080"}, {"host": "::1"}).port
    8080
    """
    faults = [_unknown(name) for name in environ if _is_unknown(name)]
    values: dict[str, Any] = {}
    for setting in SETTINGS:
        where = _place(setting, environ, flags)
        if where is None:
            continue
        try:
            values[setting.name] = _parsed(setting, where, _text(setting, where, environ, flags))
        except ValueError as error:
            faults.append(_wrong(setting, where, str(error)))
    if "timestamp_url" in values and "timestamp_certificates" not in values and not faults:
        faults.append(_NO_CERTIFICATES)
    if faults:
        raise InvalidInput(*faults)
    return Settings(**values)


def _place(
    setting: Setting, environ: Mapping[str, str], flags: Mapping[str, str | None]
) -> str | None:
    """Where a setting is told: the flag, the variable, the variable of its file, or nowhere."""
    if flags.get(setting.name) is not None:
        return setting.flag
    given = [name for name in (setting.variable, setting.file_variable) if name in environ]
    return given[0] if given else None


def _text(
    setting: Setting, where: str, environ: Mapping[str, str], flags: Mapping[str, str | None]
) -> str:
    if where == setting.flag:
        return str(flags[setting.name])
    if setting.variable in environ and setting.file_variable in environ:
        raise ValueError(f"{setting.file_variable} says it too")
    return environ[where] if where == setting.variable else _content(Path(environ[where]))


def _parsed(setting: Setting, where: str, text: str) -> Any:
    try:
        return setting.parse(text)
    except ValueError:
        if where != setting.file_variable:
            raise
        # the wrong file may be named, and so a secret repeated
        raise ValueError("what the file holds is not allowed") from None


def _content(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise ValueError(f"the file cannot be read: {type(error).__name__}") from None


def _is_unknown(variable: str) -> bool:
    known = {name for s in SETTINGS for name in (s.variable, s.file_variable)}
    return variable.startswith(PREFIX) and variable not in known


def _unknown(variable: str) -> Fault:
    known = ", ".join(setting.variable for setting in SETTINGS)
    detail, remedy = "there is no such setting", "Remove it or correct its name."
    return Fault(
        pointer=variable, code="unknown-setting", detail=detail, allowed=known, remedy=remedy
    )


def _wrong(setting: Setting, where: str, detail: str) -> Fault:
    remedy = f"Correct {where}: {setting.help}."
    return Fault(
        pointer=where, code="wrong-setting", detail=detail, allowed=setting.allowed, remedy=remedy
    )


_NO_CERTIFICATES = Fault(
    pointer=PREFIX + "TIMESTAMP_CERTIFICATES",
    code="missing-setting",
    detail="a time stamp is trusted only by certificates that are told",
    allowed="a PEM file of the certificates of the authority, beside its URL",
    remedy="Name the file, or leave the URL out.",
)
