"""Events that change the course of a job: cautions, overrides, pauses, ends, corrections."""

from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta

from libexchange.fields import Person, PersonalText, Reason, Slug
from libexchange.job.event_base import Event, refused
from libexchange.laboratory import LaboratoryResults

FluidIn = Literal["all", "part", "none", "not_known"]
"""How much of the fluid that belongs in the unit is in it, as seen by whoever stands there."""


class CautionAcknowledged(Event, frozen=True, kw_only=True, tag="caution_acknowledged"):
    """Someone has read a caution and goes on, with a reason.

    code: of the caution    reason: why the work goes on
    qualification: what the person may do by it; that of high voltage needs it
    """

    code: Slug
    by: Person
    reason: Reason
    qualification: Reason | None = None


class FindingOverridden(Event, frozen=True, kw_only=True, tag="finding_overridden"):
    """Someone answers for going on against a stop finding.

    It counts for what had been found by then, once another person than `by` has acknowledged it.

    reason: why the work goes on
    code: of the finding    acknowledged_by: the customer, who was told and signed
    """

    code: Slug
    by: Person
    reason: Reason
    acknowledged_by: Person


class Paused(Event, frozen=True, kw_only=True, tag="paused"):
    """The work rests. `held_by` answers for the vehicle until it is resumed.

    next_action: what is to be done when it goes on    reason: why it rests
    fluid_in: how much of the fluid that belongs in the unit is in it
    held_by: the person who answers for the vehicle until then
    """

    next_action: PersonalText
    fluid_in: FluidIn
    held_by: Person
    reason: PersonalText | None = None


class Resumed(Event, frozen=True, kw_only=True, tag="resumed"):
    """The work goes on, by `by`, who has looked at the vehicle first."""

    by: Person


class Aborted(Event, frozen=True, kw_only=True, tag="aborted"):
    """The planned work ends here; what is open is made safe next.

    reason: why it ends
    """

    by: Person
    reason: Reason


class MadeSafe(Event, frozen=True, kw_only=True, tag="made_safe"):
    """The vehicle was closed up after a stop and can be left as it is.

    fluid_in: how much of the fluid that belongs in the unit is in it
    vehicle: what it may do; one without fluid or of unknown level is never to be driven
    """

    by: Person
    fluid_in: FluidIn
    vehicle: Literal["drive", "tow", "stays_here"]


class Voided(Event, frozen=True, kw_only=True, tag="voided"):
    """The job was opened in error: nothing in it happened to this vehicle.

    reason: why it was an error
    """

    by: Person
    reason: Reason


class Correction(Event, frozen=True, kw_only=True, tag="correction"):
    """Withdraws another event, which stays in the history; a correction is not corrected itself.

    Where something else is true, it is posted as a new event with its own id.

    corrects: id of the event that is withdrawn    reason: why it is
    """

    corrects: UUID
    reason: Reason


class LateFinding(Event, frozen=True, kw_only=True, tag="late_finding"):
    """What came to light afterwards. Before the close, or after reopening, it counts as told.

    source: who or what brought it to light    text: what came to light
    severity: how grave it is
    about: events that it deals with    laboratory: results, judged as late ones
    """

    source: Literal["laboratory", "customer", "lot_recall", "leak", "inspection"]
    text: PersonalText
    severity: Literal["stop", "caution", "note"] = "caution"
    about: Annotated[tuple[UUID, ...], Meta(max_length=100)] = ()
    laboratory: LaboratoryResults | None = None

    def __post_init__(self) -> None:
        Event.__post_init__(self)
        if self.laboratory is not None and self.source != "laboratory":
            raise refused("/laboratory", "not-of-source", self.source, "results of a laboratory")
