"""Where an additive must not go: one rule for every combination that is forbidden by default.

What the maker of the unit allows lifts what its construction and its warranty forbid, never what
was found.
"""

from collections.abc import Callable
from typing import Annotated, Literal

from msgspec import Meta, Struct

from libexchange.catalogue import AdditiveKind, Family, Known
from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, MEMORY, Finding, Kind, Rule

Placed = Literal["before_exchange", "last_litres", "level_setting"]
"""When an additive goes in."""

DoseCondition = Literal[
    "burnt", "coolant_in_fluid", "debris_in_pan", "slipping", "under_warranty", "unknown_fluid"
]
"""What was found that bars an additive."""


class DoseCase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An additive and the unit that it is meant for.

    maker_allows: what the maker of the unit says of additives of this kind
    pan_opened, filter_changed: in this visit    other_cleaner: another cleaner is in the fluid
    friction_modifier: the conditioner carries it; fluid_friction_modified: the fluid does already
    kind: cleaner or conditioner    placed: when in the work it goes in
    family: of the unit    conditions: of the fluid and the unit as they were found
    electric_machine_in_fluid: whether a motor runs in this fluid
    fluid_friction_modified: whether the fluid carries friction modifier by itself
    """

    kind: AdditiveKind
    placed: Placed
    family: Family | None = None
    maker_allows: Known = "unknown"
    electric_machine_in_fluid: Known = "unknown"
    conditions: Annotated[tuple[DoseCondition, ...], Meta(max_length=6)] = ()
    pan_opened: bool = False
    filter_changed: bool = False
    other_cleaner: bool = False
    friction_modifier: bool = False
    fluid_friction_modified: Known = "unknown"


DoseRule = Rule[DoseCase]


def _when(kind: Kind, pointer: str, text: str, holds: Callable[[DoseCase], bool]) -> DoseRule:
    def check(case: DoseCase) -> list[Finding]:
        return [kind.at(pointer, text)] if holds(case) else []

    return Rule(kind=kind, check=check)


def _found(condition: DoseCondition) -> Callable[[DoseCase], bool]:
    return lambda case: condition in case.conditions


def _forbidden(code: str, title: str, remedy: str, source: str = COMMON_PRACTICE) -> Kind:
    return Kind(code=code, severity="stop", title=title, remedy=remedy, source=source)


def _electric(case: DoseCase) -> bool:
    if case.maker_allows == "yes" or case.electric_machine_in_fluid == "no":
        return False
    return case.electric_machine_in_fluid == "yes" or case.family == "power_split_hybrid"


def _modified_twice(case: DoseCase) -> bool:
    if case.kind != "conditioner" or not case.friction_modifier or case.maker_allows == "yes":
        return False
    return case.fluid_friction_modified != "no"


_NO_ADDITIVE = "Leave it out; plain fluid does the job."
_DIAGNOSE = "Leave it out and diagnose first."
_CVTS = ("cvt_with_converter", "cvt_with_start_clutch")

DOSE_RULES: tuple[DoseRule, ...] = (
    _when(
        Kind(code="additive-permission-unknown", severity="caution", source=COMMON_PRACTICE,
             title="Nobody knows whether the maker of the unit allows additives",
             remedy="Ask the vehicle maker's service data: many bar them. Without a word leave it "
             "out; plain fluid does the job."),
        "#/maker_allows", "What the maker's text says of additives of this kind is not given.",
        lambda case: case.maker_allows == "unknown",
    ),
    _when(
        _forbidden("additive-barred-by-maker", "The maker of the unit bars additives",
                   _NO_ADDITIVE, MAKER_DATA),
        "#/maker_allows", "The maker's text bars additives of this kind.",
        lambda case: case.maker_allows == "no",
    ),
    _when(
        _forbidden("additive-under-warranty", "An additive would touch the warranty",
                   "Leave it out unless the maker allows it in writing."),
        "#/conditions", "The unit is under warranty and the maker does not allow it.",
        lambda case: "under_warranty" in case.conditions and case.maker_allows != "yes",
    ),
    _when(
        _forbidden("additive-in-dual-clutch", "A wet dual clutch takes no additive", _NO_ADDITIVE),
        "#/family", "Its clutches run in this fluid and the maker does not allow it.",
        lambda case: case.family == "wet_dual_clutch" and case.maker_allows != "yes",
    ),
    _when(
        _forbidden("additive-in-cvt", "A continuously variable unit takes no additive",
                   _NO_ADDITIVE),
        "#/family", "Belt or chain grip by this fluid and the maker does not allow it.",
        lambda case: case.family in _CVTS and case.maker_allows != "yes",
    ),
    _when(
        _forbidden("additive-in-unknown-family", "It is not known how the unit is built",
                   "Find out what the unit is before anything but its own fluid goes in."),
        "#/family", "No family is given.",
        lambda case: case.family is None,
    ),
    _when(
        _forbidden("additive-near-electric-machine", "An electric machine runs in the fluid",
                   "Leave it out: copper and insulation are not made for it.", MEMORY),
        "#/electric_machine_in_fluid", "It runs in the fluid, or that is not known of a hybrid.",
        _electric,
    ),
    _when(
        _forbidden("additive-in-burnt-fluid", "The fluid is burnt", _DIAGNOSE),
        "#/conditions", "Burnt fluid was found.", _found("burnt"),
    ),
    _when(
        _forbidden("additive-with-debris", "There is debris in the pan", _DIAGNOSE),
        "#/conditions", "Debris was found.", _found("debris_in_pan"),
    ),
    _when(
        _forbidden("additive-in-slipping-unit", "The unit slips", _DIAGNOSE),
        "#/conditions", "It slips.", _found("slipping"),
    ),
    _when(
        _forbidden("additive-with-coolant", "There is coolant in the fluid",
                   "Stop: find the leak. Neither additive nor exchange helps."),
        "#/conditions", "Coolant was found.", _found("coolant_in_fluid"),
    ),
    _when(
        _forbidden("additive-in-unknown-fluid", "It is not known what fluid is in the unit",
                   "Drain and refill, take a sample, and leave additives out."),
        "#/conditions", "The fluid in the unit is unknown.", _found("unknown_fluid"),
    ),
    _when(
        _forbidden("cleaner-without-filter", "The filter is not changed after the cleaner",
                   "Take the pan off and change the filter after the cleaner, or leave it out."),
        "#/filter_changed", "What the cleaner loosens ends in the old filter.",
        lambda case: case.kind == "cleaner" and not (case.pan_opened and case.filter_changed),
    ),
    _when(
        _forbidden("cleaner-with-other-cleaner", "Two cleaners would meet in one unit",
                   "Get the first one out before another is used."),
        "#/other_cleaner", "Another cleaner is in the fluid.",
        lambda case: case.kind == "cleaner" and case.other_cleaner,
    ),
    _when(
        _forbidden("cleaner-after-exchange", "The cleaner goes in where nothing follows to get it "
                   "out", "Dose the cleaner before the exchange."),
        "#/placed", "No exchange follows.",
        lambda case: case.kind == "cleaner" and case.placed != "before_exchange",
    ),
    _when(
        _forbidden("friction-modifier-twice", "The fluid carries friction modifier already",
                   "Leave the conditioner out unless the maker of the unit asks for it."),
        "#/friction_modifier", "The fluid carries it, or that is not known.",
        _modified_twice,
    ),
    _when(
        Kind(code="conditioner-before-exchange", severity="stop", source=COMMON_PRACTICE,
             title="The conditioner goes in before the exchange and mostly to waste",
             remedy="Dose it with the last litres or at level setting."),
        "#/placed", "Most of it leaves with the old fluid.",
        lambda case: case.kind == "conditioner" and case.placed == "before_exchange",
    ),
)  # fmt: skip
"""Every forbidden combination, and what to ask before any other."""


def forbidden(case: DoseCase) -> list[Finding]:
    """What forbids an additive in a unit, or leaves it open; nothing where it may go in.

    Source: common practice.

    >>> case = DoseCase(kind="conditioner", placed="level_setting", family="wet_dual_clutch")
    >>> [finding.code for finding in forbidden(case)]
    ['additive-permission-unknown', 'additive-in-dual-clutch']
    """
    return [finding for rule in DOSE_RULES for finding in rule.check(case)]
