"""Where additives stand among the steps of a route: never standing steps, only when asked for."""

from collections.abc import Iterable, Iterator

from libexchange.contact import contact as timer
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.draft import OPEN_BELOW, Draft, opening
from libexchange.plan.records import Gate, StepKind
from libexchange.quantities import Duration, Temperature

BEFORE: dict[str, StepKind] = {"last_litres": "line_exchange", "level_setting": "set_level"}
"""The step that a conditioner goes in before."""

AFTER_CLEANER = "Engine off; let the fluid cool below 60 °C before anything is opened"


def with_doses(drafts: Iterable[Draft], doses: tuple[PlannedDose, ...]) -> Iterator[Draft]:
    """The steps of a route with those of its doses put where they belong, the cleaner first."""
    cleaner = next((dose for dose in doses if dose.kind == "cleaner"), None)
    conditioner = next((dose for dose in doses if dose.kind == "conditioner"), None)
    acts_above = cleaner.contact_above if cleaner else None
    if cleaner and cleaner.contact and acts_above:
        yield from _cleaner(cleaner, cleaner.contact, acts_above)
    for draft in drafts:
        if conditioner and draft.kind == BEFORE[conditioner.placed]:
            yield _conditioner(conditioner)
        yield draft


def _cleaner(dose: PlannedDose, contact: Duration, above: Temperature) -> Iterator[Draft]:
    yield Draft(
        kind="dose_cleaner",
        title=f"Draw off {_ml(dose.draw_off.l)}, then add {_words(dose)}; note its lot",
        gate=opening("gate-dose", OPEN_BELOW),
        quantity=dose.dose,
    )
    yield Draft(
        kind="cleaner_contact",
        title=f"Idle for {contact.s / 60:g} min: every selector position for 3 to 10 s, "
        "three to five rounds",
        gate=_contact(contact, above),
    )
    yield Draft(kind="cool_down", title=AFTER_CLEANER)


def _conditioner(dose: PlannedDose) -> Draft:
    if dose.placed == "last_litres":
        title = f"Mix {_words(dose)} into the last fresh litres; feed those at the very end"
    else:
        title = f"Draw off {_ml(dose.draw_off.l)}, then add {_words(dose)}; note its lot"
    return Draft(kind="dose_conditioner", title=title, quantity=dose.dose)


def _words(dose: PlannedDose) -> str:
    packs = f" ({dose.packs} pack{'s' * (dose.packs > 1)})" if dose.packs else ""
    return f"{_ml(dose.dose.l)} of {dose.name}{packs}"


def _ml(litres: float) -> str:
    return f"{1000 * litres:.0f} mL"


def _contact(needed: Duration, above: Temperature) -> Gate:
    """Open once the cleaner has acted long enough: the step is done then, not before."""
    return Gate(
        gate_id="gate-contact",
        kind="contact_time",
        low=above,
        high=None,
        minimum_flow=None,
        hold=needed,
        continuing=False,
        text=f"The cleaner has acted for {needed.s / 60:g} min, counted while the engine runs "
        f"and the fluid is at {above.c:g} °C or more; out again within "
        f"{timer([], needed_s=needed.s).limit_s / 60:g} min.",
    )
