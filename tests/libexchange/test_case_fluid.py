"""Cases of `tests/edge_cases.toml` about used fluid, and about fluid that was put in too early."""

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.laboratory import LaboratoryResults
from libexchange.quantities import Content
from libexchange.used_fluid import UsedFluidAnswer, judge_used_fluid
from tests.libexchange.service_sequences import DRAIN, answer, line


def seen(bench: BenchChecks) -> UsedFluidAnswer:
    return judge_used_fluid(bench=bench, laboratory=LaboratoryResults())


def measured(results: LaboratoryResults) -> UsedFluidAnswer:
    return judge_used_fluid(bench=BenchChecks(), laboratory=results)


def codes(told: UsedFluidAnswer) -> set[str]:
    return {f.code for f in told.findings} - {"bench-checks-incomplete"}


@pytest.mark.parametrize("water", [Content(0.1, "%"), Content(1000, "[ppm]")])
def test_case_06_a_tenth_of_a_percent_of_water_stops_a_car(water: Content) -> None:
    told = measured(LaboratoryResults(water=water))

    assert (told.decision, codes(told)) == ("stop_coolant", {"water-content-high"})


def test_case_65_burnt_and_slipping_is_a_stop_that_takes_a_signature() -> None:
    told = seen(BenchChecks(smell="burnt", shifts="slips"))

    assert told.decision == "stop_mechanical"
    assert "burnt-fluid-in-slipping-unit" in codes(told)
    assert told.override_needs == ("name", "reason", "customer_signature")


def test_case_66_glycol_is_never_overridden() -> None:
    told = seen(BenchChecks(glycol_strip="positive"))

    assert (told.decision, told.overridable) == ("stop_coolant", False)
    assert (codes(told), told.override_needs) == ({"glycol-strip-positive"}, ())


def test_case_101_fluid_that_smells_of_another_unit_is_a_stop_that_nobody_overrides() -> None:
    told = seen(BenchChecks(smell="foreign"))

    assert (told.decision, told.overridable) == ("stop_foreign_fluid", False)
    assert codes(told) == {"used-fluid-smells-foreign"}


def test_case_73_a_pan_that_comes_off_after_the_exchange_costs_fresh_fluid() -> None:
    first, after = answer(DRAIN, line(9)), answer(line(9), DRAIN)
    gained_l = 9 * (after.after[1].fresh_share - after.after[0].fresh_share)

    assert after.put_in.l == pytest.approx(first.put_in.l)
    assert after.fresh_share.expected < first.fresh_share.expected
    assert 0 < gained_l < 0.25 * 4.065
