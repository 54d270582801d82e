"""Every kind of problem the service answers with, told to a reader."""

from msgspec import Struct


class ProblemType(Struct, frozen=True, kw_only=True):
    """A kind of problem: its slug ends the `type` of the document, its title never changes."""

    slug: str
    status: int
    title: str
    explanation: str

    @property
    def uri(self) -> str:
        """What `type` says, relative to the service."""
        return f"/v1/problems/{self.slug}"


def _type(slug: str, status: int, title: str, explanation: str) -> ProblemType:
    return ProblemType(slug=slug, status=status, title=title, explanation=explanation)


_TYPES = (
    _type(
        "malformed-json",
        400,
        "The body is not the JSON we read",
        "The body is empty, is not UTF-8, breaks the grammar of JSON, holds NaN or Infinity, names "
        "a member twice in one object or is nested too deeply. Nothing is guessed or dropped; "
        "`errors` says where.",
    ),
    _type(
        "malformed-request",
        400,
        "This is not HTTP as we read it",
        "The request line, a header or the framing of the body breaks the rules of HTTP/1.1. The "
        "connection is closed.",
    ),
    _type(
        "invalid-parameter",
        400,
        "A parameter is wrong",
        "A query parameter or header is unknown, given twice, missing or not what it must be. "
        "`errors` lists each with what is allowed.",
    ),
    _type(
        "unauthenticated",
        401,
        "No valid API key was given",
        "Send `Authorization: Bearer` with an API key. The key is missing, mistyped, unknown, "
        "expired or revoked; which of the last three is not said.",
    ),
    _type(
        "forbidden",
        403,
        "The API key does not allow this",
        "The key is valid but lacks the scope that the operation needs. Ask whoever gave it out "
        "for a key with that scope.",
    ),
    _type(
        "not-found",
        404,
        "There is nothing here",
        "The address is unknown, or the thing it names does not exist in this workshop. Things of "
        "other workshops are never told apart from things that do not exist.",
    ),
    _type(
        "method-not-allowed",
        405,
        "The address does not take this method",
        "The `Allow` header lists the methods that the address takes.",
    ),
    _type(
        "not-acceptable",
        406,
        "None of the accepted media types can be made",
        "The `Accept` header admits no media type that the operation answers with. Leave it out, "
        "or name one of the listed types.",
    ),
    _type(
        "conflict",
        409,
        "The request contradicts what is kept",
        "Something with this identity exists and differs, or is not in a state that allows the "
        "request. Read it first, then decide.",
    ),
    _type(
        "request-in-progress",
        409,
        "The first request with this key is still running",
        "Another request with the same Idempotency-Key has not been answered yet. Send this one "
        "again a little later; it will get the answer of the first.",
    ),
    _type(
        "stale",
        412,
        "What you changed has changed meanwhile",
        "The `If-Match` header names a version that is no longer the current one. Read it again, "
        "apply the change to what you then see, and send that with its new ETag.",
    ),
    _type(
        "body-too-large",
        413,
        "The body is too large",
        "The body exceeds what the operation takes. Send less at once.",
    ),
    _type(
        "address-too-long",
        414,
        "The address is too long",
        "Path and query together exceed what the service reads. The connection is closed.",
    ),
    _type(
        "unsupported-media-type",
        415,
        "The body is not of a media type we read",
        "Say what the body is with a `Content-Type` that the operation takes, "
        "without a `Content-Encoding`.",
    ),
    _type(
        "invalid-body",
        422,
        "The body is readable but not what the operation takes",
        "A member is missing, unknown, of the wrong type, in an unknown unit or out of range, "
        "members contradict each other, or a file is not what it is said to be. `errors` lists "
        "every fault with its place, what is allowed and what to do.",
    ),
    _type(
        "key-reused",
        422,
        "The Idempotency-Key was used for another body",
        "A key stands for one request. Send the first body again to get its answer, or use a "
        "fresh key for the new one.",
    ),
    _type(
        "precondition-required",
        428,
        "An If-Match header is needed",
        "Changing this needs the ETag of the version you have seen, in `If-Match`, so that nobody "
        "overwrites what another has changed.",
    ),
    _type(
        "too-many-requests",
        429,
        "Too many requests in this minute",
        "The API key or the address has used up its requests of the present minute. `RateLimit` "
        "and `RateLimit-Policy` say where it stands on every answer. Wait the seconds of "
        "`Retry-After`.",
    ),
    _type(
        "head-too-large",
        431,
        "The headers are too large",
        "Address and headers together exceed what the service reads. The connection is closed.",
    ),
    _type(
        "internal-error",
        500,
        "The service failed",
        "This is a fault of the service, not of the request. It is logged under the `request_id`; "
        "say that id when you report it.",
    ),
    _type(
        "storage-unavailable",
        503,
        "Nothing could be kept or read just now",
        "The database did not answer or could not write. Nothing of the request was kept. Send it "
        "again after the time in `Retry-After`.",
    ),
    _type(
        "overloaded",
        503,
        "There is no room for the body just now",
        "Other requests hold all the memory that is set aside for bodies. Nothing of the request "
        "was kept. Send it again after the time in `Retry-After`.",
    ),
    _type(
        "quota-reached",
        507,
        "The workshop has no room left for attachments",
        "What the workshop keeps and what was sent exceed together what the installation allows. "
        "Nothing of the request was kept. Keep the file where it is and ask whoever runs the "
        "service for more room.",
    ),
)

PROBLEMS: dict[str, ProblemType] = {kind.slug: kind for kind in _TYPES}
"""Every problem type by its slug."""
