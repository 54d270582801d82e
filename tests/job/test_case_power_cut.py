"""Case 57 of `tests/edge_cases.toml`: the power or the phone fails while fluid flows."""

from datetime import timedelta

from libexchange.job.fold import fold
from libexchange.job.guidance import Guidance, guidance
from libexchange.job.verdict import verdict
from tests.job.plans import Bay, plan_for


def cut_while_it_flows() -> Bay:
    """The lines are open, 2 L have gone through, and then nothing more is heard."""
    bay = Bay(plan_for())
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening", "pan_and_filter",
                "refill", "connect_lines", "warm_up")  # fmt: skip
    bay.read(*[84.0] * 6, every_s=5, flow=1.5)
    bay.move("in", 2.0, "line_exchange")
    bay.move("out", 2.0, "line_exchange")
    bay.read(*[84.0] * 6, every_s=5, flow=1.5)
    return bay


def line_gate(found: Guidance) -> str:
    return next(gate.state for gate in found.gates if gate.gate_id == "gate-line")


def test_case_57_after_a_power_cut_no_fluid_flows_on_by_old_readings() -> None:
    bay = cut_while_it_flows()
    before = guidance(bay.plan, bay.events, bay.now)
    after = guidance(bay.plan, bay.events, bay.now + timedelta(minutes=5))

    assert (line_gate(before), line_gate(after)) == ("open", "unknown")
    assert "line-gate-not-known" in [finding.code for finding in after.blocking]


def test_case_57_after_a_power_cut_the_level_is_open_until_someone_looks() -> None:
    bay = cut_while_it_flows()
    state = fold(bay.plan, bay.events)
    found = verdict(bay.plan, state)

    assert state.balance is not None
    assert state.balance.verdict == "open"
    assert found.verdict == "incomplete"
    assert "level-not-set" in {finding.code for finding in found.findings}


def test_case_57_after_a_power_cut_engine_and_feed_go_off_before_anything_else() -> None:
    bay = cut_while_it_flows()
    standing = fold(bay.plan, bay.events).standing

    assert (standing.may_run, standing.may_drive, standing.level_known) == (False, False, False)
    assert standing.first.action == "stop_the_feed"
    assert "look at the level before the exchange goes on" in standing.first.text
