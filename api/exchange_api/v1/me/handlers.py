"""`GET /v1/me`."""

from litestar import Response, get
from msgspec import Struct

from exchange_api.operations import Answer, Operation, operation
from exchange_api.security import principal
from exchange_api.serving import Request, answer


class Me(Struct, frozen=True, kw_only=True):
    """The workshop that the key belongs to, and what the key allows.

    workshop_id, workshop: its id and name    region: as it is exported
    key_id: of the key    scopes: what it allows    administrator: of the installation
    """

    workshop_id: str
    workshop: str
    region: str
    key_id: str
    scopes: list[str]
    administrator: bool


_ME = Operation(
    operation_id="getMe",
    summary="Whose key is this, and what does it allow?",
    tag="access",
    scope="any",
    answers={200: Answer(description="The holder of the key.", content=Me)},
)


@get("/v1/me", **operation(_ME))
async def get_me(request: Request) -> Response[bytes]:
    """The holder of the key."""
    holder = principal(request)
    return answer(
        Me(
            workshop_id=holder.workshop_id,
            workshop=holder.workshop,
            region=holder.region,
            key_id=holder.key_id,
            scopes=sorted(holder.scopes),
            administrator=holder.administrator,
        )
    )


HANDLERS = (get_me,)
