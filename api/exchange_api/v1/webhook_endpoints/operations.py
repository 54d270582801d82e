"""What the webhook operations declare of themselves."""

from exchange_api.operations import Answer, Link, Operation
from exchange_api.v1.webhook_endpoints.answers import (
    WebhookDelivery,
    WebhookDeliveryPage,
    WebhookDeliveryQuery,
    WebhookEndpoint,
    WebhookEndpointPage,
    WebhookEndpointQuery,
    WebhookEndpointRequest,
    WebhookEndpointSecret,
)

_EXAMPLE = {"url": "https://hooks.example/fluid", "events": ["job.closed", "record.available"]}
_TEST_LINK = Link(
    operation_id="testWebhookEndpoint",
    description="Try whether messages arrive.",
    parameters={"endpoint_id": "$response.body#/endpoint/endpoint_id"},
)
_AGAIN = Link(
    operation_id="redeliverWebhook",
    description="Send it once more.",
    parameters={
        "endpoint_id": "$request.path.endpoint_id",
        "delivery_id": "$response.body#/delivery_id",
    },
)
_DELIVERIES = Link(
    operation_id="listWebhookDeliveries",
    description="What was delivered to it.",
    parameters={"endpoint_id": "$response.body#/endpoint/endpoint_id"},
)

LIST = Operation(
    operation_id="listWebhookEndpoints",
    summary="List the webhook endpoints of the workshop, the newest first",
    tag="webhooks",
    scope="webhooks",
    query=WebhookEndpointQuery,
    answers={
        200: Answer(
            description="A page of endpoints.",
            content=WebhookEndpointPage,
            links={
                "first": Link(
                    operation_id="getWebhookEndpoint",
                    description="Read the first of them.",
                    parameters={"endpoint_id": "$response.body#/items/0/endpoint_id"},
                )
            },
        )
    },
)
GET = Operation(
    operation_id="getWebhookEndpoint",
    summary="Read a webhook endpoint, without its secret",
    tag="webhooks",
    scope="webhooks",
    headers=("If-None-Match",),
    answers={200: Answer(description="The endpoint.", content=WebhookEndpoint, headers=("ETag",))},
)
CREATE = Operation(
    operation_id="createWebhookEndpoint",
    summary="Make a webhook endpoint",
    description="Messages follow the Standard Webhooks specification: `webhook-id`, "
    "`webhook-timestamp` and `webhook-signature` (`v1`, HMAC-SHA256 by the secret, which is in "
    "this answer alone). An answer of 2xx within 20 s, or what the installation has set, is a "
    "success. Anything else, redirects too, is tried again after 5 s, 5 min, 30 min, 2 h, 5 h, "
    "10 h, 14 h, 20 h and 24 h, each up to a fifth longer and not before `Retry-After`. "
    "An answer of 410, or three days without any success, disables the endpoint. Messages come at "
    "least once and in any order; `sequence` counts those of an endpoint, "
    "and goes on counting while it is disabled: a gap that stays tells that something was missed.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    body=WebhookEndpointRequest,
    problems=("conflict",),
    examples={"of the office": _EXAMPLE},
    answers={
        201: Answer(
            description="The endpoint, with its secret.",
            content=WebhookEndpointSecret,
            headers=("ETag", "Location"),
            links={
                "read": Link(
                    operation_id="getWebhookEndpoint",
                    description="Read it again, without the secret.",
                    parameters={"endpoint_id": "$response.body#/endpoint/endpoint_id"},
                ),
                "deliveries": _DELIVERIES,
                "test": _TEST_LINK,
            },
        )
    },
)
CHANGE = Operation(
    operation_id="putWebhookEndpoint",
    summary="Change, enable or disable a webhook endpoint",
    description="Needs `If-Match` with the ETag of the endpoint, or `*`. While it is disabled "
    "nothing new is put in its queue but counted, and what waits there is held; enabling sends "
    "that. What was missed meanwhile, by a gap in `sequence`, is found by listing plans and jobs.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    headers=("If-Match",),
    body=WebhookEndpointRequest,
    examples={"fewer events": _EXAMPLE | {"events": ["job.closed"]}},
    answers={
        200: Answer(description="The endpoint now.", content=WebhookEndpoint, headers=("ETag",))
    },
)
DELETE = Operation(
    operation_id="deleteWebhookEndpoint",
    summary="Delete a webhook endpoint with its deliveries",
    description="Needs `If-Match` with the ETag of the endpoint, or `*`. What waits in its queue "
    "is dropped.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    headers=("If-Match",),
    answers={204: Answer(description="It is gone.", media_types=())},
)
ROTATE = Operation(
    operation_id="rotateWebhookSecret",
    summary="Give a webhook endpoint a new secret",
    description="Needs `If-Match` with the ETag of the endpoint, or `*`. For 24 hours messages are "
    "signed by the secret before as well; one that must not be trusted any more is out at once by "
    "rotating twice.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    headers=("If-Match",),
    answers={
        200: Answer(
            description="The endpoint, with its new secret.",
            content=WebhookEndpointSecret,
            headers=("ETag",),
            links={"deliveries": _DELIVERIES},
        )
    },
)
TEST = Operation(
    operation_id="testWebhookEndpoint",
    summary="Send a test message to a webhook endpoint",
    description="A message of the type `endpoint.test`, queued and tried like any other.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    problems=("conflict",),
    answers={
        202: Answer(
            description="The message, in the queue.",
            content=WebhookDelivery,
            links={"again": _AGAIN},
        )
    },
)
LIST_DELIVERIES = Operation(
    operation_id="listWebhookDeliveries",
    summary="List what was delivered to a webhook endpoint, the newest first",
    description="Each message with its attempts. Those that do not wait any more are kept 30 days.",
    tag="webhooks",
    scope="webhooks",
    query=WebhookDeliveryQuery,
    answers={200: Answer(description="A page of deliveries.", content=WebhookDeliveryPage)},
)
REDELIVER = Operation(
    operation_id="redeliverWebhook",
    summary="Send a message to its webhook endpoint once more",
    description="With its old id, sequence and body, whatever became of it, with all its tries. "
    "One that is being sent just now stays as it is.",
    tag="webhooks",
    scope="webhooks",
    changes=True,
    problems=("conflict",),
    answers={
        202: Answer(
            description="The message, in the queue.",
            content=WebhookDelivery,
            links={"again": _AGAIN},
        )
    },
)
