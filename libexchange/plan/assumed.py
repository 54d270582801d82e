"""The uncertain inputs of one transmission, and the unit that it would be with other values."""

from collections.abc import Mapping

from msgspec.structs import asdict, replace

from libexchange.catalogue import CompartmentShares, ExchangeCoefficients, TransmissionProfile
from libexchange.errors import OutOfRange
from libexchange.plan.priors import PRIORS
from libexchange.plan.spreads import GIVEN_SPREADS, OWN_PART, SPREADS, FamilySpreads
from libexchange.plan.unit import LEAST_TOTAL_L, MOST_TOTAL_L, Unit, shares_usable, unit_of
from libexchange.quantities import Volume
from libexchange.uncertainty import Spread

SHARES = ("converter", "line", "pockets", "stranded", "sump")
COEFFICIENTS = ("pocket_exchange", "internal_return", "short_cut")
OPENINGS = ("sump_drained", "sump_with_pan", "converter_run_back", "pockets_run_back")
FACTORS = ("total", "drained_share", "converter_volume")
"""Inputs that are factors on what the profile gives; all others are the value itself."""

LIMITS = {"internal_return": (1.0, 4.0), "short_cut": (0.0, 0.3)} | dict.fromkeys(
    FACTORS, (0.5, 1.5)
)
"""What an input may be at all, where that is not a share from 0 to 1."""

MOST_DRAINED = 0.98
"""Largest part of the total that a drain is taken to leave by [-]."""


def spreads_of(transmission: TransmissionProfile) -> dict[str, Spread]:
    """Every input of the transmission's forecast that is uncertain, with how far.

    >>> from libexchange.invented import six_speed
    >>> spreads_of(six_speed())["pocket_exchange"]
    Spread(low=0.03, typical=0.12, high=0.5, source='memory')
    """
    family, given = SPREADS[transmission.family], GIVEN_SPREADS[transmission.source.kind]
    found = {"total": given.total, "drained_share": given.drained_share}
    found |= {name: getattr(family, name) for name in (*SHARES, *OPENINGS, *COEFFICIENTS)}
    own = transmission.shares if shares_usable(transmission) else None
    if own is not None:
        found |= _around(own, found)
        del found["sump_drained"]  # it tells the sump where no shares are given
    else:
        del found["sump"]  # the drained amount tells it
        found["sump_drained"] = _sump_drained(transmission, family)
    if transmission.coefficients is not None:
        found |= _around(transmission.coefficients, found)
    if transmission.converter is not None:
        found["converter_volume"] = given.total
        del found["converter"]
    return {name: spread for name, spread in found.items() if spread.low < spread.high}


def unit_with(transmission: TransmissionProfile, values: Mapping[str, float]) -> Unit:
    """The unit with some inputs other than typical.

    values: by the names of `spreads_of`; what is beyond the possible counts as its limit
    Raises: OutOfRange where the profile says that nothing is drained

    >>> from libexchange.invented import six_speed
    >>> round(unit_with(six_speed(), {"sump_drained": 0.95}).circuit.sump_l, 2)
    3.94
    """
    known = {name: _possible(name, value) for name, value in values.items()}
    priors = PRIORS[transmission.family]
    own = transmission.shares if shares_usable(transmission) else None
    shares = _shares_with(own or priors.shares, known)
    openings = {name: known[name] for name in OPENINGS if name in known}
    unit = unit_of(
        _profile_with(transmission, known, shares if own else None),
        None,
        priors=replace(priors, shares=priors.shares if own else shares, **openings),
    )
    if unit is None:
        raise OutOfRange(name="drained", value=transmission.drained.l, allowed="above 0 L")
    return unit


def _sump_drained(transmission: TransmissionProfile, family: FamilySpreads) -> Spread:
    """Part of the sump that the plug drains: so much that the sump is not larger than it can be."""
    least = transmission.drained.l / transmission.total.l / family.sump.high
    spread = family.sump_drained
    return replace(spread, low=min(max(spread.low, least), spread.typical))


def _profile_with(
    transmission: TransmissionProfile, known: dict[str, float], shares: CompartmentShares | None
) -> TransmissionProfile:
    total_l = min(max(transmission.total.l * known.get("total", 1.0), LEAST_TOTAL_L), MOST_TOTAL_L)
    drained_share = transmission.drained.l / transmission.total.l * known.get("drained_share", 1.0)
    converter = transmission.converter
    if converter is not None:
        converter = Volume(converter.l * known.get("converter_volume", 1.0), "L")
    coefficients = transmission.coefficients or PRIORS[transmission.family].coefficients
    changed = {name: known[name] for name in COEFFICIENTS if name in known}
    return replace(
        transmission,
        total=Volume(total_l, "L"),
        drained=Volume(min(drained_share, MOST_DRAINED) * total_l, "L"),
        shares=shares,
        converter=converter,
        coefficients=replace(coefficients, **changed),
    )


def _shares_with(shares: CompartmentShares, known: dict[str, float]) -> CompartmentShares:
    """The shares with some changed and all brought back to a sum of 1."""
    parts = {name: known.get(name, getattr(shares, name)) for name in SHARES}
    whole = sum(parts.values())
    return CompartmentShares(**{name: part / whole for name, part in parts.items()})


def _around(
    own: CompartmentShares | ExchangeCoefficients, family: dict[str, Spread]
) -> dict[str, Spread]:
    """Spreads about a profile's own values: a part of the family's, in proportion to the value."""
    return {name: _narrowed(name, value, family[name]) for name, value in asdict(own).items()}


def _narrowed(name: str, value: float, family: Spread) -> Spread:
    if not family.typical:
        return Spread(low=value, typical=value, high=value, source=family.source)
    below, above = family.low / family.typical - 1, family.high / family.typical - 1
    return Spread(
        low=_possible(name, value * (1 + OWN_PART * below)),
        typical=value,
        high=_possible(name, value * (1 + OWN_PART * above)),
        source=family.source,
    )


def _possible(name: str, value: float) -> float:
    low, high = LIMITS.get(name, (0.0, 1.0))
    return min(max(value, low), high)
