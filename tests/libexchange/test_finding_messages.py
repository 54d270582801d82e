"""What findings on doses and balances say, word by word and number by number."""

from math import sqrt
from typing import Any

import pytest

from libexchange.balance import BalanceEntry, balance
from libexchange.contact import Contact
from libexchange.dose_findings import (
    amount_findings,
    circuit_findings,
    contact_findings,
    kept_findings,
    left_findings,
    level_findings,
)
from libexchange.findings import Finding
from libexchange.quantities import Temperature, Volume


def poured(direction: Any, litres: float, celsius: float | None) -> BalanceEntry:
    temperature = None if celsius is None else Temperature(celsius, "Cel")
    return BalanceEntry(direction=direction, volume=Volume(litres, "L"), temperature=temperature)


def of_balance(in_l: float, *, flowing: bool = False) -> list[Finding]:
    entries = [poured("in", in_l, 15), poured("out", 12, 15)]
    told = balance(density_15_kg_m3=850, total_l=9, entries=entries, flowing=flowing)
    return told.findings


def uncertainty_l(in_l: float) -> float:
    """By hand: 1 % meters and 3 K for what went in and for the 12 L that came out, 0.05 L hose."""
    per_litre = 0.01**2 + (3 * 0.6278 / 850) ** 2
    return 2 * sqrt((per_litre * (in_l**2 + 12**2) + 0.05**2) / 3)


SAID: list[tuple[list[Finding], str, dict[str, object]]] = [
    (
        amount_findings(dose_l=0.6, wanted_l=0.45, total_l=10),
        "600 mL are 6.0 % of 10.0 L.",
        {"dose_ml": 600, "wanted_ml": 450, "share_of_total": 0.06},
    ),
    (
        amount_findings(dose_l=0.2, wanted_l=0.4, total_l=10),
        "200 mL against 400 mL that are stated.",
        {"dose_ml": 200, "wanted_ml": 400, "share_of_total": 0.02},
    ),
    (
        amount_findings(dose_l=0.0213, wanted_l=0.0213, total_l=10),
        "21.3 mL are stated for 10.0 L.",
        {"dose_ml": 21.3, "wanted_ml": 21.3, "share_of_total": 0.00213},
    ),
    (
        circuit_findings(circuit_l=8, total_l=9),
        "The circuit holds 8.00 L, the total fill is 9.00 L.",
        {"circuit_l": 8, "total_l": 9},
    ),
    (level_findings(dose_l=0.3, missing_l=0.1), "Draw off 200 mL first.", {"draw_off_ml": 200}),
    (
        left_findings(share_left=0.008, needed_l=12.14),
        "0.80 % are left, 0.5 % may stay; 12.1 L would do.",
        {"share_left": 0.008, "needed_l": 12.14},
    ),
    (
        left_findings(share_left=0.008, needed_l=None),
        "0.80 % are left, 0.5 % may stay; no exchange does.",
        {"share_left": 0.008, "needed_l": None},
    ),
    (
        kept_findings(share_kept=0.78, spread_l=8, sump_l=4),
        "78.0 % of it stay when 8.00 L carry it; at most the last 1.60 L may.",
        {"share_kept": 0.78, "spread_l": 8, "limit_l": 1.6},
    ),
    (
        contact_findings(Contact(330, "paused", 1), needed_s=720),
        "5.5 min count of 12 min.",
        {"counted_s": 330, "needed_s": 720, "unseen_s": 0},
    ),
    (
        contact_findings(Contact(1860, "too_long", 1, 2400, 480), needed_s=720),
        (
            "It has been in warm fluid for 40.0 min; after 30 min it has to be out. 31.0 min count "
            "of 12 min. 8.0 min were not seen."
        ),
        {"counted_s": 1860, "needed_s": 720, "unseen_s": 480, "in_warm_s": 2400, "limit_s": 1800},
    ),
    (
        contact_findings(Contact(1200, "done", 1), needed_s=1200),
        "20 min are asked for.",
        {"counted_s": 1200, "needed_s": 1200},
    ),
    (
        of_balance(12.45),
        "+0.45 L against what was expected; ok is up to 0.43 L.",
        {"off_l": 0.45, "uncertainty_l": uncertainty_l(12.45), "ok_l": 2 * uncertainty_l(12.45)},
    ),
    (
        of_balance(11.5, flowing=True),
        "-0.50 L against what was expected; ok is up to 0.30 L.",
        {"off_l": -0.5, "uncertainty_l": uncertainty_l(11.5), "ok_l": 0.3},
    ),
    (
        balance(density_15_kg_m3=850, total_l=9, entries=[poured("in", 0.25, None)]).findings,
        "0.25 L were taken as read; the uncertainty is wider for it.",
        {"volume_l": 0.25},
    ),
]


@pytest.mark.parametrize(("found", "message", "values"), SAID, ids=[said[1] for said in SAID])
def test_a_finding_says_its_numbers(
    found: list[Finding], message: str, values: dict[str, object]
) -> None:
    assert [finding.message for finding in found] == [message]
    assert found[0].values == pytest.approx(values, abs=1e-9)
