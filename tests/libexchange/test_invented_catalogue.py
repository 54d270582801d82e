"""The invented catalogue under examples/: every kind of unit, each planned without a stop."""

from pathlib import Path
from typing import Any
from uuid import UUID

import msgspec
import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Additive, Family, FluidProduct, TransmissionProfile
from libexchange.plan.planning import make_plan
from libexchange.plan.priors import PRIORS
from libexchange.plan.unit import shares_usable

CATALOGUE = Path(__file__).parents[2] / "examples" / "catalogue" / "invented.ndjson"
ENTRIES: list[dict[str, Any]] = [
    msgspec.json.decode(line) for line in CATALOGUE.read_bytes().splitlines()
]
TRANSMISSIONS = [
    msgspec.convert(entry["transmission"], TransmissionProfile)
    for entry in ENTRIES
    if "transmission" in entry
]
FLUIDS = [msgspec.convert(entry["fluid"], FluidProduct) for entry in ENTRIES if "fluid" in entry]
ADDITIVES = [
    msgspec.convert(entry["additive"], Additive) for entry in ENTRIES if "additive" in entry
]
EACH = pytest.mark.parametrize("profile", TRANSMISSIONS, ids=lambda one: one.transmission_id)


def test_it_holds_every_kind_of_unit() -> None:
    families: set[Family] = {profile.family for profile in TRANSMISSIONS}
    names = " ".join(profile.name for profile in TRANSMISSIONS)

    assert len(TRANSMISSIONS) >= 12
    assert families == set(PRIORS)
    for speeds in ("four", "five", "six", "eight", "nine", "ten"):
        assert f"{speeds}-speed" in names
    with_converter = {
        profile.converter is not None
        for profile in TRANSMISSIONS
        if profile.family == "wet_dual_clutch"
    }
    assert with_converter == {True, False}


def test_no_entry_is_there_twice() -> None:
    names = [profile.transmission_id for profile in TRANSMISSIONS]
    names += [fluid.fluid_id for fluid in FLUIDS]
    names += [additive.additive_id for additive in ADDITIVES]

    assert len(set(names)) == len(names) == len(ENTRIES)


@EACH
def test_it_says_that_it_is_invented(profile: TransmissionProfile) -> None:
    assert profile.source.invented
    assert profile.transmission_id.startswith("invented-")
    assert profile.name.startswith("Invented ")
    assert all(fit.model.startswith("Invented ") for fit in profile.fits)


def test_every_additive_says_that_it_is_invented() -> None:
    assert {additive.kind for additive in ADDITIVES} == {"cleaner", "conditioner"}
    assert all(one.source.invented and one.name.startswith("Invented ") for one in ADDITIVES)


def test_every_fluid_says_that_it_is_invented() -> None:
    assert all(fluid.source.invented and fluid.name.startswith("Invented ") for fluid in FLUIDS)


@EACH
def test_its_numbers_agree_with_each_other(profile: TransmissionProfile) -> None:
    assert 0.25 <= profile.drained.l / profile.total.l <= 0.85
    assert profile.shares is None or shares_usable(profile)
    opens = profile.cooler.bypass_opens
    assert opens is None or profile.cooler.bypass in ("in_case", "in_line", "in_cooler")


@EACH
def test_a_fluid_of_the_catalogue_fits_it_and_it_can_be_planned(
    profile: TransmissionProfile,
) -> None:
    fluid = next(one for one in FLUIDS if set(one.kinds) & set(profile.fluid_kinds))
    request = replace(invented.routine_request(), transmission=profile, fluid=fluid)

    plan = make_plan(
        request=request,
        transmission=profile,
        fluid=fluid,
        plan_id=UUID(int=1),
        created_at=request.requested_at,
    )

    assert plan.feasible
    assert plan.subject.invented
    assert plan.subject.transmission_source == profile.source
    assert (plan.subject.fluid_source, plan.subject.fluid_kinds) == (fluid.source, fluid.kinds)
    assert plan.forecast is not None
    share = plan.forecast.fresh_share
    assert 0.7 < share.low < share.expected <= share.high < 1


def test_it_shows_every_place_of_a_bypass_and_of_a_plug() -> None:
    places = {profile.cooler.bypass for profile in TRANSMISSIONS}
    openings = {(profile.drain_plug, profile.pan_removable) for profile in TRANSMISSIONS}

    assert {"none", "in_case", "in_line", "in_cooler"} <= places
    assert {("yes", "yes"), ("yes", "no"), ("no", "yes")} <= openings
