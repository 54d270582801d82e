"""One job from the request of a plan to the verdict, and what is true of the vehicle then."""

from dataclasses import dataclass
from random import Random
from typing import Any
from uuid import uuid4

import httpx

from examples.simulated_bay.bay import Bay, StoppedError
from examples.simulated_bay.phone import BEGAN, Phones
from examples.simulated_bay.scenario import Scenario, draw
from examples.simulated_bay.steps import STEPS

ACCEPTED = ("accepted", "accepted_with_remarks")
RETYPED = frozenset({"started", "step_confirmed", "fluid_moved", "fluid_opened", "level_checked",
                     "caution_acknowledged", "leak_checked", "test_drive", "fluid_set_aside",
                     "arrived", "bench_checked", "fault_codes_read"})  # fmt: skip
"""What a person still knows after a phone was lost; readings are gone."""

OWN_GROUNDS = frozenset({"coolant", "wrong plug", "oil lamp", "leak", "sensor", "does not cool",
                         "does not warm up", "no flow", "complaint"})  # fmt: skip
"""Why a technician stops by himself; a stop by the service on a sound vehicle is a refusal."""

TOWED = frozenset({"coolant", "wrong plug", "oil lamp"})
PERSON = "Invented Person"

SURVIVES, IN_TIME = 0.5, 0.8
"""How often what a dead phone held is sent later, and how often that, or what was forgotten, comes
before the office closes."""

LEFT_OUT = frozenset({"step_not_confirmed", "event_left_out"})
"""Slips that leave the record short: to ask for what is missing is no false refusal."""


@dataclass(frozen=True)
class Outcome:
    """One job: what was accepted, what was true, and what it cost in typing and waiting.

    `unsafe` is all that is true, `hidden` the part of it that nobody has measured and recorded;
    `codes` are the findings that speak against it, `ended` where it stopped, empty at the end;
    `broken` is a sensor or cooler that nobody has mended.
    """

    number: int
    unit: str
    fault: str
    verdict: str
    conduct: str
    unsafe: tuple[str, ...]
    hidden: tuple[str, ...]
    codes: tuple[str, ...]
    ended: str
    broken: bool
    evidence_lost: bool
    typed: int
    taps: int
    cautions: int
    most_cautions: int
    waited_min: float
    fresh_share: float
    told_share: float | None
    level_error_l: float

    @property
    def accepted(self) -> bool:
        """Whether the service let it go, with or without remarks."""
        return self.verdict in ACCEPTED

    @property
    def told(self) -> tuple[str, ...]:
        """What is unsafe and was measured and recorded, or shows in what is missing."""
        return tuple(name for name in self.unsafe if name not in self.hidden)

    @property
    def put_to_verdict(self) -> bool:
        """Whether the technician went on to the end of the plan, so that the verdict decides."""
        return not self.ended

    @property
    def unsafe_accepted(self) -> bool:
        """The one thing that must not happen: it was told, and was accepted."""
        return self.accepted and bool(self.told)

    @property
    def hidden_from_service(self) -> bool:
        """Unsafe to the end, and nothing of it was told."""
        return self.put_to_verdict and bool(self.unsafe) and not self.told

    @property
    def good(self) -> bool:
        """Nothing wrong or broken, no evidence lost, and no true reason to end before the end."""
        own_ground = self.fault != "none" and self.ended in OWN_GROUNDS
        return not (self.unsafe or self.broken or self.evidence_lost or own_ground)

    @property
    def falsely_refused(self) -> bool:
        """Good work that was not accepted."""
        return self.good and not self.accepted


def run_job(client: httpx.Client, seed: int, number: int) -> Outcome:
    """Ask the plan, work it, close it, compare."""
    scenario = draw(seed, number)
    chance = Random(f"{seed}/{number}/work")  # noqa: S311 -- a simulation has to be repeatable
    plan = ask_plan(client, scenario)
    job = f"/v1/jobs/{uuid4()}"
    client.put(job, json={"plan_id": plan["plan_id"]}).raise_for_status()
    phones = Phones(client, job, chance)
    bay = Bay(scenario, plan, phones, chance)
    if scenario.fault == "event_left_out":
        phones.forgets = scenario.slipped_kind
    if scenario.fault == "posted_late":
        phones.posts_late = scenario.slipped_kind
    if scenario.fault == "two_technicians":
        phones.take_another(ahead_s=chance.gauss(0, 1))
        phones.both = True
    ended, lost = work(bay)
    return _compared(client, job, bay, ended, lost)


def ask_plan(client: httpx.Client, scenario: Scenario) -> dict[str, Any]:
    """What the dealer management system asks for."""
    request = {
        "requested_at": BEGAN.isoformat(),
        "service_date": BEGAN.date().isoformat(),
        "vehicle": {"reference": f"invented-bay-{scenario.number}"},
        "transmission": scenario.unit.profile,
        "fluid_id": "invented-red-fluid",
        "reason": "routine",
        "route": scenario.unit.route,
    }
    plan: dict[str, Any] = (
        client.post("/v1/plans", json=request, headers={"Idempotency-Key": str(uuid4())})
        .raise_for_status()
        .json()
    )
    if not plan["feasible"]:
        raise RuntimeError(f"no plan for {scenario.unit.name}: {plan['findings']}")
    return plan


def work(bay: Bay) -> tuple[str, bool]:
    """Step by step; why it ended before the end, and whether evidence comes after the close."""
    ended = ""
    try:
        for number, step in enumerate(bay.plan["steps"]):
            bay.step = step
            if number == bay.scenario.fault_after_step:
                _interrupted(bay)
            STEPS[step["kind"]](bay)
            if bay.online() and bay.scenario.fault != "phone_dead":
                bay.phones.send()
    except StoppedError as why:
        ended = str(why)
        _made_safe(bay, ended)
    bay.phones.send()
    waiting = bool(bay.phones.held or bay.phones.late)
    too_late = waiting and bay.chance.random() >= IN_TIME
    if not too_late:
        bay.phones.catch_up()
        bay.phones.send_held()
    return ended, too_late or bay.scenario.fault in LEFT_OUT


def _interrupted(bay: Bay) -> None:
    """A phone dies, or the next shift takes over: the engine goes off first."""
    fault, phones = bay.scenario.fault, bay.phones
    if fault not in ("phone_dead", "shift_change"):
        return
    bay.engine = False
    if fault == "shift_change":
        _paused(bay, "End of the shift")
        phones.send()
        bay.pass_time(14 * 3600)
        phones.take_another()
        phones.write("resumed", by="Invented Person of the next shift")
        return
    held = phones.die()
    phones.take_another()
    _paused(bay, "The phone is dead")
    bay.pass_time(1200)
    phones.write("resumed", by=PERSON)
    if bay.chance.random() < SURVIVES:
        phones.held = held
    else:
        _typed_again(bay, held)


def _paused(bay: Bay, reason: str) -> None:
    bay.phones.write("paused", next_action=bay.step["title"], fluid_in=fluid_in(bay),
                     held_by=PERSON, reason=reason)  # fmt: skip


def fluid_in(bay: Bay) -> str:
    """How much of the fluid is in, as anybody knows who has just drained or filled."""
    lacking_l = -bay.vehicle.level_error_l()
    return "all" if lacking_l < 1 else "part"


def _made_safe(bay: Bay, reason: str) -> None:
    """Closed up, and moved only where nothing is known against it."""
    bay.phones.write("aborted", by=PERSON, reason=reason)
    towed = reason in TOWED or fluid_in(bay) != "all"
    bay.phones.write("made_safe", by=PERSON, fluid_in=fluid_in(bay),
                     vehicle="tow" if towed else "stays_here")  # fmt: skip


def _typed_again(bay: Bay, held: list[dict[str, Any]]) -> None:
    """From memory and paper, with the time at which it happened."""
    for event in held:
        if event["kind"] in RETYPED:
            again = {k: v for k, v in event.items() if k not in ("event_id", "sequence", "kind")}
            made = bay.phones.write(event["kind"])
            made.update(again)


def _compared(client: httpx.Client, job: str, bay: Bay, ended: str, lost: bool) -> Outcome:
    view = client.get(job).raise_for_status()
    tag = {"If-Match": view.headers["etag"]}
    closing = client.post(f"{job}/close", headers=tag).raise_for_status().json()
    bay.phones.catch_up()
    bay.phones.send_held()
    unsafe = [*bay.vehicle.unsafe(), *([] if ended else bay.vehicle.unchecked())]
    steps = [len(step["cautions"]) for step in bay.plan["steps"]]
    share = view.json()["state"]["fresh_share"]
    return Outcome(
        number=bay.scenario.number,
        unit=bay.scenario.unit.name,
        fault=bay.scenario.fault or "none",
        verdict=closing["verdict"],
        unsafe=tuple(unsafe),
        hidden=tuple(bay.untold(unsafe)),
        conduct=bay.scenario.conduct,
        codes=tuple(
            dict.fromkeys(f["code"] for f in closing["findings"] if f["severity"] != "note")
        ),
        ended=ended,
        broken=bay.tools.sensor_broken or bay.scenario.fault == "cooler_blocked",
        evidence_lost=lost,
        typed=bay.phones.typed,
        taps=bay.phones.taps,
        cautions=sum(steps),
        most_cautions=max(steps),
        waited_min=bay.waited_s / 60,
        fresh_share=bay.vehicle.circuit.fresh_share,
        told_share=share and share["expected"],
        level_error_l=bay.vehicle.level_error_l(),
    )
