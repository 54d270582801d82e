"""Stateless calculations: one request, one answer, nothing kept; all listed in `CALCULATIONS`."""

from collections.abc import Callable
from typing import Any

from msgspec import Struct

from libexchange.calculations import (
    balance,
    drain_cycles,
    exchange,
    gate,
    level,
    required_exchange,
    volume_correction,
)
from libexchange.gate import GateAnswer
from libexchange.level_verdict import LevelAnswer


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
        description="The factor that brings a volume of lubricating oil to 15 degC, by API MPMS "
        "11.1 / ASTM D1250.",
        request=volume_correction.VolumeCorrectionRequest,
        answer=volume_correction.VolumeCorrectionAnswer,
        calculate=volume_correction.calculate_volume_correction,
        example=volume_correction.EXAMPLE,
    ),
    Calculation(
        name="level",
        title="Fluid level",
        description="What one look at overflow plug or dipstick means, and the correction in "
        "litres. A window that is not known is never made up.",
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
)
"""Every calculation there is."""
