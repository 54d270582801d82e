"""What the service counts of itself, told in the text format that Prometheus reads.

Labels are route templates, known methods and classes of status, so their number is bounded
whatever anyone sends. Each process counts for itself.
"""

from bisect import bisect_left
from collections.abc import Iterator
from typing import Literal, get_args

BUCKETS_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"

TurnedAway = Literal[
    "address-too-long",
    "body-slow",
    "head-slow",
    "head-too-large",
    "idle",
    "malformed-request",
    "no-room",
    "unread",
]
"""Why a connection was refused or cut, or a body found no room."""

_METHODS = frozenset({"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT"})


class Metrics:
    """Counts of requests, how long they took, and how many are under way."""

    def __init__(self) -> None:
        self.in_flight = 0
        self._requests: dict[tuple[str, str, str], int] = {}
        self._buckets: dict[str, list[int]] = {}
        self._seconds: dict[str, float] = {}
        self._limited = {"address": 0, "key": 0}
        self._turned_away: dict[TurnedAway, int] = dict.fromkeys(get_args(TurnedAway), 0)
        self.webhooks_due = 0
        self._webhooks: dict[str, int] = {}

    def count(self, *, method: str, route: str | None, status: int, seconds: float) -> None:
        """Note one answered request; no route for a path that nothing is at."""
        told = route or "none"
        key = (method if method in _METHODS else "other", told, f"{status // 100}xx")
        self._requests[key] = self._requests.get(key, 0) + 1
        buckets = self._buckets.setdefault(told, [0] * (len(BUCKETS_S) + 1))
        buckets[bisect_left(BUCKETS_S, seconds)] += 1
        self._seconds[told] = self._seconds.get(told, 0.0) + seconds

    def count_limited(self, kind: str) -> None:
        """Note one request that a rate limit turned away."""
        self._limited[kind] += 1

    def count_turned_away(self, why: TurnedAway) -> None:
        """Note one connection that was refused or cut, or one body that found no room."""
        self._turned_away[why] += 1

    def count_webhook(self, outcome: str) -> None:
        """Note one attempt to deliver a webhook; outcomes are few words of our own."""
        self._webhooks[outcome] = self._webhooks.get(outcome, 0) + 1

    def text(self) -> str:
        """Everything, one sample a line."""
        return "\n".join(self._lines()) + "\n"

    def _lines(self) -> Iterator[str]:
        yield from _head("requests_total", "counter", "Answered requests.")
        for (method, route, status), count in sorted(self._requests.items()):
            labels = f'method="{method}",route="{route}",status="{status}"'
            yield f"exchange_api_requests_total{{{labels}}} {count}"
        yield from _head("request_seconds", "histogram", "Time to the end of the answer.")
        for route in sorted(self._buckets):
            yield from self._histogram(route)
        yield from _head("requests_in_flight", "gauge", "Requests under way.")
        yield f"exchange_api_requests_in_flight {self.in_flight}"
        yield from _head("requests_limited_total", "counter", "Requests over a rate limit.")
        for kind, count in sorted(self._limited.items()):
            yield f'exchange_api_requests_limited_total{{by="{kind}"}} {count}'
        yield from _head("turned_away_total", "counter", "Connections and bodies refused or cut.")
        for why, count in sorted(self._turned_away.items()):
            yield f'exchange_api_turned_away_total{{why="{why}"}} {count}'
        yield from _head("webhook_attempts_total", "counter", "Attempts to deliver a webhook.")
        for outcome, count in sorted(self._webhooks.items()):
            yield f'exchange_api_webhook_attempts_total{{outcome="{outcome}"}} {count}'
        yield from _head("webhooks_due", "gauge", "Webhooks in the queue that are due.")
        yield f"exchange_api_webhooks_due {self.webhooks_due}"

    def _histogram(self, route: str) -> Iterator[str]:
        name, total = "exchange_api_request_seconds", 0
        for edge, count in zip((*BUCKETS_S, "+Inf"), self._buckets[route], strict=True):
            total += count
            yield f'{name}_bucket{{route="{route}",le="{edge}"}} {total}'
        yield f'{name}_sum{{route="{route}"}} {self._seconds[route]:.6f}'
        yield f'{name}_count{{route="{route}"}} {total}'


def _head(name: str, kind: str, help_: str) -> Iterator[str]:
    yield f"# HELP exchange_api_{name} {help_}"
    yield f"# TYPE exchange_api_{name} {kind}"
