"""What can be wrong with the custody of samples.

All of it is about the evidence and not about the work on the vehicle, and much of it comes to light
after the close: it is told and changes no verdict.
"""

from libexchange.findings import COMMON_PRACTICE, Kind

USED_TWICE = Kind(
    code="sample-id-used-twice",
    severity="caution",
    title="Two samples were given one name",
    remedy="Withdraw the second by a correction and post it under a name of its own; say which "
    "bottle bears which.",
    source=COMMON_PRACTICE,
)
UNKNOWN = Kind(
    code="sample-not-known",
    severity="caution",
    title="Something was done with a sample that nobody drew",
    remedy="Correct the name of the sample, or post when and from where it was drawn.",
    source=COMMON_PRACTICE,
)
GONE_BEFORE = Kind(
    code="sample-gone-before",
    severity="caution",
    title="Something was done with a sample that was no more",
    remedy="Name the part that is meant, or withdraw what is wrong by a correction.",
    source=COMMON_PRACTICE,
)
SEAL_BROKEN = Kind(
    code="sample-seal-broken",
    severity="caution",
    title="The seal of a sample was broken",
    remedy="Say who opened it and why. What it shows from now on proves little; use the other part "
    "where the sample was split.",
    source=COMMON_PRACTICE,
)
SEAL_DIFFERS = Kind(
    code="sample-seal-differs",
    severity="caution",
    title="A sample bears another seal than it was sealed with",
    remedy="Read the number again. If it is another, say who opened and sealed it; use the other "
    "part where the sample was split.",
    source=COMMON_PRACTICE,
)
SEAL_OPENED = Kind(
    code="sample-seal-opened",
    severity="caution",
    title="The seal of a sample was opened before anybody was handed it",
    remedy="Say in a note who opened it, when and why, and what was done with what it held.",
    source=COMMON_PRACTICE,
)
SEAL_TWICE = Kind(
    code="seal-number-used-twice",
    severity="caution",
    title="Two samples bear one seal number",
    remedy="Read both numbers again and withdraw the wrong one by a correction; two seals of one "
    "number prove nothing.",
    source=COMMON_PRACTICE,
)
DESTROYED_EARLY = Kind(
    code="sample-destroyed-early",
    severity="caution",
    title="A sample was destroyed before its time",
    remedy="Tell those it was kept for; keep the other part where the sample was split.",
    source=COMMON_PRACTICE,
)
DESTROYED_UNDER_HOLD = Kind(
    code="sample-destroyed-under-hold",
    severity="caution",
    title="A sample was destroyed under a legal hold",
    remedy="Tell whoever set the hold at once, and keep everything else of the job.",
    source=COMMON_PRACTICE,
)
UNSEALED = Kind(
    code="sample-without-seal",
    severity="note",
    title="A sample is kept without a seal",
    remedy="Seal it and post its number, or post that it was destroyed.",
    source=COMMON_PRACTICE,
)
UNMIXED = Kind(
    code="sample-drawn-unmixed",
    severity="note",
    title="A sample from right after an exchange looks fresher than the unit is",
    remedy="Draw one after 10 km or more through all gears, or judge this one as the sump alone.",
    source=COMMON_PRACTICE,
)
KINDS = (
    USED_TWICE, UNKNOWN, GONE_BEFORE, SEAL_BROKEN, SEAL_DIFFERS, SEAL_OPENED, SEAL_TWICE,
    DESTROYED_EARLY, DESTROYED_UNDER_HOLD, UNSEALED, UNMIXED,
)  # fmt: skip
"""Every finding code of custody."""
