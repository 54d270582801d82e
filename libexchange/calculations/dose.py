"""How much of a cleaner or conditioner a unit gets, and what of it stays."""

from collections.abc import Iterable
from math import inf
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from libexchange.calculations._faults import out_of_range, raise_if_any
from libexchange.calculations._pointers import into
from libexchange.calculations.circuit_record import circuit_of
from libexchange.calculations.dose_request import (
    DoseContact,
    DoseExchange,
    DoseRequest,
    Pack,
    dose_faults,
)
from libexchange.circuit import Circuit, all_old, exchange_curve
from libexchange.contact import NEEDED_S, OPERATING_C, ContactState, contact
from libexchange.dose import (
    CAP_SHARE,
    LARGEST_DOSE_L,
    SHARE_LEFT_LIMIT,
    Drain,
    WholePacks,
    dosed,
    draw_off_l,
    exchanged_l_for_share_left,
    share_kept,
    share_left,
    wanted_l,
    whole_packs,
)
from libexchange.dose_findings import (
    LEFT_UNKNOWN,
    NOT_STATED,
    amount_findings,
    circuit_findings,
    contact_findings,
    kept_findings,
    left_findings,
    level_findings,
)
from libexchange.dose_rules import forbidden
from libexchange.errors import Fault, InvalidInput
from libexchange.findings import Finding
from libexchange.gate_findings import OVERHEATED
from libexchange.gate_heat import STOP_C
from libexchange.quantities import Duration, Volume

EXAMPLE: dict[str, Any] = {
    "case": {
        "kind": "cleaner",
        "placed": "before_exchange",
        "family": "converter_automatic",
        "maker_allows": "yes",
        "pan_opened": True,
        "filter_changed": True,
    },
    "treat": {"style": "per_total", "rate": {"value": 35, "unit": "mL/L"}},
    "pack": {"size": {"value": 300, "unit": "mL"}, "rule": "nearest"},
    "total": {"value": 9.0, "unit": "L"},
    "exchange": {
        "circuit": {
            "sump": {"value": 4.3, "unit": "L"},
            "converter": {"value": 2.9, "unit": "L"},
            "line": {"value": 0.8, "unit": "L"},
            "pockets": {"value": 0.8, "unit": "L"},
            "stranded": {"value": 0.2, "unit": "L"},
        },
        "exchanged": {"value": 13.5, "unit": "L"},
    },
    "contact": {
        "readings": [
            {
                "at": f"2024-05-02T09:{minute:02d}:00Z",
                "temperature": {"value": 68, "unit": "Cel"},
                "engine_running": True,
            }
            for minute in range(13)
        ]
    },
}


class DoseAmount(Struct, frozen=True, kw_only=True):
    """The dose: as stated, as packs make it, its part of the total, and what to draw off first.

    stated: by the additive's maker    dose: as packs make it
    packs: null where it is sold loose    share_of_total: 0 to 1
    draw_off: ahead of it, so that the level does not rise
    """

    stated: Volume
    dose: Volume
    packs: int | None
    share_of_total: float
    draw_off: Volume


class DoseStays(Struct, frozen=True, kw_only=True):
    """What stays of the additive in the end.

    share_left: of the whole fill.    share_kept: part of a conditioner's dose; null for a cleaner.
    exchanged_needed: litres until 0.5 % of a cleaner are left; null where none do.
    """

    share_left: float | None
    exchanged_needed: Volume | None
    share_kept: float | None


class DoseContactTold(Struct, frozen=True, kw_only=True):
    """How long a cleaner has acted, what its timer does, and how often it stopped in between.

    counted: time that it acted    state: of the timer    pauses: how often it stood still
    """

    counted: Duration
    state: ContactState
    pauses: int


class DoseAnswer(Struct, frozen=True, kw_only=True):
    """The dose of an additive and what becomes of it; null where it cannot be told.

    amount: of the dose    stays: what is left of a cleaner or kept of a conditioner
    contact: of a cleaner    findings: what is forbidden, doubted or to be done
    """

    amount: DoseAmount | None
    stays: DoseStays | None
    contact: DoseContactTold | None
    findings: list[Finding]


def calculate_dose(request: DoseRequest) -> DoseAnswer:
    """The dose of an additive, whether it may go in at all, and what of it stays.

    Raises: InvalidInput    Source: common practice; compartment model of `circuit`.

    >>> import msgspec
    >>> answer = calculate_dose(msgspec.convert(EXAMPLE, DoseRequest))
    >>> answer.amount.packs, round(answer.stays.share_left, 4), answer.contact.state
    (1, 0.0041, 'done')
    """
    raise_if_any(dose_faults(request))
    amount, amount_found = _amount(request)
    stays, stays_found = _stays(request, amount)
    told, contact_found = _contact(request.contact)
    found = [*_forbidden(request), *amount_found, *stays_found, *contact_found]
    return DoseAnswer(amount=amount, stays=stays, contact=told, findings=into(request, found))


def _forbidden(request: DoseRequest) -> list[Finding]:
    """What forbids the additive; the rules point into the case, the answer into the request."""
    return [
        replace(one, pointer=one.pointer.replace("#", "#/case", 1))
        for one in forbidden(request.case)
    ]


def _amount(request: DoseRequest) -> tuple[DoseAmount | None, list[Finding]]:
    total_l, refill_l = request.total.l, request.refill.l if request.refill else None
    stated_l = wanted_l(treat=request.treat, total_l=total_l, refill_l=refill_l)
    if stated_l is None:
        text = "No range holds this fill, or the refill is not given."
        return None, [NOT_STATED.at("#/treat", text)]
    if stated_l > LARGEST_DOSE_L:
        allowed = f"a dose of at most {LARGEST_DOSE_L:g} L"
        raise InvalidInput(out_of_range("/treat", request.treat, allowed))
    pack, packs, dose_l = _packed(request, stated_l)
    low_by_l = request.level_low_by.l if request.level_low_by else 0.0
    amount = DoseAmount(
        stated=Volume(stated_l, "L"),
        dose=Volume(dose_l, "L"),
        packs=packs,
        share_of_total=dose_l / total_l,
        draw_off=Volume(draw_off_l(dose_l=dose_l, missing_l=low_by_l), "L"),
    )
    pack_l = pack.size.l if pack else None
    found = amount_findings(dose_l=dose_l, wanted_l=stated_l, total_l=total_l, pack_l=pack_l)
    return amount, found + level_findings(dose_l=dose_l, missing_l=low_by_l)


def _packed(request: DoseRequest, stated_l: float) -> tuple[Pack | None, int | None, float]:
    """Pack, packs and litres; a dose in whole packs counts its own packs where no rule is given."""
    pack = request.pack
    if pack is None and isinstance(request.treat, WholePacks):
        pack = Pack(size=request.treat.pack, rule="ceil")
    if pack is None:
        return None, None, stated_l
    cap_l = CAP_SHARE * request.total.l
    packs = whole_packs(wanted_l=stated_l, pack_l=pack.size.l, rule=pack.rule, cap_l=cap_l)
    return pack, packs, packs * pack.size.l


def _stays(
    request: DoseRequest, amount: DoseAmount | None
) -> tuple[DoseStays | None, list[Finding]]:
    cleaner, after = request.case.kind == "cleaner", request.exchange
    if after is None and not cleaner and request.case.placed == "level_setting":
        share = None if amount is None else amount.share_of_total
        return DoseStays(share_left=share, exchanged_needed=None, share_kept=1.0), []
    if amount is not None and amount.dose.l == 0:
        return None, []  # no pack is opened: nothing can stay
    if amount is None or after is None or amount.dose.l > after.circuit.sump.l:
        return None, _left_unknown(amount, after) if cleaner else []
    circuit = circuit_of(after.circuit)
    raise_if_any(_litres_faults(circuit, after))
    stays, found = (_left if cleaner else _kept)(circuit, after, amount.dose.l)
    return stays, circuit_findings(circuit_l=circuit.total_l, total_l=request.total.l) + found


def _left_unknown(amount: DoseAmount | None, after: DoseExchange | None) -> list[Finding]:
    """Every reason why it cannot be told what of a cleaner will be left."""
    found = []
    if amount is None:
        found.append(LEFT_UNKNOWN.at("#/treat", "It is not known how much goes in."))
    if after is None:
        found.append(LEFT_UNKNOWN.at("#/case/kind", "No exchange is given."))
    elif amount is not None:
        sump_l = after.circuit.sump.l
        text = f"{amount.dose.l:.2f} L do not fit the sump of {sump_l:.2f} L."
        found.append(LEFT_UNKNOWN.at("#/exchange", text))
    return found


def _left(circuit: Circuit, after: DoseExchange, dose_l: float) -> tuple[DoseStays, list[Finding]]:
    before = after.before
    drain = None
    if before is not None:
        drain = Drain(before.drained.l, before.converter_run_back, before.pockets_run_back)
    state = dosed(circuit=circuit, dosed_l=dose_l)
    left = share_left(circuit=circuit, state=state, exchanged_l=after.exchanged.l, drain=drain)
    needed_l = exchanged_l_for_share_left(
        circuit=circuit, state=state, limit=SHARE_LEFT_LIMIT, drain=drain
    )
    needed = None if needed_l is None else Volume(needed_l, "L")
    stays = DoseStays(share_left=left, exchanged_needed=needed, share_kept=None)
    return stays, left_findings(share_left=left, needed_l=needed_l)


def _kept(circuit: Circuit, after: DoseExchange, dose_l: float) -> tuple[DoseStays, list[Finding]]:
    if after.spread is None:
        state = dosed(circuit=circuit, dosed_l=dose_l, circulated_l=0.0)
        left = share_left(circuit=circuit, state=state, exchanged_l=after.exchanged.l)
        kept, found = min(1.0, left * circuit.total_l / dose_l), []
    else:
        spread_l = max(after.spread.l, dose_l)
        kept = share_kept(
            circuit=circuit, dosed_l=dose_l, spread_l=spread_l, following_l=after.exchanged.l
        )
        found = kept_findings(share_kept=kept, spread_l=spread_l, sump_l=circuit.sump_l)
    left = kept * dose_l / circuit.total_l
    return DoseStays(share_left=left, exchanged_needed=None, share_kept=kept), found


def _contact(seen: DoseContact | None) -> tuple[DoseContactTold | None, list[Finding]]:
    if seen is None:
        return None, []
    needed_s = seen.needed.s if seen.needed else NEEDED_S
    operating_c = seen.operating.c if seen.operating else OPERATING_C
    told = contact(seen.readings, needed_s=needed_s, operating_c=operating_c)
    counted = Duration(told.counted_s, "s")
    answer = DoseContactTold(counted=counted, state=told.state, pauses=told.pauses)
    return answer, contact_findings(told, needed_s=needed_s) + _overheated(seen)


def _overheated(seen: DoseContact) -> list[Finding]:
    hottest_c = max((one.temperature.c for one in seen.readings), default=-inf)
    if hottest_c <= STOP_C:
        return []
    text, values = f"It was at {hottest_c:.1f} °C.", {"temperature_c": hottest_c}
    return [OVERHEATED.at("#/contact/readings", text, values=values)]


def _litres_faults(circuit: Circuit, after: DoseExchange) -> Iterable[Fault]:
    limit_l = exchange_curve(circuit=circuit, state=all_old(circuit)).limit_l
    for name, litres in (("exchanged", after.exchanged), ("spread", after.spread)):
        if litres and litres.l > limit_l:
            allowed = f"0 to {limit_l:g} L with this circuit"
            yield out_of_range(f"/exchange/{name}", litres, allowed)
