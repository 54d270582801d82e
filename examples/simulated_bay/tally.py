"""What many jobs come to: the table of outcomes by kind of fault, and what it proves."""

from collections import Counter
from collections.abc import Iterator, Sequence
from statistics import median

from examples.simulated_bay.job import Outcome

VERDICTS = ("accepted", "accepted_with_remarks", "not_accepted", "incomplete")
HEADS = ("fault", "jobs", "accepted", "remarks", "refused", "incomplete", "false refusal",
         "UNSAFE")  # fmt: skip
ROW = "{:18}{:>6}{:>10}{:>9}{:>9}{:>12}{:>15}{:>8}"
MOST_FALSE_REFUSALS = 0.02


def upper_bound(jobs: int) -> float:
    """Rule of three: with none seen in so many, the rate is below this at 95 % [-].

    >>> upper_bound(3000)
    0.001
    """
    return 3 / jobs


def table(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Outcomes by kind of fault, then over all."""
    yield ROW.format(*HEADS)
    for fault in sorted({one.fault for one in outcomes}, key=lambda name: (name != "none", name)):
        yield _row(fault, [one for one in outcomes if one.fault == fault])
    yield _row("all", outcomes)


def _row(name: str, outcomes: Sequence[Outcome]) -> str:
    verdicts = Counter(one.verdict for one in outcomes)
    good = sum(one.good for one in outcomes)
    refused = sum(one.falsely_refused for one in outcomes)
    unsafe = sum(one.unsafe_accepted for one in outcomes)
    counts = [verdicts[verdict] for verdict in VERDICTS]
    return ROW.format(
        name.replace("_", " "), len(outcomes), *counts, f"{refused} of {good}", unsafe
    )


def conclusions(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """What was to be shown, and whether it was."""
    faults = sum(one.fault != "none" for one in outcomes)
    good = [one for one in outcomes if one.good]
    refused = [one for one in outcomes if one.falsely_refused]
    yield f"{faults} of {len(outcomes)} jobs ({faults / len(outcomes):.0%}) carried a fault."
    yield from _verdict_on_unsafe(outcomes)
    share = len(refused) / len(good) if good else 0.0
    yield f"False refusals: {len(refused)} of {len(good)} good jobs ({share:.2%}, limit 2 %)."
    yield from (_told(one, "; ".join(one.codes)) for one in refused[:10])


def _verdict_on_unsafe(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Only unsafe vehicles that nobody else has stopped, and that were told of, try the verdict."""
    reached = put_to_verdict(outcomes)
    yield (
        f"Unsafe vehicles that reached the verdict: {len(reached)}, "
        f"refused: {sum(not one.accepted for one in reached)}"
    )
    for kind in sorted({name for one in reached for name in one.told}):
        yield _bound(kind, [one for one in reached if kind in one.told])
    stopped = sum(bool(one.unsafe) and not one.put_to_verdict for one in outcomes)
    yield f"Unsafe vehicles at which the technician stopped himself: {stopped}, no test of it."
    hidden = [one for one in outcomes if one.hidden_from_service]
    yield (
        f"Hidden from the service (neither measured nor recorded): {len(hidden)}, of which "
        f"accepted: {sum(one.accepted for one in hidden)}. No verdict can know of them."
    )
    unsafe = [one for one in outcomes if one.unsafe_accepted]
    if unsafe:
        yield f"UNSAFE: {len(unsafe)} jobs were accepted that must not be:"
        yield from (_told(one, ", ".join(one.told)) for one in unsafe)
    else:
        yield (
            f"Accepted though unsafe and told: none of {len(outcomes)} jobs, so less than "
            f"{upper_bound(len(outcomes)):.1%} of such jobs at 95 %."
        )


def put_to_verdict(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """The unsafe vehicles of which something was told and that nobody stopped before the end."""
    return [one for one in outcomes if one.told and one.put_to_verdict]


def _bound(kind: str, reached: Sequence[Outcome]) -> str:
    accepted = sum(one.accepted for one in reached)
    told = f"  {kind:18}{len(reached):>5} reached{len(reached) - accepted:>5} refused"
    if accepted:
        return f"{told}, {accepted} ACCEPTED"
    return (
        f"{told}; accepted less often than {min(upper_bound(len(reached)), 1):.1%} at 95 % (rule "
        "of three, this simulation)"
    )


def _told(one: Outcome, why: str) -> str:
    return (
        f"  job {one.number}, {one.unit}, {one.fault.replace('_', ' ')}, "
        f"{one.conduct.replace('_', ' ')}, {one.verdict}, level "
        f"{one.level_error_l:+.2f} L: {why}"
    )


def routine(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """What a job without a fault costs in typing, cautions and waiting."""
    usual = [one for one in outcomes if one.fault == "none" and not one.ended]
    if not usual:
        return
    waits = sorted(one.waited_min for one in usual)
    yield "A routine job, median and most:"
    yield f"  typed entries {_spread([one.typed for one in usual])}"
    yield f"  steps confirmed {_spread([one.taps for one in usual])}"
    most = max(one.most_cautions for one in usual)
    yield f"  cautions shown {_spread([one.cautions for one in usual])}, at most {most} a step"
    yield f"  minutes of waiting {median(waits):.0f} and {waits[-1]:.0f}"
    off = [one.told_share - one.fresh_share for one in usual if one.told_share is not None]
    if off:
        ends = f"{min(off):+.3f} to {max(off):+.3f}"
        yield f"  calculated less true fresh share {median(off):+.3f} ({ends})"


def _spread(counts: Sequence[int]) -> str:
    return f"{median(counts):.0f} and {max(counts)}"


def met(outcomes: Sequence[Outcome]) -> bool:
    """Unsafe vehicles reached the verdict, none was accepted, and few good ones were refused."""
    good = sum(one.good for one in outcomes)
    refused = sum(one.falsely_refused for one in outcomes)
    tried = bool(put_to_verdict(outcomes))
    unsafe = any(one.unsafe_accepted for one in outcomes)
    return tried and not unsafe and refused <= MOST_FALSE_REFUSALS * good
