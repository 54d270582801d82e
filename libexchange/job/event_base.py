"""What all events have in common, and how one is refused."""

from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta, Struct

from libexchange.errors import Fault, InvalidInput
from libexchange.fields import TEXT_PATTERN, Instant, Person, Slug
from libexchange.fluid import HIGHEST_TEMPERATURE_C, LOWEST_TEMPERATURE_C
from libexchange.quantities import Temperature

DeviceId = Annotated[str, Meta(min_length=1, max_length=64, pattern=r"^[A-Za-z0-9._:-]+(?!\n)$")]
"""The name a device gives itself; its events are counted under it. Under another name its count
begins anew, and events that it has sent before stay the same."""

AppVersion = Annotated[str, Meta(min_length=1, max_length=64, pattern=TEXT_PATTERN)]
"""The version of the program on a device, in its own words."""

Sequence = Annotated[
    int,
    Meta(
        ge=0,
        le=2**31 - 1,
        description="The number of the event: a device counts those of each job from 0, each once, "
        "also over a restart.",
    ),
]
"""The number of an event: a device counts those of each job from 0, each once."""


class Event(
    Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
    tag="event",
):
    """What all events have in common. `occurred_at` is the device's own clock, with its offset.

    Fields at their defaults are left out when it is written, so that a field which is added later
    changes no digest.

    event_id: made by the device, the same again is the same event
    occurred_at: when it happened, by the device's clock, with its offset from UTC
    step_id: the step of the plan that it belongs to, null where it belongs to none
    version: of the meaning of this kind    by: the person who did it, null where nobody said
    job_id: where given, the job it belongs to; an event of another job is refused
    Raises: InvalidInput without an offset.
    """

    event_id: UUID
    occurred_at: Instant
    sequence: Sequence
    step_id: Slug | None = None
    version: Literal[1] = 1
    by: Person | None = None
    job_id: UUID | None = None

    def __post_init__(self) -> None:
        if self.occurred_at.tzinfo is None:
            value = self.occurred_at.isoformat()
            raise refused("/occurred_at", "naive-time", value, "a time with its offset from UTC")


def refused(at: str, code: str, value: object, allowed: str) -> InvalidInput:
    """What an event cannot be, in the words of what it may be."""
    fault = Fault(
        pointer=at,
        code=code,
        detail=f"needed is {allowed}",
        value=value,
        allowed=allowed,
        remedy=f"Send {allowed}; correct what was typed, or leave the event out.",
    )
    return InvalidInput(fault)


def check_temperature(seen: Temperature | None) -> None:
    """Raises: InvalidInput outside of what volumes are corrected over."""
    if seen and not LOWEST_TEMPERATURE_C <= seen.c <= HIGHEST_TEMPERATURE_C:
        raise refused("/temperature/value", "out-of-range", seen.value, "-50 to 150 °C")
