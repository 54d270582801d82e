"""Media types: what a body is and what a caller accepts (RFC 9110, 12.5.1)."""

from collections.abc import Sequence

PAGE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
"""The Content-Security-Policy of our own pages, which bring their styles along and no more."""


def bare(media_type: str) -> str:
    """A media type without its parameters, lower-case.

    >>> bare("Application/JSON; charset=utf-8")
    'application/json'
    """
    return media_type.partition(";")[0].strip().lower()


def is_json(media_type: str) -> bool:
    """Whether a Content-Type says JSON in UTF-8.

    >>> is_json("application/json; charset=UTF-8"), is_json("application/json; charset=latin-1")
    (True, False)
    """
    charset = _parameter(media_type, "charset")
    return bare(media_type) == "application/json" and charset in {None, "utf-8"}


def best(accept: str | None, offered: Sequence[str]) -> str | None:
    """The offered media type that an Accept header likes best, the first of equals.

    >>> best("text/html, application/json;q=0.5", ["application/json", "text/html"])
    'text/html'
    >>> best("application/json;q=0, */*", ["application/json"]) is None
    True
    """
    if not accept or not accept.strip():
        return offered[0]
    ranges = [(bare(part), _quality(part)) for part in accept.split(",") if part.strip()]
    quality, _, chosen = max(
        (_liking(media_type, ranges), -place, media_type)
        for place, media_type in enumerate(offered)
    )
    return chosen if quality > 0 else None


def _liking(media_type: str, ranges: list[tuple[str, float]]) -> float:
    main = media_type.partition("/")[0]
    for pattern in (bare(media_type), f"{main}/*", "*/*"):  # the most specific range counts
        matching = [quality for name, quality in ranges if name == pattern]
        if matching:
            return max(matching)
    return 0.0


def _quality(media_range: str) -> float:
    try:
        return float(_parameter(media_range, "q") or "1")
    except ValueError:
        return 0.0


def _parameter(text: str, name: str) -> str | None:
    for part in text.split(";")[1:]:
        key, _, value = part.partition("=")
        if key.strip().lower() == name:
            return value.strip().strip('"').lower()
    return None
