"""What a connection may do before there is a request: how large a head, how slow, how long unread.

The server's own protocol has no bound on a head, none on the time that a head or a body takes, and
none on a peer that reads nothing. This one has, and answers a problem document where it can.
"""

import asyncio
from asyncio import TimerHandle
from collections.abc import Callable

from msgspec import Struct
from uvicorn.protocols.http.httptools_impl import STATUS_LINE, HttpToolsProtocol

from exchange_api.asgi import ALWAYS
from exchange_api.metrics import TurnedAway
from exchange_api.problems import MEDIA_TYPE, Problem, parameter_fault, problem_bytes
from exchange_api.serving import Service


class Limits(Struct, frozen=True, kw_only=True):
    """Bounds of one connection.

    url, head: bytes    head_s: from the first moment, or the first byte, to the end of the head
    body_s: from there to the end of the body    unread_s: how long an answer may stay unread
    """

    url: int
    head: int
    head_s: float
    body_s: float
    unread_s: float


class _TooMuch(Exception):
    """A head beyond its bound."""


class _Refusal(Struct, frozen=True):
    """Why a head is refused, for the counts and for the caller."""

    why: TurnedAway
    problem: Problem


_NO_HTTP = _Refusal(
    "malformed-request", Problem("malformed-request", "This is not HTTP as we read it.")
)
_WRONG_HOST = _Refusal(
    "malformed-request",
    Problem("malformed-request", "There is no Host header or more than one.", errors=[
        parameter_fault("header", "Host", code="wrong-host", detail="it is missing or given twice",
            allowed="one Host header", remedy="Send one.")
    ]),
)  # fmt: skip


class GuardedProtocol(HttpToolsProtocol):
    """The server's protocol with bounds; `bounded` gives it them."""

    limits: Limits
    service: Service

    _timer: TimerHandle | None = None
    _unread_timer: TimerHandle | None = None
    _refusal = _NO_HTTP
    _in_head = True
    _head_bytes = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the server's own
        """Wait for a head, not for ever."""
        super().connection_made(transport)
        self._within(self.limits.head_s, self._cut_head)

    def connection_lost(self, exc: Exception | None) -> None:
        """Let go of the timers."""
        self._stop_timer()
        self._stop_unread_timer()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take bytes; those of a head are counted also while it is incomplete."""
        if self.transport.is_closing():
            return
        if self._in_head:
            if self._timer is None:
                self._within(self.limits.head_s, self._cut_head)
            self._head_bytes += len(data)
        super().data_received(data)
        if self.transport.is_closing():
            return
        if self._in_head and self._head_bytes > self.limits.head:
            self._refusal = _head_too_large(self.limits)
            self.send_400_response("")

    def on_message_begin(self) -> None:
        """A request begins."""
        super().on_message_begin()
        self._own_head_bytes, self._hosts = 0, 0

    def on_url(self, url: bytes) -> None:
        """Take a part of the address."""
        super().on_url(url)
        if len(self.url) > self.limits.url:
            self._refuse(_url_too_long(self.limits))

    def on_header(self, name: bytes, value: bytes) -> None:
        """Take a header."""
        super().on_header(name, value)
        self._own_head_bytes += len(name) + len(value) + 4
        self._hosts += name.lower() == b"host"
        if self._own_head_bytes > self.limits.head:
            self._refuse(_head_too_large(self.limits))

    def on_headers_complete(self) -> None:
        """The head is there; now the body has its time."""
        if self._hosts > 1 or (not self._hosts and self.parser.get_http_version() == "1.1"):
            self._refuse(_WRONG_HOST)
        self._in_head = False
        self._within(self.limits.body_s, self._cut_body)
        super().on_headers_complete()

    def on_message_complete(self) -> None:
        """The request is there; whatever comes next is a head again."""
        self._in_head, self._head_bytes = True, 0
        self._stop_timer()
        super().on_message_complete()

    def pause_writing(self) -> None:
        """The peer does not read as fast as we answer."""
        super().pause_writing()
        self._unread_timer = self.loop.call_later(self.limits.unread_s, self._cut_unread)

    def resume_writing(self) -> None:
        """The peer has read."""
        self._stop_unread_timer()
        super().resume_writing()

    def timeout_keep_alive_handler(self) -> None:
        """The peer asks nothing more."""
        if not self.transport.is_closing():
            self.service.metrics.count_turned_away("idle")
        super().timeout_keep_alive_handler()

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 -- the server calls it so
        """Answer what is no request, and end the connection."""
        why, problem = self._refusal.why, self._refusal.problem
        request_id = self.service.outside.new_id()
        self.service.metrics.count_turned_away(why)
        self.service.log.info(
            "turned-away", request_id=request_id, why=why, status=problem.kind.status
        )
        body = problem_bytes(problem, request_id=request_id)
        own = {
            "content-type": MEDIA_TYPE,
            "content-length": str(len(body)),
            "x-request-id": request_id,
            "connection": "close",
        }
        headers = [(name.encode(), value.encode()) for name, value in own.items()]
        headers += [*self.server_state.default_headers, *ALWAYS]
        lines = [b"%s: %s\r\n" % header for header in headers]
        self.transport.write(b"".join([STATUS_LINE[problem.kind.status], *lines, b"\r\n", body]))
        self.transport.close()

    def _refuse(self, refusal: _Refusal) -> None:
        self._refusal = refusal
        raise _TooMuch  # the parser hands it on as an error of its own

    def _within(self, seconds: float, otherwise: Callable[[], None]) -> None:
        self._stop_timer()
        self._timer = self.loop.call_later(seconds, otherwise)

    def _stop_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = None

    def _cut_head(self) -> None:
        self._cut("head-slow" if self._head_bytes else "idle")

    def _cut_body(self) -> None:
        self._cut("body-slow")

    def _cut_unread(self) -> None:
        self._cut("unread")

    def _cut(self, why: TurnedAway) -> None:
        self.service.metrics.count_turned_away(why)
        self.transport.abort()

    def _stop_unread_timer(self) -> None:
        if self._unread_timer is not None:
            self._unread_timer.cancel()
            self._unread_timer = None


def bounded(given: Limits, running: Service) -> type[GuardedProtocol]:
    """The protocol with these bounds; the service counts and logs whom it turns away."""

    class Bounded(GuardedProtocol):
        limits = given
        service = running

    return Bounded


def _head_too_large(limits: Limits) -> _Refusal:
    detail = f"Address and headers have at most {limits.head} bytes."
    error = parameter_fault(
        "header", "*", code="head-too-large", detail="address and headers are too large",
        allowed=f"at most {limits.head} bytes", remedy="Send fewer or shorter headers.",
    )  # fmt: skip
    return _Refusal("head-too-large", Problem("head-too-large", detail, errors=[error]))


def _url_too_long(limits: Limits) -> _Refusal:
    detail = f"The address has at most {limits.url} bytes."
    error = parameter_fault(
        "path", "*", code="address-too-long", detail="path and query are too long",
        allowed=f"at most {limits.url} bytes", remedy="Ask with a shorter path or query.",
    )  # fmt: skip
    return _Refusal("address-too-long", Problem("address-too-long", detail, errors=[error]))
