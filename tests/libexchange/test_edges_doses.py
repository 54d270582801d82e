"""Doses, containers and used fluid where a small slip would change what a workshop is told."""

from typing import get_args

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.bench_checks import BenchChecks
from libexchange.circuit import Circuit, CircuitState, active_fresh_share, fresh_share
from libexchange.dose import exchanged_l_for_share_left
from libexchange.dose_findings import left_findings
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.findings import Kind, Severity
from libexchange.laboratory import LaboratoryResults
from libexchange.level_records import MeasuredRefill, looks_given
from libexchange.purge import purge_findings
from libexchange.quantities import Volume
from libexchange.used_fluid import judge_used_fluid
from libexchange.used_fluid_findings import DARK, MILKY, VARNISH
from tests.job.plans import plan_for
from tests.libexchange.level_looks import litres, refill
from tests.libexchange.plan_desk import found, planned


def test_what_stays_is_told_with_the_litres_that_would_do_or_that_none_does() -> None:
    def told(needed_l: float | None) -> str:
        return left_findings(share_left=0.008, needed_l=needed_l)[0].message

    assert told(12.14) == "0.80 % are left, 0.5 % may stay; 12.1 L would do."
    assert told(None) == "0.80 % are left, 0.5 % may stay; no exchange does."


@pytest.mark.parametrize(("limit", "exchanged_l"), [(0.0112, 0.0), (0.011, None)])
def test_no_exchange_gets_out_what_is_where_nothing_flows(
    limit: float, exchanged_l: float | None
) -> None:
    circuit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    substance = CircuitState(sump=0, converter=(0.0,) * 2, line=(0.0,) * 4, pockets=0, stranded=0.5)

    assert exchanged_l_for_share_left(circuit=circuit, state=substance, limit=limit) == exchanged_l


@pytest.mark.parametrize(
    "circuit",
    [
        Circuit(sump_l=2.9, converter_l=1, line_l=0.5, pockets_l=1, stranded_l=0.4),
        Circuit(sump_l=1.2, converter_l=3.4, line_l=1.2, pockets_l=1.3, stranded_l=0.3),
    ],
    ids=["small", "large converter"],
)
def test_all_fresh_is_1_however_its_parts_add_up(circuit: Circuit) -> None:
    fresh = CircuitState(sump=1, converter=(1.0,) * 2, line=(1.0,) * 4, pockets=1, stranded=1)

    assert fresh_share(circuit=circuit, state=fresh) == 1
    assert active_fresh_share(circuit=circuit, state=fresh) == 1


def test_what_only_lets_work_proceed_is_no_reason() -> None:
    def reasons(bench: BenchChecks) -> list[str]:
        found = judge_used_fluid(bench=bench, laboratory=LaboratoryResults())
        return [reason.decision for reason in found.reasons]

    assert reasons(BenchChecks(smell="varnish", blotter="clear_ring")) == []
    assert reasons(BenchChecks(smell="burnt", blotter="clear_ring")) == ["proceed_gently"]


def test_a_purge_tells_the_share_in_two_digits() -> None:
    found = purge_findings(foreign_share=0.085, limit_share=0.005, needed_l=3.11)

    assert found[0].message == (
        "8.5 % of the fill would be of another kind, 0.5 % may be; purge 3.2 L in all."
    )


def test_a_measured_refill_has_no_look_of_a_stick() -> None:
    record = MeasuredRefill(out_15=Volume(4, "L"), in_15=Volume(4, "L"))

    assert looks_given(record, "dipstick") == []


@pytest.mark.parametrize(("in_l", "verdict"), [(4.875, "in_range"), (4.8749, "add")])
def test_a_measured_refill_is_right_up_to_its_own_uncertainty(in_l: float, verdict: str) -> None:
    answer = refill(5, in_l, measured={"uncertainty": litres(0.125)})

    assert answer.verdict == verdict


@pytest.mark.parametrize("kind", ALL_KINDS, ids=lambda kind: kind.code)
def test_every_kind_says_how_grave_it_is_what_to_do_and_on_whose_word(kind: Kind) -> None:
    assert kind.severity in get_args(Severity)
    assert all(map(str.strip, (kind.title, kind.remedy, kind.source)))


def test_a_kind_of_used_fluid_is_as_grave_as_its_decision() -> None:
    assert [kind.severity for kind in (VARNISH, DARK, MILKY)] == ["note", "caution", "stop"]


def test_a_leak_stops_all_that_exchanges_more_than_one_filling() -> None:
    alternatives = planned(conditions=("leak",)).alternatives

    assert {one.route: found(one.reasons, "leak-on-arrival").severity for one in alternatives} == {
        "level_only": "caution",
        "drain": "caution",
        "pan_and_filter": "caution",
        "drain_cycles": "stop",
        "suction": "stop",
        "pan_and_filter_then_line": "stop",
        "line_exchange": "stop",
        "line_batches": "stop",
    }


@pytest.mark.parametrize(
    ("pack_l", "text"),
    [
        (0.46, " One more pack would make 5.1 %: take another size or leave it out."),
        (0.6, " One more pack would make 6.7 %: take another size or leave it out."),
    ],
)
def test_a_plan_tells_where_one_more_pack_is_no_way_out(pack_l: float, text: str) -> None:
    """315 mL are stated for 9 L, in whole packs of which none may pass the cap of 5 %."""
    loose = replace(invented.cleaner(), pack=Volume(pack_l, "L"), pack_rule="nearest")
    told = {one.message for one in plan_for(cleaner=loose).findings if one.code == "dose-too-small"}

    assert told == {f"0 mL against 315 mL that are stated.{text}"}
