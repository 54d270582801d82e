"""`POST /v1/calculations/...`: one handler for each calculation of the library; nothing is kept."""

from litestar import Response, post
from litestar.handlers import HTTPRouteHandler

from exchange_api.bodies import body
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer
from libexchange.calculations import CALCULATIONS, Calculation


def _operation_id(name: str) -> str:
    first, *others = name.split("-")
    return f"calculate{first.capitalize()}{''.join(word.capitalize() for word in others)}"


def _handler(calculation: Calculation) -> HTTPRouteHandler:
    declared = Operation(
        operation_id=_operation_id(calculation.name),
        summary=calculation.title,
        description=calculation.description,
        tag="calculations",
        scope="calculate",
        body=calculation.request,
        examples={"invented": calculation.example},
        answers={200: Answer(description="What was computed.", content=calculation.answer)},
    )

    @post(f"/v1/calculations/{calculation.name}", **operation(declared))
    async def calculate(request: Request) -> Response[bytes]:
        return answer(calculation.answered(await body(request, calculation.request)))

    return calculate


HANDLERS = tuple(_handler(calculation) for calculation in CALCULATIONS)
"""One handler a calculation."""
