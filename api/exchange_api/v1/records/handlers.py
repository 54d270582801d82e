"""`POST /v1/records/verify`: is a signed record authentic and whole?"""

import asyncio
import re
from pathlib import Path

from litestar import Response, post
from msgspec import Struct

from exchange_api.bodies import raw_body
from exchange_api.operations import JSON, Answer, Operation, operation
from exchange_api.records_store import is_known
from exchange_api.serving import Request, answer, service
from exchange_api.settings import Settings
from exchange_api.signing import public_keys
from exchange_api.storage.units import Connection
from exchange_api.timestamp_tokens import TimestampFound, certificates, timestamp_in
from libexchange.verification import Verification, verify_record

SIGNED = "application/jose+json"
COMPACT = "application/jose"
LARGEST_SENT = 8 * 2**20
_DIGEST = re.compile("[0-9a-f]{64}")


class RecordCheck(Struct, frozen=True, kw_only=True):
    """What a record was found to be, by the keys of this installation.

    known: whether a record of this digest was signed here
    timestamp: of an authority over the signature; null where the record has none
    """

    verification: Verification
    known: bool
    timestamp: TimestampFound | None


_VERIFY = Operation(
    operation_id="verifyRecord",
    summary="Is a record authentic and whole?",
    description="Takes the signed record, its compact form or the plain record, byte for byte as "
    "it was handed over, and names what differs. It is verified with the keys of this installation "
    "and is not kept. To verify without asking anybody, use the public keys and `exchange-api "
    f"verify`. Any valid key may ask. Up to {LARGEST_SENT} bytes.",
    tag="records",
    scope="any",
    body=bytes,
    body_media_type=SIGNED,
    body_alternatives=(COMPACT, JSON),
    body_limit=LARGEST_SENT,
    answers={200: Answer(description="What it was found to be.", content=RecordCheck)},
)


@post("/v1/records/verify", **operation(_VERIFY))
async def verify(request: Request) -> Response[bytes]:
    """Verify what was sent; a fault of it is part of the answer, never a refusal."""
    sent = await raw_body(request, media_type=SIGNED)
    running = service(request)
    database = running.database
    keys = await database.read(public_keys)
    found = await asyncio.to_thread(verify_record, sent, keys=keys)
    digest = found.record_digest or ""  # whatever stands in the document

    def known(connection: Connection) -> bool:
        return bool(_DIGEST.fullmatch(digest)) and is_known(connection, digest)

    told = RecordCheck(
        verification=found,
        known=await database.read(known),
        timestamp=await asyncio.to_thread(_timestamp, sent, running.settings),
    )
    return answer(told)


def _timestamp(sent: bytes, settings: Settings) -> TimestampFound | None:
    """The time stamp of what was sent, trusted by the certificates of the settings alone."""
    file = settings.timestamp_certificates
    return timestamp_in(sent, certificates(Path(file).read_bytes()) if file else ())


HANDLERS = (verify,)
