"""Services in any order: what is doubtful, what is refused, and how much is computed."""

import pytest
from msgspec import ValidationError, convert

from libexchange.calculations.service_sequence import ServiceSequenceRequest
from libexchange.circuit_moves import largest_batch_l
from tests.libexchange.service_sequences import (
    CIRCUIT,
    DRAIN,
    TANK,
    Json,
    answer,
    codes,
    dose,
    line,
    litres,
    refused,
)


@pytest.mark.parametrize(
    ("batch_l", "sump_l", "found"),
    [(2.0, 4.3, False), (2.01, 4.3, True), (1.5, 3.0, False), (1.51, 3.0, True)],
)
def test_a_batch_of_more_than_2_l_or_half_the_sump_is_a_caution(
    batch_l: float, sump_l: float, found: bool
) -> None:
    told = answer(
        {"kind": "line_batch", "batch": litres(batch_l)}, circuit={"sump": litres(sump_l)}
    )

    expected = [("line-batch-too-large", "#/steps/0/batch", "caution")] if found else []
    assert codes(told) == expected
    assert largest_batch_l(sump_l=sump_l) == min(2.0, sump_l / 2)


@pytest.mark.parametrize(
    ("off_l", "severity"),
    [(0.3, None), (0.31, "caution"), (0.6, "caution"), (0.61, "stop"), (-0.3, None),
     (-0.31, "caution"), (-0.6, "caution"), (-0.61, "stop")],
)  # fmt: skip
def test_a_sump_off_its_level_is_told_by_the_limits_of_running_fluid(
    off_l: float, severity: str | None
) -> None:
    told = answer({"kind": "line_batch", "batch": litres(0)}, line(1, fed_per_out=1 + off_l))

    expected = [("sump-off-level", "#/steps/1", severity)] if severity else []
    assert codes(told) == expected


@pytest.mark.parametrize(
    ("total_l", "off_l", "severity"),
    [(15.0, 0.5, "caution"), (15.1, 0.5, None), (15.1, 0.95, "caution"), (15.1, 1.85, "stop")],
)
def test_a_heavy_unit_may_stand_further_off(
    total_l: float, off_l: float, severity: str | None
) -> None:
    told = answer(line(2, fed_per_out=1 - off_l / 2), circuit={"sump": litres(total_l)})

    assert [finding[2] for finding in codes(told)] == ([severity] if severity else [])


def test_what_cannot_be_done_is_refused_at_its_step() -> None:
    assert refused({**DRAIN, "drained": litres(4.31)}) == [("/steps/0/drained", "0 to 4.3 L")]
    assert refused(line(1), line(10, fed_per_out=0.5)) == [("/steps/1/exchanged", "0 to 8.5 L")]
    assert refused({"kind": "line_batch", "batch": litres(4.26)}) == [
        ("/steps/0/batch", "0 to 4.25 L")
    ]
    assert refused(dose("cleaner", 495.8)) == [("/steps/0/dosed", "0 to 495.7 L")]


def test_a_drain_after_an_overfill_may_take_all_that_is_there() -> None:
    told = answer(line(1, fed_per_out=1.2), {"kind": "drain", "drained": litres(4.2)}, circuit=TANK)

    assert told.fresh_share.expected == pytest.approx(1)


def test_a_circuit_that_cannot_be_is_refused_before_its_steps() -> None:
    assert refused(line(1), circuit={"sump": litres(0.01)}) == [("/circuit/sump", "0.05 to 500 L")]


def test_the_work_of_all_steps_and_substances_together_is_bounded() -> None:
    """One tank of 0.05 L renews 20 times a litre: 1,000 L are all the work there may be."""
    small = {"sump": litres(0.05)}
    half = line(500)

    assert answer(half, line(500), circuit=small).fresh_share.expected == 1
    most = "at most 20,000 renewals of the smallest cell, over all steps and shares"
    assert refused(half, line(500.1), circuit=small) == [("/steps/1", most)]
    dosed = dose("cleaner", 0.001)  # the tank is 0.051 L then, and two shares are followed
    assert len(answer(dosed, half, line(9.9), circuit=small).after) == 3
    assert refused(dosed, half, line(10.1), circuit=small) == [("/steps/2", most)]


def test_uneven_flow_and_batches_count_as_work_too() -> None:
    """While what is in the sump leaves: 45 terms for each of 4 stretches, of 3 where it only falls.

    Beside them one term a renewal: 9 L cost 16,290 of 20,000 terms, a batch 6,045.
    """
    small, slim = {"sump": litres(0.1)}, {"sump": litres(4), "line": litres(0.05), "line_cells": 10}
    swing, batch = line(9, fed_per_out=1.0000001), {"kind": "line_batch", "batch": litres(3.9)}

    assert refused(*[swing] * 3, circuit=small)[0][0] == "/steps/1"
    assert refused(*[batch] * 5, circuit=slim)[0][0] == "/steps/3"


def test_idling_counts_as_work_too() -> None:
    """The line of four cells of 0.025 L renews 40 times a litre: 500 L are all the work."""
    unit = {"sump": litres(4), "line": litres(0.1)}
    idle = {"kind": "idle", "circulated": litres(250)}

    alone = {"kind": "idle", "circulated": litres(50_000)}  # nothing flows in a sump alone
    assert answer(idle, idle, circuit=unit).fresh_share.expected == 0
    assert len(answer(alone, circuit=TANK).after) == 1
    assert refused(idle, idle, idle, circuit=unit)[0][0] == "/steps/2"


def test_the_band_knows_no_bound_on_the_work() -> None:
    """Smaller line cells renew faster; the bound is on what was asked, not on what is tried."""
    slim = {"sump": litres(4), "line": litres(0.05), "line_cells": 10}
    idle: Json = {"kind": "idle", "circulated": litres(95)}
    worked, plain = answer(idle, line(4), circuit=slim), answer(line(4), circuit=slim)

    assert worked.fresh_share.low == pytest.approx(plain.fresh_share.low, rel=0, abs=1e-9)
    assert worked.fresh_share.high == pytest.approx(plain.fresh_share.high, rel=0, abs=1e-9)


def test_many_batches_of_an_ordinary_unit_are_computed() -> None:
    batch: Json = {"kind": "line_batch", "batch": litres(2)}

    assert len(answer(dose("cleaner", 0.01), *[batch] * 29).after) == 30


@pytest.mark.parametrize(
    "steps",
    [[], [{"kind": "set_level"}] * 31, [{"kind": "wash"}], [{"kind": "set_level", "to": 1}],
     [line(1, fed_per_out=2.01)], [line(1, fed_per_out=-0.01)],
     [{"kind": "suction", "sump_share": 1.01}]],
)  # fmt: skip
def test_steps_outside_their_type_do_not_decode(steps: list[Json]) -> None:
    with pytest.raises(ValidationError):
        convert({"circuit": CIRCUIT, "steps": steps}, ServiceSequenceRequest)


def test_thirty_steps_are_answered() -> None:
    assert len(answer(*[{"kind": "suction", "sump_share": 0.1}] * 30).after) == 30
