"""The HTTP server around the app: one socket, a clean stop, its own log lines in our form."""

import logging
import signal
import socket

import uvicorn

from exchange_api.asgi import Edge
from exchange_api.logs import Log, ServerLogHandler
from exchange_api.outside import real_outside
from exchange_api.settings import Settings
from exchange_api.wire import Limits, bounded
from libexchange.errors import Fault, InvalidInput

URL_BYTES = 8 * 1024
HEAD_BYTES = 32 * 1024


def run(app: Edge, settings: Settings) -> int:
    """Serve until SIGTERM or SIGINT, then finish what is in flight; 0 when that went well.

    Raises: InvalidInput when the address cannot be listened on.
    """
    listener = listen(settings)
    server = build(app, settings)
    host, port = listener.getsockname()[:2]
    print(f"exchange-api listens on http://{_bracketed(host)}:{port}", flush=True)
    # The server raises the signal again once it has stopped; that must not end the process.
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    server.run(sockets=[listener])
    return 0 if server.started else 1


def build(app: Edge, settings: Settings) -> uvicorn.Server:
    """The server, not yet running."""
    logger = logging.getLogger("uvicorn.error")
    logger.handlers = [ServerLogHandler(Log(now=real_outside().now, level=settings.log_level))]
    logger.propagate = False
    config = uvicorn.Config(
        app,
        loop="uvloop",
        http=bounded(_limits(settings), app.service),
        lifespan="on",
        ws="none",
        log_config=None,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=settings.shutdown_seconds,
    )
    return uvicorn.Server(config)


def _limits(settings: Settings) -> Limits:
    return Limits(
        url=URL_BYTES,
        head=HEAD_BYTES,
        head_s=settings.head_seconds,
        body_s=settings.body_seconds,
        unread_s=settings.unread_seconds,
    )


def listen(settings: Settings) -> socket.socket:
    """A listening socket at the address of the settings."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        return socket.create_server((settings.host, settings.port), family=family, backlog=2048)
    except OSError as error:
        raise InvalidInput(_cannot_listen(settings, error)) from None


def _cannot_listen(settings: Settings, error: OSError) -> Fault:
    return Fault(
        pointer=f"{settings.host}:{settings.port}",
        code="cannot-listen",
        detail=str(error),
        allowed="a free port at an address of this machine",
        remedy="Choose another --host or --port.",
    )


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
