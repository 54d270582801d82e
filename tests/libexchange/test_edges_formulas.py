"""Formulas at their exact edges: circuits, outflow samples, warming up, the next service, texts."""

from datetime import date, timedelta
from math import hypot

import pytest
from msgspec.structs import replace

from libexchange.circuit import Circuit, all_old, drain_and_refill
from libexchange.circuit import exchange as flow_through
from libexchange.dose import WholePacks, wanted_l
from libexchange.errors import Fault, InvalidInput, OutOfRange
from libexchange.findings import worst
from libexchange.gate_findings import STAYS_SHUT
from libexchange.interval_findings import CAPPED_BY_MAKER
from libexchange.interval_measures import leading, measures
from libexchange.next_due import next_due
from libexchange.outflow_integral import OutflowShares, outflow_integral
from libexchange.outflow_samples import OutflowSample, ordered
from libexchange.quantities import Distance, Temperature, Volume
from libexchange.use_case import MakerSchedule, PastService, UseCase
from libexchange.vessels import waste_runs_over
from libexchange.warmup import low_middle_high, possible_approaches
from libexchange.warmup_fit import Moment, fit_approach
from tests.libexchange.level_looks import celsius, codes, look, refill, stick
from tests.libexchange.outflow_run import summed

TODAY = date(2024, 5, 2)


def level_shares(share: float, variance: float) -> OutflowShares:
    """Two samples that the outflow share does not change between, at 4 and 8 L."""
    return OutflowShares((4.0, 8.0), (share, share), ((variance, 0.0), (0.0, variance)))


def test_pockets_that_are_not_there_take_nothing_up() -> None:
    circuit = Circuit(sump_l=5)
    state = drain_and_refill(
        circuit=circuit, state=all_old(circuit), drained_l=4, pockets_run_back=0.5
    )

    assert (state.sump, state.pockets) == (0.8, 0)


def test_a_state_of_another_circuit_is_told_by_its_part() -> None:
    circuit = Circuit(sump_l=5, line_l=1)
    state = all_old(circuit)

    with pytest.raises(OutOfRange, match=r"^line is 0, allowed is 4 cells$"):
        flow_through(circuit=circuit, state=replace(state, line=()), exchanged_l=1)
    with pytest.raises(OutOfRange, match=r"^converter is 1, allowed is 0 cells$"):
        flow_through(circuit=circuit, state=replace(state, converter=(0.0,)), exchanged_l=1)


def test_a_pack_treats_up_to_a_thousand_litres() -> None:
    def dose_l(treats_l: float) -> float | None:
        return wanted_l(treat=WholePacks(Volume(1, "L"), Volume(treats_l, "L")), total_l=10)

    assert (dose_l(0.05), dose_l(1000)) == (200, 0.01)
    with pytest.raises(OutOfRange, match=r"^treats_l is 1001.0, allowed is 0.05 to 1000 L$"):
        dose_l(1001)


def test_what_flows_beyond_the_last_sample_leaves_anywhere_between_it_and_1() -> None:
    outflow = OutflowShares((4.0, 8.0), (0.4, 0.8), ((1e-4, 0.0), (0.0, 1e-4)))
    integral_l, variance_l2 = outflow_integral(outflow=outflow, exchanged_l=10)

    assert integral_l == pytest.approx(3.2 + 2 * 0.9)
    assert variance_l2 == pytest.approx(
        1e-4 * ((16 / 3) ** 2 + (4 / 3 + 1) ** 2) + (2 * 0.2) ** 2 / 12
    )


def test_what_was_inside_before_is_as_unsure_after_a_short_exchange() -> None:
    outflow = OutflowShares((0.5, 1.0), (0.5, 0.5), ((0.0, 0.0), (0.0, 0.0)))
    told = summed(
        outflow=outflow, exchanged_l=1, total_l=100, start_share=0.5, start_uncertainty=0.1
    )

    assert told.expected == pytest.approx(0.505, abs=2e-3)
    assert told.expected - told.low == pytest.approx(1.645 * 0.1, rel=1e-3)
    assert told.high - told.expected == pytest.approx(1.645 * 0.1, rel=1e-3)


def test_more_than_everything_is_never_fresh() -> None:
    told = summed(
        outflow=level_shares(0.9, 1e-4),
        exchanged_l=8,
        total_l=100,
        start_share=0.97,
        start_uncertainty=0.1,
    )

    assert told.high == 1


def test_samples_of_an_outflow_are_told_by_their_number_and_their_litres() -> None:
    one = OutflowShares((4.0,), (0.4,), ((0.0,),))

    with pytest.raises(OutOfRange, match=r"^samples is 1, allowed is 2 to "):
        summed(outflow=one, exchanged_l=8, total_l=9)
    with pytest.raises(OutOfRange, match=r"^litres is 8.0, allowed is 4 to 7 L$"):
        summed(outflow=level_shares(0.5, 0.0), exchanged_l=7, total_l=9)


def test_a_sample_counts_up_to_the_tenth_of_a_litre_exchanged() -> None:
    samples = [
        OutflowSample(exchanged=Volume(litres, "L"), value=1, uncertainty=0.1)
        for litres in (8.3, 8.4, 8.5)
    ]

    assert ordered(samples, 8.4).litres == [8.3, 8.4]


def test_quantiles_of_a_hundred_and_one_values() -> None:
    assert low_middle_high([float(n) for n in range(101)]) == (5, 50, 95)


def test_units_are_spread_by_the_powers_of_one_ratio() -> None:
    ratio = 1.1673039782614187  # of x^5 = x + 1
    first, second = possible_approaches(
        heat_capacity_kj_per_k=(40, 60),
        power_kw=(0.4, 0.8),
        loss_w_per_k=(8, 12),
        ambient_c=20,
        points=2,
    )

    for point, found in enumerate((first, second), 1):
        capacity, power, loss = ((0.5 + point * ratio**-axis) % 1 for axis in (1, 2, 3))
        assert found.settled_c == pytest.approx(20 + (400 + 400 * power) / (8 + 4 * loss))
        assert found.time_constant_s == pytest.approx((40e3 + 20e3 * capacity) / (8 + 4 * loss))


def test_units_with_an_exchanger_need_its_coolant() -> None:
    message = r"^a coolant exchanger needs the temperature of the coolant$"

    with pytest.raises(ValueError, match=message):
        possible_approaches(
            heat_capacity_kj_per_k=(40, 60),
            power_kw=(0.4, 0.8),
            loss_w_per_k=(8, 12),
            ambient_c=20,
            exchanger_w_per_k=(0, 50),
        )


def test_a_fit_tells_its_time_constant_and_its_noise() -> None:
    ripple = [Moment(60.0 * n, 80 - 50 * 0.9355**n + (0.2 if n % 3 else -0.2)) for n in range(30)]
    fit = fit_approach(ripple)

    assert fit.time_constant is not None
    assert fit.time_constant.low < fit.time_constant.expected < fit.time_constant.high
    assert fit.time_constant.high - fit.time_constant.low == pytest.approx(37.5, abs=0.5)
    assert fit.noise_k == pytest.approx(0.198, abs=1e-3)


@pytest.mark.parametrize(("served", "late"), [((4, 1), "1 day."), ((3, 31), "2 days.")])
def test_a_day_late_is_one_day(served: tuple[int, int], late: str) -> None:
    service = PastService(service_date=date(2024, *served), fresh_share=0.8)
    answer = next_due(UseCase(today=TODAY, services=(service,), maker=MakerSchedule(months=1)))

    assert any(late in finding.message for finding in answer.findings)


def test_what_is_due_is_due_today_however_little_is_driven() -> None:
    service = PastService(
        service_date=date(2024, 5, 1), fresh_share=0.8, odometer=Distance(1000, "km")
    )
    answer = next_due(
        UseCase(
            today=TODAY,
            odometer=Distance(200_000, "km"),
            services=(service,),
            maker=MakerSchedule(distance=Distance(1000, "km")),
            distance_per_year=Distance(50, "km"),
        )
    )

    assert answer.on == TODAY


def test_a_service_of_tomorrow_is_refused_in_words() -> None:
    service = PastService(service_date=TODAY + timedelta(days=1), fresh_share=0.8)

    with pytest.raises(ValueError, match=r"^a service lies after today$"):
        next_due(UseCase(today=TODAY, services=(service,)))


def test_the_hours_lead_where_only_they_are_known_today() -> None:
    services = tuple(
        PastService(
            service_date=date(2024, month, 1),
            fresh_share=0.8,
            odometer=Distance(1000 * month, "km"),
        )
        for month in (3, 4)
    )
    case = UseCase(today=TODAY, engine_hours=500.0, services=services)

    assert leading(*measures(case, [0, 1])).unit == "h"


def test_waste_stops_at_97_percent_itself() -> None:
    assert waste_runs_over(capacity_l=100, level_l=97)
    assert not waste_runs_over(capacity_l=100, level_l=96.99)


def test_cold_marks_tell_from_the_low_one_on() -> None:
    assert "level-by-cold-marks" in codes(stick(10, {"marks": "cold"}))
    assert "level-by-cold-marks" not in codes(stick(9.9, {"marks": "cold"}))


def test_a_measured_refill_waits_for_no_window() -> None:
    assert codes(refill(5, 4.5, temperature=celsius(20))) == ["level-measured-not-seen"]


def test_a_hot_look_is_as_unsure_as_the_hold_up_is() -> None:
    at_40 = {"low": celsius(40), "high": celsius(40)}
    hot, seen = look(temperature=celsius(80), window=at_40), look(window=at_40)
    worth = hot.findings[0].values

    assert hot.uncertainty is not None
    assert seen.uncertainty is not None
    assert isinstance(worth["worth_l"], float)
    assert isinstance(worth["worth_with_hold_up_l"], float)
    assert hot.uncertainty.l == pytest.approx(
        hypot(seen.uncertainty.l, worth["worth_with_hold_up_l"] - worth["worth_l"])
    )


def test_texts_join_all_that_was_found() -> None:
    def fault(pointer: str) -> Fault:
        return Fault(pointer=pointer, code="c", detail="wrong", allowed="right", remedy="Mend it.")

    assert str(InvalidInput(fault("/a"), fault("/b"))) == "/a: wrong; /b: wrong"


def test_notes_alone_are_worst_a_note() -> None:
    found = [STAYS_SHUT.at("#/low", "It may stay shut.", severity=one) for one in ("note", "note")]

    assert worst(found) == "note"


def test_a_quantity_tells_what_it_does_not_take() -> None:
    with pytest.raises(ValueError, match=r"^unit 'km', allowed is Cel, \[degF\]$"):
        Temperature(40, "km")  # type: ignore[arg-type] # the wrong unit is the test
    with pytest.raises(TypeError, match=r"^value 'warm' is not a number$"):
        Temperature("warm", "Cel")  # type: ignore[arg-type] # no number is the test
    with pytest.raises(OutOfRange, match=r"^value is 1000001, allowed is ") as refused:
        Volume(1_000_001, "L")

    assert (refused.value.name, refused.value.value) == ("value", 1_000_001)


def test_what_the_maker_leaves_is_nothing_once_it_is_overrun() -> None:
    service = PastService(
        service_date=date(2024, 5, 1), fresh_share=0.8, odometer=Distance(150_000, "km")
    )
    answer = next_due(
        UseCase(
            today=TODAY,
            odometer=Distance(160_000, "km"),
            services=(service,),
            maker=MakerSchedule(distance=Distance(1000, "km")),
        )
    )
    capped = [one for one in answer.findings if one.code == CAPPED_BY_MAKER.code]

    assert [one.values["maker_km"] for one in capped] == [0]
