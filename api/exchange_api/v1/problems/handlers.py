"""`GET /v1/problems` and `GET /v1/problems/{slug}`: readable without a key."""

from litestar import Response, get
from msgspec import Struct

from exchange_api.operations import Answer, Operation, operation
from exchange_api.problem_types import PROBLEMS, ProblemType
from exchange_api.problems import Problem, parameter_fault
from exchange_api.serving import Request, answer


class ProblemDescription(Struct, frozen=True, kw_only=True):
    """What a problem type means and what to do about it."""

    type: str
    status: int
    title: str
    explanation: str


class ProblemDescriptions(Struct, frozen=True, kw_only=True):
    """Every problem type."""

    items: list[ProblemDescription]


def _described(kind: ProblemType) -> ProblemDescription:
    return ProblemDescription(
        type=kind.uri, status=kind.status, title=kind.title, explanation=kind.explanation
    )


_LIST = Operation(
    operation_id="listProblems",
    summary="Every kind of problem",
    tag="problems",
    scope=None,
    answers={200: Answer(description="All problem types.", content=ProblemDescriptions)},
)
_GET = Operation(
    operation_id="getProblem",
    summary="What does this problem mean?",
    tag="problems",
    scope=None,
    answers={200: Answer(description="The problem type.", content=ProblemDescription)},
)


@get("/v1/problems", **operation(_LIST))
async def list_problems() -> Response[bytes]:
    """All problem types."""
    kinds = sorted(PROBLEMS.values(), key=lambda kind: (kind.status, kind.slug))
    return answer(ProblemDescriptions(items=[_described(kind) for kind in kinds]))


@get("/v1/problems/{slug:str}", **operation(_GET))
async def get_problem(request: Request) -> Response[bytes]:
    """One problem type."""
    kind = PROBLEMS.get(request.path_params["slug"])
    if kind is None:
        raise _unknown(request.path_params["slug"])
    return answer(_described(kind))


HANDLERS = (list_problems, get_problem)


def _unknown(slug: str) -> Problem:
    error = parameter_fault(
        "path", "slug", code="unknown-id", detail="there is no such problem type", value=slug,
        allowed="the end of a type in /v1/problems", remedy="Look it up in the list.",
    )  # fmt: skip
    return Problem("not-found", "There is no such problem type.", errors=[error])
