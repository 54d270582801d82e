"""Rules on additives that a plan was asked for: where they must not go, how much, what stays."""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from libexchange.catalogue import Additive
from libexchange.contact import LEAST_S, MOST_S
from libexchange.dose import SAME
from libexchange.dose_findings import (
    ABOVE_CAP,
    CONTACT_TIME_UNUSUAL,
    LEFT_UNKNOWN,
    NOT_STATED,
    amount_findings,
    left_findings,
    level_findings,
)
from libexchange.dose_rules import DoseCase, DoseCondition, forbidden
from libexchange.findings import MAKER_DATA, Finding, Kind, Rule
from libexchange.plan.dosing import Amount, amount_of, cleaner_rest, contact_of, placed_at
from libexchange.plan.request import Condition
from libexchange.plan.routes import PAN_ROUTES, Outcome
from libexchange.plan.unit import Unit
from libexchange.rules.facts import RouteFacts

NOT_FOR_FAMILY = Kind(
    code="additive-not-for-family",
    severity="stop",
    title="The maker of the additive bars it from units of this kind",
    remedy="Leave it out; plain fluid does the job.",
    source=MAKER_DATA,
)

MEANS: dict[Condition, tuple[DoseCondition, ...]] = {
    "burnt_and_slipping": ("burnt", "slipping"),
    "burnt_smell": ("burnt",),
    "coolant_in_fluid": ("coolant_in_fluid",),
    "debris_in_pan": ("debris_in_pan",),
    "under_warranty": ("under_warranty",),
}
"""What a condition on arrival means for additives; the others mean nothing to them."""


def not_for_family(facts: RouteFacts) -> list[Finding]:
    """An additive's own maker may bar kinds of units."""
    family = facts.plan.transmission.family
    text = f"It is barred from {family.replace('_', ' ')}."
    return [
        NOT_FOR_FAMILY.at(pointer, text)
        for pointer, additive in _asked(facts)
        if family in additive.forbidden_families
    ]


def additive_findings(facts: RouteFacts) -> list[Finding]:
    """What speaks against the additives on a route, each pointing at the id that asked for it."""
    return [
        replace(finding, pointer=pointer)
        for pointer, additive in _asked(facts)
        for finding in (*forbidden(_case(facts, additive)), *_amount(facts, additive))
    ]


def _asked(facts: RouteFacts) -> Iterator[tuple[str, Additive]]:
    if facts.plan.cleaner is not None:
        yield "#/cleaner_id", facts.plan.cleaner
    if facts.plan.conditioner is not None:
        yield "#/conditioner_id", facts.plan.conditioner


def _case(facts: RouteFacts, additive: Additive) -> DoseCase:
    transmission, fluid = facts.plan.transmission, facts.plan.fluid
    pan_off = facts.route in PAN_ROUTES
    return DoseCase(
        kind=additive.kind,
        placed="before_exchange" if additive.kind == "cleaner" else "level_setting",
        family=transmission.family,
        maker_allows=transmission.additives_allowed_by_maker,
        electric_machine_in_fluid=transmission.electric_machine_in_fluid,
        conditions=_conditions(facts),
        pan_opened=pan_off,
        filter_changed=pan_off,
        friction_modifier=additive.friction_modifier,
        fluid_friction_modified=fluid.friction_modified if fluid else "unknown",
    )


def _conditions(facts: RouteFacts) -> tuple[DoseCondition, ...]:
    found = {meant for one in facts.plan.request.conditions for meant in MEANS.get(one, ())}
    if facts.plan.request.reason == "unknown_fluid":
        found.add("unknown_fluid")
    return tuple(sorted(found))


def _amount(facts: RouteFacts, additive: Additive) -> Iterable[Finding]:
    unit, outcome = facts.plan.unit, facts.outcome
    if unit is None or outcome is None:
        return []
    amount = amount_of(additive, unit, outcome)
    if amount is None:
        return [NOT_STATED.at("#", f"None is stated for {unit.circuit.total_l:g} L.")]
    total_l, dose_l = unit.circuit.total_l, amount.dose_l
    return [
        *amount_findings(
            dose_l=dose_l, wanted_l=amount.stated_l, total_l=total_l, pack_l=amount.pack_l
        ),
        *_own_cap(additive, dose_l / total_l),
        *_fits(unit, dose_l),
        *(_of_cleaner if additive.kind == "cleaner" else _of_conditioner)(
            additive, unit, outcome, amount
        ),
    ]


def _own_cap(additive: Additive, share: float) -> Iterator[Finding]:
    """The maker of the additive may bar what the usual cap would let pass."""
    cap = additive.largest_share
    if cap is not None and share > cap * (1 + SAME):
        text = f"{100 * share:.1f} % of the fill; its maker allows {100 * cap:g} %."
        values = {"share_of_total": share, "largest_share": cap}
        yield ABOVE_CAP.at("#", text, values=values, severity="stop")


def _fits(unit: Unit, dose_l: float) -> Iterator[Finding]:
    if dose_l > unit.circuit.sump_l:
        text = f"{dose_l:.1f} L do not fit the sump of {unit.circuit.sump_l:.1f} L."
        yield LEFT_UNKNOWN.at("#", text)


def _of_cleaner(
    cleaner: Additive, unit: Unit, outcome: Outcome, amount: Amount
) -> Iterator[Finding]:
    """What is left of it, its contact time, and that the plan draws its volume off first."""
    if rest := cleaner_rest(unit, outcome, amount.dose_l):
        yield from left_findings(share_left=rest.share_left, needed_l=rest.needed_l)
    needed_s = contact_of(cleaner).s
    if not LEAST_S <= needed_s <= MOST_S:
        yield CONTACT_TIME_UNUSUAL.at("#", f"Its maker asks for {needed_s / 60:.0f} min.")
    yield from _drawn_off(amount)


def _of_conditioner(
    conditioner: Additive, unit: Unit, outcome: Outcome, amount: Amount
) -> Iterator[Finding]:
    if placed_at(conditioner, unit, outcome, amount.dose_l) == "level_setting":
        yield from _drawn_off(amount)


def _drawn_off(amount: Amount) -> Iterator[Finding]:
    """Only worth knowing here: the step of the dose says it too."""
    for finding in level_findings(dose_l=amount.dose_l, missing_l=0.0):
        yield replace(finding, severity="note")


RULES: tuple[Rule[RouteFacts], ...] = (Rule(kind=NOT_FOR_FAMILY, check=not_for_family),)
"""The rules on additives that are not those of `dose_rules`."""
