"""The one way out: a signed message is posted to a receiver, within limits, and not followed.

Every address of the host is checked, and the connection goes to the very address that was checked.
No proxy is used, no redirect is followed, and of the answer little is read and less is kept.
"""

import asyncio
import ssl
from collections.abc import Awaitable, Callable, Iterable, Sequence
from contextlib import suppress
from socket import SOCK_STREAM
from typing import Literal, TypeAlias

import httpcore
import httpx
from msgspec import Struct

from exchange_api.webhook_addresses import Target, is_public

CONNECT_S = 5.0
MOST_READ = 2048
EXCERPT = 200
EXCERPT_S = 2.0

Resolve: TypeAlias = Callable[[str, int], Awaitable[Sequence[str]]]
"""The addresses of a host."""

Outcome = Literal[
    "delivered", "answered", "timed_out", "unknown_host", "address_not_allowed", "no_connection",
    "no_answer",
]  # fmt: skip
"""What became of an attempt; `answered` is any answer that is no success."""


class Told(Struct, frozen=True, kw_only=True):
    """What became of an attempt. `status` is 0 without an answer; `retry_after_s` as it asked for.

    `excerpt` is the beginning of an answer that was no success, in printable characters.
    """

    outcome: Outcome
    status: int = 0
    excerpt: str = ""
    retry_after_s: int | None = None


class _Refused(Exception):
    """Why no connection is made."""

    def __init__(self, outcome: Outcome) -> None:
        super().__init__(outcome)
        self.outcome = outcome


async def resolve(host: str, port: int) -> list[str]:
    """The addresses of a host, by the machine's own resolver."""
    loop = asyncio.get_running_loop()
    return [str(one[4][0]) for one in await loop.getaddrinfo(host, port, type=SOCK_STREAM)]


class Client(Struct, frozen=True, kw_only=True):
    """What posts messages.

    in_house: hosts whose addresses are not checked    seconds: how long an attempt may take [s]
    """

    in_house: frozenset[str]
    seconds: float
    tls: ssl.SSLContext
    resolve: Resolve = resolve

    async def post(self, target: Target, *, headers: dict[str, str], body: bytes) -> Told:
        """Post a message once; whatever happens is told, never raised."""
        try:
            async with asyncio.timeout(self.seconds):
                return await self._post(target, headers, body)
        except (TimeoutError, httpcore.TimeoutException):
            return Told(outcome="timed_out")
        except _Refused as refused:
            return Told(outcome=refused.outcome)
        except (httpcore.ConnectError, ssl.SSLError):
            return Told(outcome="no_connection")
        except (httpcore.NetworkError, httpcore.ProtocolError, OSError):
            return Told(outcome="no_answer")

    async def _post(self, target: Target, headers: dict[str, str], body: bytes) -> Told:
        way = _Way(await self._addresses(target))
        async with httpcore.AsyncConnectionPool(
            ssl_context=self.tls, network_backend=way, max_keepalive_connections=0
        ) as pool:
            url = httpcore.URL(
                scheme=target.scheme, host=target.host, port=target.port, target=target.path
            )
            told = [("Host", target.authority), ("Connection", "close"), *headers.items()]
            limits = {"timeout": {"connect": CONNECT_S}}
            async with pool.stream(
                "POST", url, headers=told, content=body, extensions=limits
            ) as answered:
                return await _told(answered)

    async def _addresses(self, target: Target) -> list[str]:
        try:
            found = list(await self.resolve(target.host, target.port))
        except OSError:
            raise _Refused("unknown_host") from None
        if not found:
            raise _Refused("unknown_host")
        if target.host not in self.in_house and not all(map(is_public, found)):
            raise _Refused("address_not_allowed")
        return found


def client(*, in_house: frozenset[str], seconds: float) -> Client:
    """A client that trusts the usual authorities, or those that `SSL_CERT_FILE` names."""
    return Client(in_house=in_house, seconds=seconds, tls=httpx.create_ssl_context())


class _Way(httpcore.AsyncNetworkBackend):
    """Connects to given addresses, whatever the name; certificates are still for the name."""

    def __init__(self, addresses: Iterable[str]) -> None:
        self._addresses = list(addresses)
        self._inner = httpcore.AnyIOBackend()

    async def connect_tcp(
        self,
        host: str,  # noqa: ARG002 -- the pool gives it, and we know better
        port: int,
        timeout: float | None = None,  # noqa: ASYNC109 -- the signature that the pool calls
        local_address: str | None = None,
        socket_options: Iterable[httpcore.SOCKET_OPTION] | None = None,
    ) -> httpcore.AsyncNetworkStream:
        """A connection to the first address that answers."""
        last = httpcore.ConnectError("no address answers")
        for address in self._addresses:
            try:
                return await self._inner.connect_tcp(
                    address, port, timeout, local_address, socket_options
                )
            except (httpcore.ConnectError, httpcore.ConnectTimeout) as error:
                last = httpcore.ConnectError(str(error))
        raise last


async def _told(answered: httpcore.Response) -> Told:
    status = answered.status
    if 200 <= status < 300:
        return Told(outcome="delivered", status=status)
    return Told(
        outcome="answered",
        status=status,
        excerpt=await _excerpt(answered),
        retry_after_s=_retry_after_s(answered.headers),
    )


async def _excerpt(answered: httpcore.Response) -> str:
    """The beginning of an answer; whether it comes to its end does not matter."""
    read = b""
    with suppress(TimeoutError, httpcore.NetworkError, httpcore.ProtocolError):
        async with asyncio.timeout(EXCERPT_S):
            async for part in answered.aiter_stream():
                read += part[: MOST_READ - len(read)]
                if len(read) >= MOST_READ:
                    break
    shown = "".join(sign if sign.isprintable() else " " for sign in read.decode("utf-8", "replace"))
    return shown[:EXCERPT].strip()


def _retry_after_s(headers: Iterable[tuple[bytes, bytes]]) -> int | None:
    given = [value for name, value in headers if name.lower() == b"retry-after"]
    if len(given) == 1 and given[0].isdigit() and len(given[0]) <= 9:
        return int(given[0])
    return None
