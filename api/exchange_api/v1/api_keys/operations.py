"""What the key operations declare of themselves."""

from exchange_api.operations import Answer, Link, Operation
from exchange_api.v1.api_keys.answers import (
    ApiKey,
    ApiKeyPage,
    ApiKeyQuery,
    ApiKeyRequest,
    NewApiKey,
)

_REVOKE_LINK = Link(
    operation_id="revokeApiKey",
    description="Revoke it as it was seen.",
    parameters={"key_id": "$response.body#/api_key/key_id", "If-Match": "$response.header.ETag"},
)

LIST = Operation(
    operation_id="listApiKeys",
    summary="List the keys of the workshop, the newest first",
    description="Expired and revoked ones too, no secrets.",
    tag="access",
    scope="keys",
    query=ApiKeyQuery,
    answers={
        200: Answer(
            description="A page of keys.",
            content=ApiKeyPage,
            links={
                "first": Link(
                    operation_id="getApiKey",
                    description="Read the first of them.",
                    parameters={"key_id": "$response.body#/items/0/key_id"},
                )
            },
        )
    },
)
GET = Operation(
    operation_id="getApiKey",
    summary="Read a key, without its secret",
    tag="access",
    scope="keys",
    headers=("If-None-Match",),
    answers={200: Answer(description="The key.", content=ApiKey, headers=("ETag",))},
)
CREATE = Operation(
    operation_id="createApiKey",
    summary="Make a key",
    description="It allows no more than the caller's own key. At most two live keys have one name: "
    "to rotate, make the successor, put it to use, then revoke the old one. The text of the key is "
    "in this answer alone.",
    tag="access",
    scope="keys",
    changes=True,
    body=ApiKeyRequest,
    problems=("conflict",),
    examples={"for a phone": {"name": "Bay phone", "scopes": ["jobs:read", "jobs:write"]}},
    answers={
        201: Answer(
            description="The key, with its text.",
            content=NewApiKey,
            headers=("ETag", "Location"),
            links={
                "read": Link(
                    operation_id="getApiKey",
                    description="Read it again, without the secret.",
                    parameters={"key_id": "$response.body#/api_key/key_id"},
                ),
                "revoke": _REVOKE_LINK,
            },
        )
    },
)
REVOKE = Operation(
    operation_id="revokeApiKey",
    summary="Revoke a key",
    description="Needs `If-Match` with the ETag of the key, or `*`. It bars from the next request "
    "on; a key can revoke itself. Revoking again changes nothing.",
    tag="access",
    scope="keys",
    changes=True,
    headers=("If-Match",),
    answers={200: Answer(description="The revoked key.", content=ApiKey, headers=("ETag",))},
)
