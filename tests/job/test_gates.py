"""Gates and levels of a job by the method of the unit, and litres that drift apart."""

from datetime import timedelta

import pytest

from libexchange.catalogue import LevelData, TemperatureWindow
from libexchange.errors import InvalidInput
from libexchange.job.events import CautionAcknowledged, LevelChecked, ReadingTaken
from libexchange.job.fold import fold
from libexchange.job.gates_now import GateNow
from libexchange.job.guidance import guidance
from libexchange.job.looks import LevelState
from libexchange.level_records import DipstickReading
from libexchange.plan.records import StepKind
from libexchange.quantities import Flow, Length, Pressure, VolumeChange
from tests.job.plans import Bay, celsius, plan_for

WINDOW = TemperatureWindow(low=celsius(35), high=celsius(45))
STICK_PLAN = plan_for(profile={"level": LevelData(method="dipstick", window=WINDOW)})
PLAN = plan_for()
OPENINGS = ("gate-open", "gate-connect", "gate-disconnect")


def level_gate(bay: Bay) -> GateNow:
    gates = guidance(bay.plan, bay.events, bay.now + timedelta(seconds=1)).gates
    return next(gate for gate in gates if gate.gate_id == "gate-level")


def level(bay: Bay) -> LevelState:
    found = fold(bay.plan, bay.events).level
    assert found is not None
    return found


def test_the_level_gate_of_a_job_follows_the_method_of_its_unit() -> None:
    plug, stick = Bay(PLAN), Bay(STICK_PLAN)
    for bay in (plug, stick):
        bay.read(*[38 + 0.2 * n for n in range(20)])

    assert (level_gate(plug).state, level_gate(stick).state) == ("open", "closed")


@pytest.mark.parametrize(("hot_c", "state"), [(80.0, "open"), (80.1, "closed")])
def test_acknowledged_hot_work_ends_at_80_degrees(hot_c: float, state: str) -> None:
    bay = Bay(PLAN)
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(hot_c), engine_running=False)
    bay.add(CautionAcknowledged, code="hot-fluid", by="invented foreman",
            reason="the maker drains hot; shield and gloves on")  # fmt: skip
    gates = guidance(PLAN, bay.events, bay.now + timedelta(seconds=1)).gates
    opening = next(gate for gate in gates if gate.gate_id == "gate-open")

    assert opening.state == state


def hot_word(bay: Bay, kind: StepKind | None = None, *, after_s: float = 1) -> None:
    bay.add(CautionAcknowledged, after_s=after_s, code="hot-fluid", by="invented foreman",
            reason="the maker drains hot; shield and gloves on",
            step_id=bay.step(kind) if kind else None)  # fmt: skip


def read_off(bay: Bay, shown_c: float) -> None:
    """With the engine off, so that it counts for 5 min."""
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(shown_c), engine_running=False)


def openings(bay: Bay, *, after_s: float = 1) -> dict[str, str]:
    found = guidance(PLAN, bay.events, bay.now + timedelta(seconds=after_s))
    return {one.gate_id: one.state for one in found.gates if one.gate_id in OPENINGS}


@pytest.mark.parametrize(("age_s", "state"), [(300, "open"), (301, "unknown")])
def test_acknowledged_hot_work_needs_a_reading_all_the_same(age_s: float, state: str) -> None:
    bay = Bay(PLAN)
    hot_word(bay)
    assert openings(bay)["gate-open"] == "unknown"

    read_off(bay, 78)
    assert openings(bay, after_s=age_s)["gate-open"] == state


def test_acknowledged_hot_work_keeps_what_its_gate_remarks() -> None:
    bay = Bay(PLAN)
    hot_word(bay)
    read_off(bay, 78)
    found = next(
        one for one in guidance(PLAN, bay.events, bay.now).gates if one.gate_id == "gate-open"
    )

    assert found.reason.startswith("It was at 78.0 °C")
    assert "invented foreman" in found.reason
    assert [finding.code for finding in found.findings] == ["opening-needs-gloves"]


@pytest.mark.parametrize(
    ("kind", "opened"),
    [
        (None, "gate-open"),
        ("pan_and_filter", "gate-open"),
        ("connect_lines", "gate-connect"),
        ("disconnect_lines", "gate-disconnect"),
        ("set_level", None),
        ("raise_vehicle", None),
    ],
)
def test_hot_work_is_acknowledged_for_one_opening(
    kind: StepKind | None, opened: str | None
) -> None:
    bay = Bay(PLAN)
    hot_word(bay, kind)
    read_off(bay, 78)

    assert [one for one, state in openings(bay).items() if state == "open"] == [opened] * bool(
        opened
    )


def test_without_a_step_hot_work_is_that_which_was_due() -> None:
    bay = Bay(PLAN)
    bay.confirm("pan_and_filter")
    hot_word(bay, after_s=0)
    read_off(bay, 78)
    assert openings(bay) == {
        "gate-open": "closed", "gate-connect": "open", "gate-disconnect": "closed",
    }  # fmt: skip

    bay.confirm("connect_lines")

    assert set(openings(bay).values()) == {"closed"}


def test_pressure_without_flow_shuts_the_line_of_a_job() -> None:
    bay = Bay(PLAN)
    bay.read(*[88.0] * 6, every_s=5, flow=1.5)
    gates = {gate.gate_id: gate for gate in guidance(PLAN, bay.events, bay.now).gates}
    bay.add(ReadingTaken, source="in_line", flow=Flow(0.1, "L/min"), pressure=Pressure(2.5, "bar"))
    later = {gate.gate_id: gate for gate in guidance(PLAN, bay.events, bay.now).gates}

    assert (gates["gate-line"].state, later["gate-line"].state) == ("open", "closed")
    assert "2.5 bar" in later["gate-line"].reason


def test_a_read_out_is_judged_in_a_job() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.add(LevelChecked, method="sight", temperature=celsius(40),
            read_out=VolumeChange(-0.3, "L"), engine_running=True)  # fmt: skip

    found = level(bay)
    assert found.correction is not None
    assert (found.verdict, found.correction.l) == ("add", 0.3)


def test_a_measured_refill_is_told_by_what_was_moved() -> None:
    by_measure = LevelData(method="measured_refill", window=WINDOW)
    bay = Bay(plan_for(profile={"level": by_measure}))
    bay.work_to_level(lacking_l=1.0)
    bay.add(LevelChecked, method="measured_refill", temperature=celsius(25))
    found = level(bay)
    assert found.correction is not None
    assert (found.verdict, found.standing) == ("add", "not_set")
    assert found.correction.l == pytest.approx(1.0)

    bay.move("in", 1.0, "set_level")
    bay.add(LevelChecked, method="measured_refill", temperature=celsius(25))

    assert (level(bay).verdict, level(bay).standing) == ("in_range", "set")


def test_the_rest_of_a_refill_is_asked_for_at_once() -> None:
    bay = Bay(PLAN)
    bay.work_to_level(lacking_l=1.5)
    bay.move("in", 0.3, "set_level")
    bay.look("nothing")

    found = level(bay)
    assert found.correction is not None
    assert found.correction.l == pytest.approx(1.2)
    assert [finding.code for finding in found.findings] == ["refill-not-complete"]


def test_a_look_by_two_readings_is_refused() -> None:
    stick = DipstickReading(
        height=Length(5, "mm"), low_mark=Length(4, "mm"), high_mark=Length(14, "mm")
    )
    with pytest.raises(InvalidInput, match="reading or read_out"):
        Bay(PLAN).add(LevelChecked, method="sight", temperature=celsius(40), reading=stick,
                      read_out=VolumeChange(0, "L"))  # fmt: skip


@pytest.mark.parametrize(("in_l", "out_l"), [(2.0, 2.8), (2.8, 2.0)])
def test_case_48_and_49_litres_that_drift_apart_are_stopped_before_the_sump_is_dry_or_full(
    in_l: float, out_l: float
) -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("in", in_l, "line_exchange")
    bay.move("out", out_l, "line_exchange")
    line = fold(bay.plan, bay.events).line_exchange

    assert line is not None
    assert [(f.code, f.severity) for f in line.findings] == [("line-litres-differ", "stop")]
