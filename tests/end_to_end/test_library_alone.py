"""The library alone, without server, database and clock, comes to what the service answers."""

from typing import Any
from uuid import uuid4

import httpx
import msgspec
import pytest

from libexchange.catalogue import FluidProduct, TransmissionProfile
from libexchange.job.fold import fold
from libexchange.job.view import JobView, pointed_state
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Plan
from libexchange.plan.request import PlanRequest
from tests.end_to_end.orders import ask, order
from tests.exchange_api.bay_desk import items, send
from tests.job.plans import Bay

ORDERS: dict[str, dict[str, Any]] = {
    "six-speed": {},
    "heavy use": {"reason": "heavy_use"},
    "a fixed route": {"route": "drain_cycles", "target_fresh_share": 0.7},
    "fixed litres": {"exchanged": {"value": 9, "unit": "[qt_us]"}},
    "a dual clutch": {
        "transmission_id": "invented-wet-dual-clutch", "fluid_id": "invented-amber-fluid"},
    "a CVT": {"transmission_id": "invented-cvt-converter", "fluid_id": "invented-green-fluid"},
    "an unknown window": {"transmission_id": "invented-unknown-window"},
    "the wrong fluid": {"fluid_id": "invented-green-fluid"},
    "no fluid": {"fluid_id": None},
    "coolant": {"conditions": ["coolant_in_fluid"]},
}  # fmt: skip


def own_plan(client: httpx.Client, answered: Plan) -> Plan:
    """The plan that the library makes from the same request and records."""
    asked = answered.request
    entry = client.get(f"/v1/transmissions/{asked.transmission_id}").content
    fluid = client.get(f"/v1/fluids/{asked.fluid_id}").content if asked.fluid_id else None
    return make_plan(
        request=asked,
        transmission=msgspec.json.decode(entry, type=_Transmission).entry,
        fluid=msgspec.json.decode(fluid, type=_Fluid).entry if fluid else None,
        plan_id=answered.plan_id,
        created_at=answered.created_at,
        catalogue_versions=answered.catalogue_versions,
    )


class _Transmission(msgspec.Struct):
    entry: TransmissionProfile


class _Fluid(msgspec.Struct):
    entry: FluidProduct


@pytest.mark.parametrize("name", ORDERS)
def test_the_library_makes_the_plan_that_the_service_makes(dealer: httpx.Client, name: str) -> None:
    answered = ask(dealer, **ORDERS[name])
    own = own_plan(dealer, msgspec.json.decode(answered.content, type=Plan))

    assert msgspec.json.encode(own) == answered.content
    assert own.digest == answered.json()["digest"]


def test_the_request_in_a_plan_is_the_one_that_was_asked(dealer: httpx.Client) -> None:
    plan = msgspec.json.decode(ask(dealer).content, type=Plan)

    assert plan.request == msgspec.convert(order(), PlanRequest)


def test_the_library_folds_posted_events_to_the_state_that_the_service_tells(
    dealer: httpx.Client,
) -> None:
    plan = msgspec.json.decode(ask(dealer).content, type=Plan)
    bay = Bay(plan, first_id=plan.plan_id.int).whole_job()
    path = f"/v1/jobs/{uuid4()}"
    dealer.put(path, json={"plan_id": str(plan.plan_id)}).raise_for_status()
    send(dealer, path, items(bay.events)[::-1]).raise_for_status()
    view = msgspec.json.decode(dealer.get(path).content, type=JobView)

    assert view.state == pointed_state(view, fold(plan, bay.events), "#/state")
