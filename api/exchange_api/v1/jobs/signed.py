"""The record of a close as it was signed, byte for byte."""

from exchange_api.problems import Problem, parameter_fault
from exchange_api.records_store import SignedRecord, signed_record
from exchange_api.storage.units import Connection, Unit
from exchange_api.v1.jobs import store

SIGNED = "application/jose+json"


def signed_of(*, workshop_id: str, job_id: str, closing: int | None) -> Unit[SignedRecord]:
    """A unit: the signed record of a close, of the one that counts where none is named.

    Raises: Problem 404 for a job or a close that there is not, 409 while a job is open.
    """

    def unit(connection: Connection) -> SignedRecord:
        loaded = store.load(connection, workshop_id, job_id)
        if closing is None and loaded.row.closed_at is None:
            raise _conflict(job_id, "is still open", "Close the job first.")
        keyed = {"workshop_id": workshop_id, "job_id": job_id}
        found = signed_record(connection, **keyed, number=closing or loaded.closing_number)
        if found is None:
            raise _unsigned(job_id) if closing is None else _no_such_close(closing)
        return found

    return unit


def only_signed(closing: int) -> Problem:
    """Why an earlier record is not shown in another form."""
    error = parameter_fault(
        "query", "closing", code="not-acceptable", detail="records of closes are kept signed alone",
        value=closing, allowed=f"with Accept: {SIGNED}",
        remedy="Accept the signed record, or leave it out.",
    )  # fmt: skip
    return Problem("not-acceptable", "It is kept in its signed form alone.", errors=[error])


def _conflict(job_id: str, standing: str, remedy: str) -> Problem:
    error = parameter_fault(
        "path", "job_id", code="conflict", detail=f"the job {standing}", value=job_id,
        allowed="a job whose close was signed", remedy=remedy,
    )  # fmt: skip
    return Problem("conflict", f"The job {standing}.", errors=[error])


def _unsigned(job_id: str) -> Problem:
    standing = "was closed before records were signed"
    return _conflict(job_id, standing, "Reopen it and close it again, or take the plain record.")


def _no_such_close(closing: int) -> Problem:
    error = parameter_fault(
        "query", "closing", code="unknown-id", detail="the job was not closed so often",
        value=closing, allowed="1 for the first close, one more after each reopening",
        remedy="Look at the earlier closings of the job.",
    )  # fmt: skip
    return Problem("not-found", "There is no record of this close.", errors=[error])
