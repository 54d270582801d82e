"""Additives that went in against the doses that were planned: too much, too little, unplanned."""

from collections.abc import Iterator, Sequence
from math import fsum

from libexchange.dose import CAP_SHARE, HARD_CAP_SHARE, SAME
from libexchange.dose_findings import ABOVE_CAP
from libexchange.dose_rules import DoseCase, forbidden
from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Severity, Value
from libexchange.job.doses import DoseNow, doses_now
from libexchange.job.events import Arrived
from libexchange.job.fluids import Move
from libexchange.job.history import History
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Plan
from libexchange.rules.additives import MEANS

NOT_PLANNED = Kind(
    code="additive-not-planned",
    severity="caution",
    title="An additive went in that the plan does not have there",
    remedy="Say which it was and who decided it. Where it was a planned dose, withdraw the entry "
    "and post it with the step of its dose; where the unit takes none, drain and refill it.",
    source=COMMON_PRACTICE,
)
DOSE_OVER = Kind(
    code="dose-over-planned",
    severity="caution",
    title="More of an additive went in than was planned",
    remedy="Check millilitres against litres and weight. Let out or exchange what is too much.",
    source=COMMON_PRACTICE,
)
DOSE_UNDER = Kind(
    code="dose-under-planned",
    severity="caution",
    title="The step of a dose was confirmed, and the litres do not show that all of it went in",
    remedy="Post the litres or the weight that went in under the step of the dose, or tell the "
    "customer that it was left out.",
    source=COMMON_PRACTICE,
)
KINDS = (NOT_PLANNED, DOSE_OVER, DOSE_UNDER)
"""Every finding code of additives in the bay, beside that of the cap."""

OVER_PART = 1.1
"""Up to this part of a dose it counts as the dose [-] (common practice)."""

POINTER = "#/balance"


def dose_findings(
    plan: Plan, card: OfflineCard, history: History, moves: Sequence[Move]
) -> list[Finding]:
    """What the additives that went in say against the work.

    Source: common practice.
    """
    doses = doses_now(plan, history, moves, None)
    planned = [found for dose in doses for found in _planned(card, dose)]
    return [*planned, *_unplanned(plan, card, history, moves)]


def _planned(card: OfflineCard, dose: DoseNow) -> Iterator[Finding]:
    given_l, dose_l = dose.given_15.l, dose.dose.l
    values: dict[str, Value] = {"given_ml": 1000 * given_l, "planned_ml": 1000 * dose_l}
    text = f"{1000 * given_l:.0f} mL went in, {1000 * dose_l:.0f} mL were planned."
    if given_l > OVER_PART * dose_l * (1 + SAME):
        yield DOSE_OVER.at(POINTER, text, values=values)
    if dose.state in ("confirmed_without_amount", "given_in_part"):
        yield DOSE_UNDER.at("#/confirmed_steps", text, values=values | {"step_id": dose.step_id})
    if given_l > dose_l * (1 + SAME):
        yield from _capped(card, given_l, planned_l=dose_l)


def _capped(card: OfflineCard, given_l: float, *, planned_l: float) -> Iterator[Finding]:
    """Above the cap; what a meter adds to a planned dose is told above the hard cap alone."""
    share = given_l / card.total.l
    hard = share > HARD_CAP_SHARE * (1 + SAME)
    over = given_l > OVER_PART * planned_l * (1 + SAME)
    if hard or (over and share > CAP_SHARE * (1 + SAME)):
        text = f"{1000 * given_l:.0f} mL are {100 * share:.1f} % of {card.total.l:.1f} L."
        severity: Severity = "stop" if hard else "caution"
        values: dict[str, Value] = {"dose_ml": 1000 * given_l, "share_of_total": share}
        yield ABOVE_CAP.at(POINTER, text, values=values, severity=severity)


def _unplanned(
    plan: Plan, card: OfflineCard, history: History, moves: Sequence[Move]
) -> Iterator[Finding]:
    known = {dose.step_id for dose in doses_now(plan, history, moves, None)}
    kinds = {step.kind for step in plan.steps if step.step_id in known}
    given_l = fsum(
        one.litres for one in moves if one.entry.direction == "additive" and one.step not in kinds
    )
    if given_l <= 0:
        return
    barred = _barred(plan, history)
    text = f"{1000 * given_l:.0f} mL went in beside the planned doses."
    text += f" Against it: {', '.join(barred)}." * bool(barred)
    severity: Severity = "stop" if barred else "caution"
    values: dict[str, Value] = {"given_ml": 1000 * given_l, "codes": ", ".join(barred)}
    yield NOT_PLANNED.at(POINTER, text, values=values, severity=severity)
    yield from _capped(card, given_l, planned_l=0.0)


def _barred(plan: Plan, history: History) -> list[str]:
    """What forbids any additive in the unit, whatever it was; nobody asked the maker for this."""
    found = {meant for one in plan.request.conditions for meant in MEANS.get(one, ())}
    if any(one.under_warranty for one in history.of(Arrived)):
        found.add("under_warranty")
    if plan.request.reason == "unknown_fluid":
        found.add("unknown_fluid")
    case = DoseCase(
        kind="conditioner",
        placed="level_setting",
        family=plan.subject.family,
        conditions=tuple(sorted(found)),
    )
    return [finding.code for finding in forbidden(case) if finding.severity == "stop"]
