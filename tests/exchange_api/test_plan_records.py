"""The records that a plan rests on: named or sent, the workshop's own before the installation's."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.bay_desk import (
    CLEANER,
    CONDITIONER,
    RED_FLUID,
    SIX_SPEED,
    ask,
    plans_kept,
    problem,
)

NONE_SUCH = "01920000-0000-7000-8000-000000000001"
BY_ID = {"transmission_id": "invented-six-speed", "transmission": None}


def put(client: httpx.Client, record: dict[str, Any], entry_id: str) -> None:
    name = next(name for name in record if name.endswith("_id"))
    kind = name.removesuffix("_id") + "s"
    path = f"/v1/{kind}/{entry_id}"
    seen = client.get(path).headers.get("etag")
    headers = {"If-Match": seen} if seen else {}
    client.put(path, json=record | {name: entry_id}, headers=headers).raise_for_status()


def test_the_versions_of_the_catalogue_are_named(client: httpx.Client) -> None:
    put(client, SIX_SPEED, "invented-six-speed")
    put(client, RED_FLUID, "invented-red-fluid")
    plan = ask(client, **BY_ID, fluid_id="invented-red-fluid", fluid=None).json()

    assert plan["catalogue_versions"] == {
        "transmission": {"entry_id": "invented-six-speed", "version": 1, "scope": "workshop"},
        "fluid": {"entry_id": "invented-red-fluid", "version": 1, "scope": "workshop"},
        "cleaner": None,
        "conditioner": None,
    }
    assert plan["feasible"] is True


def test_records_sent_with_the_request_have_no_version(client: httpx.Client) -> None:
    plan = ask(client).json()

    assert set(plan["catalogue_versions"].values()) == {None}


def test_the_workshops_own_entry_wins_over_the_installations(
    administrator: httpx.Client, client: httpx.Client, other_client: httpx.Client
) -> None:
    entry_id = f"invented-{uuid4()}"
    put(administrator, SIX_SPEED, entry_id)
    own = SIX_SPEED | {"total": {"value": 9.5, "unit": "L"}}
    put(client, own, entry_id)
    mine = ask(client, transmission_id=entry_id, transmission=None).json()
    theirs = ask(other_client, transmission_id=entry_id, transmission=None).json()

    assert mine["catalogue_versions"]["transmission"]["scope"] == "workshop"
    assert theirs["catalogue_versions"]["transmission"]["scope"] == "installation"
    assert mine["offline_card"]["total"]["value"] == 9.5
    assert theirs["offline_card"]["total"]["value"] == 9.0


def test_an_entry_of_another_workshop_is_unknown(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    put(client, SIX_SPEED, "invented-six-speed")
    answered = ask(other_client, **BY_ID)

    assert problem(answered) == (422, "invalid-body", {"#/transmission_id"})


def test_a_plan_stays_as_it_was_when_the_catalogue_changes(client: httpx.Client) -> None:
    put(client, SIX_SPEED, "invented-six-speed")
    before = ask(client, **BY_ID, key="once")
    put(client, SIX_SPEED | {"total": {"value": 9.5, "unit": "L"}}, "invented-six-speed")
    again, after = ask(client, **BY_ID, key="once"), ask(client, **BY_ID)

    assert again.content == before.content
    assert after.json()["catalogue_versions"]["transmission"]["version"] == 2


def test_everything_that_is_unknown_or_contradicts_is_said_at_once(client: httpx.Client) -> None:
    prices = {
        "fluid_per_litre": {"amount": "14.50", "currency": "EUR"},
        "labour_per_hour": {"amount": "96.00", "currency": "CHF"},
    }
    answered = ask(
        client, transmission_id="none-such", transmission=None, fluid_id="none-such", fluid=None,
        supersedes=NONE_SUCH, prices=prices,
    )  # fmt: skip

    places = {"#/transmission_id", "#/fluid_id", "#/supersedes", "#/prices"}
    assert problem(answered) == (422, "invalid-body", places)
    values = {error["pointer"]: error["value"] for error in answered.json()["errors"]}
    assert values == {
        "#/transmission_id": "none-such",
        "#/fluid_id": "none-such",
        "#/supersedes": NONE_SUCH,
        "#/prices": ["CHF", "EUR"],
    }
    assert plans_kept(client) == 0


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"transmission_id": "invented-six-speed"}, "#/transmission_id"),
        ({"transmission": None}, "#/transmission_id"),
        ({"fluid_id": "invented-red-fluid"}, "#/fluid_id"),
    ],
    ids=["both transmissions", "no transmission", "both fluids"],
)
def test_a_record_is_named_or_sent_and_not_both(
    client: httpx.Client, changes: dict[str, Any], place: str
) -> None:
    put(client, SIX_SPEED, "invented-six-speed")
    put(client, RED_FLUID, "invented-red-fluid")
    answered = ask(client, **changes)

    assert problem(answered) == (422, "invalid-body", {place})
    assert {error["code"] for error in answered.json()["errors"]} == {"exactly-one-of"}
    assert plans_kept(client) == 0


def test_a_plan_of_another_workshop_cannot_be_superseded(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    plan_id = ask(client).json()["plan_id"]

    assert problem(ask(other_client, supersedes=plan_id))[2] == {"#/supersedes"}


def test_additives_of_the_catalogue_are_dosed_and_their_versions_named(
    client: httpx.Client,
) -> None:
    put(client, CLEANER, "invented-cleaner")
    put(client, CONDITIONER, "invented-conditioner")
    plan = ask(client, cleaner_id="invented-cleaner", conditioner_id="invented-conditioner").json()

    entry = {"version": 1, "scope": "workshop"}
    assert plan["catalogue_versions"]["cleaner"] == {"entry_id": "invented-cleaner", **entry}
    assert plan["catalogue_versions"]["conditioner"]["entry_id"] == "invented-conditioner"
    kinds = [step["kind"] for step in plan["steps"]]
    assert [kind for kind in kinds if "dose" in kind or "contact" in kind] == [
        "dose_cleaner", "cleaner_contact", "dose_conditioner",
    ]  # fmt: skip
    doses = {dose["kind"]: dose for dose in plan["offline_card"]["doses"]}
    assert doses["cleaner"]["dose"] == {"value": 0.325, "unit": "L"}
    assert doses["cleaner"]["share_left"] <= 0.005
    assert doses["conditioner"]["dose"] == {"value": 0.225, "unit": "L"}


@pytest.mark.parametrize(
    ("named", "code"),
    [("none-such", "unknown-id"), ("invented-conditioner", "not-of-this-kind")],
)
def test_an_additive_that_is_unknown_or_of_another_kind_is_refused(
    client: httpx.Client, named: str, code: str
) -> None:
    put(client, CONDITIONER, "invented-conditioner")
    answered = ask(client, cleaner_id=named)

    assert problem(answered) == (422, "invalid-body", {"#/cleaner_id"})
    assert [error["code"] for error in answered.json()["errors"]] == [code]


def test_a_cleaner_of_another_workshop_is_unknown(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    put(client, CLEANER, "invented-cleaner")

    assert problem(ask(other_client, cleaner_id="invented-cleaner"))[2] == {"#/cleaner_id"}
