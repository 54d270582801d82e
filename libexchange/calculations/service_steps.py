"""The services that can be done to a unit one after the other, as a request writes them."""

from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.circuit import Circuit, CircuitState, drain_and_refill, exchange, idle, refilled_l
from libexchange.circuit_moves import Filling, exchange_uneven, line_batch, pour_in, suction
from libexchange.fields import Slug
from libexchange.quantities import Share, Volume


class ServiceStep(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="step"
):
    """What is done at one step; `kind` tells which it is."""


class DrainStep(ServiceStep, frozen=True, kw_only=True, tag="drain"):
    """Drained or pan off, and as much fresh fluid put back.

    drained: leaves the sump itself, at most what it holds
    converter_run_back, pockets_run_back: 0 to 1, part of them that had run down and leaves too
    """

    drained: Volume
    converter_run_back: Share = 0.0
    pockets_run_back: Share = 0.0


class SuctionStep(ServiceStep, frozen=True, kw_only=True, tag="suction"):
    """Sucked out through the fill tube, and as much fresh fluid put back.

    sump_share: 0 to 1, part of the sump that the probe reaches
    """

    sump_share: Share


class LineStep(ServiceStep, frozen=True, kw_only=True, tag="line_exchange"):
    """Fresh fluid in at the line while the old comes out of it.

    exchanged: what leaves by the line
    fed_per_out: 0 to 2, litres fed in per litre that leaves; above 1 the sump rises
    """

    exchanged: Volume
    fed_per_out: Annotated[float, Meta(ge=0, le=2)] = 1.0


class LineBatchStep(ServiceStep, frozen=True, kw_only=True, tag="line_batch"):
    """A batch pumped out by the line with nothing fed in, then as much fresh fluid poured in.

    batch: pumped out and poured in
    """

    batch: Volume


class IdleStep(ServiceStep, frozen=True, kw_only=True, tag="idle"):
    """The engine idles with the lines closed in a loop, or the vehicle is driven: all mixes.

    circulated: litres through the line meanwhile
    """

    circulated: Volume


class DoseStep(ServiceStep, frozen=True, kw_only=True, tag="dose"):
    """A substance is poured into the sump on top of what is there; it is not fresh fluid.

    substance: a name for it, told apart from others in the answer    dosed: how much of it
    """

    substance: Slug
    dosed: Volume


class SetLevelStep(ServiceStep, frozen=True, kw_only=True, tag="set_level"):
    """The sump is brought back to its volume: fresh fluid added, or what is too much let out."""


LevelKept = DrainStep | SuctionStep | LineStep | LineBatchStep | IdleStep
AnyStep = LevelKept | DoseStep | SetLevelStep
"""Every service that a sequence can hold."""

MEASURED: dict[type[ServiceStep], str] = {
    DrainStep: "drained",
    SuctionStep: "sump_share",
    LineStep: "exchanged",
    LineBatchStep: "batch",
    IdleStep: "circulated",
    DoseStep: "dosed",
}
"""The field that says how much, by step."""


def moved(
    step: AnyStep, *, circuit: Circuit, state: CircuitState, incoming_share: float, set_l: float
) -> Filling:
    """What stands after a step, for fresh fluid or for one substance.

    incoming_share: 0 to 1, of it in what the step puts in [-]    set_l: the sump's own volume [L]
    Raises: OutOfRange

    >>> from libexchange.circuit import all_old
    >>> unit = Circuit(sump_l=4)
    >>> moved(SuctionStep(sump_share=0.5), circuit=unit, state=all_old(unit), incoming_share=1.0,
    ...       set_l=4.0).state.sump
    0.5
    """
    match step:
        case LineStep() if step.fed_per_out != 1:
            return exchange_uneven(
                circuit=circuit,
                state=state,
                out_l=step.exchanged.l,
                fed_per_out=step.fed_per_out,
                incoming_share=incoming_share,
            )
        case DoseStep():
            return pour_in(
                circuit=circuit,
                state=state,
                poured_l=step.dosed.l,
                incoming_share=incoming_share,
            )
        case SetLevelStep() if circuit.sump_l > set_l:
            return Filling(circuit=replace(circuit, sump_l=set_l), state=state)
        case SetLevelStep():
            return pour_in(
                circuit=circuit,
                state=state,
                poured_l=set_l - circuit.sump_l,
                incoming_share=incoming_share,
            )
    return Filling(circuit=circuit, state=_state(step, circuit, state, incoming_share))


def litres_of(step: AnyStep, *, before: Circuit, after: Circuit) -> tuple[float, float]:
    """Litres that a step puts in and lets out [L].

    before, after: the circuit with its sump as it stood and as it stands

    >>> litres_of(DoseStep(substance="cleaner", dosed=Volume(0.3, "L")),
    ...           before=Circuit(sump_l=4), after=Circuit(sump_l=4.3))
    (0.3, 0.0)
    """
    match step:
        case DrainStep():
            out_l = refilled_l(
                circuit=before,
                drained_l=step.drained.l,
                converter_run_back=step.converter_run_back,
                pockets_run_back=step.pockets_run_back,
            )
            return out_l, out_l
        case SuctionStep():
            return step.sump_share * before.sump_l, step.sump_share * before.sump_l
        case LineStep():
            return step.exchanged.l * step.fed_per_out, step.exchanged.l
        case LineBatchStep():
            return step.batch.l, step.batch.l
        case DoseStep():
            return step.dosed.l, 0.0
    added_l = after.sump_l - before.sump_l
    return max(added_l, 0.0), max(-added_l, 0.0)


def _state(step: LevelKept, circuit: Circuit, state: CircuitState, share: float) -> CircuitState:
    """The state after a step that leaves the level where it was."""
    match step:
        case DrainStep():
            return drain_and_refill(
                circuit=circuit,
                state=state,
                drained_l=step.drained.l,
                converter_run_back=step.converter_run_back,
                pockets_run_back=step.pockets_run_back,
                incoming_share=share,
            )
        case SuctionStep():
            return suction(
                circuit=circuit, state=state, sump_share=step.sump_share, incoming_share=share
            )
        case LineBatchStep():
            return line_batch(
                circuit=circuit, state=state, batch_l=step.batch.l, incoming_share=share
            )
        case LineStep():
            return exchange(
                circuit=circuit, state=state, exchanged_l=step.exchanged.l, incoming_share=share
            )
    return idle(circuit=circuit, state=state, circulated_l=step.circulated.l)
