"""Findings in a customer's words: what is true of the vehicle, not how the bay proves it."""

from exchange_api.documents.words import sentence
from libexchange.bench_checks import BenchChecks
from libexchange.findings import Finding
from libexchange.record import JobRecord

SENTENCES = {
    "balance-not-closed": "What went in and what came out do not match well enough.",
    "balance-too-vague": "The litres are not known well enough to compare what went in and out.",
    "bench-checks-disagree": "Two checks of the used fluid disagree.",
    "calibration-overdue": "A measuring tool was past the day until which its accuracy is proved.",
    "checked-by-who-did-it": "A second look was made by the person who did the work, so it proves "
    "less than one by somebody else.",
    "crackle-test-shows-water": "There is water in the used fluid.",
    "drive-without-known-level": "The vehicle was moved before the level of its fluid was known.",
    "equipment-not-purged": "A machine was used that had held another fluid and was perhaps not "
    "cleaned of it.",
    "event-step-not-in-plan": "Something was entered for a step that the plan does not have.",
    "events-ahead-of-time": "The clock of a device was wrong while the work was recorded.",
    "device-clock-off": "The clock of a device was wrong while the work was recorded.",
    "fault-codes-new": "Fault codes stand in the memory that did not stand there before the work.",
    "fault-codes-not-read": "The fault memory was not read both before and after the work.",
    "fluid-in-told-differently": "Two entries disagree on how much fluid is in.",
    "fluid-not-told": "It was not recorded from which container the fluid came.",
    "fluid-of-other-kind-set-aside": "A container of another kind of fluid was opened and put "
    "aside.",
    "fresh-share-below-plan": "Clearly less of the fluid was renewed than was planned, so the next "
    "service is due sooner.",
    "gate-not-open-when-confirmed": "A step was done before it was shown that temperature or flow "
    "were right for it.",
    "glycol-in-sample": "There is coolant in the used fluid.",
    "glycol-strip-positive": "There is coolant in the used fluid.",
    "job-aborted": "The work was ended before it was through.",
    "job-voided": "This job was opened in error; none of it was done to this vehicle.",
    "laboratory-result-after-work": "The laboratory would have decided otherwise than the look at "
    "the bench.",
    "leak-found": "The transmission leaks.",
    "level-engine-state-not-told": "It was not recorded whether the engine ran when the level was "
    "looked at.",
    "level-measured-not-seen": "Fluid was put back by measure; nobody has seen the level since.",
    "level-read-above-window": "The level was set on fluid warmer than the maker asks for, by a "
    "computed amount.",
    "level-temperature-differs": "The temperature at the look at the level is in doubt.",
    "level-temperature-not-by-own-sensor": "The temperature at the look at the level was not read "
    "from the transmission itself.",
    "line-gate-lost": "Fluid was exchanged while temperature or flow were not right for it.",
    "line-gate-not-known": "Fluid was exchanged while temperature or flow were not known.",
    "line-litres-differ": "During the exchange, what went in and what came out drifted apart.",
    "litres-not-recorded": "How much fluid went in and came out was not recorded.",
    "make-safe-missing": "The work was ended, and nobody has recorded that the vehicle was left "
    "safe.",
    "more-ran-out-than-was-over": "More fluid ran out than can have been too much.",
    "moved-litres-unbelievable": "The litres that were entered cannot be right.",
    "no-sound-baseline": "How the vehicle drove before the work was not recorded.",
    "opened-while-hot": "Something was opened while the fluid was hotter than planned.",
    "opening-too-hot": "Something was opened while the fluid was too hot for it.",
    "order-of-work-not-told": "The order in which things were done cannot be told.",
    "reading-implausible": "Some temperatures that were recorded cannot be right and were left "
    "out.",
    "route-departed": "The work was not done in the order that was planned.",
    "route-not-consented": "Another way of doing the work was agreed to than the one planned.",
    "seal-used-again": "A seal, gasket, ring or filter was used again.",
    "second-check-not-agreed": "A second person looked at the work and did not agree.",
    "stop-overridden": "A person answers for going on although something stopped the work.",
    "stop-taken-back": "What had stopped the work was taken back, and a second person agreed.",
    "stop-taken-back-alone": "What had stopped the work was taken back by one person alone.",
    "test-drive-missing": "The vehicle was not driven after the work.",
    "vehicle-may-not-drive": "The vehicle may not be driven as it stands.",
    "work-without-feasible-plan": "The plan itself says that the work must not be done.",
}
"""By code; of every other kind its title is plain enough."""

OF_PLAN = {
    "caution-not-acknowledged": "Nobody has answered for going on in spite of this",
    "worked-under-caution": "The work went on in spite of this",
}
"""Findings about a caution of the plan, which is named by its title."""


def told_to_customer(record: JobRecord, finding: Finding) -> str:
    """A finding in one sentence."""
    if finding.code in OF_PLAN:
        code = finding.values.get("code")
        titles = [one.title for one in record.plan.findings if one.code == code]
        if titles:
            return f"{OF_PLAN[finding.code]}: {sentence(titles[0])}"
    return SENTENCES.get(finding.code) or sentence(finding.title)


SEEN = {
    "colour": {"clear": "clear", "brown": "brown", "black": "black", "milky": "milky, as with "
               "water or coolant in it"},
    "smell": {"normal": "smells as it should", "varnish": "smells of varnish", "burnt": "smells "
              "burnt", "foreign": "smells of fuel or gear oil"},
    "debris": {"none": "nothing solid in it", "grey_paste": "fine grey wear as is usual",
               "glitter": "thin metal glitter in it", "flakes": "metal flakes in it",
               "brass": "brass-coloured metal in it", "lining": "pieces of lining in it"},
    "crackle": {"silent": "no water found", "fine_bubbles": "a little water found",
                "large_bubbles": "water found", "violent": "much water found"},
    "glycol_strip": {"negative": "no coolant found", "positive": "coolant found"},
    "shifts": {"normal": "shifts normally", "slips": "the transmission slips", "no_drive": "the "
               "vehicle does not drive"},
    "blotter": {"even": "a drop spreads evenly on paper"},
}  # fmt: skip
"""What was seen of the used fluid, by check and answer."""


def seen_at_bench(bench: BenchChecks) -> str:
    """What the bench saw, in plain words.

    >>> seen_at_bench(BenchChecks(colour="brown", crackle="silent", blotter="dark_core"))
    'brown; no water found; a drop does not spread evenly on paper'
    """
    told = [(name, getattr(bench, name)) for name in SEEN]
    return "; ".join(
        SEEN[name].get(value, "a drop does not spread evenly on paper")
        for name, value in told
        if value is not None
    )
