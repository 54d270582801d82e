"""Events that stand as evidence: the state on arrival, checks, pictures, parts, tools, consent."""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta

from libexchange.bench_checks import BenchChecks
from libexchange.fields import Digest, Instant, Money, Person, PersonalText, Slug, Text
from libexchange.job.event_base import Event
from libexchange.plan.request import Route
from libexchange.quantities import Distance, Torque, Volume

FaultCode = Annotated[str, Meta(min_length=2, max_length=32, pattern=r"^[A-Za-z0-9._:-]+(?!\n)$")]
"""A diagnostic trouble code as it was read."""

LARGEST_PHOTO = 64 * 2**20


class Arrived(Event, frozen=True, kw_only=True, tag="arrived"):
    """The state on arrival; null is what was not looked at.

    odometer: reading on arrival    leak: whether fluid was seen outside    level: as it was found
    drive: how it drove    warning_lamp: whether one was on    photos: digests of pictures
    under_warranty: whether a warranty stands
    complaint: in the customer's words    modifications: a deep pan, a further cooler, ...
    fluid_kind: what is said to be in it    acknowledged_by: the customer who agreed to this state
    towing: whether the vehicle pulls a trailer
    """

    odometer: Distance | None = None
    complaint: PersonalText | None = None
    leak: Literal["dry", "leak"] | None = None
    level: Literal["in_range", "low", "high"] | None = None
    drive: Literal["ok", "complaint", "no_drive"] | None = None
    warning_lamp: bool | None = None
    modifications: PersonalText | None = None
    towing: bool | None = None
    under_warranty: bool | None = None
    fluid_kind: Slug | None = None
    photos: Annotated[tuple[Digest, ...], Meta(max_length=20)] = ()
    acknowledged_by: Person | None = None


class FaultCodesRead(Event, frozen=True, kw_only=True, tag="fault_codes_read"):
    """The fault memory was read, before the work or after it; no codes means that none stood.

    when: before the work or after it    codes: as they were read
    cleared: whether the memory was cleared, null where nobody told
    """

    when: Literal["before", "after"]
    codes: Annotated[tuple[FaultCode, ...], Meta(max_length=100)] = ()
    cleared: bool | None = None


class BenchChecked(Event, frozen=True, kw_only=True, tag="bench_checked"):
    """What was seen of the used fluid at the bench.

    bench: what each check showed    sample_id: the sample it was seen on, null where none is named
    photo: digest of a picture of it
    """

    bench: BenchChecks
    sample_id: Slug | None = None
    photo: Digest | None = None


class PhotoTaken(Event, frozen=True, kw_only=True, tag="photo_taken"):
    """A picture; its file is sent as an attachment under its digest, before or after.

    digest: SHA-256 of the file as the device holds it    size: of that file [bytes]
    media_type: of the file    shows: what is to be seen    caption: in free words
    taken_at: by the camera's clock
    """

    digest: Digest
    size: Annotated[int, Meta(ge=1, le=LARGEST_PHOTO)]
    media_type: Literal["image/jpeg", "image/png"]
    taken_at: Instant
    shows: Literal[
        "arrival", "odometer", "plug", "used_fluid", "debris", "part", "torque", "level",
        "temperature", "leak", "sample", "tool", "other",
    ]  # fmt: skip
    caption: PersonalText | None = None


class PartFitted(Event, frozen=True, kw_only=True, tag="part_fitted"):
    """A part went in. `torque` is what it was tightened to, by `tool`.

    part: name of the part    count: how many, 1 to 100    new: whether it was new
    torque: what it was tightened to    tool: what it was tightened by
    """

    part: Text
    count: Annotated[int, Meta(ge=1, le=100)] = 1
    new: bool = True
    torque: Torque | None = None
    tool: Text | None = None


class ToolUsed(Event, frozen=True, kw_only=True, tag="tool_used"):
    """A measuring tool or a vessel that this job relies on.

    tool: its name    sort: what it is
    calibrated_until: null where it is not known
    last_fluid_kind, purged: of equipment that carries fluid, what it held before and what was
        pumped through since
    """

    tool: Text
    sort: Literal["meter", "scale", "thermometer", "torque_wrench", "scan_tool", "vessel", "other"]
    calibrated_until: date | None = None
    last_fluid_kind: Slug | None = None
    purged: Volume | None = None


class SecondCheck(Event, frozen=True, kw_only=True, tag="second_check"):
    """Somebody else than who did it looked at it too.

    checked: what was looked at    result: whether that person agreed    remark: in free words
    """

    by: Person
    checked: Literal["fluid", "route", "level", "release", "correction"]
    result: Literal["agreed", "not_agreed"]
    remark: PersonalText | None = None


class ConsentGiven(Event, frozen=True, kw_only=True, tag="consent_given"):
    """What the customer agreed to; a change is a new one.

    estimate: its version    declined: what was offered and not wanted
    route: that was agreed to    not_to_exceed: the most that it may cost
    how: in what way it was given
    given_by: the customer or who speaks for them
    """

    estimate: Text
    route: Route | None = None
    declined: Annotated[tuple[Text, ...], Meta(max_length=20)] = ()
    not_to_exceed: Money | None = None
    given_by: Person
    how: Literal["in_person", "signature", "phone", "message"]
