"""Plans of the invented six-speed, asked for with changes."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.findings import Finding
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Alternative, Plan

SIX_SPEED = invented.six_speed()


def planned(
    transmission: TransmissionProfile = SIX_SPEED,
    *,
    fluid: FluidProduct | None = None,
    cleaner: Additive | None = None,
    conditioner: Additive | None = None,
    **members: Any,
) -> Plan:
    fluid = fluid or invented.red_fluid()
    asked: dict[str, Any] = {"transmission": transmission, "fluid": fluid, **members}
    if cleaner is not None:
        asked.setdefault("cleaner_id", cleaner.additive_id)
    if conditioner is not None:
        asked.setdefault("conditioner_id", conditioner.additive_id)
    request = replace(invented.routine_request(), **asked)
    return make_plan(
        request=request,
        transmission=transmission,
        fluid=fluid,
        plan_id=UUID(int=1),
        created_at=datetime(2026, 3, 2, tzinfo=UTC),
        cleaner=cleaner,
        conditioner=conditioner,
    )


def alternative(plan: Plan, route: str) -> Alternative:
    return next(one for one in plan.alternatives if one.route == route)


def found(findings: tuple[Finding, ...], code: str) -> Finding:
    return next(one for one in findings if one.code == code)
