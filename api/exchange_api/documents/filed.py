"""What the service knows of a job beside its record."""

from datetime import datetime
from uuid import UUID

from msgspec import Struct

from libexchange.job.view import EarlierClosing, RelatedJob


class Filed(Struct, frozen=True, kw_only=True):
    """What documents tell beside the record itself.

    digest: the one that the customer is given    received: when each event came in, by its id
    """

    digest: str
    received: dict[UUID, datetime] = {}
    related: tuple[RelatedJob, ...] = ()
    earlier_closings: tuple[EarlierClosing, ...] = ()
