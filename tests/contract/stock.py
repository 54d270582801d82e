"""Things that are there while schemathesis runs, so that good data meet something."""

import os
from collections.abc import Callable
from functools import cached_property
from itertools import count
from typing import Any
from uuid import UUID

import httpx
import msgspec

from libexchange import invented
from tests.exchange_api.attachments.album import address, picture

_Document = dict[str, Any]
NOBODY: _Document = {"url": "http://127.0.0.1:9/nobody", "events": ["job.closed"]}
"""A webhook endpoint that nothing leaves the machine for."""


class Stock:
    """A plan, jobs and catalogue entries, each made over HTTP when it is first asked for."""

    def __init__(self) -> None:
        self._numbers = count(1)
        self._endpoint_id = "none-yet"

    @cached_property
    def _client(self) -> httpx.Client:
        key = os.environ["EXCHANGE_API_TEST_KEY"]
        return httpx.Client(
            base_url=os.environ["EXCHANGE_API_TEST_URL"], headers={"Authorization": f"Bearer {key}"}
        )

    def id_of(self, parameter: str) -> str | None:
        """The id of something that a path parameter names; None where there is no such thing."""
        made: dict[str, Callable[[], str]] = {
            "plan_id": lambda: self.plan_id,
            "job_id": lambda: self.closed_job_id,
            "transmission_id": lambda: self.entry("transmissions", "transmission_id"),
            "additive_id": lambda: self.entry("additives", "additive_id"),
            "fluid_id": lambda: self.entry("fluids", "fluid_id"),
            "digest": lambda: self.digest,
            "key_id": self.new_key_id,
            "endpoint_id": lambda: self.endpoint_id,
            "delivery_id": lambda: self.delivery_id,
            "slug": lambda: "not-found",
        }
        return made[parameter]() if parameter in made else None

    def fresh_id(self) -> str:
        """An id that nothing has."""
        return str(UUID(int=next(self._numbers) << 64))

    @cached_property
    def transmission(self) -> _Document:
        """An invented transmission."""
        return _document(invented.six_speed())

    @cached_property
    def plan_id(self) -> str:
        """A plan that can be worked by."""
        wanted = _document(invented.routine_request()) | {
            "transmission": None,
            "transmission_id": self.entry("transmissions", "transmission_id"),
        }
        made = self._done("POST", "/v1/plans", wanted, {"Idempotency-Key": self.fresh_id()})
        return str(made["plan_id"])

    def open_job_id(self) -> str:
        """A new job, so that it can be closed."""
        job_id = self.fresh_id()
        self._done("PUT", f"/v1/jobs/{job_id}", {"plan_id": self.plan_id})
        return job_id

    @property
    def endpoint_id(self) -> str:
        """A webhook endpoint where nobody is, enabled whatever was done to the one before."""
        found = self._client.get(f"/v1/webhook-endpoints/{self._endpoint_id}")
        if not (found.is_success and found.json()["enabled"]):
            self._endpoint_id = self.new_endpoint_id()
        return self._endpoint_id

    def new_endpoint_id(self) -> str:
        """A webhook endpoint of its own, so that it can be changed and deleted.

        Others make way for it, since a workshop has only so many.
        """
        for other in self._done("GET", "/v1/webhook-endpoints?limit=200", None)["items"][10:]:
            path = f"/v1/webhook-endpoints/{other['endpoint_id']}"
            assert self._client.delete(path, headers={"If-Match": "*"}).status_code == 204
        made = self._done("POST", "/v1/webhook-endpoints", NOBODY)
        return str(made["endpoint"]["endpoint_id"])

    @property
    def delivery_id(self) -> str:
        """A message to that endpoint."""
        made = self._done("POST", f"/v1/webhook-endpoints/{self.endpoint_id}/test", None)
        return str(made["delivery_id"])

    @cached_property
    def closed_job_id(self) -> str:
        """A job with a record."""
        return self.new_closed_job_id()

    def new_closed_job_id(self) -> str:
        """A closed job of its own, so that it can be opened again."""
        job_id = self.open_job_id()
        self._done("POST", f"/v1/jobs/{job_id}/close", None, {"If-Match": "*"})
        return job_id

    @cached_property
    def digest(self) -> str:
        """A picture that is there."""
        raw = picture()
        headers = {"Content-Type": "image/png"}
        answer = self._client.put(address(raw), content=raw, headers=headers)
        assert answer.status_code == 201, answer.text
        return str(answer.json()["digest"])

    def new_key_id(self) -> str:
        """A key of its own name, so that it can be revoked."""
        wanted = {"name": self.fresh_id(), "scopes": ["calculate"]}
        return str(self._done("POST", "/v1/api-keys", wanted, None)["api_key"]["key_id"])

    def entry(self, kind: str, id_field: str) -> str:
        """An entry of the catalogue."""
        records = {
            "additives": _document(invented.cleaner()),
            "fluids": _document(invented.red_fluid()),
            "transmissions": self.transmission,
        }
        entry_id = f"0-{kind}"  # the first of every list
        record = records[kind] | {id_field: entry_id}
        self._done("PUT", f"/v1/{kind}/{entry_id}", record, {"If-None-Match": "*"}, known=412)
        return entry_id

    def _done(
        self,
        method: str,
        path: str,
        body: _Document | None,
        headers: dict[str, str] | None = None,
        known: int = 200,
    ) -> _Document:
        answer = self._client.request(method, path, json=body, headers=headers)
        assert answer.is_success or answer.status_code == known, answer.text
        made: _Document = answer.json()
        return made


def _document(record: msgspec.Struct) -> _Document:
    made: _Document = msgspec.json.decode(msgspec.json.encode(record))
    return made
