"""How texts of settings are read: each value or why it is none, as a ValueError."""

from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit


def whole_number(low: int, high: int) -> Callable[[str], int]:
    """Reads a whole number within limits."""

    def parse(text: str) -> int:
        if not (text.isdecimal() and low <= int(text) <= high):
            raise ValueError(f"{text!r} is no whole number from {low} to {high}")
        return int(text)

    return parse


def host(text: str) -> str:
    """A host name or address."""
    if not text or any(sign.isspace() or sign == "/" for sign in text):
        raise ValueError(f"{text!r} is no host name or address")
    return text


def hosts(text: str) -> frozenset[str]:
    """Host names or addresses, as a URL names them but without brackets.

    >>> sorted(hosts("bay-desk, 10.0.0.7"))
    ['10.0.0.7', 'bay-desk']
    """
    return frozenset(host(part.strip()).lower() for part in text.split(",") if part.strip())


def url(text: str) -> str:
    """An http or https URL without a user in it."""
    parts = urlsplit(text)
    if parts.scheme not in {"http", "https"} or not parts.hostname or parts.username is not None:
        raise ValueError("it is no http or https URL, or holds a user name")
    return text


def file(text: str) -> str:
    """The path of a file that is there."""
    if not Path(text).is_file():
        raise ValueError(f"{text!r} is no file")
    return text
