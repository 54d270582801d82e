"""Findings: what a person should judge, returned beside the answer and never raised.

A `Kind` is the catalogue entry of a code; a `Rule` is a kind with the check that finds it.
"""

from collections.abc import Callable, Mapping
from typing import Generic, Literal, TypeVar

from msgspec import Struct

Severity = Literal["stop", "caution", "note"]
"""`stop` bars the work, `caution` needs an acknowledgement, `note` is worth knowing."""

Value = float | str | bool | None
"""What the `values` of a finding hold: plain JSON scalars in the unit their name says."""

COMMON_PRACTICE = "common practice"
MAKER_DATA = "maker data"
MEMORY = "memory"


class Finding(Struct, frozen=True, kw_only=True):
    """One thing to judge: what is wrong, where, how grave, and what to do.

    code: kebab-case, never used twice    severity: how grave it is    title: its kind, in words
    pointer: JSON pointer into what was checked    message: what was found this time
    values: the numbers of the message    remedy: what to do    source: why we believe it
    """

    code: str
    severity: Severity
    pointer: str
    title: str
    message: str
    values: dict[str, Value]
    remedy: str
    source: str


class Kind(Struct, frozen=True, kw_only=True):
    """The catalogue entry of a finding code. A code is kebab-case and never used twice.

    severity: what it usually is; a finding may say otherwise    source: why we believe it

    >>> kind = Kind(code="fluid-cold", severity="note", title="The fluid is cold",
    ...             remedy="Warm it.", source=COMMON_PRACTICE)
    >>> kind.at("#/temperature", "It is at 12 °C.", values={"temperature_c": 12}).severity
    'note'
    """

    code: str
    severity: Severity
    title: str
    remedy: str
    source: str

    def at(
        self,
        pointer: str,
        message: str,
        *,
        values: Mapping[str, Value] | None = None,
        severity: Severity | None = None,
    ) -> Finding:
        """A finding of this kind at `pointer`."""
        return Finding(
            code=self.code,
            severity=severity or self.severity,
            pointer=pointer,
            title=self.title,
            message=message,
            values=dict(values or {}),
            remedy=self.remedy,
            source=self.source,
        )


Subject = TypeVar("Subject")


class Rule(Struct, Generic[Subject], frozen=True, kw_only=True):
    """A kind together with the check that finds it in a subject."""

    kind: Kind
    check: Callable[[Subject], list[Finding]]


def worst(findings: list[Finding]) -> Severity | None:
    """The gravest severity among findings, None when there are none.

    >>> worst([]) is None
    True
    """
    present = {finding.severity for finding in findings}
    return next((s for s in ("stop", "caution", "note") if s in present), None)
