"""What can be wrong with the amount of an additive and with what stays of it."""

from libexchange.contact import LEAST_S, MOST_S, Contact
from libexchange.dose import (
    CAP_SHARE,
    HARD_CAP_SHARE,
    LEAST_OF_WANTED,
    SAME,
    SHARE_LEFT_LIMIT,
    SHARE_LEFT_WARNING,
    USUAL_LEAST_SHARE,
    draw_off_l,
    spread_limit_l,
)
from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind

CIRCUIT_TOLERANCE = 0.02

ABOVE_CAP = Kind(
    code="dose-above-cap",
    severity="caution",
    title="The dose is more than the fluid may be thinned with",
    remedy="Keep to 5 % of the total fill; above 6 % do not dose. Check millilitres against "
    "litres.",
    source=COMMON_PRACTICE,
)
TOO_SMALL = Kind(
    code="dose-too-small",
    severity="caution",
    title="The dose is too small to do anything",
    remedy="Take a pack of another size, open one more where 5 % of the total fill allow it, or "
    "leave it out: below 0.7 of the stated dose it is wasted.",
    source=COMMON_PRACTICE,
)
NOT_STATED = Kind(
    code="dose-not-stated",
    severity="stop",
    title="The maker of the additive states no dose for this unit",
    remedy="Ask for the dose of this fill, or give the refill where the dose counts by it.",
    source=COMMON_PRACTICE,
)
STATED_UNUSUAL = Kind(
    code="stated-dose-unusual",
    severity="note",
    title="The stated dose is unusually small",
    remedy="Check the rate and its unit: usual are 20 to 60 mL per litre.",
    source=MEMORY,
)
CIRCUIT_DIFFERS = Kind(
    code="circuit-differs-from-total",
    severity="caution",
    title="The parts of the circuit do not add up to the total fill",
    remedy="Check both against the maker's data: what stays is told for the circuit as given.",
    source=COMMON_PRACTICE,
)
RAISES_LEVEL = Kind(
    code="dose-raises-level",
    severity="caution",
    title="The dose raises the level by its own volume",
    remedy="Draw as much off first, or add it only where the level is known to be so much low.",
    source=COMMON_PRACTICE,
)
LEFT_ABOVE_LIMIT = Kind(
    code="cleaner-left-above-limit",
    severity="caution",
    title="More of the cleaner is left than may stay",
    remedy="Exchange more litres, or drain and take the pan off before the exchange.",
    source=COMMON_PRACTICE,
)
LEFT_UNKNOWN = Kind(
    code="cleaner-left-unknown",
    severity="stop",
    title="It is not known how much of the cleaner will be left",
    remedy="Give the circuit and the exchange that follows; without an exchange do not dose.",
    source=COMMON_PRACTICE,
)
SPREAD_TOO_FAR = Kind(
    code="conditioner-washed-out",
    severity="caution",
    title="The conditioner is spread over more than the last litres",
    remedy="Dose it into the last 2 L, at most 0.4 of the sump, or at level setting: part of it "
    "leaves with the old fluid.",
    source=COMMON_PRACTICE,
)
CONTACT_TOO_SHORT = Kind(
    code="contact-too-short",
    severity="caution",
    title="The cleaner has not acted long enough",
    remedy="Idle on with the fluid warm, read it at least once a minute, and move the selector "
    "through all positions.",
    source=MEMORY,
)
CONTACT_TOO_LONG = Kind(
    code="contact-too-long",
    severity="caution",
    title="The cleaner has been in too long",
    remedy="Get it out now: drain or exchange, and do not drive with it.",
    source=MEMORY,
)
CONTACT_TIME_UNUSUAL = Kind(
    code="contact-time-unusual",
    severity="note",
    title="The contact time is outside 10 to 15 min",
    remedy="Check it against the data of the cleaner.",
    source=COMMON_PRACTICE,
)
KINDS = (
    ABOVE_CAP, TOO_SMALL, NOT_STATED, STATED_UNUSUAL, CIRCUIT_DIFFERS, RAISES_LEVEL,
    LEFT_ABOVE_LIMIT, LEFT_UNKNOWN, SPREAD_TOO_FAR, CONTACT_TOO_SHORT, CONTACT_TOO_LONG,
    CONTACT_TIME_UNUSUAL,
)  # fmt: skip
"""Every finding code of an amount; those of forbidden combinations stand in `dose_rules`."""


def amount_findings(
    *, dose_l: float, wanted_l: float, total_l: float, pack_l: float | None = None
) -> list[Finding]:
    """Whether a dose, or the one that is stated, is too much for the unit or too little to act.

    dose_l, wanted_l: 0 or more [L]    total_l: above 0 [L]
    pack_l: above 0, null where it is sold loose [L]    Source: common practice.

    >>> [f.severity for f in amount_findings(dose_l=0.5, wanted_l=0.5, total_l=9)]
    ['caution']
    """
    share, found = dose_l / total_l, []
    values = {"dose_ml": 1000 * dose_l, "wanted_ml": 1000 * wanted_l, "share_of_total": share}
    most_l = max(dose_l, wanted_l)
    most = most_l / total_l
    if most > CAP_SHARE * (1 + SAME):
        stated = " that are stated" * (most_l > dose_l)
        text = f"{1000 * most_l:.0f} mL{stated} are {100 * most:.1f} % of {total_l:.1f} L."
        severity = "stop" if most > HARD_CAP_SHARE * (1 + SAME) else ABOVE_CAP.severity
        told = values | ({"stated_share": most} if stated else {})
        found.append(ABOVE_CAP.at("#/treat", text, values=told, severity=severity))
    if dose_l < LEAST_OF_WANTED * wanted_l * (1 - SAME):
        text = f"{1000 * dose_l:.0f} mL against {1000 * wanted_l:.0f} mL that are stated."
        text += _one_more(dose_l, pack_l, total_l)
        found.append(TOO_SMALL.at("#/pack", text, values=values))
    if wanted_l < USUAL_LEAST_SHARE * total_l * (1 - SAME):
        text = f"{1000 * wanted_l:.6g} mL are stated for {total_l:.1f} L."
        found.append(STATED_UNUSUAL.at("#/treat", text, values=values))
    return found


def _one_more(dose_l: float, pack_l: float | None, total_l: float) -> str:
    """That another pack is no way out, where the cap forbids it."""
    share = (dose_l + (pack_l or 0.0)) / total_l
    if share <= CAP_SHARE * (1 + SAME):
        return ""
    return f" One more pack would make {100 * share:.1f} %: take another size or leave it out."


def circuit_findings(*, circuit_l: float, total_l: float) -> list[Finding]:
    """Whether the parts of a circuit add up to the total fill, within 2 %.

    circuit_l, total_l: above 0 [L]    Source: common practice.

    >>> circuit_findings(circuit_l=8.9, total_l=9)
    []
    """
    if abs(circuit_l - total_l) <= CIRCUIT_TOLERANCE * total_l * (1 + SAME):
        return []
    text = f"The circuit holds {circuit_l:.2f} L, the total fill is {total_l:.2f} L."
    values = {"circuit_l": circuit_l, "total_l": total_l}
    return [CIRCUIT_DIFFERS.at("#/exchange/circuit", text, values=values)]


def level_findings(*, dose_l: float, missing_l: float) -> list[Finding]:
    """What has to be drawn off before a dose goes in.

    dose_l, missing_l: as `draw_off_l` [L]    Raises: OutOfRange    Source: fluid balance.

    >>> level_findings(dose_l=0.3, missing_l=0.3)
    []
    """
    off_l = draw_off_l(dose_l=dose_l, missing_l=missing_l)
    if not off_l:
        return []
    text = f"Draw off {1000 * off_l:.0f} mL first."
    return [RAISES_LEVEL.at("#/treat", text, values={"draw_off_ml": 1000 * off_l})]


def left_findings(*, share_left: float, needed_l: float | None) -> list[Finding]:
    """Whether too much of a cleaner is left: up to 0.5 % may stay.

    Above 1 % is a stop, and so is a rest that no exchange gets out: such a unit takes no cleaner.

    share_left: 0 to 1 [-]    needed_l: exchange that would do, None where none does [L]
    Source: common practice.

    >>> [f.severity for f in left_findings(share_left=0.008, needed_l=12.1)]
    ['caution']
    """
    if share_left <= SHARE_LEFT_LIMIT * (1 + SAME):
        return []
    enough = "no exchange does" if needed_l is None else f"{needed_l:.1f} L would do"
    text = f"{100 * share_left:.2f} % are left, 0.5 % may stay; {enough}."
    barred = needed_l is None or share_left > SHARE_LEFT_WARNING * (1 + SAME)
    severity = "stop" if barred else LEFT_ABOVE_LIMIT.severity
    values = {"share_left": share_left, "needed_l": needed_l}
    return [LEFT_ABOVE_LIMIT.at("#/exchange", text, values=values, severity=severity)]


def kept_findings(*, share_kept: float, spread_l: float, sump_l: float) -> list[Finding]:
    """Whether a conditioner is spread over more litres than the last few.

    share_kept: of the dose [-]    spread_l, sump_l: [L]    Source: common practice.

    >>> [f.code for f in kept_findings(share_kept=0.78, spread_l=8, sump_l=4.3)]
    ['conditioner-washed-out']
    """
    limit_l = spread_limit_l(sump_l=sump_l)
    if spread_l <= limit_l * (1 + SAME):
        return []
    text = (
        f"{100 * share_kept:.1f} % of it stay when {spread_l:.2f} L carry it; at most the "
        f"last {limit_l:.2f} L may."
    )
    values = {"share_kept": share_kept, "spread_l": spread_l, "limit_l": limit_l}
    return [SPREAD_TOO_FAR.at("#/exchange/spread", text, values=values)]


def contact_findings(told: Contact, *, needed_s: float) -> list[Finding]:
    """Whether a cleaner has acted too short or too long, and whether the time asked for is usual.

    needed_s: 60 to 3,600 [s]    Source: common practice.

    >>> [f.code for f in contact_findings(Contact(300.0, "paused", 0), needed_s=720)]
    ['contact-too-short']
    """
    asked = {"counted_s": told.counted_s, "needed_s": needed_s}
    values = asked | {"unseen_s": told.unseen_s}
    text = f"{told.counted_s / 60:.1f} min count of {needed_s / 60:.0f} min."
    if told.unseen_s:
        text += f" {told.unseen_s / 60:.1f} min were not seen."
    found = []
    if told.state == "too_long":
        values |= {"in_warm_s": told.in_warm_s, "limit_s": told.limit_s}
        text = (
            f"It has been in warm fluid for {told.in_warm_s / 60:.1f} min; after "
            f"{told.limit_s / 60:.0f} min it has to be out. {text}"
        )
        found.append(CONTACT_TOO_LONG.at("#/contact/readings", text, values=values))
    elif told.state != "done":
        found.append(CONTACT_TOO_SHORT.at("#/contact/readings", text, values=values))
    if not LEAST_S <= needed_s <= MOST_S:
        text = f"{needed_s / 60:.0f} min are asked for."
        found.append(CONTACT_TIME_UNUSUAL.at("#/contact/needed", text, values=asked))
    return found
