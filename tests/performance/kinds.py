"""The calls that are measured, and how one is."""

from collections.abc import Callable, Iterator, Sequence
from random import Random

import httpx
from msgspec import Struct

from exchange_api.paging import cursor
from tests.performance import bare, calls
from tests.performance.client import load
from tests.performance.figures import Sample
from tests.performance.stock import Stock

WARM_UP = 0.2  # of a cell's time, before it and not counted
MOST_PATHS = 5000


class Kind(Struct, frozen=True, kw_only=True):
    """A call by its name.

    requests: what a caller of the workshop of this number sends    status: what it is answered
    """

    name: str
    requests: Callable[[Stock, int, Random], Iterator[bytes]]
    status: int = 200


def _plans(stock: Stock, number: int) -> list[int]:
    """The numbers of a workshop's plans, the oldest first."""
    return list(range(number % len(stock.customers), len(stock.plan_ids), len(stock.customers)))


def _create(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.creations(stock.customer(number).key, calls.known(chance))


def _create_unseen(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.creations(stock.customer(number).key, calls.unseen(chance))


def _preview(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.posts("/v1/plans/preview", stock.customer(number).key, calls.known(chance))


def _get(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    plans = _plans(stock, number)
    some = chance.sample(plans, min(MOST_PATHS, len(plans)))
    paths = [f"/v1/plans/{stock.plan_ids[plan]}" for plan in some]
    return calls.gets(paths, stock.customer(number).key, chance)


def _first_page(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.gets(["/v1/plans"], stock.customer(number).key, chance)


def _late_page(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    """Pages that begin in the oldest tenth."""
    plans = _plans(stock, number)
    some = chance.sample(plans[: len(plans) // 10], min(MOST_PATHS, len(plans) // 10))
    paths = [f"/v1/plans?cursor={_after(stock, plan)}" for plan in some]
    return calls.gets(paths, stock.customer(number).key, chance)


def _after(stock: Stock, plan: int) -> str:
    keys = (stock.created_at(plan), stock.plan_ids[plan])
    return cursor(keys, operation_id="listPlans", filters={"transmission_id": None})


def _bare_post(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.posts(bare.PATH, stock.customer(number).key, calls.known(chance))


def _bare_get(stock: Stock, number: int, chance: Random) -> Iterator[bytes]:
    return calls.gets([bare.PATH], stock.customer(number).key, chance)


CREATE = Kind(name="create", requests=_create, status=201)
CREATE_UNSEEN = Kind(name="create, unseen", requests=_create_unseen, status=201)
PREVIEW = Kind(name="preview", requests=_preview)
GET = Kind(name="get", requests=_get)
FIRST_PAGE = Kind(name="first page", requests=_first_page)
LATE_PAGE = Kind(name="late page", requests=_late_page)
BARE_POST = Kind(name="bare post", requests=_bare_post, status=201)
BARE_GET = Kind(name="bare get", requests=_bare_get)


def acquaint(ports: Sequence[int], stock: Stock) -> None:
    """Let each server see every transmission once, for the first plan of one costs the most."""
    headers = {"Authorization": f"Bearer {stock.customer(0).key}"}
    for port in ports:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", headers=headers) as client:
            for body in calls.BODIES:
                told = {"Content-Type": "application/json"}
                client.post("/v1/plans/preview", content=body, headers=told).raise_for_status()


def measure(
    kind: Kind, ports: Sequence[int], stock: Stock, *, callers: int, seconds: float
) -> tuple[Sample, int]:
    """A cell once; the sample, and how many calls were answered with the little before it.

    Raises: WrongAnswer.
    """
    chance = Random(1)  # noqa: S311 -- which plan is asked for, not a secret
    asking = [kind.requests(stock, number, chance) for number in range(callers)]
    before = load(ports, asking, status=kind.status, seconds=seconds * WARM_UP)
    sample = load(ports, asking, status=kind.status, seconds=seconds)
    return sample, len(before.latencies_s) + len(sample.latencies_s)
