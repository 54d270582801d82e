"""Stateless calculations: one request, one answer, nothing kept; all listed in `CALCULATIONS`."""

from collections.abc import Callable
from typing import Any

from msgspec import Struct

from libexchange.calculations import (
    balance,
    containers,
    dose,
    dose_request,
    drain_cycles,
    exchange,
    gate,
    interval,
    level,
    outflow,
    required_exchange,
    service_sequence,
    used_fluid,
    vin,
    viscosity,
    volume_correction,
    warm_up,
)
from libexchange.calculations.rounding import shown
from libexchange.containers import ContainerCover
from libexchange.gate_outcome import GateAnswer
from libexchange.level_records import LevelAnswer
from libexchange.use_case import NextDue, UseCase
from libexchange.used_fluid import UsedFluidAnswer
from libexchange.vin import VinAnswer


class Calculation(Struct, frozen=True, kw_only=True):
    """One calculation as a service offers it.

    name: its path    request, answer: record types    calculate: answers a request, or raises
    InvalidInput with every fault    example: a request as JSON values
    """

    name: str
    title: str
    description: str
    request: type[Struct]
    answer: type[Struct]
    calculate: Callable[[Any], Any]
    example: dict[str, Any]

    def answered(self, request: Struct) -> Struct:
        """The answer with its numbers as they are shown, or InvalidInput is raised."""
        return shown(self.calculate(request))  # type: ignore[no-any-return]  # a Struct stays one


CALCULATIONS = (
    Calculation(
        name="exchange",
        title="Fresh share after a line exchange",
        description="The share of fresh fluid inside and in what leaves, with its band, its "
        "bounds and its course. Calculated, not measured.",
        request=exchange.ExchangeRequest,
        answer=exchange.ExchangeAnswer,
        calculate=exchange.calculate_exchange,
        example=exchange.EXAMPLE,
    ),
    Calculation(
        name="required-exchange",
        title="Litres for a fresh share",
        description="The litres of line exchange that a target share takes, the ceiling of the "
        "unit, and what the next litre would add.",
        request=required_exchange.RequiredExchangeRequest,
        answer=required_exchange.RequiredExchangeAnswer,
        calculate=required_exchange.calculate_required_exchange,
        example=required_exchange.EXAMPLE,
    ),
    Calculation(
        name="service-sequence",
        title="Fresh share after services in any order",
        description="How fresh the unit is after each of several services: drain, suction, line "
        "exchange with even or uneven flow, line batches, idling, doses, level. What is left of "
        "every dosed substance comes with it. Calculated, not measured.",
        request=service_sequence.ServiceSequenceRequest,
        answer=service_sequence.ServiceSequenceAnswer,
        calculate=service_sequence.calculate_service_sequence,
        example=service_sequence.EXAMPLE,
    ),
    Calculation(
        name="outflow",
        title="Fresh share from the outflow",
        description="The share of fresh fluid inside as measured by samples of what left, without "
        "a model, with its 90 % interval; and what they tell of the circuit.",
        request=outflow.OutflowRequest,
        answer=outflow.OutflowAnswer,
        calculate=outflow.calculate_outflow,
        example=outflow.EXAMPLE,
    ),
    Calculation(
        name="drain-cycles",
        title="Fresh share after drains and refills",
        description="The share after each of several drains and refills, mixed by driving in "
        "between, and how many a target takes.",
        request=drain_cycles.DrainCyclesRequest,
        answer=drain_cycles.DrainCyclesAnswer,
        calculate=drain_cycles.calculate_drain_cycles,
        example=drain_cycles.EXAMPLE,
    ),
    Calculation(
        name="volume-correction",
        title="Volume at 15 degC",
        description="The factor that brings a volume of lubricating oil to 15 degC or to another "
        "base, and its density there, by API MPMS 11.1 / ASTM D1250.",
        request=volume_correction.VolumeCorrectionRequest,
        answer=volume_correction.VolumeCorrectionAnswer,
        calculate=volume_correction.calculate_volume_correction,
        example=volume_correction.EXAMPLE,
    ),
    Calculation(
        name="viscosity",
        title="Viscosity at a temperature",
        description="Kinematic viscosity by ASTM D341 from the two points of a data sheet, and the "
        "viscosity index by ASTM D2270.",
        request=viscosity.ViscosityRequest,
        answer=viscosity.ViscosityAnswer,
        calculate=viscosity.calculate_viscosity,
        example=viscosity.EXAMPLE,
    ),
    Calculation(
        name="level",
        title="Fluid level",
        description="What one look at overflow, stick, tube or read-out means, with its "
        "correction in litres. A window that is not known is never made up.",
        request=level.LevelRequest,
        answer=LevelAnswer,
        calculate=level.calculate_level,
        example=level.EXAMPLE,
    ),
    Calculation(
        name="gate",
        title="Temperature gate",
        description="Whether work may go on at a moment, told from readings in any order, and "
        "when that is expected to change.",
        request=gate.GateRequest,
        answer=GateAnswer,
        calculate=gate.calculate_gate,
        example=gate.EXAMPLE,
    ),
    Calculation(
        name="balance",
        title="Fluid balance",
        description="Litres in against litres out at 15 degC, with the uncertainty of meters "
        "and temperatures.",
        request=balance.BalanceRequest,
        answer=balance.BalanceAnswer,
        calculate=balance.calculate_balance,
        example=balance.EXAMPLE,
    ),
    Calculation(
        name="dose",
        title="Dose of cleaner or conditioner",
        description="How much goes in, whether it may, what it does to the level, and what of it "
        "an exchange leaves or keeps.",
        request=dose_request.DoseRequest,
        answer=dose.DoseAnswer,
        calculate=dose.calculate_dose,
        example=dose.EXAMPLE,
    ),
    Calculation(
        name="used-fluid",
        title="Decision on used fluid",
        description="One decision from bench checks and laboratory results: the worst ruling, with "
        "every reason.",
        request=used_fluid.UsedFluidRequest,
        answer=UsedFluidAnswer,
        calculate=used_fluid.calculate_used_fluid,
        example=used_fluid.EXAMPLE,
    ),
    Calculation(
        name="containers",
        title="Containers for a volume",
        description="The containers that cover a volume at least cost, in exact rationals; "
        "ties by least leftover, then fewest, then the order of the request.",
        request=containers.ContainersRequest,
        answer=ContainerCover,
        calculate=containers.calculate_containers,
        example=containers.EXAMPLE,
    ),
    Calculation(
        name="interval",
        title="Next service due",
        description="When the fluid is due next, from its use and what was renewed, never later "
        "than the maker's schedule, with the chain of reasons.",
        request=UseCase,
        answer=NextDue,
        calculate=interval.calculate_interval,
        example=interval.EXAMPLE,
    ),
    Calculation(
        name="warm-up",
        title="Warming up and cooling down",
        description="Temperature over time and the time to a temperature, from typical values or "
        "from readings; it says when idling will never get there.",
        request=warm_up.WarmUpRequest,
        answer=warm_up.WarmUpAnswer,
        calculate=warm_up.calculate_warm_up,
        example=warm_up.EXAMPLE,
    ),
    Calculation(
        name="vin",
        title="Vehicle identification number",
        description="Whether it is well formed, and its check digit where the rule for that digit "
        "reaches.",
        request=vin.VinRequest,
        answer=VinAnswer,
        calculate=vin.calculate_vin,
        example=vin.EXAMPLE,
    ),
)
"""Every calculation there is."""
