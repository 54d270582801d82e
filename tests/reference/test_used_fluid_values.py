"""Covers, cleanliness codes and limits against published values; ids name status and source."""

import tomllib
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from libexchange.bench_checks import BLOTTER_HINTS
from libexchange.cleanliness import cleanliness_code, scale_limits_per_ml, scale_number
from libexchange.containers import ContainerSize, cover_volume
from libexchange.fields import Money
from libexchange.laboratory import (
    AcidNumberPair,
    LaboratoryResults,
    ViscosityPair,
    laboratory_rulings,
)
from libexchange.quantities import AcidNumber, Content, KinematicViscosity, Volume
from libexchange.used_fluid_findings import worst_decision

VALUES = [
    value
    for topic in ("containers", "used_fluid")
    for value in tomllib.loads(
        Path(__file__).with_name(f"{topic}.toml").read_text(encoding="utf-8")
    )["value"]
]
Case = dict[str, Any]


def least_cost(given: Case) -> Case:
    """Sizes in mL and prices as they stand; the counts in the order of the sizes."""
    sizes = [
        ContainerSize(size=Volume(size, "mL"), price=Money(str(price), "EUR"))
        for size, price in given["containers_size_cost"]
    ]
    cover = cover_volume(volume=Volume(given["target"], "mL"), sizes=sizes)
    counted = {chosen.size: chosen.count for chosen in cover.choice}
    return {
        "min_cost": int(cover.cost.amount),
        "counts": [counted.get(size.size, 0) for size in sizes],
    }


def cleanliness_table(given: Case) -> Case:
    uppers = [scale_limits_per_ml(scale=scale)[1] for scale in given["scales"]]
    assert [scale_number(per_ml=upper) for upper in uppers] == given["scales"]
    beyond = cleanliness_code(per_ml=(uppers[-1] * 1.001,) * 3)
    return {"upper_limits": uppers, "above": beyond.split("/")[0]}


def code_per_100_ml(given: Case) -> Case:
    first, second, third = (count / 100 for count in given["per_100mL"])
    return {"code": cleanliness_code(per_ml=(first, second, third))}


def limits_of_code(given: Case) -> Case:
    first, _, third = map(int, given["code"].split("/"))
    return {
        "first_band": list(scale_limits_per_ml(scale=first)),
        "third_band": list(scale_limits_per_ml(scale=third)),
    }


def scale_not_log2(given: Case) -> Case:
    return {"table": scale_number(per_ml=given["n_per_mL"])}


def decided(results: LaboratoryResults) -> str:
    return worst_decision(laboratory_rulings(results, heavy=True))


def limits_to_act(given: Case) -> Case:
    """The first tenth of a per cent or of a mg/g to act on, and the last ppm that is allowed."""
    assert given["heavy"]
    thick = (KinematicViscosity(40 + 0.04 * step, "mm2/s") for step in count())
    sour = (AcidNumber(0.5 + 0.1 * step, "mg/g") for step in count())
    wet = (Content(0.01 * step, "%") for step in count())
    new, fresh = KinematicViscosity(40, "mm2/s"), AcidNumber(0.5, "mg/g")
    changed = next(
        used for used in thick
        if decided(LaboratoryResults(viscosity_40=ViscosityPair(used=used, fresh=new)))
        == "exchange_and_repeat"
    )  # fmt: skip
    risen = next(
        used for used in sour
        if decided(LaboratoryResults(acid_number=AcidNumberPair(used=used, fresh=fresh)))
        == "exchange_and_repeat"
    )  # fmt: skip
    too_wet = next(water for water in wet if decided(LaboratoryResults(water=water)) != "proceed")
    return {
        "viscosity_change_pct": round(100 * (changed.mm2_s / 40 - 1), 9),
        "TAN_rise_mgKOH_g": round(risen.mg_per_g - 0.5, 9),
        "water_pct_max": round(too_wet.value - 0.01, 9),
    }


def any_glycol(given: Case) -> Case:
    contents = [Content(ppm, "[ppm]") for ppm in given["glycol_ppm"]]
    (verdict,) = {decided(LaboratoryResults(glycol=content)) for content in contents}
    return {"verdict": verdict}


def spot_hints(given: Case) -> Case:
    return {"signs": [BLOTTER_HINTS[spot] for spot in given["spots"]]}


FORMULAS: tuple[Callable[[Case], Case], ...] = (
    least_cost, cleanliness_table, code_per_100_ml, limits_of_code, scale_not_log2, limits_to_act,
    any_glycol, spot_hints,
)  # fmt: skip
BY_NAME = {formula.__name__: formula for formula in FORMULAS}


def within(expected: Any) -> Any:
    """Numbers are printed whole; only the noise of binary fractions is allowed."""
    if isinstance(expected, float):
        return pytest.approx(expected, rel=1e-12)
    return [within(one) for one in expected] if isinstance(expected, list) else expected


@pytest.mark.parametrize(
    "value", VALUES, ids=[f"{v['id']} [{v['status']}] {v['source']}" for v in VALUES]
)
def test_a_published_value_is_met(value: Case) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    for name, expected in value["expected"].items():
        assert answer[name] == within(expected)


def test_every_adapter_answers_a_value() -> None:
    assert {value["formula"] for value in VALUES} == set(BY_NAME)
