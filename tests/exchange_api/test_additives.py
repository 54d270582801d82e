"""What is no additive: each fault where it stands."""

from typing import Any

import httpx
import pytest

from tests.exchange_api.bay_desk import CLEANER


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"pack": {"value": 101, "unit": "L"}}, "#/pack"),
        ({"pack": {"value": 0.9, "unit": "mL"}}, "#/pack"),
        ({"contact": {"value": 59, "unit": "s"}}, "#/contact"),
        ({"contact": {"value": 61, "unit": "min"}}, "#/contact"),
        ({"contact_above": {"value": 19.9, "unit": "Cel"}}, "#/contact_above"),
        ({"contact_above": {"value": 120.1, "unit": "Cel"}}, "#/contact_above"),
        ({"largest_share": 0.061}, "#/largest_share"),
    ],
)
def test_an_additive_outside_what_can_be_computed_is_refused(
    client: httpx.Client, changed: dict[str, Any], pointer: str
) -> None:
    answer = client.put("/v1/additives/invented-cleaner", json=CLEANER | changed)

    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
