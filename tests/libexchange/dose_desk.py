"""Invented additives, and what a plan says about them."""

from typing import Any

from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Additive
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.records import Plan, Step
from tests.libexchange.plan_desk import alternative

CLEANER, CONDITIONER = invented.cleaner(), invented.conditioner()
LINE, PAN_LINE = "line_exchange", "pan_and_filter_then_line"


def cleaner(**changed: Any) -> Additive:
    return replace(CLEANER, **changed)


def conditioner(**changed: Any) -> Additive:
    return replace(CONDITIONER, **changed)


def dose_of(plan: Plan, kind: str) -> PlannedDose:
    assert plan.offline_card is not None
    return next(dose for dose in plan.offline_card.doses if dose.kind == kind)


def step(plan: Plan, kind: str) -> Step:
    return next(one for one in plan.steps if one.kind == kind)


def kinds(plan: Plan) -> list[str]:
    return [one.kind for one in plan.steps]


def severities(plan: Plan, route: str, code: str) -> list[str]:
    return [f.severity for f in alternative(plan, route).reasons if f.code == code]
