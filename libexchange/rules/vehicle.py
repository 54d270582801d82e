"""Rules on whether the vehicle is the one that the transmission is for."""

from libexchange.catalogue import VehicleFit
from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule
from libexchange.rules.facts import PlanFacts
from libexchange.vin import judge_vin

CHECK_DIGIT_DIFFERS = Kind(
    code="vin-check-digit-differs",
    severity="caution",
    title="The check digit of the vehicle identification number is wrong",
    remedy="Read the number again from the vehicle: one character or more is not right.",
    source="49 CFR 565.15(c)",
)
YEAR_OUTSIDE_FITS = Kind(
    code="model-year-outside-fits",
    severity="caution",
    title="The catalogue has no vehicle of this model year for this transmission",
    remedy="Check the model year and which transmission is fitted; complete the catalogue entry "
    "where it is short.",
    source=COMMON_PRACTICE,
)


def check_digit_differs(facts: PlanFacts) -> list[Finding]:
    """Only where the rule binds the maker; the number itself is personal and is not repeated."""
    vin = facts.request.vehicle.vin
    if vin is None or judge_vin(vin=vin).check_digit != "differs":
        return []
    return [CHECK_DIGIT_DIFFERS.at("#/vehicle/vin", "The ninth place is not what the rule gives.")]


def year_outside_fits(facts: PlanFacts) -> list[Finding]:
    """A year that no listed vehicle of the transmission covers; unlimited ones cover any."""
    year, fits = facts.request.vehicle.model_year, facts.transmission.fits
    if year is None or not fits or any(_covers(fit, year) for fit in fits):
        return []
    listed = "; ".join(_years(fit) for fit in fits)
    message = f"Model year {year}; listed are {listed}."
    return [YEAR_OUTSIDE_FITS.at("#/vehicle/model_year", message, values={"model_year": year})]


def _covers(fit: VehicleFit, year: int) -> bool:
    return (fit.year_from or year) <= year <= (fit.year_to or year)


def _years(fit: VehicleFit) -> str:
    if fit.year_from and fit.year_to:
        return f"{fit.model} {fit.year_from} to {fit.year_to}"
    return f"{fit.model} from {fit.year_from}" if fit.year_from else f"{fit.model} to {fit.year_to}"


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=CHECK_DIGIT_DIFFERS, check=check_digit_differs),
    Rule(kind=YEAR_OUTSIDE_FITS, check=year_outside_fits),
)
"""The rules on the vehicle, in the order they are reported."""
