"""Litres that were fed through the lines after their gate had closed."""

from collections.abc import Sequence

import pytest

from libexchange.findings import Finding
from libexchange.job.events import FluidMoved, ReadingTaken
from libexchange.job.fold import fold
from libexchange.job.line_gate import MOST
from libexchange.job.verdict import verdict
from libexchange.quantities import Flow
from tests.job.plans import Bay, celsius, litres, plan_for

PLAN = plan_for()


def read(bay: Bay, *temperatures_c: float, flow: float = 1.5, every_s: float = 5) -> None:
    for value in temperatures_c:
        bay.add(ReadingTaken, after_s=every_s, source="in_line", temperature=celsius(value),
                flow=Flow(flow, "L/min"))  # fmt: skip


def feed(bay: Bay, amount_l: float = 1.0, direction: str = "in", *, after_s: float = 3) -> None:
    bay.add(FluidMoved, after_s=after_s, direction=direction, mass=litres(amount_l),
            step_id=bay.step("line_exchange"))  # fmt: skip


def lost(bay: Bay) -> Sequence[Finding]:
    return [one for one in fold(PLAN, bay.events).findings if one.code == "line-gate-lost"]


@pytest.fixture
def bay() -> Bay:
    """A line exchange whose gate is open and through which 1 L went."""
    made = Bay(PLAN)
    read(made, *[84.0] * 6)
    feed(made)
    return made


def test_litres_after_the_flow_was_lost_are_a_caution(bay: Bay) -> None:
    read(bay, 84, flow=0.1)
    feed(bay, 0.7)
    feed(bay, 0.5)
    (found,) = lost(bay)

    assert (found.severity, found.pointer) == ("caution", "#/line_exchange")
    assert found.message == "1.20 L were fed while the gate of the lines was closed."
    assert found.values == {"fed_l": pytest.approx(1.2), "moves": 2}
    assert found in verdict(PLAN, fold(PLAN, bay.events)).findings


def test_what_is_fed_before_it_ever_opened_is_told_where_it_is_confirmed() -> None:
    bay = Bay(PLAN)
    read(bay, 70, 70, 70)
    feed(bay)

    assert lost(bay) == []


def test_a_gap_in_the_readings_tells_nothing(bay: Bay) -> None:
    feed(bay, after_s=700)

    assert lost(bay) == []


def test_what_comes_out_or_moves_in_another_step_was_not_fed(bay: Bay) -> None:
    read(bay, 84, flow=0.1)
    feed(bay, direction="out")
    bay.move("in", 0.3, "refill", after_s=1)

    assert lost(bay) == []


def test_what_is_fed_once_it_is_open_again_counts(bay: Bay) -> None:
    read(bay, 84, flow=0.1)
    read(bay, *[84.0] * 12)
    feed(bay)

    assert lost(bay) == []


def test_so_many_readings_are_looked_at_as_a_gate_needs(bay: Bay) -> None:
    read(bay, *[84.0] * (MOST + 1), every_s=0.5)
    feed(bay)
    read(bay, 84, flow=0.1)
    feed(bay)

    assert [one.values["moves"] for one in lost(bay)] == [1]
