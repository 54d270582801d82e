"""The framework behind the service's own server, with routes that do no work.

They take the bodies that the service takes and answer bytes as long as a plan.
"""

import gc
import signal
from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager
from pathlib import Path

from litestar import Litestar, Response, get, post

from exchange_api.app import create_app
from exchange_api.server import build, listen
from exchange_api.serving import Request, answer
from exchange_api.settings import Settings

PATH = "/bare"


def bare(document: bytes) -> Litestar:
    """The framework, set up as the service sets it up, without its edge, guards and work."""

    @post(PATH)
    async def taken(request: Request) -> Response[bytes]:
        await request.body()
        return answer(document, status=201)

    @get(PATH)
    async def given(request: Request) -> Response[bytes]:  # noqa: ARG001 -- as the service's handlers
        return answer(document)

    return Litestar(
        route_handlers=[taken, given],
        lifespan=[_as_the_service],
        logging_config=None,
        openapi_config=None,
        request_max_body_size=None,
    )


@asynccontextmanager
async def _as_the_service(_app: Litestar) -> AsyncGenerator[None, None]:
    gc.collect()
    gc.freeze()
    yield


def main(told: list[str]) -> int:
    """Serve until told to stop; told the file whose bytes are answered, and the port."""
    file, port = told
    settings = Settings(port=int(port))
    server = build(create_app(settings), settings)  # with all that the service's server has
    server.config.app = bare(Path(file).read_bytes())
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # as the service: it stops, then it ends with 0
    server.run(sockets=[listen(settings)])
    return 0
