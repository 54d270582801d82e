"""The phones of a job: the mobile app on a bad line, and what a person does with it."""

from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import uuid4

import httpx

from examples.mobile_app.work_offline import Outbox

BEGAN = datetime(2026, 3, 4, 7, 0, tzinfo=UTC)
"""When the first job of the invented day begins; the bay has its own clock."""

TYPED = frozenset({"arrived", "bench_checked", "fluid_moved", "level_checked", "leak_checked",
                   "test_drive", "caution_acknowledged", "fluid_set_aside", "paused", "resumed",
                   "aborted", "made_safe", "note", "correction",
                   "second_check"})  # fmt: skip
"""Events that a person types into; steps are taps, readings come from tools, labels are scanned."""

BACKWARDS, TWICE = 0.1, 0.1


class Phones:
    """One or two phones that write into the same job, and what was typed into them."""

    def __init__(self, client: httpx.Client, job: str, chance: Random) -> None:
        self._client = client
        self._job = job
        self._chance = chance
        self.now = BEGAN
        self.typed = self.taps = 0
        self.boxes: list[Outbox] = []
        self._ahead_s: list[float] = []
        self._writing = 0
        self.both = False
        self.held: list[dict[str, Any]] = []
        self.forgets = self.posts_late = ""
        self.late: list[dict[str, Any]] = []
        self._sent: list[list[dict[str, Any]]] = []
        self.take_another()

    def take_another(self, *, ahead_s: float = 0.0) -> None:
        """From now on another phone writes, whose clock may run ahead or behind."""
        number = len(self.boxes) + 1
        device = f"invented-bay-phone-{number}"
        self.boxes.append(Outbox(self.now, device=device))
        self._ahead_s.append(ahead_s)
        self._sent.append([])
        self._writing = number - 1

    def die(self) -> list[dict[str, Any]]:
        """The phone in use is gone for now; what waits on it."""
        waiting = [*self.boxes[self._writing].waiting]
        self.boxes[self._writing].waiting.clear()
        return waiting

    def write(self, kind: str, *, phone: int | None = None, **members: Any) -> dict[str, Any]:
        """One thing that happened now; `phone` picks one, and `both` lets two take turns.

        The first of a kind that is forgotten is not written, or is written by `catch_up`.
        """
        if kind in (self.forgets, self.posts_late):
            return self._slipped(kind, members)
        place = self._writing if phone is None else phone
        if phone is None and self.both:
            place = self._chance.randrange(len(self.boxes))
        box = self.boxes[place]
        box.now = self.now + timedelta(seconds=self._ahead_s[place])
        box.write(kind, after_s=0, **members)
        self.typed += kind in TYPED
        self.taps += kind == "step_confirmed"
        return box.waiting[-1]

    def _slipped(self, kind: str, members: dict[str, Any]) -> dict[str, Any]:
        late = {"kind": kind, "occurred_at": self.now.isoformat(), **members}
        if kind == self.posts_late:
            self.late.append(late)
        self.forgets = self.posts_late = ""
        return {"event_id": str(uuid4()), **late}

    def catch_up(self) -> None:
        """What was forgotten is typed in now, with the moment at which it happened."""
        forgotten, self.late = self.late, []
        for event in forgotten:
            made = self.write(event["kind"])
            made.update(event)

    def send(self) -> None:
        """Send what waits: now and then backwards, and now and then what went before once more."""
        for box, sent in zip(self.boxes, self._sent, strict=True):
            if not box.waiting:
                continue
            events = [*box.waiting]
            if self._chance.random() < BACKWARDS:
                events.reverse()
            if self._chance.random() < TWICE:
                events.extend(sent[-20:])
            outcomes = box.post(self._client, self._job, events)
            refused = {one for one, said in outcomes.items() if said in ("refused", "conflict")}
            if refused:
                kinds = [one["kind"] for one in events if one["event_id"] in refused]
                raise RuntimeError(f"the service refused {', '.join(kinds)}")
            sent.extend(box.waiting)
            box.waiting.clear()

    def send_held(self) -> None:
        """The dead phone is charged again and sends what it held."""
        self.boxes[0].waiting.extend(self.held)
        self.held = []
        self.send()

    def guidance(self) -> dict[str, Any]:
        """Ask what is next, by the moment of the newest event."""
        newest = max(box.now for box in self.boxes)
        asked = {"at": max(newest, self.now).isoformat()}
        told: dict[str, Any] = (
            self._client.get(f"{self._job}/guidance", params=asked).raise_for_status().json()
        )
        return told
