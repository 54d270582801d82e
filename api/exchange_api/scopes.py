"""What an API key can allow."""

from typing import Literal, TypeAlias, get_args

Scope = Literal[
    "calculate",
    "plans:read",
    "plans:write",
    "jobs:read",
    "jobs:write",
    "catalogue:read",
    "catalogue:write",
    "equipment:read",
    "equipment:write",
    "exports:read",
    "webhooks",
    "keys",
    "audit:read",
]
KeyScope = Literal[Scope, "administrator"]
"""What a key can be given: a scope, or the right to write for the whole installation."""
Need: TypeAlias = Scope | Literal["any"]
"""What an operation asks for: one scope, or any valid key."""

SCOPES: tuple[Scope, ...] = get_args(Scope)
ADMINISTRATOR = "administrator"
"""Writes what belongs to the whole installation; given out on the machine itself, never by `*`."""
ALLOWED_SCOPES = f"* or {', '.join((*SCOPES, ADMINISTRATOR))}"


def parse_scopes(text: str) -> frozenset[str]:
    """The scopes of a comma-separated list; `*` is all but administrator.

    Raises: ValueError that names every unknown word.

    >>> sorted(parse_scopes("plans:read, calculate"))
    ['calculate', 'plans:read']
    """
    words = {word.strip() for word in text.split(",") if word.strip()}
    unknown = sorted(words - {*SCOPES, ADMINISTRATOR, "*"})
    if unknown or not words:
        raise ValueError(f"unknown scopes {', '.join(unknown)}" if unknown else "no scope given")
    return frozenset(words - {"*"} | (set(SCOPES) if "*" in words else set()))
