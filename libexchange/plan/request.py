"""What a caller asks a plan with."""

from datetime import date
from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.catalogue import (
    Additive,
    AdditiveKind,
    FluidProduct,
    TransmissionProfile,
    Year,
)
from libexchange.containers import MOST_SIZES, ContainerSize, size_faults
from libexchange.errors import Fault, InvalidInput
from libexchange.fields import Instant, Money, Person, Slug, Vin
from libexchange.quantities import Distance, Volume
from libexchange.use_case import Duty

Reason = Literal["routine", "heavy_use", "wrong_fluid", "unknown_fluid", "maker_drain"]
"""Why the fluid is renewed; it decides the target share."""

Route = Literal[
    "level_only",
    "drain",
    "drain_cycles",
    "suction",
    "pan_and_filter",
    "pan_and_filter_then_line",
    "line_exchange",
    "line_batches",
]
"""How the fluid is renewed; `level_only` renews nothing and is taken only when it is asked for."""

Condition = Literal[
    "after_repair",
    "burnt_and_slipping",
    "burnt_smell",
    "coolant_in_fluid",
    "debris_in_pan",
    "high_distance_never_serviced",
    "leak",
    "level_high_on_arrival",
    "level_low_on_arrival",
    "no_drive",
    "shift_complaint",
    "under_warranty",
]
"""What was found on arrival."""

TargetShare = Annotated[float, Meta(gt=0, lt=1)]


class Vehicle(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The vehicle as the caller knows it; nothing of it is needed to compute.

    reference: the caller's own name for it, a personal text    vin: 17 characters
    model_year: 1950 to 2100    odometer: reading on the day of service
    """

    reference: Person | None = None
    vin: Vin | None = None
    model_year: Year | None = None
    odometer: Distance | None = None


class LastService(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The fluid service before this one.

    service_date: day of that service    odometer: reading on that day, null where not known
    fresh_share: share of fresh fluid that it reached, 0 to 1; null where not known
    """

    service_date: date
    odometer: Distance | None = None
    fresh_share: Annotated[float, Meta(ge=0, le=1)] | None = None


class Prices(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The caller's own prices; they must share one currency.

    `fluid_containers` are full containers of the fluid on offer; where they are given the fluid is
    quoted by them and not by the litre. An additive that is sold loose is priced by the dose.

    fluid_per_litre: fresh fluid    fluid_containers: full containers on offer, with their prices
    labour_per_hour: an hour of hands-on work    filter_kit: filter and gasket, one set
    used_fluid_per_litre: disposal of used fluid    cleaner_per_pack, conditioner_per_pack: one pack
    """

    fluid_per_litre: Money | None = None
    fluid_containers: Annotated[tuple[ContainerSize, ...], Meta(max_length=MOST_SIZES)] = ()
    labour_per_hour: Money | None = None
    filter_kit: Money | None = None
    used_fluid_per_litre: Money | None = None
    cleaner_per_pack: Money | None = None
    conditioner_per_pack: Money | None = None


class PlanRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A service plan is asked for.

    Exactly one of `transmission_id` and `transmission`; at most one of `fluid_id` and `fluid`.
    `exchanged` fixes the litres of the line exchange, `route` the route; `duty` is how the vehicle
    is driven; `cleaner_id` and `conditioner_id` name additives that the job is to use, else there
    are none; `supersedes` names the plan that this one corrects.

    requested_at: the caller's time, with its offset from UTC    service_date: day of the service
    vehicle: as the caller knows it    reason: why the fluid is renewed
    transmission_id: entry of the catalogue    transmission: its data, where no entry is named
    fluid_id: entry of the catalogue    fluid: its data, where no entry is named
    target_fresh_share: share of fresh fluid to reach, between 0 and 1; null: that of the reason
    exchanged: litres of the line exchange; null lets the plan choose
    route: how the fluid is renewed; null lets the plan choose
    conditions: what was found on arrival    last_service: the one before, null where not known
    duty: how the vehicle is driven, null where not known    prices: the caller's own, for a quote
    cleaner_id, conditioner_id: additive of the catalogue to use; null uses none
    supersedes: the plan that this one corrects
    """

    requested_at: Instant
    service_date: date
    vehicle: Vehicle
    transmission_id: Slug | None = None
    transmission: TransmissionProfile | None = None
    fluid_id: Slug | None = None
    fluid: FluidProduct | None = None
    reason: Reason
    target_fresh_share: TargetShare | None = None
    exchanged: Volume | None = None
    route: Route | None = None
    conditions: Annotated[tuple[Condition, ...], Meta(max_length=12)] = ()
    last_service: LastService | None = None
    duty: Duty | None = None
    cleaner_id: Slug | None = None
    conditioner_id: Slug | None = None
    prices: Prices | None = None
    supersedes: UUID | None = None


def check_request(request: PlanRequest) -> None:
    """Raise InvalidInput, with every fault, where a request cannot be planned at all."""
    if faults := request_faults(request):
        raise InvalidInput(*faults)


def additive_faults(
    request: PlanRequest, *, cleaner: Additive | None, conditioner: Additive | None
) -> list[Fault]:
    """Where an additive is not the one, or not of the kind, that is asked for.

    cleaner, conditioner: the records found for the ids of the request

    >>> from libexchange import invented
    >>> [fault.pointer for fault in additive_faults(
    ...     invented.routine_request(), cleaner=invented.cleaner(), conditioner=None)]
    ['/cleaner_id']
    """
    return [
        *_additive("cleaner", request.cleaner_id, cleaner),
        *_additive("conditioner", request.conditioner_id, conditioner),
    ]


def _additive(kind: AdditiveKind, asked: str | None, found: Additive | None) -> list[Fault]:
    if found is not None and found.additive_id == asked and found.kind == kind:
        return []
    if found is None and asked is None:
        return []
    return [
        Fault(
            pointer=f"/{kind}_id",
            code="not-of-this-kind" if found else "unknown-id",
            detail=f"it names no {kind}",
            value=asked,
            allowed=f"the id of a {kind}",
            remedy=f"Name a {kind} of the catalogue, or leave it out.",
        )
    ]


def request_faults(request: PlanRequest) -> list[Fault]:
    """Why a request cannot be planned at all; empty when it can.

    >>> from libexchange import invented
    >>> from msgspec.structs import replace
    >>> twice = replace(invented.routine_request(), transmission_id="invented-six-speed")
    >>> [fault.detail for fault in request_faults(twice)]
    ['both are given']
    """
    return [*_exactly_one_transmission(request), *_at_most_one_fluid(request), *_prices(request)]


def _exactly_one_transmission(request: PlanRequest) -> list[Fault]:
    given = [request.transmission_id is not None, request.transmission is not None]
    if sum(given) == 1:
        return []
    return [
        Fault(
            pointer="/transmission_id",
            code="exactly-one-of",
            detail="both are given" if all(given) else "neither is given",
            value=request.transmission_id,
            allowed="exactly one of transmission_id and transmission",
            remedy="Name a catalogue entry or send the transmission's data, not both.",
        )
    ]


def _at_most_one_fluid(request: PlanRequest) -> list[Fault]:
    if request.fluid_id is None or request.fluid is None:
        return []
    return [
        Fault(
            pointer="/fluid_id",
            code="exactly-one-of",
            detail="both are given",
            value=request.fluid_id,
            allowed="at most one of fluid_id and fluid",
            remedy="Name a catalogue entry or send the fluid's data, not both.",
        )
    ]


def _prices(request: PlanRequest) -> list[Fault]:
    return [*_containers(request.prices), *_currencies(request)]


def _containers(prices: Prices | None) -> list[Fault]:
    if prices is None or not prices.fluid_containers:
        return []
    return [
        replace(fault, pointer=fault.pointer.replace("/sizes", "/prices/fluid_containers", 1))
        for fault in size_faults(prices.fluid_containers)
    ]


def _currencies(request: PlanRequest) -> list[Fault]:
    named = prices_by_name(request.prices)
    currencies = {price.currency for price in named.values()}
    if len(currencies) <= 1:
        return []
    return [
        Fault(
            pointer="/prices",
            code="mixed-currencies",
            detail=f"the prices are in {' and '.join(sorted(currencies))}",
            value=sorted(currencies),
            allowed="one currency for all prices of a request",
            remedy="Send all prices in one currency.",
        )
    ]


def prices_by_name(prices: Prices | None) -> dict[str, Money]:
    """The prices that were given, by where they stand.

    >>> prices_by_name(Prices(filter_kit=Money("48.00", "EUR")))
    {'filter_kit': Money(amount='48.00', currency='EUR')}
    """
    if prices is None:
        return {}
    named = {name: getattr(prices, name) for name in prices.__struct_fields__}
    containers = named.pop("fluid_containers")
    named |= {f"fluid_containers/{n}/price": one.price for n, one in enumerate(containers)}
    return {name: price for name, price in named.items() if price is not None}
