"""Invented records for documentation and first steps; no real vehicle, fluid or workshop."""

from datetime import UTC, date, datetime
from uuid import UUID

from libexchange.catalogue import (
    Additive,
    CoolerCircuit,
    DataSource,
    FluidProduct,
    LevelData,
    TemperatureWindow,
    TransmissionProfile,
)
from libexchange.dose import Percent, PerTotal
from libexchange.job.view import Closing
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Plan
from libexchange.plan.request import PlanRequest, Vehicle
from libexchange.quantities import Density, DoseRate, Duration, Temperature, Volume
from libexchange.record import JobRecord, make_record

INVENTED = DataSource(kind="maker", invented=True, document="Invented workshop sheet 1")


def six_speed() -> TransmissionProfile:
    """An invented six-speed converter automatic with 9.0 L.

    >>> six_speed().total.l
    9.0
    """
    return TransmissionProfile(
        transmission_id="invented-six-speed",
        name="Invented six-speed automatic",
        family="converter_automatic",
        source=INVENTED,
        total=Volume(9.0, "L"),
        drained=Volume(4.065, "L"),
        drain_plug="yes",
        pan_removable="yes",
        cooler=CoolerCircuit(
            external_lines="yes", bypass="in_case", bypass_opens=Temperature(78, "Cel")
        ),
        level=LevelData(
            method="overflow_plug",
            window=TemperatureWindow(low=Temperature(35, "Cel"), high=Temperature(45, "Cel")),
            engine_running=True,
        ),
        fluid_kinds=("invented-red-six",),
    )


def red_fluid() -> FluidProduct:
    """An invented fluid that the invented six-speed is approved for.

    >>> red_fluid().kinds
    ('invented-red-six',)
    """
    return FluidProduct(
        fluid_id="invented-red-fluid",
        name="Invented red fluid",
        source=INVENTED,
        kinds=("invented-red-six",),
        density_15=Density(850, "kg/m3"),
    )


def cleaner() -> Additive:
    """An invented cleaner, one pack of 325 mL for the invented six-speed.

    >>> cleaner().kind
    'cleaner'
    """
    return Additive(
        additive_id="invented-cleaner",
        name="Invented cleaner",
        source=INVENTED,
        kind="cleaner",
        treat=PerTotal(DoseRate(35, "mL/L")),
        pack=Volume(325, "mL"),
        contact=Duration(10, "min"),
    )


def conditioner() -> Additive:
    """An invented conditioner, 2.5 % of the fill.

    >>> conditioner().pack is None
    True
    """
    return Additive(
        additive_id="invented-conditioner",
        name="Invented conditioner",
        source=INVENTED,
        kind="conditioner",
        treat=Percent(2.5),
    )


def routine_request() -> PlanRequest:
    """A routine service of the invented six-speed, with both records in the request.

    >>> routine_request().reason
    'routine'
    """
    return PlanRequest(
        requested_at=datetime(2026, 3, 2, 9, 30, tzinfo=UTC),
        service_date=date(2026, 3, 4),
        vehicle=Vehicle(reference="invented-car-7", model_year=2018),
        transmission=six_speed(),
        fluid=red_fluid(),
        reason="routine",
    )


def routine_plan() -> Plan:
    """The plan for that routine service.

    >>> routine_plan().route
    'pan_and_filter_then_line'
    """
    request = routine_request()
    return make_plan(
        request=request,
        transmission=six_speed(),
        fluid=red_fluid(),
        plan_id=UUID(int=1),
        created_at=request.requested_at,
    )


def closed_record() -> JobRecord:
    """The record of an invented job that was closed before anything was done.

    >>> closed_record().closing.verdict
    'incomplete'
    """
    plan = routine_plan()
    at = plan.request.requested_at
    closing = Closing(
        verdict="incomplete", findings=(), closed_at=at, closed_by="invented key",
        workshop="invented workshop",
    )  # fmt: skip
    return make_record(
        job_id=UUID(int=2), plan=plan, device_events=(), late_events=(), closing=closing,
        salt=bytes(32),
    )  # fmt: skip
