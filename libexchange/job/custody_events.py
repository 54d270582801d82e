"""Events of retained samples, from drawing to destruction, and of a legal hold."""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta

from libexchange.fields import Person, PersonalText, Reason, Slug, Text
from libexchange.job.event_base import Event, refused
from libexchange.quantities import Distance, Temperature, Volume


class SampleDrawn(Event, frozen=True, kw_only=True, tag="sample_drawn"):
    """A sample was taken.

    sample_id: name of the sample within the job    volume: of the sample
    lot: of new fluid, as on its container    odometer: reading when it was drawn
    fluid: the used fluid, or the new one from its container
    drawn_from: `sump_unmixed` is right after an exchange, before the unit was driven: it flatters
    taken: of used fluid, before the work or after the level was set
    temperature: of the fluid
    """

    sample_id: Slug
    fluid: Literal["used", "new"]
    drawn_from: Literal["sump", "sump_unmixed", "line", "drain", "container"]
    volume: Volume | None = None
    lot: Text | None = None
    taken: Literal["before", "after"] | None = None
    temperature: Temperature | None = None
    odometer: Distance | None = None


class SampleSplit(Event, frozen=True, kw_only=True, tag="sample_split"):
    """A sample was divided; what is left of it goes under the new names alone.

    sample_id: the sample that was divided    parts: new names, all different
    Raises: InvalidInput where a part bears the name of the whole or the name of another part.
    """

    sample_id: Slug
    parts: Annotated[tuple[Slug, ...], Meta(min_length=2, max_length=10)]

    def __post_init__(self) -> None:
        Event.__post_init__(self)
        if len({self.sample_id, *self.parts}) != len(self.parts) + 1:
            raise refused("/parts", "not-distinct", list(self.parts), "a new name for each part")


class SampleSealed(Event, frozen=True, kw_only=True, tag="sample_sealed"):
    """A sample was sealed under a number. `kept_for` is whose side it is kept for.

    sample_id: the sample    seal: number of the seal    place: where it is kept
    kept_for: whose side it is kept for
    keep_until: where several days were told, the last of them counts
    """

    sample_id: Slug
    seal: Text
    kept_for: Literal["workshop", "customer", "laboratory"]
    keep_until: date | None = None
    place: Text | None = None


class SampleHandedOver(Event, frozen=True, kw_only=True, tag="sample_handed_over"):
    """A sample went from one holder to another; `by` is who gave it away.

    sample_id: the sample    to: who has it now    seal: its number as it was read then
    seal_whole: whether the seal was unbroken    reason: why it was handed over
    """

    sample_id: Slug
    to: Person
    seal: Text | None = None
    seal_whole: bool
    reason: PersonalText | None = None


class SampleDestroyed(Event, frozen=True, kw_only=True, tag="sample_destroyed"):
    """A sample is no more.

    sample_id: the sample    reason: why it was destroyed
    """

    sample_id: Slug
    by: Person
    reason: Reason


class LegalHold(Event, frozen=True, kw_only=True, tag="legal_hold"):
    """Evidence of this job may not be destroyed or erased from now on, or may be again.

    state: whether the hold is set or lifted    reason: why
    """

    by: Person
    state: Literal["set", "lifted"]
    reason: Reason
