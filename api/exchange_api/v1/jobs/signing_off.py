"""The record of a job as it stands at its close, signed in the same unit of work."""

from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from exchange_api.outside import as_stamp
from exchange_api.records_store import keep_signed
from exchange_api.signing import SpareKey, signing_key
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.closing import record


class SignOff(Struct, frozen=True, kw_only=True):
    """What signing needs from outside of the unit of work.

    spare: signs where no key does yet    stamp: whether a time stamp is to be asked for
    """

    spare: SpareKey
    stamp: bool
    now: datetime


def sign_off(
    connection: Connection,
    loaded: store.LoadedJob,
    *,
    workshop_id: str,
    closed: store.JobRow,
    by: SignOff,
) -> str:
    """Sign and keep the record of a job that has just been closed; its digest.

    loaded: the job as it was before    closed: its row as it is now
    """
    made = record(replace(loaded, row=closed))
    keep_signed(
        connection,
        workshop_id=workshop_id,
        made=made,
        number=loaded.closing_number,
        seed=signing_key(connection, by.spare),
        now=as_stamp(by.now),
        stamp=by.stamp,
    )
    return made.digest
