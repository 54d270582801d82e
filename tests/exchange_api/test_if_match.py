"""Nobody overwrites what they have not seen, and nothing that must stay is ever removed."""

import ast
from pathlib import Path

import httpx
import pytest

from exchange_api import changing
from tests.exchange_api.bay_desk import problem
from tests.exchange_api.every_operation import ROUTES, Call, recipe

ONLY_ADDS = frozenset(
    {
        "createApiKey", "createPlan", "createWebhookEndpoint", "exportPlans", "postEvents",
        "putAttachment", "putLegalHold", "redeliverWebhook", "startJob", "testWebhookEndpoint",
    }
)  # fmt: skip
"""They make something new and never alter what is there: what exists already is told or kept."""
CHANGES = [one for one, route in ROUTES.items() if route.declared.changes and one not in ONLY_ADDS]
MAY_BE_REMOVED = {
    "ATTACHMENT_PIECES", "IDEMPOTENCY", "JOB_PHOTOS", "RATE_WINDOWS",
    "WEBHOOK_ATTEMPTS", "WEBHOOK_DELIVERIES", "WEBHOOK_ENDPOINTS",
}  # fmt: skip


def there(client: httpx.Client, operation_id: str) -> tuple[Call, str]:
    """A call that would change something that is there, and where to read that."""
    made, method = recipe(operation_id), ROUTES[operation_id].method
    call = made.ready(client)
    if made.right == 201:
        assert call.send(client, method).status_code == 201
    acts = ("/close", "/erase-personal-data", "/reopen", "/revoke", "/rotate-secret")
    return call, next((call.path.removesuffix(one) for one in acts if one in call.path), call.path)


@pytest.mark.parametrize("operation_id", CHANGES)
def test_what_changes_something_asks_for_the_version_that_was_seen(
    client: httpx.Client, operation_id: str
) -> None:
    call, path = there(client, operation_id)
    before = client.get(path)

    def send(**headers: str) -> httpx.Response:
        method = ROUTES[operation_id].method
        return client.request(method, call.path, json=call.json, headers=headers)

    without, stale = send(), send(**{"If-Match": '"of-another-version"'})
    kept = client.get(path)
    right = send(**{"If-Match": before.headers["etag"]})
    again = send(**{"If-Match": before.headers["etag"]})

    assert problem(without) == (428, "precondition-required", {"If-Match"})
    assert problem(stale) == (412, "stale", {"If-Match"})
    assert (kept.content, kept.headers["etag"]) == (before.content, before.headers["etag"])
    assert right.is_success, right.text
    is_gone = client.get(path).status_code == 404
    is_same = right.headers.get("etag") == before.headers["etag"]
    assert is_gone == operation_id.startswith("delete")
    assert again.status_code == (404 if is_gone else 200 if is_same else 412)


def test_what_only_adds_is_known_by_name() -> None:
    assert {one for one in ONLY_ADDS if not ROUTES[one].declared.changes} == set()
    assert {one for one in ONLY_ADDS if "If-Match" in ROUTES[one].declared.headers} == set()
    assert {one for one in CHANGES if "If-Match" not in ROUTES[one].declared.headers} == set()


def test_rows_are_removed_from_no_table_but_those_that_say_so() -> None:
    """Plans, jobs, events and the audit log are kept for ever."""
    removed = set()
    for path in Path(changing.__file__).parent.rglob("*.py"):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "delete":
                removed.add(ast.unparse(call.args[0]))
            if isinstance(call, ast.Constant) and "DELETE FROM" in str(call.value).upper():
                removed.add(str(call.value))

    assert removed == MAY_BE_REMOVED
