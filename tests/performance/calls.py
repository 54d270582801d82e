"""What callers send: ready-made requests, and the many invented cars that they are about."""

from collections.abc import Iterator, Sequence
from random import Random
from uuid import uuid4

import msgspec
from msgspec import Struct

from libexchange import invented
from libexchange.plan.request import PlanRequest
from libexchange.quantities import Volume

VARIANTS = 16  # transmissions that differ in their litres, so that not all plans are the same
LEAST_L, SPREAD_L = 7.0, 4.5
DRAINED_SHARE = 0.45


class Customer(Struct, frozen=True, kw_only=True):
    """A workshop that calls, and the key that it calls with."""

    workshop_id: str
    key: str


def plan_requests() -> list[PlanRequest]:
    """Routine services of many invented transmissions."""
    return [_plan_request(LEAST_L + SPREAD_L * number / VARIANTS) for number in range(VARIANTS)]


def _plan_request(total_l: float) -> PlanRequest:
    transmission = msgspec.structs.replace(
        invented.six_speed(),
        total=Volume(total_l, "L"),
        drained=Volume(round(total_l * DRAINED_SHARE, 6), "L"),
    )
    return msgspec.structs.replace(invented.routine_request(), transmission=transmission)


def _body(request: PlanRequest) -> bytes:
    """A request as it is sent, without members that say nothing."""
    return msgspec.json.encode(_told(msgspec.to_builtins(request)))


def _told(value: object) -> object:
    if isinstance(value, dict):
        return {name: _told(part) for name, part in value.items() if part is not None}
    return value


BODIES = tuple(map(_body, plan_requests()))


def known(chance: Random) -> Iterator[bytes]:
    """Bodies about transmissions that a server soon has seen."""
    while True:
        yield chance.choice(BODIES)


def unseen(chance: Random) -> Iterator[bytes]:
    """Bodies about transmissions that no server has seen."""
    while True:
        yield _body(_plan_request(round(LEAST_L + SPREAD_L * chance.random(), 6)))


def creations(key: str, bodies: Iterator[bytes]) -> Iterator[bytes]:
    """Plans to be kept, each under an Idempotency-Key of its own."""
    for body in bodies:
        head = _head("POST", "/v1/plans", key, len(body))
        yield b"%bIdempotency-Key: %b\r\n\r\n%b" % (head, str(uuid4()).encode(), body)


def posts(path: str, key: str, bodies: Iterator[bytes]) -> Iterator[bytes]:
    """Bodies to a path that keeps nothing."""
    for body in bodies:
        yield b"%b\r\n%b" % (_head("POST", path, key, len(body)), body)


def gets(paths: Sequence[str], key: str, chance: Random) -> Iterator[bytes]:
    """One of these paths after the other, in no order."""
    ready = [_head("GET", path, key) + b"\r\n" for path in paths]
    while True:
        yield chance.choice(ready)


def _head(method: str, path: str, key: str, length: int | None = None) -> bytes:
    lines = [f"{method} {path} HTTP/1.1", "Host: 127.0.0.1", f"Authorization: Bearer {key}"]
    if length is not None:
        lines += ["Content-Type: application/json", f"Content-Length: {length}"]
    return "".join(f"{line}\r\n" for line in lines).encode()
