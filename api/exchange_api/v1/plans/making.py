"""From a request to a plan: the records it names, the plan itself, and what is kept of it."""

from uuid import UUID

import msgspec
from msgspec import Struct

from exchange_api.catalogue_store import find_additive, find_fluid, find_transmission
from exchange_api.conditional import etag
from exchange_api.keys import Principal
from exchange_api.outside import as_stamp
from exchange_api.serving import Request, service
from exchange_api.storage.units import Connection, Unit
from exchange_api.v1.plans import store
from libexchange.anonymise import export_facts
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.errors import Fault, InvalidInput
from libexchange.plan.planning import make_plan
from libexchange.plan.records import CatalogueVersion, CatalogueVersions, Plan
from libexchange.plan.request import PlanRequest, additive_faults, request_faults


class Named(Struct, frozen=True, kw_only=True):
    """The records that a request names or holds, and their versions."""

    transmission: TransmissionProfile
    fluid: FluidProduct | None
    cleaner: Additive | None
    conditioner: Additive | None
    versions: CatalogueVersions


async def planned(request: Request, holder: Principal, wanted: PlanRequest) -> Plan:
    """The plan for a request. Raises: InvalidInput."""
    running = service(request)
    named = await running.database.read(_named(holder.workshop_id, wanted))
    return make_plan(
        request=wanted,
        transmission=named.transmission,
        fluid=named.fluid,
        cleaner=named.cleaner,
        conditioner=named.conditioner,
        plan_id=UUID(running.outside.new_id()),
        created_at=running.outside.now(),
        catalogue_versions=named.versions,
    )


def _named(workshop_id: str, wanted: PlanRequest) -> Unit[Named]:
    """The records of a request. Raises: InvalidInput with every fault and every unknown id."""

    def unit(connection: Connection) -> Named:
        faults = request_faults(wanted)
        transmission, transmission_version = wanted.transmission, None
        if wanted.transmission_id is not None:
            entry = find_transmission(connection, workshop_id, wanted.transmission_id)
            transmission, transmission_version = entry or (None, None)
            faults += [] if entry else [_unknown("/transmission_id", wanted.transmission_id)]
        fluid, fluid_version = wanted.fluid, None
        if wanted.fluid_id is not None:
            found = find_fluid(connection, workshop_id, wanted.fluid_id)
            fluid, fluid_version = found or (None, None)
            faults += [] if found else [_unknown("/fluid_id", wanted.fluid_id)]
        cleaner, cleaner_version = _additive(connection, workshop_id, wanted.cleaner_id)
        conditioner, conditioner_version = _additive(connection, workshop_id, wanted.conditioner_id)
        faults += additive_faults(wanted, cleaner=cleaner, conditioner=conditioner)
        faults += _unknown_supersedes(connection, workshop_id, wanted)
        if faults or transmission is None:
            raise InvalidInput(*faults)
        return Named(
            transmission=transmission,
            fluid=fluid,
            cleaner=cleaner,
            conditioner=conditioner,
            versions=CatalogueVersions(
                transmission=transmission_version,
                fluid=fluid_version,
                cleaner=cleaner_version,
                conditioner=conditioner_version,
            ),
        )

    return unit


def _additive(
    connection: Connection, workshop_id: str, additive_id: str | None
) -> tuple[Additive | None, CatalogueVersion | None]:
    found = additive_id and find_additive(connection, workshop_id, additive_id)
    return found or (None, None)


def _unknown(pointer: str, entry_id: str) -> Fault:
    return Fault(
        pointer=pointer,
        code="unknown-id",
        detail=f"the catalogue has no entry {entry_id}",
        value=entry_id,
        allowed="an id of the installation's or the workshop's own catalogue",
        remedy="Search the catalogue, add the entry, or send its data in the request.",
    )


def _unknown_supersedes(
    connection: Connection, workshop_id: str, wanted: PlanRequest
) -> list[Fault]:
    if wanted.supersedes is None:
        return []
    plan_id = str(wanted.supersedes)
    if store.one(workshop_id=workshop_id, plan_id=plan_id)(connection) is not None:
        return []
    return [
        Fault(
            pointer="/supersedes",
            code="unknown-id",
            detail=f"there is no plan {plan_id}",
            value=plan_id,
            allowed="the id of a plan of this workshop",
            remedy="Name the plan that this one corrects, or leave it out.",
        )
    ]


def new_plan(plan: Plan, holder: Principal, *, key: str, request_sha256: str) -> store.NewPlan:
    """What is kept of a plan."""
    document = msgspec.json.encode(plan)
    return store.NewPlan(
        workshop_id=holder.workshop_id,
        key=key,
        request_sha256=request_sha256,
        plan_id=str(plan.plan_id),
        created_at=as_stamp(plan.created_at),
        service_date=plan.request.service_date.isoformat(),
        transmission_id=plan.request.transmission_id,
        route=plan.route,
        feasible=plan.feasible,
        supersedes=str(plan.supersedes) if plan.supersedes else None,
        etag=etag(document),
        document=document,
        facts=msgspec.json.encode(export_facts(plan=plan, region=holder.region)),
    )
