"""From a transmission profile to the circuit that is computed with, and where it comes from."""

from msgspec import Struct

from libexchange.catalogue import CompartmentShares, FluidProduct, TransmissionProfile
from libexchange.circuit import Circuit, CircuitState, drain_and_refill, refilled_l
from libexchange.plan.priors import PRIORS, TYPICAL_DENSITY_15_KG_M3, FamilyPriors
from libexchange.plan.records import Basis

LEAST_TOTAL_L, MOST_TOTAL_L = 0.5, 500.0
SMALLEST_COMPARTMENT_L = 0.05
LARGEST_SUMP_SHARE = 0.95


class Opening(Struct, frozen=True, kw_only=True):
    """What leaves by an opening: litres from the sump and the shares that have run back [L, -]."""

    sump_l: float
    converter_run_back: float
    pockets_run_back: float


def renewed(circuit: Circuit, state: CircuitState, opening: Opening) -> CircuitState:
    """The state after what leaves by an opening was put back fresh.

    >>> from libexchange.circuit import all_old
    >>> unit, opening = Circuit(sump_l=4), Opening(sump_l=3, converter_run_back=0,
    ...                                            pockets_run_back=0)
    >>> renewed(unit, all_old(unit), opening).sump
    0.75
    """
    return drain_and_refill(
        circuit=circuit,
        state=state,
        drained_l=opening.sump_l,
        converter_run_back=opening.converter_run_back,
        pockets_run_back=opening.pockets_run_back,
    )


def refill_l(circuit: Circuit, opening: Opening) -> float:
    """What leaves by an opening and goes back fresh [L].

    >>> refill_l(Circuit(sump_l=4, converter_l=2), Opening(sump_l=3, converter_run_back=0.5,
    ...                                                    pockets_run_back=0))
    4.0
    """
    return refilled_l(
        circuit=circuit,
        drained_l=opening.sump_l,
        converter_run_back=opening.converter_run_back,
        pockets_run_back=opening.pockets_run_back,
    )


class Unit(Struct, frozen=True, kw_only=True):
    """A transmission ready to be computed with."""

    circuit: Circuit
    by_plug: Opening
    with_pan: Opening
    density_15_kg_m3: float
    basis: tuple[Basis, ...]


def unit_of(
    transmission: TransmissionProfile,
    fluid: FluidProduct | None,
    *,
    priors: FamilyPriors | None = None,
) -> Unit | None:
    """The computable unit of a profile; None when the drained amount is not below the total.

    priors: assumed instead of what is typical of the family

    >>> from libexchange.invented import six_speed
    >>> round(unit_of(six_speed(), None).circuit.sump_l, 2)
    4.28
    """
    if not LEAST_TOTAL_L <= transmission.total.l <= MOST_TOTAL_L or not _drain_fits(transmission):
        return None
    priors = priors or PRIORS[transmission.family]
    coefficients = transmission.coefficients or priors.coefficients
    volumes = _volumes(transmission, priors)
    circuit = Circuit(
        sump_l=volumes["sump_l"],
        converter_l=volumes["converter_l"],
        line_l=volumes["line_l"],
        pockets_l=volumes["pockets_l"],
        stranded_l=volumes["stranded_l"],
        pocket_exchange=coefficients.pocket_exchange,
        internal_return=coefficients.internal_return,
        short_cut=coefficients.short_cut,
    )
    by_plug = _by_plug(transmission.drained.l, circuit, priors)
    return Unit(
        circuit=circuit,
        by_plug=by_plug,
        with_pan=_with_pan(transmission, circuit, by_plug, priors),
        density_15_kg_m3=_density(fluid),
        basis=_basis(transmission, fluid),
    )


def shares_sum(shares: CompartmentShares) -> float:
    """The sum of the five shares.

    >>> shares_sum(PRIORS["converter_automatic"].shares)
    1.0
    """
    parts = (shares.sump, shares.converter, shares.line, shares.pockets, shares.stranded)
    return round(sum(parts), 9)


def shares_usable(transmission: TransmissionProfile) -> bool:
    """Whether the profile's own shares sum to 1 within 0.02 and leave room for the drain.

    >>> from libexchange.invented import six_speed
    >>> shares_usable(six_speed())
    False
    """
    return transmission.shares is not None and abs(shares_sum(transmission.shares) - 1) <= 0.02


def _drain_fits(transmission: TransmissionProfile) -> bool:
    return 0 < transmission.drained.l < transmission.total.l


def _volumes(transmission: TransmissionProfile, priors: FamilyPriors) -> dict[str, float]:
    total_l = transmission.total.l
    shares = priors.shares
    if transmission.shares is not None and shares_usable(transmission):
        shares = transmission.shares
        sump_l = total_l * shares.sump / shares_sum(shares)
    else:
        sump_l = _sump_from_drain_l(transmission, priors)
    if transmission.converter is not None:
        return _with_known_converter(total_l, sump_l, transmission.converter.l, shares)
    rest_share = shares.converter + shares.line + shares.pockets + shares.stranded
    per_share_l = (total_l - sump_l) / rest_share if rest_share else 0.0
    return _without_slivers(
        sump_l=sump_l,
        converter_l=per_share_l * shares.converter,
        line_l=per_share_l * shares.line,
        pockets_l=per_share_l * shares.pockets,
        stranded_l=per_share_l * shares.stranded,
    )


def _sump_from_drain_l(transmission: TransmissionProfile, priors: FamilyPriors) -> float:
    # drained = e sump + w (total - sump), where w is what of the rest has run back
    total_l, drained_l, shares = transmission.total.l, transmission.drained.l, priors.shares
    run_back_l = (
        priors.converter_run_back * shares.converter + priors.pockets_run_back * shares.pockets
    )
    w = run_back_l / (1 - shares.sump)
    sump_l = (drained_l - w * total_l) / (priors.sump_drained - w)
    return min(max(sump_l, SMALLEST_COMPARTMENT_L), LARGEST_SUMP_SHARE * total_l)


def _with_known_converter(
    total_l: float, sump_l: float, converter_l: float, shares: CompartmentShares
) -> dict[str, float]:
    converter_l = min(converter_l, total_l - sump_l)
    rest_share = shares.line + shares.pockets + shares.stranded
    per_share_l = (total_l - sump_l - converter_l) / rest_share if rest_share else 0.0
    return _without_slivers(
        sump_l=sump_l,
        converter_l=converter_l,
        line_l=per_share_l * shares.line,
        pockets_l=per_share_l * shares.pockets,
        stranded_l=per_share_l * shares.stranded,
    )


def _without_slivers(**volumes: float) -> dict[str, float]:
    """Compartments too small to be computed join the sump, so that the total holds."""
    kept = {n: v if v >= SMALLEST_COMPARTMENT_L else 0.0 for n, v in volumes.items()}
    kept["sump_l"] += sum(volumes.values()) - sum(kept.values())
    return kept


def _by_plug(drained_l: float, circuit: Circuit, priors: FamilyPriors) -> Opening:
    from_converter_l = priors.converter_run_back * circuit.converter_l
    run_back_l = from_converter_l + priors.pockets_run_back * circuit.pockets_l
    if run_back_l >= drained_l:
        return Opening(sump_l=min(drained_l, circuit.sump_l), converter_run_back=0.0,
                       pockets_run_back=0.0)  # fmt: skip
    return Opening(
        sump_l=min(drained_l - run_back_l, circuit.sump_l),
        converter_run_back=priors.converter_run_back,
        pockets_run_back=priors.pockets_run_back,
    )


def _with_pan(
    transmission: TransmissionProfile, circuit: Circuit, by_plug: Opening, priors: FamilyPriors
) -> Opening:
    if transmission.drain_plug != "yes":
        return by_plug  # the drained amount is what the pan gives
    return Opening(
        sump_l=max(by_plug.sump_l, priors.sump_with_pan * circuit.sump_l),
        converter_run_back=by_plug.converter_run_back,
        pockets_run_back=by_plug.pockets_run_back,
    )


def _density(fluid: FluidProduct | None) -> float:
    if fluid is None or fluid.density_15 is None:
        return TYPICAL_DENSITY_15_KG_M3
    return fluid.density_15.kg_m3


def _basis(transmission: TransmissionProfile, fluid: FluidProduct | None) -> tuple[Basis, ...]:
    origin = transmission.source.kind
    given = transmission.source.document or origin.replace("_", " ")
    own = {
        "total": True,
        "drained": True,
        "shares": shares_usable(transmission),
        "coefficients": transmission.coefficients is not None,
    }
    entries = [
        Basis(part=part, origin=origin, source=given)  # type: ignore[arg-type]  # keys are the literals
        if known
        else Basis(part=part, origin="typical_of_family", source="memory")  # type: ignore[arg-type]  # as above
        for part, known in own.items()
    ]
    return (*entries, _density_basis(fluid))


def _density_basis(fluid: FluidProduct | None) -> Basis:
    if fluid is None or fluid.density_15 is None:
        return Basis(part="density", origin="typical_of_family", source="common practice")
    source = fluid.source.document or fluid.source.kind.replace("_", " ")
    return Basis(part="density", origin=fluid.source.kind, source=source)
