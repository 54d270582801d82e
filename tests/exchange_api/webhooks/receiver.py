"""A real receiver of webhooks on a local socket, which answers as it is told."""

import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from time import monotonic, sleep
from typing import Any

import msgspec
from msgspec import Struct

CHUNK = b"an invented answer without end " * 2048
LARGEST = 200 * len(CHUNK)


class Received(Struct, frozen=True):
    """A request that came."""

    path: str
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        return msgspec.json.decode(self.body)


class Reply(Struct, frozen=True, kw_only=True):
    """How to answer: `hangs` says nothing at all, `is_huge` never comes to an end by itself."""

    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = {}
    hangs: bool = False
    is_huge: bool = False


class Receiver:
    """What came, and how the next ones are answered; 200 where nothing is told."""

    def __init__(self) -> None:
        self.received: list[Received] = []
        self.replies: list[Reply] = []
        self.usual = Reply()
        self.sent_bytes = 0
        self.released = Event()
        self.url = ""

    def next_reply(self) -> Reply:
        return self.replies.pop(0) if self.replies else self.usual

    def wait_for(self, count: int) -> list[Received]:
        """What came, once it is so many; fails after some seconds."""
        self._wait(lambda: len(self.received) >= count, within_s=10)
        return self.received

    def wait_for_all(self, name: str, values: list[str], *, within_s: float) -> None:
        """Wait until each of these values came in the data; fails after so long."""
        wanted = set(values)
        self._wait(lambda: wanted <= {one.json["data"][name] for one in self.received}, within_s)

    def _wait(self, has_come: Callable[[], bool], within_s: float) -> None:
        end = monotonic() + within_s
        while not has_come() and monotonic() < end:
            sleep(0.01)
        assert has_come(), f"only {len(self.received)} came"


class _Handler(BaseHTTPRequestHandler):
    told: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["content-length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        self.told.received.append(Received(self.path, headers, body))
        reply = self.told.next_reply()
        if reply.hangs:
            self.told.released.wait(30)
        else:
            self._answer(reply)

    def do_GET(self) -> None:
        self.told.received.append(Received(self.path, {}, b"a redirect was followed"))

    def _answer(self, reply: Reply) -> None:
        self.send_response(reply.status)
        for name, value in reply.headers.items():
            self.send_header(name, value)
        self.send_header("Content-Length", str(LARGEST if reply.is_huge else len(reply.body)))
        self.end_headers()
        if reply.is_huge:
            self._stream()
        else:
            self.wfile.write(reply.body)

    def _stream(self) -> None:
        while self.told.sent_bytes < LARGEST and not self.told.released.is_set():
            try:
                self.wfile.write(CHUNK)
            except OSError:
                return
            self.told.sent_bytes += len(CHUNK)

    def log_message(self, *_: Any) -> None:
        """Say nothing."""


@contextmanager
def receiver(tls: ssl.SSLContext | None = None) -> Iterator[Receiver]:
    """A receiver that runs in threads of its own, by https when it is given a certificate."""
    told = Receiver()
    server = ThreadingHTTPServer(("127.0.0.1", 0), type("Handler", (_Handler,), {"told": told}))
    server.handle_error = lambda *_: None  # type: ignore[method-assign]  # a caller that hangs up is no news
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    told.url = f"http{'s' if tls else ''}://127.0.0.1:{server.server_port}"
    thread = Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield told
    finally:
        told.released.set()
        server.shutdown()
        thread.join()
        server.server_close()
