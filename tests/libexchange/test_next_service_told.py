"""What is said beside the next service: its reasons, the filter, and what is not known."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import MakerInterval
from libexchange.plan.next_service import next_service
from tests.libexchange.plan_desk import SIX_SPEED, planned
from tests.libexchange.test_next_service import driven, due, with_maker


def test_each_reason_is_said_once_and_of_its_subject() -> None:
    reasons = due(reason="heavy_use").reasons

    assert reasons[2:5] == (
        (
            "How the vehicle is driven is not stated, and the reason is heavy use; driving with a "
            "trailer or in mountains is assumed."
        ),
        (
            "For driving with a trailer or in mountains the fluid is taken to age 2 times as fast "
            "as at 80 °C."
        ),
        "Nothing is known of the fluid at first, so it counts as worn out.",
    )
    assert sum("counts as worn out" in text for text in reasons) == 1
    assert "It is told in whole 1,000 km, rounded down." in reasons


@pytest.mark.parametrize(
    ("route", "pan", "told"),
    [
        ("drain", "yes", "a route with the pan off renews it"),
        ("drain_cycles", "unknown", "a route with the pan off renews it"),
        ("line_exchange", "no", "it stays, since the pan does not come off"),
        ("pan_and_filter", "yes", None),
        ("pan_and_filter_then_line", "yes", None),
    ],
)
def test_a_filter_of_which_nothing_is_known_is_told_where_it_stays(
    route: Any, pan: Any, told: str | None
) -> None:
    profile = replace(SIX_SPEED, pan_removable=pan)
    request = replace(invented.routine_request(), transmission=profile)

    found = next_service(request=request, transmission=profile, fresh_share=0.8, route=route)

    said = [text for text in found.reasons if "of the filter" in text]
    assert len(said) == (told is not None)
    assert told is None or told in said[0]


def test_a_filter_is_not_asked_about_where_the_history_is_known() -> None:
    request = replace(
        invented.routine_request(), **driven(100_000, 60_000, date(2024, 3, 4), fresh_share=0.5)
    )

    found = next_service(request=request, transmission=SIX_SPEED, fresh_share=0.8, route="drain")

    assert not any("filter" in text for text in found.reasons)


def test_what_is_not_known_of_the_next_service_is_a_note_of_the_plan() -> None:
    unknown = ("maker-schedule-unknown", "fluid-history-unknown")
    told = [f for f in planned().findings if f.code in unknown]

    assert [(f.code, f.severity, f.pointer) for f in told] == [
        ("maker-schedule-unknown", "note", "#/transmission/maker_interval"),
        ("fluid-history-unknown", "note", "#/last_service"),
    ]
    held = driven(100_000, 60_000, date(2024, 3, 4), fresh_share=0.5)
    known = planned(with_maker(months=48), **held).findings
    assert not [f for f in known if f.code in unknown]
    for barred in ({"conditions": ("coolant_in_fluid",)}, {"route": "level_only"}):
        assert not [f for f in planned(**barred).findings if f.code in unknown]
    empty = replace(SIX_SPEED, maker_interval=MakerInterval())
    assert any(f.code == unknown[0] for f in planned(empty).findings)
