"""The mobile app in the bay: events that arrive late, doubled and out of order, and guidance."""

from datetime import datetime, timedelta
from typing import Any

import httpx

from exchange_api.demo.account import Account
from exchange_api.outside import Outside
from libexchange.fluid import volume_correction_factor

DEVICE = "invented-phone-1"
DENSITY_15_KG_M3 = 850.0
FRESH_C, DRAINED_C, LINE_C = 20.0, 45.0, 84.0
CORRECTION_L = 0.3


class Bay:
    """What happens at one vehicle, in order; the device counts the events of the job from 0."""

    def __init__(self, plan: dict[str, Any], began: datetime, outside: Outside) -> None:
        self._steps = {step["kind"]: step for step in plan["steps"]}
        self._now = began
        self._outside = outside
        self.events: list[dict[str, Any]] = []

    def happened(self, kind: str, *, after_s: float = 60, **members: Any) -> dict[str, Any]:
        """One event, some seconds after the one before."""
        self._now += timedelta(seconds=after_s)
        event = {
            "event_id": self._outside.new_id(),
            "kind": kind,
            "occurred_at": self._now.isoformat(),
            "sequence": len(self.events),
            **members,
        }
        self.events.append(event)
        return event

    def done(self, step: str, *, after_s: float = 240) -> None:
        """A step of the plan is confirmed."""
        self.happened("step_confirmed", after_s=after_s, step_id=self._steps[step]["step_id"])

    def moved(
        self, step: str, direction: str, litres_15: float, at_c: float, *, after_s: float = 60
    ) -> None:
        """Fluid moved, as a meter shows it at its own temperature."""
        factor = volume_correction_factor(density_15_kg_m3=DENSITY_15_KG_M3, temperature_c=at_c)
        self.happened(
            "fluid_moved",
            after_s=after_s,
            direction=direction,
            volume={"value": round(litres_15 / factor, 2), "unit": "L"},
            temperature={"value": at_c, "unit": "Cel"},
            step_id=self._steps[step]["step_id"],
        )

    def readings(self, celsius: list[float], *, every_s: float, **members: Any) -> None:
        """A run of temperatures from the scan tool, with a flow where one is given."""
        for value in celsius:
            self.happened(
                "reading",
                after_s=every_s,
                source="scan_tool",
                temperature={"value": value, "unit": "Cel"},
            )
            if members:
                self.happened("reading", after_s=0, source="in_line", **members)

    def look(self, observed: str, at_c: float) -> None:
        """A look at the overflow plug."""
        self.happened(
            "level_checked",
            after_s=4,
            method="overflow_plug",
            temperature={"value": at_c, "unit": "Cel"},
            observed=observed,
            engine_running=True,
            step_id=self._steps["set_level"]["step_id"],
        )

    @property
    def now(self) -> str:
        """The moment of the newest event."""
        return self._now.isoformat()

    def litres(self, step: str) -> float:
        """What a step of the plan asks for."""
        return float(self._steps[step]["quantity"]["value"])


def work(
    client: httpx.Client, plan: dict[str, Any], account: Account, outside: Outside
) -> tuple[str, str]:
    """A whole job on a plan; the job's id and the ETag to close it with."""
    account.title("The mobile app works the first plan, with a bad connection")
    job_id = outside.new_id()
    client.put(f"/v1/jobs/{job_id}", json={"plan_id": plan["plan_id"]}).raise_for_status()
    bay = Bay(plan, outside.now() - timedelta(hours=5), outside)
    _open_up(bay)
    first = _post(client, job_id, bay.events, outside)
    account.line(f"Posted {len(first)} events: {_counted(first)}")
    _guide(client, job_id, bay.now, account, "Connected cold, engine idling")
    sent = len(bay.events)
    _exchange(bay)
    exchanged_at = bay.now
    _set_level(bay)
    late, middle = bay.events[sent : sent + 12], bay.events[sent + 12 :]
    backwards = _post(client, job_id, middle[::-1], outside)
    account.line(f"Posted the later {len(middle)} first and backwards: {_counted(backwards)}")
    doubled = _post(client, job_id, [*late, *bay.events], outside)
    account.line(f"Posted the earlier late, and everything again: {_counted(doubled)}")
    _guide(client, job_id, exchanged_at, account, "As it stood after the line exchange")
    _tell_job(client, job_id, account)
    return job_id, client.get(f"/v1/jobs/{job_id}").raise_for_status().headers["etag"]


def _open_up(bay: Bay) -> None:
    bay.happened("started")
    bay.happened("arrived", drive="ok")
    bay.happened("fault_codes_read", when="before")
    bay.done("arrival_check")
    bay.done("raise_vehicle")
    bay.done("prove_fill_opening")
    bay.readings([43.0], every_s=30)
    bay.moved("pan_and_filter", "out", bay.litres("refill"), DRAINED_C)
    bay.readings([38.0], every_s=1400)
    bay.done("pan_and_filter", after_s=100)
    bay.happened("fluid_opened", fluid_kind="invented-red-six", lot="invented-lot-31")
    bay.moved("refill", "in", bay.litres("refill"), FRESH_C)
    bay.done("refill")
    bay.readings([24.0], every_s=480)
    bay.done("connect_lines", after_s=120)
    bay.readings([24.0, 26.1, 28.2, 30.3], every_s=60)


def _exchange(bay: Bay) -> None:
    bay.readings([72.0, 76.5, 81.0], every_s=600)
    bay.done("warm_up")
    for _ in range(4):
        bay.readings([83.5, 84.0], every_s=4, flow={"value": 2.4, "unit": "L/min"})
    bay.moved("line_exchange", "in", bay.litres("line_exchange"), FRESH_C, after_s=2)
    bay.moved("line_exchange", "out", bay.litres("line_exchange"), LINE_C)
    bay.done("line_exchange")


def _set_level(bay: Bay) -> None:
    bay.readings([34.0], every_s=6000)
    bay.done("cool_down")
    bay.readings([33.5], every_s=120)
    bay.done("disconnect_lines")
    bay.readings([36.0, 36.4, 36.8, 37.2], every_s=4)
    bay.look("nothing", 37.3)
    bay.moved("set_level", "in", CORRECTION_L, FRESH_C)
    bay.readings([38.0, 38.4, 38.8], every_s=4)
    bay.look("drip", 39.0)
    bay.readings([39.2, 39.4, 39.6], every_s=4)
    bay.done("set_level", after_s=2)
    bay.happened("leak_checked", after_s=600, result="dry")
    bay.happened("test_drive", after_s=1200, result="ok", distance={"value": 9, "unit": "km"})
    bay.happened("fault_codes_read", when="after")
    bay.happened("work_finished")
    bay.done("hand_over")


def _post(
    client: httpx.Client, job_id: str, events: list[dict[str, Any]], outside: Outside
) -> list[str]:
    body = {"device_id": DEVICE, "sent_at": outside.now().isoformat(), "events": events}
    answered = client.post(f"/v1/jobs/{job_id}/events", json=body).raise_for_status()
    return [item["outcome"] for item in answered.json()["items"]]


def _counted(outcomes: list[str]) -> str:
    kinds = dict.fromkeys(outcomes)
    return ", ".join(f"{outcomes.count(kind)} {kind.replace('_', ' ')}" for kind in kinds)


def _guide(client: httpx.Client, job_id: str, at: str, account: Account, when: str) -> None:
    told = client.get(f"/v1/jobs/{job_id}/guidance", params={"at": at}).raise_for_status().json()
    step = told["next_step"]["title"] if told["next_step"] else "nothing left"
    account.line(f"{when}, the next step is: {step}")
    for gate in told["gates"]:
        expected = f" Expected to open at {gate['opens_at'][11:16]}." if gate["opens_at"] else ""
        account.line(f"    {gate['gate_id']} is {gate['state']}: {gate['reason']}{expected}")
    for finding in told["blocking"]:
        said = "worth knowing" if finding["severity"] == "note" else "in the way"
        account.line(f"    {said}: {finding['title']}")


def _tell_job(client: httpx.Client, job_id: str, account: Account) -> None:
    state = client.get(f"/v1/jobs/{job_id}").raise_for_status().json()["state"]
    balance, level, share = state["balance"], state["level"], state["fresh_share"]
    account.line(f"Level: corrected by {level['added']['value']:.2f} L in {level['rounds']} round, "
                 f"now {level['standing'].replace('_', ' ')}")  # fmt: skip
    account.line(f"Balance at 15 °C: {balance['in_15']['value']:.2f} L in, "
                 f"{balance['out_15']['value']:.2f} L out: {balance['verdict']}")  # fmt: skip
    account.line(f"Fresh share reached: {share['expected']:.2f} "
                 f"({share['low']:.2f} to {share['high']:.2f}), {share['basis']}")  # fmt: skip
