"""Every operation of the contract against every kind of caller."""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

import httpx
import pytest

from exchange_api import keys
from exchange_api.scopes import SCOPES
from exchange_api.storage.units import Unit
from tests.exchange_api.every_operation import RECIPES, ROUTES, Call, recipe
from tests.exchange_api.running import Running

GARBAGE = "lxk_garbage"
PAST = "2000-01-01T00:00:00.000000Z"


class Workshop:
    """A workshop with keys of every kind."""

    def __init__(self, app: Running) -> None:
        self._app = app
        self._name = f"Workshop {uuid4()}"
        self.right = self.key()

    def key(self, *, lacking: str = "", expires_at: str | None = None) -> str:
        key = keys.new_key(self._app.service.outside, expires_at=expires_at)
        scopes = frozenset(SCOPES) - {lacking}
        self._app.write(self._kept(key, scopes))
        return key.text

    def _kept(self, key: keys.NewKey, scopes: frozenset[str]) -> Unit[str]:
        workshop_id = self._app.service.outside.new_id()
        return keys.keep_key(
            key, workshop=self._name, region="north", scopes=scopes, workshop_id=workshop_id
        )

    def revoked_key(self) -> str:
        text = self.key()
        with self._app.client(key=text) as client:
            key_id = client.get("/v1/me").json()["key_id"]
            gone = client.post(f"/v1/api-keys/{key_id}/revoke", headers={"If-Match": "*"})
        assert gone.status_code == 200
        return text

    @contextmanager
    def client(self) -> Iterator[httpx.Client]:
        with self._app.client(key=self.right) as client:
            yield client


def statuses(
    app: Running, method: str, call: Call, callers: dict[str, str | None]
) -> dict[str, int]:
    def status(key: str | None) -> int:
        with app.client(key=key) as client:
            return call.send(client, method).status_code

    return {name: status(key) for name, key in callers.items()}


@pytest.mark.parametrize("operation_id", ROUTES)
def test_who_may_call(app: Running, operation_id: str) -> None:
    route, mine, other = ROUTES[operation_id], Workshop(app), Workshop(app)
    needed, made = route.declared.scope, recipe(operation_id)
    with mine.client() as client:
        call = made.ready(client)
    callers = {
        "no key": None,
        "garbage": GARBAGE,
        "expired": mine.key(expires_at=PAST),
        "revoked": mine.revoked_key(),
        "wrong scope": mine.key(lacking=needed or ""),
        "other workshop": other.right,
        "right": mine.right,
    }
    barred = made.right if needed is None else 401
    expected = dict.fromkeys(("no key", "garbage", "expired", "revoked"), barred) | {
        "wrong scope": made.right if needed in {None, "any"} else 403,
        "other workshop": made.other,
        "right": made.right,
    }

    assert statuses(app, route.method, call, callers) == expected


def test_no_recipe_is_left_over() -> None:
    assert RECIPES.keys() <= ROUTES.keys()


@pytest.mark.parametrize("operation_id", [one for one in ROUTES if one.startswith("list")])
def test_a_list_shows_nothing_of_another_workshop(
    client: httpx.Client, other_client: httpx.Client, operation_id: str
) -> None:
    route, call = ROUTES[operation_id], recipe(operation_id).ready
    ids = {client.get("/v1/me").json()[name] for name in ("key_id", "workshop_id")}
    made = [
        recipe(one).ready(client).path for one in ("getPlan", "getJob", "getApiKey", "getFluid")
    ]
    ids |= {path.rpartition("/")[2] for path in made}

    shown = call(other_client).send(other_client, route.method)

    assert shown.status_code == 200
    assert not [one for one in ids if one in shown.text]


def test_refusals_say_nothing_of_why_a_key_is_not_valid(app: Running) -> None:
    mine = Workshop(app)
    unknown = keys.new_key(app.service.outside).text
    told = []
    for key in (mine.key(expires_at=PAST), mine.revoked_key(), unknown):
        with app.client(key=key) as client:
            answer = client.get("/v1/me")
            told.append((answer.status_code, {**answer.json(), "request_id": ""}))

    assert told[0] == told[1] == told[2]
