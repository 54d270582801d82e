"""What is raised when input cannot be computed; everything a person may judge is a finding instead.

ValueError
+-- OutOfRange      a formula was given a number outside its range
+-- InvalidInput    a record was given that cannot be computed, with every fault found
"""

from msgspec import UNSET, Struct, UnsetType


class OutOfRange(ValueError):
    """A number outside the range a formula is valid in.

    name: the parameter [-]    value: what was given    allowed: the range, in words

    >>> str(OutOfRange(name="temperature_c", value=150.1, allowed="-50 to 150"))
    'temperature_c is 150.1, allowed is -50 to 150'
    """

    def __init__(self, *, name: str, value: float, allowed: str) -> None:
        super().__init__(f"{name} is {value!r}, allowed is {allowed}")
        self.name = name
        self.value = value
        self.allowed = allowed


class Fault(Struct, frozen=True, kw_only=True):
    """One thing that is wrong with an input, where, and what to do about it.

    pointer: JSON pointer into the input    code: kebab-case kind of fault
    value: what was given, unset when nothing was    allowed: what is accepted, in words
    """

    pointer: str
    code: str
    detail: str
    value: object | UnsetType = UNSET
    allowed: str
    remedy: str


class InvalidInput(ValueError):
    """An input that decodes but cannot be computed; `faults` lists everything found.

    >>> fault = Fault(pointer="/cycles", code="exactly-one-of", detail="both given",
    ...               allowed="one of the two", remedy="Leave one out.")
    >>> str(InvalidInput(fault))
    '/cycles: both given'
    """

    def __init__(self, *faults: Fault) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = faults


def check_range(*, name: str, value: float, low: float, high: float, unit: str = "") -> None:
    """Raise OutOfRange unless low <= value <= high; not-a-number never passes.

    >>> check_range(name="share", value=0.5, low=0, high=1)
    """
    if not low <= value <= high:
        raise OutOfRange(name=name, value=value, allowed=f"{low:g} to {high:g} {unit}".rstrip())
