"""What was stated on arrival, as the bench checks that it stands for, and what those decide."""

from functools import lru_cache
from typing import Any

import msgspec

from libexchange.bench_checks import BenchChecks
from libexchange.laboratory import LaboratoryResults
from libexchange.plan.request import Condition, PlanRequest
from libexchange.used_fluid import UsedFluidAnswer, judge_used_fluid

STANDS_FOR: dict[Condition, BenchChecks] = {
    "burnt_and_slipping": BenchChecks(smell="burnt", shifts="slips"),
    "burnt_smell": BenchChecks(smell="burnt"),
    "coolant_in_fluid": BenchChecks(glycol_strip="positive"),
    "debris_in_pan": BenchChecks(debris="flakes"),
    "no_drive": BenchChecks(shifts="no_drive"),
}
"""The conditions that bench checks know too; the others are no matter of the fluid."""


def bench_of(conditions: tuple[Condition, ...]) -> BenchChecks:
    """The bench checks that conditions stand for together.

    >>> bench_of(("burnt_and_slipping", "debris_in_pan", "leak")).debris
    'flakes'
    """
    seen: dict[str, Any] = {}
    for condition in conditions:
        checks = msgspec.to_builtins(STANDS_FOR.get(condition, BenchChecks()))
        seen |= {name: value for name, value in checks.items() if value is not None}
    return BenchChecks(**seen)


@lru_cache(maxsize=256)
def judged(conditions: tuple[Condition, ...]) -> UsedFluidAnswer:
    """What the used fluid allows by what was stated; nothing stated allows everything.

    >>> judged(("burnt_smell",)).decision, judged(("coolant_in_fluid",)).decision
    ('proceed_gently', 'stop_coolant')
    """
    return judge_used_fluid(bench=bench_of(conditions), laboratory=LaboratoryResults())


def to_check_again(request: PlanRequest) -> UsedFluidAnswer:
    """What the used fluid allows; after an unknown or a wrong one it is soon looked at again."""
    if request.reason in ("unknown_fluid", "wrong_fluid"):
        return judged((*request.conditions, "burnt_smell"))
    return judged(request.conditions)
