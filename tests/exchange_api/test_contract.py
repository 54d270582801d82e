"""How the contract is made from what handlers declare, and the page for its readers."""

import json
import re
from typing import Any

import httpx
import msgspec
import pytest
from litestar import Litestar

from exchange_api.contract import contract
from exchange_api.contract_parts import schemas_of
from exchange_api.problems import ProblemDocument
from tests.exchange_api.shapes import HANDLERS, Order


@pytest.fixture(scope="module")
def shapes() -> dict[str, Any]:
    app = Litestar(list(HANDLERS), openapi_config=None, logging_config=None)
    made: dict[str, Any] = json.loads(contract(app.routes))
    return made


def test_a_body_says_its_errors(shapes: dict[str, Any]) -> None:
    told = shapes["paths"]["/orders"]["post"]

    assert {"400", "406", "413", "415", "422"} <= told["responses"].keys()
    assert told["requestBody"]["content"]["application/json"]["schema"] == {
        "$ref": "#/components/schemas/Order"
    }


def test_records_that_refuse_unknown_fields_say_so(shapes: dict[str, Any]) -> None:
    assert shapes["components"]["schemas"]["Order"]["additionalProperties"] is False


def test_query_parameters_keep_their_constraints(shapes: dict[str, Any]) -> None:
    parameters = {p["name"]: p for p in shapes["paths"]["/search"]["get"]["parameters"]}

    assert parameters["limit"]["schema"] == {
        "type": "integer", "minimum": 1, "maximum": 50, "default": 20
    }  # fmt: skip
    assert parameters["since"]["schema"] == {"type": "string", "format": "date-time"}
    assert parameters["limit"]["required"] is False


def test_what_is_kept_of_a_docstring_is_prose() -> None:
    _, components = schemas_of([ProblemDocument, Order])

    assert components["ProblemDocument"]["description"].startswith("What went wrong, for programs")
    assert ">>>" not in msgspec.json.encode(components).decode()


def test_the_page_needs_nothing_from_elsewhere(stranger: httpx.Client) -> None:
    page = stranger.get("/docs", headers={"Accept": "text/html"})

    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert "<script" not in page.text
    assert "http://" not in page.text
    assert not re.search(r"(src|href|action)=.?(https?:)?//|@import|url\(", page.text)
    assert "getMe" in page.text


def test_the_contract_is_revalidated_by_its_tag(stranger: httpx.Client) -> None:
    tag = stranger.get("/openapi.json").headers["etag"]

    again = stranger.get("/openapi.json", headers={"If-None-Match": tag})

    assert (again.status_code, again.content) == (304, b"")
