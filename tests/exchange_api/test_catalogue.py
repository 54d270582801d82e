"""The catalogue: written with care, seen by whom it concerns, found by what is said."""

from typing import Any
from uuid import uuid4

import httpx
import pytest
from msgspec.json import decode, encode

from libexchange.invented import cleaner, red_fluid, six_speed
from tests.exchange_api.running import Running


def transmission(entry_id: str, **changed: Any) -> dict[str, Any]:
    return {**decode(encode(six_speed())), "transmission_id": entry_id, **changed}


def fluid(entry_id: str, **changed: Any) -> dict[str, Any]:
    return {**decode(encode(red_fluid())), "fluid_id": entry_id, **changed}


def additive(entry_id: str, **changed: Any) -> dict[str, Any]:
    return {**decode(encode(cleaner())), "additive_id": entry_id, "name": "Rinse", **changed}


KINDS = [("transmissions", transmission), ("fluids", fluid), ("additives", additive)]


@pytest.fixture
def name() -> str:
    return f"invented-{uuid4()}"


@pytest.fixture(params=KINDS, ids=lambda p: p[0])
def sample(request: pytest.FixtureRequest, name: str) -> tuple[str, dict[str, Any]]:
    """An address and an entry that belongs there, of each kind."""
    resource, make = request.param
    return f"/v1/{resource}/{name}", make(name)


Sample = tuple[str, dict[str, Any]]


def test_what_is_put_is_got_with_its_version_and_scope(
    client: httpx.Client, sample: Sample
) -> None:
    path, entry = sample
    put, got = client.put(path, json=entry), client.get(path)

    assert (put.status_code, put.headers["location"]) == (201, path)
    assert put.content == got.content
    assert put.headers["etag"] == got.headers["etag"]
    assert got.json()["entry"] == entry
    assert (got.json()["version"], got.json()["scope"]) == (1, "workshop")
    assert got.json()["updated_at"].endswith("Z")


def test_changing_needs_the_etag_that_was_seen(client: httpx.Client, sample: Sample) -> None:
    path, entry = sample
    first = client.put(path, json=entry).headers["etag"]
    changed = {**entry, "name": "Another name"}

    without = client.put(path, json=changed)
    done = client.put(path, json=changed, headers={"If-Match": first})
    stale = client.put(path, json=entry, headers={"If-Match": first})

    assert [without.status_code, done.status_code, stale.status_code] == [428, 200, 412]
    assert (done.json()["version"], done.json()["entry"]["name"]) == (2, "Another name")
    assert client.get(path).json() == done.json()


def test_creating_can_make_sure_that_nothing_is_there(client: httpx.Client, sample: Sample) -> None:
    path, entry = sample
    codes = [client.put(path, json=entry, headers={"If-None-Match": "*"}) for _ in range(2)]

    assert [answer.status_code for answer in codes] == [201, 412]


@pytest.mark.parametrize("field", ["*", '"made-up"'])
def test_if_match_where_nothing_is_creates_nothing(
    client: httpx.Client, sample: Sample, field: str
) -> None:
    path, entry = sample
    answer = client.put(path, json=entry, headers={"If-Match": field})

    assert answer.status_code == 412
    assert client.get(path).status_code == 404


def test_the_same_content_makes_no_new_version(client: httpx.Client, sample: Sample) -> None:
    path, entry = sample
    first = client.put(path, json=entry)
    again = client.put(path, json=entry, headers={"If-Match": first.headers["etag"]})

    assert (again.status_code, again.content) == (200, first.content)


def test_a_known_entry_is_not_sent_again(client: httpx.Client, sample: Sample) -> None:
    path, entry = sample
    tag = client.put(path, json=entry).headers["etag"]

    assert client.get(path, headers={"If-None-Match": tag}).status_code == 304
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


def test_another_workshop_sees_nothing_and_may_use_the_same_id(
    client: httpx.Client, other_client: httpx.Client, sample: Sample
) -> None:
    path, entry = sample
    client.put(path, json=entry)

    assert other_client.get(path).status_code == 404
    assert other_client.put(path, json=entry).status_code == 201


def test_all_see_what_the_administrator_writes(
    administrator: httpx.Client, client: httpx.Client, sample: Sample
) -> None:
    path, entry = sample
    administrator.put(path, json=entry)

    assert client.get(path).json()["scope"] == "installation"


def test_an_own_entry_hides_the_one_of_the_installation_from_its_workshop_alone(
    administrator: httpx.Client, client: httpx.Client, other_client: httpx.Client, sample: Sample
) -> None:
    path, entry = sample
    common = administrator.put(path, json=entry).headers["etag"]
    own = {**entry, "name": "Own name"}
    assert client.put(path, json=own).status_code == 428
    answer = client.put(path, json=own, headers={"If-Match": common})

    assert (answer.status_code, answer.json()["scope"], answer.json()["version"]) == (
        200,
        "workshop",
        1,
    )
    assert client.get(path).json()["entry"]["name"] == "Own name"
    assert other_client.get(path).json()["entry"]["name"] == entry["name"]
    collection, _, entry_id = path.rpartition("/")
    found = client.get(collection, params={"text": entry_id}).json()["items"]
    assert [item["scope"] for item in found] == ["workshop"]
    unseen = client.get(collection, params={"text": f"{entry_id} {entry['name']}"}).json()["items"]
    assert unseen == []


def test_the_id_in_the_body_is_the_one_in_the_path(client: httpx.Client, sample: Sample) -> None:
    path, entry = sample
    answer = client.put(path + "-b", json=entry)

    assert answer.status_code == 422
    assert [error["code"] for error in answer.json()["errors"]] == ["differs-from-path"]


@pytest.mark.parametrize("key", ["catalogue:read", "plans:write"])
def test_writing_needs_its_scope(app: Running, sample: Sample, key: str) -> None:
    path, entry = sample
    with app.client_of("Readers", scopes=key) as reader:
        assert reader.put(path, json=entry).status_code == 403


WRONG_BODIES = {
    "nothing": (b"", 400),
    "no JSON": (b"{", 400),
    "a list": (b"[]", 422),
    "no UTF-8": (b'{"name":"\xff"}', 400),
    "deep": (b"[" * 100_000, 400),
    "huge": (b'"' + b"a" * 1_100_000 + b'"', 413),
}


@pytest.mark.parametrize(("raw", "status"), WRONG_BODIES.values(), ids=WRONG_BODIES)
def test_a_body_that_is_no_entry_is_refused(
    client: httpx.Client, sample: Sample, raw: bytes, status: int
) -> None:
    path, _ = sample
    answer = client.put(path, content=raw, headers={"Content-Type": "application/json"})

    assert answer.status_code == status
    assert client.get(path).status_code == 404


def test_every_fault_of_an_entry_is_told(client: httpx.Client, name: str) -> None:
    wrong = transmission(name, total={"value": -1, "unit": "l"}, drain_plug="maybe", engine=1)
    answer = client.put(f"/v1/transmissions/{name}", json=wrong)

    pointers = {error["pointer"] for error in answer.json()["errors"]}
    assert answer.status_code == 422
    assert pointers >= {"#/drain_plug", "#/engine"}
    assert any(pointer.startswith("#/total") for pointer in pointers)


@pytest.mark.parametrize("entry_id", ["nothing-there", "UPPER", "a" * 300, "%00", "%ff", "a%0A"])
@pytest.mark.parametrize("resource", [name for name, _ in KINDS])
def test_what_is_not_there_is_not_found(client: httpx.Client, resource: str, entry_id: str) -> None:
    assert client.get(f"/v1/{resource}/{entry_id}").status_code == 404


@pytest.fixture(scope="module")
def stocked(app: Running) -> Any:
    """A client of a workshop with a few entries of its own."""
    with app.client_of(f"Workshop {uuid4()}") as client:
        for entry in (
            transmission("zz-one", fits=[{"model": "Cart 9", "year_from": 2010, "year_to": 2015}]),
            transmission("zz-two", fits=[{"model": "Cart 9", "year_from": 2016}]),
            transmission("zz-three", family="wet_dual_clutch", fluid_kinds=["zz-kind"]),
            transmission("zz-four", name="100%_sure\\"),
        ):
            client.put(f"/v1/transmissions/{entry['transmission_id']}", json=entry)
        for number in range(5):
            client.put(f"/v1/fluids/zz-{number}", json=fluid(f"zz-{number}", kinds=["zz-kind"]))
        for entry in (additive("zz-wash"), additive("zz-soft", kind="conditioner")):
            client.put(f"/v1/additives/{entry['additive_id']}", json=entry)
        yield client


@pytest.mark.parametrize(
    ("params", "found"),
    [
        ({"text": "zz"}, ["zz-soft", "zz-wash"]),
        ({"text": "zz", "kind": "cleaner"}, ["zz-wash"]),
        ({"text": "ZZ CONDITIONER"}, ["zz-soft"]),
        ({"text": "zz-soft", "kind": "cleaner"}, []),
    ],
)
def test_additives_are_found_by_text_and_kind(
    stocked: httpx.Client, params: dict[str, str], found: list[str]
) -> None:
    page = stocked.get("/v1/additives", params=params).json()

    assert [item["entry"]["additive_id"] for item in page["items"]] == found


SEARCHES = [
    ({"text": "ZZ-"}, ["zz-four", "zz-one", "zz-three", "zz-two"]),
    ({"text": "zz- cart"}, ["zz-one", "zz-two"]),
    ({"text": "zz-", "family": "wet_dual_clutch"}, ["zz-three"]),
    ({"model": "cart 9", "text": "zz-"}, ["zz-one", "zz-two"]),
    ({"model": "cart 9", "year": "2015"}, ["zz-one"]),
    ({"model": "cart 9", "year": "2016"}, ["zz-two"]),
    ({"model": "cart 9", "year": "2009"}, []),
    ({"model": "9 cart"}, []),
    ({"fluid_kind": "zz-kind"}, ["zz-three"]),
    ({"fluid_kind": "zz"}, []),
    ({"text": "100%_sure\\"}, ["zz-four"]),
    ({"text": "1%sure"}, []),
    ({"text": "100% sure"}, ["zz-four"]),
]


@pytest.mark.parametrize(("params", "found"), SEARCHES, ids=str)
def test_a_search_finds(stocked: httpx.Client, params: dict[str, str], found: list[str]) -> None:
    items = stocked.get("/v1/transmissions", params=params).json()["items"]

    assert [item["entry"]["transmission_id"] for item in items] == found


def test_pages_hold_every_entry_once(stocked: httpx.Client) -> None:
    seen: list[str] = []
    params = {"kind": "zz-kind", "limit": "2"}
    while True:
        page = stocked.get("/v1/fluids", params=params).json()
        seen += [item["entry"]["fluid_id"] for item in page["items"]]
        if page["next_cursor"] is None:
            break
        params["cursor"] = page["next_cursor"]

    assert seen == [f"zz-{number}" for number in range(5)]


@pytest.mark.parametrize(
    "params",
    [
        {"year": "soon"},
        {"year": "1"},
        {"year": "9" * 30},
        {"family": "bicycle"},
        {"text": ""},
        {"text": "a\x00"},
        {"limit": "0"},
        {"limit": "201"},
        {"cursor": "AAAA"},
        {"colour": "red"},
    ],
    ids=str,
)
def test_a_wrong_search_is_refused(client: httpx.Client, params: dict[str, str]) -> None:
    answer = client.get("/v1/transmissions", params=params)

    assert answer.status_code == 400
    assert [error["parameter"]["name"] for error in answer.json()["errors"]] == list(params)
