"""The edge around the framework: what holds for every answer, also for 404 and 405.

A request id, the security headers, HEAD on every GET, one log line, and no exception that leaves
the service.
"""

from collections.abc import Mapping
from typing import Any

from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send

from exchange_api.problems import MEDIA_TYPE, Problem, problem_bytes, problem_of
from exchange_api.rates import Standing, address_of, too_many
from exchange_api.serving import Service

ALWAYS = (
    (b"cache-control", b"private, no-cache"),
    (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"referrer-policy", b"no-referrer"),
    (b"vary", b"Accept"),
    (b"x-content-type-options", b"nosniff"),
)
"""The headers of every answer."""
_NEVER_LIMITED = ("/health/", "/metrics")


class Edge:
    """An ASGI app around another.

    service: what both work with    methods: what each path takes, by its template
    """

    def __init__(
        self, app: ASGIApp, *, service: Service, methods: Mapping[str, frozenset[str]]
    ) -> None:
        self.service = service
        self._methods = methods
        self._app = app
        self._outside = service.outside
        self._log = service.log

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != ScopeType.HTTP:
            await self._app(scope, receive, send)
            return
        request_id = self._outside.new_id()
        exchange = _Exchange(scope, send, request_id=request_id, methods=self._methods)
        started = self._outside.ticks()
        self.service.metrics.in_flight += 1
        try:
            await self._check_rate(exchange)
            await self._app(exchange.inner, receive, exchange.send)
        except Problem as problem:
            await exchange.fail(problem)
        except Exception as error:  # noqa: BLE001 -- the last place where it can be contained
            self._log.error("failure", request_id=exchange.request_id, exception=error)
            await exchange.fail(error)
        finally:
            self.service.metrics.in_flight -= 1
            if taken := exchange.inner["state"].get("room"):
                self.service.room.give_back(taken)
        self._note(exchange, self._outside.ticks() - started)

    async def _check_rate(self, exchange: "_Exchange") -> None:
        """Count the request for its address. Raises: Problem 429."""
        if exchange.inner["path"].startswith(_NEVER_LIMITED):
            return
        standing = await self.service.addresses.admit(address_of(exchange.inner["client"]))
        if standing is None:
            return
        exchange.inner["state"]["standing"] = standing
        if not standing.is_admitted:
            self.service.metrics.count_limited("address")
            raise too_many(standing)

    def _note(self, exchange: "_Exchange", seconds: float) -> None:
        told = exchange.summary()
        self._log.info("request", **told, ms=round(seconds * 1000, 2))
        self.service.metrics.count(
            method=told["method"], route=told["route"], status=told["status"], seconds=seconds
        )


class _Exchange:
    """One request and its answer."""

    def __init__(
        self,
        scope: HTTPScope,
        send: Send,
        *,
        request_id: str,
        methods: Mapping[str, frozenset[str]],
    ) -> None:
        self.request_id = request_id
        self._methods = methods
        self._method = scope["method"]
        self._send = send
        self._status = 0
        self._is_ended = False
        inner: Any = dict(scope)
        inner["state"] = {**scope.get("state", {}), "request_id": request_id}
        inner["method"] = "GET" if self._method == "HEAD" else self._method
        self.inner: HTTPScope = inner

    async def send(self, message: Message) -> None:
        """Pass a message on, completed; of the answer to HEAD only the head."""
        if message["type"] == "http.response.start":
            self._status = message["status"]
            message["headers"] = self._completed(message["headers"])
        elif self._method == "HEAD" and message["type"] == "http.response.body":
            if self._is_ended:
                return
            self._is_ended = True
            message = {"type": "http.response.body", "body": b"", "more_body": False}
        await self._send(message)

    def _completed(self, headers: Any) -> list[tuple[bytes, bytes]]:
        given = [(name.lower(), value) for name, value in headers]
        names = {name for name, _ in given}
        given = [(n, self._allow(value)) if n == b"allow" else (n, value) for n, value in given]
        given += [pair for pair in ALWAYS if pair[0] not in names]
        standing: Standing | None = self.inner["state"].get("standing")
        if standing is not None and b"retry-after" not in names:
            given += [(n.lower().encode(), v.encode()) for n, v in standing.headers.items()]
        return [*given, (b"x-request-id", self.request_id.encode())]

    def _allow(self, told: bytes) -> bytes:
        # to OPTIONS the framework tells the methods of one handler where a path has several
        template = str(self.inner.get("path_template"))
        return _with_head(self._methods.get(template, frozenset(told.decode().split(", "))))

    async def fail(self, error: Exception) -> None:
        """Answer 500, unless the answer has begun; then the server cuts the connection."""
        if self._status:
            return
        problem = problem_of(error)
        body = problem_bytes(problem, request_id=self.request_id)
        headers = [
            (b"content-type", MEDIA_TYPE.encode()),
            (b"content-length", str(len(body)).encode()),
            *((name.lower().encode(), value.encode()) for name, value in problem.headers.items()),
        ]
        status = problem.kind.status
        await self.send({"type": "http.response.start", "status": status, "headers": headers})
        await self.send({"type": "http.response.body", "body": body, "more_body": False})

    def summary(self) -> dict[str, Any]:
        """What the log may know: the route, never the path, for a path can hold anything."""
        holder = self.inner["state"].get("principal")
        return {
            "request_id": self.request_id,
            "method": self._method,
            "route": self.inner.get("path_template"),
            "status": self._status,
            "key_id": holder and holder.key_id,
        }


def _with_head(methods: frozenset[str]) -> bytes:
    methods |= {"OPTIONS"} | ({"HEAD"} if "GET" in methods else set())
    return ", ".join(sorted(methods)).encode()
