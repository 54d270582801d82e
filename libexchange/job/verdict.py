"""The verdict of a job, from findings alone: the state's own and those of each rule.

A stop finding that says something is missing leaves the job incomplete; any other stop finding
means that the work is not accepted; cautions are remarks; notes change nothing.
"""

from typing import Literal, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from libexchange.findings import Finding, Rule
from libexchange.job import verdict_findings as kinds
from libexchange.job.course_findings import answered
from libexchange.job.evidence_findings import CODES_NOT_READ
from libexchange.job.looks import SETTLED
from libexchange.job.share_findings import SHARE_BELOW_PLAN, short_share
from libexchange.job.state import Acknowledged, JobState
from libexchange.plan.records import Plan, Step, StepKind

JobVerdict = Literal["accepted", "accepted_with_remarks", "not_accepted", "incomplete"]

PROVED_OTHERWISE: frozenset[StepKind] = frozenset({"set_level", "leak_check", "test_drive"})
"""Steps whose own event proves them: a look at the level, a leak check, a drive."""

AFTER_THE_VERDICT: frozenset[StepKind] = frozenset({"hand_over"})

MISSING = frozenset(kind.code for kind in kinds.MISSING)
"""Codes that say what is still to be done; on their own they leave a job incomplete."""


class Verdict(Struct, frozen=True, kw_only=True):
    """The verdict and everything that speaks for it."""

    verdict: JobVerdict
    findings: tuple[Finding, ...]


class JobFacts(NamedTuple):
    """What the rules look at."""

    plan: Plan
    state: JobState


def verdict(plan: Plan, state: JobState) -> Verdict:
    """Whether the work can be accepted.

    Late events are in the state's findings and are told, but change no verdict.
    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.fold import fold
    >>> plan = routine_plan()
    >>> verdict(plan, fold(plan, [])).verdict
    'incomplete'
    """
    findings = answered(found(plan, state), state.overridden)
    return Verdict(verdict=_weigh(findings), findings=tuple(findings))


def found(plan: Plan, state: JobState) -> list[Finding]:
    """All that was found, before anybody answers for it."""
    facts = JobFacts(plan, state)
    return [finding for rule in RULES for finding in rule.check(facts)] + [*state.findings]


def _weigh(findings: list[Finding]) -> JobVerdict:
    counted = [finding for finding in findings if finding.code not in kinds.TELL_ONLY]
    if any(f.severity == "stop" and f.code not in MISSING for f in counted):
        return "not_accepted"
    if any(f.severity == "stop" and f.code in MISSING for f in counted):
        return "incomplete"
    if any(f.severity == "caution" for f in counted):
        return "accepted_with_remarks"
    return "accepted"


def steps_left(plan: Plan, state: JobState) -> list[Step]:
    """The steps that are neither confirmed nor proved by their own event, in order.

    The hand-over is among them until it is confirmed, though no verdict waits for it.
    """
    confirmed = {step.step_id for step in state.confirmed_steps}
    proved = {
        "set_level": state.level is not None and state.level.standing in SETTLED,
        "leak_check": state.leak_check is not None,
        "test_drive": state.test_drive is not None,
    }
    if ends_in_hold(plan):
        del proved["set_level"]  # no look can prove a level without its window
    return [step for step in plan.steps if not proved.get(step.kind, step.step_id in confirmed)]


def ends_in_hold(plan: Plan) -> bool:
    """Whether the vehicle waits for a level window at the end, neither driven nor handed over.

    >>> from libexchange.invented import routine_plan
    >>> ends_in_hold(routine_plan())
    False
    """
    return any(step.kind == "hold" for step in plan.steps)


def _plan_not_feasible(facts: JobFacts) -> list[Finding]:
    if facts.plan.feasible:
        return []
    stops = [finding.title for finding in facts.plan.findings if finding.severity == "stop"]
    return [kinds.PLAN_BARRED.at("#", f"The plan says: {'; '.join(stops)}.")]


def _work_not_finished(facts: JobFacts) -> list[Finding]:
    if facts.state.progress == "finished":
        return []
    return [kinds.WORK_NOT_FINISHED.at("#/progress", f"The job is {facts.state.progress}.")]


def _steps_unconfirmed(facts: JobFacts) -> list[Finding]:
    apart = PROVED_OTHERWISE | AFTER_THE_VERDICT
    left = [step for step in steps_left(facts.plan, facts.state) if step.kind not in apart]
    if not left:
        return []
    text = "Not confirmed: " + "; ".join(f"{step.step_id} {step.title}" for step in left) + "."
    return [kinds.STEPS_UNCONFIRMED.at("#/confirmed_steps", text, values={"steps": len(left)})]


def _route_departed(facts: JobFacts) -> list[Finding]:
    order = {step.step_id: number for number, step in enumerate(facts.plan.steps)}
    done = [step.step_id for step in facts.state.confirmed_steps]
    places = [order[step_id] for step_id in done if step_id in order]
    reasons = [f"{step_id} is not a step of the plan" for step_id in done if step_id not in order]
    if places != sorted(places):
        reasons.append(f"the steps were confirmed in the order {', '.join(done)}")
    if not reasons:
        return []
    text = "; ".join(reasons)
    return [kinds.ROUTE_DEPARTED.at("#/confirmed_steps", f"{text[0].upper()}{text[1:]}.")]


def _level(facts: JobFacts) -> list[Finding]:
    level = facts.state.level
    if level is None:
        return [kinds.LEVEL_NOT_SET.at("#/level", "Nobody has looked at the level.")]
    text = f"The last look, at {level.temperature.c:.1f} °C, says {level.verdict}."
    kind = kinds.LEVEL_BY_STANDING.get(level.standing)
    return [*([kind.at("#/level", text)] if kind else []), *_under("#/level", level.findings)]


def _leak(facts: JobFacts) -> list[Finding]:
    if facts.state.leak_check is None:
        return [
            kinds.LEAK_NOT_CHECKED.at("#/leak_check", "None was recorded after the last opening.")
        ]
    if facts.state.leak_check == "dry":
        return []
    return [kinds.LEAK_FOUND.at("#/leak_check", "A leak was found, and no dry look came after it.")]


def _drive(facts: JobFacts) -> list[Finding]:
    """A plan that ends in a hold asks nobody to drive."""
    if facts.state.test_drive is None and ends_in_hold(facts.plan):
        return []
    if facts.state.test_drive is None:
        return [kinds.NOT_DRIVEN.at("#/test_drive", "None was recorded after the last opening.")]
    if facts.state.test_drive == "ok":
        return []
    return [kinds.DRIVE_COMPLAINT.at("#/test_drive", "The last test drive brought a complaint.")]


def _may_not_drive(facts: JobFacts) -> list[Finding]:
    """Once the bay is done; what was ended before, or leaves on a trailer, is not driven.

    A level that is not set is told as that.
    """
    state, safe = facts.state, facts.state.made_safe
    done = state.progress == "finished" or _only_handed_over(facts)
    towed = safe is not None and safe.vehicle != "drive"
    level_set = state.level is not None and state.level.standing in SETTLED
    if not (done and level_set) or state.ended or towed or state.standing.may_drive:
        return []
    first = state.standing.first
    values = {"first": first.action}
    return [kinds.MAY_NOT_DRIVE.at("#/standing", first.text, values=values)]


def _only_handed_over(facts: JobFacts) -> bool:
    left = steps_left(facts.plan, facts.state)
    return facts.plan.feasible and all(step.kind in AFTER_THE_VERDICT for step in left)


def _codes_read(facts: JobFacts) -> list[Finding]:
    codes = facts.state.fault_codes
    sides = (("before", codes.before), ("after", codes.after))
    if not (missing := [side for side, read in sides if read is None]):
        return []
    text = f"Nobody has read them {' or '.join(missing)} the work."
    values = {"missing": ", ".join(missing)}
    return [CODES_NOT_READ.at("#/fault_codes", text, values=values)]


def _balance(facts: JobFacts) -> list[Finding]:
    if facts.state.balance is None:
        return [kinds.NOTHING_MEASURED.at("#/balance", "No litres in or out can be told.")]
    # a difference while fluid is out by intention is none; the level's own rule says so
    return [*_under("#/balance", facts.state.balance.findings), *line_findings(facts.state)]


def _fluid_told(facts: JobFacts) -> list[Finding]:
    """What went in came out of a container; litres beyond belief are a stop of their own."""
    balance = facts.state.balance
    if balance is None or balance.in_15.l == 0 or facts.state.fluids_opened:
        return []
    text = f"{balance.in_15.l:.2f} L went in, and no container was opened."
    return [kinds.FLUID_NOT_TOLD.at("#/fluids_opened", text)]


def line_findings(state: JobState) -> list[Finding]:
    """What the litres through the lines say against the work as it stands.

    A stop that was made good later, so that the balance closes, stays as a caution.
    """
    if state.line_exchange is None:
        return []
    if state.balance is None or state.balance.verdict != "ok":
        return [*state.line_exchange.findings]
    return [replace(finding, severity="caution") for finding in state.line_exchange.findings]


def _cautions(facts: JobFacts) -> list[Finding]:
    cautions = ((n, f) for n, f in enumerate(facts.plan.findings) if f.severity == "caution")
    by = {one.code: one for one in facts.state.acknowledged}
    return [_answered(f"#/plan/findings/{n}", f, by.get(f.code)) for n, f in cautions]


def _answered(pointer: str, caution: Finding, answer: Acknowledged | None) -> Finding:
    values = {"code": caution.code}
    if answer is None:
        text = f"{caution.title}: nobody has said why the work goes on."
        return kinds.NOT_ACKNOWLEDGED.at(pointer, text, values=values)
    # who it was and why stands in the acknowledgement: findings repeat no personal text
    text = f"{caution.title}: the work went on, as acknowledged with a name and a reason."
    return kinds.UNDER_CAUTION.at(pointer, text, values=values)


def _under(pointer: str, findings: tuple[Finding, ...]) -> list[Finding]:
    """Findings of a part, told as findings of the whole."""
    return [replace(finding, pointer=pointer + finding.pointer[1:]) for finding in findings]


RULES: tuple[Rule[JobFacts], ...] = (
    Rule(kind=kinds.PLAN_BARRED, check=_plan_not_feasible),
    Rule(kind=kinds.WORK_NOT_FINISHED, check=_work_not_finished),
    Rule(kind=kinds.STEPS_UNCONFIRMED, check=_steps_unconfirmed),
    Rule(kind=kinds.ROUTE_DEPARTED, check=_route_departed),
    Rule(kind=kinds.LEVEL_NOT_SET, check=_level),
    Rule(kind=kinds.LEAK_FOUND, check=_leak),
    Rule(kind=kinds.DRIVE_COMPLAINT, check=_drive),
    Rule(kind=kinds.MAY_NOT_DRIVE, check=_may_not_drive),
    Rule(kind=kinds.NOTHING_MEASURED, check=_balance),
    Rule(kind=kinds.FLUID_NOT_TOLD, check=_fluid_told),
    Rule(kind=kinds.NOT_ACKNOWLEDGED, check=_cautions),
    Rule(kind=CODES_NOT_READ, check=_codes_read),
    Rule(kind=SHARE_BELOW_PLAN, check=lambda facts: short_share(facts.plan, facts.state)),
)
"""The rules of the verdict, in the order they are reported."""
