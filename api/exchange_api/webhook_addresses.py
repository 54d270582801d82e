"""Where webhooks may go: URLs that may be registered, and addresses that may be connected to.

A URL is checked when it is registered, and every address of its host each time something is sent:
what a name means can change in between. Hosts that the settings list are the operator's own word.
"""

import re
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address
from typing import TypeAlias
from urllib.parse import SplitResult, urlsplit

from msgspec import Struct

from libexchange.errors import Fault, InvalidInput

LONGEST_URL = 2048
_URL = re.compile(r"[!-\[\]-~]+")  # printable ASCII without the backslash, which browsers read as /
_HOST = re.compile(
    r"(?=.{1,253}\Z)([a-z0-9]([a-z0-9_-]{0,61}[a-z0-9])?\.)*[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"
)
_NUMERIC = re.compile(r"([0-9]+|0x[0-9a-f]*)")

_Address: TypeAlias = IPv4Address | IPv6Address

_BARRED: tuple[IPv4Network | IPv6Network, ...] = (
    IPv4Network("0.0.0.0/8"),
    IPv4Network("100.64.0.0/10"),  # shared by the customers of a carrier
    IPv4Network("168.63.129.16/32"),  # a host's own services, behind a public address
    IPv4Network("192.0.0.0/24"),
    IPv4Network("192.88.99.0/24"),  # relays into IPv6
    IPv4Network("198.18.0.0/15"),
    IPv6Network("64:ff9b:1::/48"),  # private translation
    IPv6Network("100::/64"),
    IPv6Network("2001::/23"),  # protocol assignments, tunnels among them
    IPv6Network("2002::/16"),  # tunnels to any IPv4 address
    IPv6Network("fec0::/10"),
)
_TRANSLATED = IPv6Network("64:ff9b::/96")


class Target(Struct, frozen=True, kw_only=True):
    """Where a URL leads: what to connect to and what to ask for."""

    scheme: str
    host: str
    port: int
    path: str

    @property
    def authority(self) -> str:
        """The Host header: without the port where it is the scheme's own."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return host if self.port == _PORTS[self.scheme] else f"{host}:{self.port}"


_PORTS = {"https": 443, "http": 80}


def target_of(url: str, *, in_house: frozenset[str]) -> Target:
    """The target of a URL that may be registered.

    in_house: hosts that may have any address, and be reached by http
    Raises: InvalidInput, as of a member `/url`.

    >>> target_of("https://hooks.example/a?b=1", in_house=frozenset()).path
    '/a?b=1'
    """
    parts = _split(url)
    host = (parts.hostname or "").rstrip(".")
    if parts.scheme != "https" and not (parts.scheme == "http" and host in in_house):
        raise _refused("url-scheme", url, "https")
    if parts.username is not None or parts.password is not None:
        raise _refused("url-with-credentials", "(not repeated)", "a URL without user and password")
    if "#" in url:
        raise _refused("url-fragment", url, "a URL without a fragment")
    if host not in in_house:
        _check_host(host, url)
    query = f"?{parts.query}" if parts.query else ""
    port = parts.port if parts.port is not None else _PORTS[parts.scheme]
    return Target(scheme=parts.scheme, host=host, port=port, path=(parts.path or "/") + query)


def _split(url: str) -> SplitResult:
    try:
        parts = urlsplit(url)
        usable = parts.port != 0 and bool(parts.hostname)
    except ValueError:
        usable = False
    if not usable or len(url) > LONGEST_URL or not _URL.fullmatch(url):
        raise _refused("malformed-url", url, "https://HOST/PATH in at most 2048 ASCII characters")
    return parts


def _check_host(host: str, url: str) -> None:
    literal = _literal(host)
    if literal is not None:
        if not is_public(literal):
            raise _refused("address-not-allowed", url, "a host on the public internet")
        return
    labels = host.split(".")
    is_local = labels[-1] == "localhost" or len(labels) == 1
    if is_local or _NUMERIC.fullmatch(labels[-1]) or not _HOST.fullmatch(host):
        raise _refused("host-not-allowed", url, "a full host name on the public internet")


def _literal(host: str) -> _Address | None:
    try:
        return ip_address(host)
    except ValueError:
        return None


def is_public(address: str | _Address) -> bool:
    """Whether an address is one of the public internet, for single hosts.

    An IPv6 address that stands for an IPv4 address is judged by that.

    >>> is_public("203.0.114.1"), is_public("10.0.0.1"), is_public("::ffff:127.0.0.1")
    (True, False, False)
    """
    read = ip_address(address)
    if isinstance(read, IPv6Address):
        if read.ipv4_mapped is not None:
            return is_public(read.ipv4_mapped)
        if read in _TRANSLATED:
            return is_public(IPv4Address(read.packed[-4:]))
    barred = any(read in network for network in _BARRED if network.version == read.version)
    kinds = (read.is_private, read.is_loopback, read.is_link_local, read.is_multicast)
    return read.is_global and not (barred or any(kinds) or read.is_reserved or read.is_unspecified)


def _refused(code: str, url: str, allowed: str) -> InvalidInput:
    return InvalidInput(
        Fault(
            pointer="/url",
            code=code,
            detail="nothing is sent to such a URL",
            value=url,
            allowed=allowed,
            remedy="Give the receiver an https URL on the public internet, or have its host listed "
            "among the in-house receivers of the installation.",
        )
    )
