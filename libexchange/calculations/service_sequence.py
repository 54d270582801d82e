"""Fresh share, and the share of every dosed substance, after services in any order."""

from typing import Annotated, Any, Literal

from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.calculations._faults import raise_if_any
from libexchange.calculations.circuit_record import (
    CircuitRecord,
    DrainBefore,
    circuit_faults,
    circuit_of,
)
from libexchange.calculations.exchange import EXAMPLE as EXCHANGE_EXAMPLE
from libexchange.calculations.exchange_band import spreads_about, spreads_before
from libexchange.calculations.service_findings import step_findings
from libexchange.calculations.service_run import FRESH, Done, run
from libexchange.calculations.service_steps import AnyStep, DrainStep, LineStep, litres_of
from libexchange.calculations.target_findings import BAND_NOT_MEASURED, litres_beyond_use
from libexchange.circuit import Circuit, all_old, ceiling, fresh_share
from libexchange.errors import InvalidInput
from libexchange.findings import Finding
from libexchange.plan.records import Estimate
from libexchange.quantities import Volume
from libexchange.uncertainty import Response, edges

EXAMPLE: dict[str, Any] = {
    "circuit": EXCHANGE_EXAMPLE["circuit"],
    "steps": [
        {"kind": "dose", "substance": "cleaner", "dosed": {"value": 300, "unit": "mL"}},
        {"kind": "idle", "circulated": {"value": 20, "unit": "L"}},
        {"kind": "drain", "drained": {"value": 4.1, "unit": "L"}, "pockets_run_back": 0.15},
        {"kind": "line_exchange", "exchanged": {"value": 5, "unit": "L"}, "fed_per_out": 1.02},
        {"kind": "set_level"},
    ],
}


class ServiceSequenceRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A circuit with nothing fresh in it, and what is done to it, in order.

    steps: 1 to 30; a service of the past stands first, as it was done
    circuit: the unit, all of it old fluid at first
    """

    circuit: CircuitRecord
    steps: Annotated[tuple[AnyStep, ...], Meta(min_length=1, max_length=30)]


class SubstanceShare(Struct, frozen=True, kw_only=True):
    """What part of everything in the unit a dosed substance is.

    substance: its name    share: 0 to 1
    """

    substance: str
    share: float


class AfterStep(Struct, frozen=True, kw_only=True):
    """How the unit stands after a step.

    put_in, let_out: by the step    sump: what it holds now, right or not
    fresh_share: of the whole unit    sump_fresh_share: what a sample of the sump would show
    substances: of every substance that was dosed
    """

    put_in: Volume
    let_out: Volume
    sump: Volume
    fresh_share: float
    sump_fresh_share: float
    substances: list[SubstanceShare]


class ServiceSequenceAnswer(Struct, frozen=True, kw_only=True):
    """The share of fresh fluid at the end with its band, and how the unit stood after each step.

    put_in, let_out: by all steps together, doses included

    `low` and `high` of the share are its 5 % and 95 % edges if each number of the circuit is only
    about right, as for an exchange, and so are the litres and run-backs of its drains, all of them
    together; the other litres count as exact. A drain takes no more than the sump holds.

    fresh_share: at the end    after: each step, in order
    ceiling: that no number of litres passes    findings: doubts
    """

    fresh_share: Estimate
    ceiling: float
    put_in: Volume
    let_out: Volume
    after: list[AfterStep]
    findings: list[Finding]


def calculate_service_sequence(request: ServiceSequenceRequest) -> ServiceSequenceAnswer:
    """How fresh a unit is after each of several services, and what is left of what was dosed.

    Raises: InvalidInput
    Source: compartment model of `circuit`; what its numbers may be off by is from memory.

    >>> import msgspec
    >>> request = msgspec.convert(EXAMPLE, ServiceSequenceRequest)
    >>> answer = calculate_service_sequence(request)
    >>> [round(step.fresh_share, 4) for step in answer.after]
    [0.0, 0.0, 0.4538, 0.8284, 0.8241]
    >>> round(answer.after[-1].substances[0].share, 6)
    0.005001
    """
    raise_if_any(circuit_faults(request.circuit, None))
    start = circuit_of(request.circuit)
    done = list(run(start, request.steps))
    after = [_after(one) for one in done]
    put_in_l = sum(step.put_in.l for step in after)
    plug_flow = put_in_l / done[-1].then.circuit.total_l
    share = _estimate(start, request.steps, after[-1].fresh_share, plug_flow)
    found = [finding for number, one in enumerate(done) for finding in _found(number, one, start)]
    return ServiceSequenceAnswer(
        fresh_share=share,
        ceiling=ceiling(circuit=start, state=all_old(start)),
        put_in=Volume(put_in_l, "L"),
        let_out=Volume(sum(step.let_out.l for step in after), "L"),
        after=after,
        findings=[*found, *_beyond_use(request.steps, start), _band_note(share)],
    )


def _after(done: Done) -> AfterStep:
    circuit, states = done.then.circuit, done.then.states
    in_l, out_l = litres_of(done.step, before=done.before.circuit, after=circuit)
    shares = {name: fresh_share(circuit=circuit, state=state) for name, state in states.items()}
    return AfterStep(
        put_in=Volume(in_l, "L"),
        let_out=Volume(out_l, "L"),
        sump=Volume(circuit.sump_l, "L"),
        fresh_share=shares.pop(FRESH),
        sump_fresh_share=states[FRESH].sump,
        substances=[SubstanceShare(substance=n, share=share) for n, share in shares.items()],
    )


def _found(number: int, done: Done, start: Circuit) -> list[Finding]:
    before, after = done.before.circuit, done.then.circuit
    return step_findings(number, done.step, before=before, after=after, set_l=start.sump_l)


def _estimate(
    start: Circuit, steps: tuple[AnyStep, ...], expected: float, plug_flow: float
) -> Estimate:
    """Expected share with its edges, kept between nothing, the ceiling and all that was put in."""
    of_circuit = [
        Response(
            at_low=_change(replace(start, **{name: spread.low}), steps, expected),
            at_high=_change(replace(start, **{name: spread.high}), steps, expected),
        )
        for name, spread in spreads_about(start).items()
    ]
    of_drains = [
        Response(
            at_low=_change(start, _drains(steps, name, "low"), expected),
            at_high=_change(start, _drains(steps, name, "high"), expected),
        )
        for name in ("drained", "converter_run_back", "pockets_run_back")
    ]
    low, high = edges([*of_circuit, *of_drains])
    top = min(ceiling(circuit=start, state=all_old(start)), plug_flow)
    return Estimate(
        low=min(max(expected + low, 0.0), expected),
        expected=expected,
        high=max(min(expected + high, top), expected),
    )


def _change(circuit: Circuit, steps: tuple[AnyStep, ...], expected: float) -> float:
    """What the same litres on another circuit change of the share."""
    try:
        *_, last = run(circuit, _within(circuit, steps), fresh_alone=True)
    except InvalidInput:
        return 0.0  # the work was done, so the unit is none that it cannot be done to
    return fresh_share(circuit=last.then.circuit, state=last.then.states[FRESH]) - expected


def _drains(
    steps: tuple[AnyStep, ...], name: str, edge: Literal["low", "high"]
) -> tuple[AnyStep, ...]:
    """The steps with one number of every drain at an edge of what it may be."""
    return tuple(
        _drain_at(step, name, edge) if isinstance(step, DrainStep) else step for step in steps
    )


def _drain_at(step: DrainStep, name: str, edge: Literal["low", "high"]) -> DrainStep:
    spread = spreads_before(
        DrainBefore(
            drained=step.drained,
            converter_run_back=step.converter_run_back,
            pockets_run_back=step.pockets_run_back,
        )
    ).get(name)
    if spread is None:
        return step
    value = spread.low if edge == "low" else spread.high
    if name == "drained":
        return replace(step, drained=Volume(value, "L"))
    return replace(step, **{name: value})


def _within(circuit: Circuit, steps: tuple[AnyStep, ...]) -> tuple[AnyStep, ...]:
    """The steps on a smaller unit: a drain takes no more than the sump holds."""
    return tuple(
        replace(step, drained=Volume(min(step.drained.l, circuit.sump_l), "L"))
        if isinstance(step, DrainStep)
        else step
        for step in steps
    )


def _beyond_use(steps: tuple[AnyStep, ...], start: Circuit) -> list[Finding]:
    """Litres through the line, over all its exchanges, told at the last of them."""
    lines = [(at, step) for at, step in enumerate(steps) if isinstance(step, LineStep)]
    if not lines:
        return []
    exchanged_l = sum(step.exchanged.l for _, step in lines)
    found = litres_beyond_use(exchanged_l=exchanged_l, total_l=start.total_l)
    pointer = f"#/steps/{lines[-1][0]}/exchanged"
    return [replace(finding, pointer=pointer) for finding in found]


def _band_note(share: Estimate) -> Finding:
    text = f"About {share.expected:.2f}, from {share.low:.2f} to {share.high:.2f}."
    return BAND_NOT_MEASURED.at("#/circuit", text, values={"low": share.low, "high": share.high})
