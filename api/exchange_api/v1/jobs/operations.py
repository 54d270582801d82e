"""What the job operations declare of themselves."""

from exchange_api.documents.forms import HTML, PDF
from exchange_api.operations import JSON, Answer, Link, Operation
from exchange_api.v1.jobs.answers import (
    EventList,
    EventOutcomes,
    EventPost,
    GuidanceQuery,
    JobPage,
    JobQuery,
    JobStart,
    RecordQuery,
    SignedClosing,
)
from exchange_api.v1.jobs.examples import READING_POST
from exchange_api.v1.jobs.reopening import Reopening
from exchange_api.v1.jobs.signed import SIGNED
from libexchange.job.guidance import Guidance
from libexchange.job.view import JobView
from libexchange.record import JobRecord

_OF_PATH = {"job_id": "$request.path.job_id"}
_FOLLOW = {
    "read": Link(operation_id="getJob", description="Follow the job.", parameters=_OF_PATH),
    "post": Link(operation_id="postEvents", description="Post events.", parameters=_OF_PATH),
    "events": Link(
        operation_id="listEvents", description="Read what was posted.", parameters=_OF_PATH
    ),
    "guidance": Link(
        operation_id="getGuidance", description="Ask what is next.", parameters=_OF_PATH
    ),
    "close": Link(
        operation_id="closeJob",
        description="Close it as it was seen.",
        parameters=_OF_PATH | {"If-Match": "$response.header.ETag"},
    ),
}
_FIRST = {
    "first": Link(
        operation_id="getJob",
        description="Read the first of them.",
        parameters={"job_id": "$response.body#/items/0/job_id"},
    ),
}
_RECORD_LINK = {
    "record": Link(operation_id="getRecord", description="Read the record.", parameters=_OF_PATH),
}

START = Operation(
    operation_id="startJob",
    summary="Start a job on a plan",
    description="The caller chooses the id. The same plan again answers 200, another plan 409. "
    "A plan that is not feasible starts no job. A comeback, a recheck or a warranty claim names "
    "the earlier jobs in `related`; both then show each other.",
    tag="jobs",
    scope="jobs:write",
    body=JobStart,
    problems=("conflict",),
    examples={"start": {"plan_id": "01920000-0000-7000-8000-000000000001"}},
    changes=True,
    answers={
        200: Answer(description="It was started before.", content=JobView, headers=("ETag",)),
        201: Answer(
            description="It is started.",
            content=JobView,
            headers=("ETag", "Location"),
            links=_FOLLOW,
        ),
    },
)
GET = Operation(
    operation_id="getJob",
    summary="Read a job",
    tag="jobs",
    scope="jobs:read",
    headers=("If-None-Match",),
    answers={
        200: Answer(
            description="The job.",
            content=JobView,
            headers=("ETag",),
            links=_FOLLOW,
        )
    },
)
LIST = Operation(
    operation_id="listJobs",
    summary="List jobs, the longest unchanged first",
    tag="jobs",
    scope="jobs:read",
    query=JobQuery,
    answers={200: Answer(description="A page of jobs.", content=JobPage, links=_FIRST)},
)
POST_EVENTS = Operation(
    operation_id="postEvents",
    summary="Post the events of a device",
    description="Safe to repeat for ever. Each item has its own outcome: a bad one is refused "
    "alone, an event of the same id with another content is a conflict, and what comes after the "
    "close is kept as late. Any order of arrival gives one state. A device counts the events of "
    "each job from 0 by their `sequence`; what is missing of its count is told in `gaps`. An event "
    "is the same whatever `device_id` it comes under; under a new one the count begins anew.",
    tag="jobs",
    scope="jobs:write",
    body=EventPost,
    examples={"a reading": READING_POST},
    body_limit=4 * 2**20,
    changes=True,
    answers={200: Answer(description="What became of each.", content=EventOutcomes)},
)
LIST_EVENTS = Operation(
    operation_id="listEvents",
    summary="Read the events of a job",
    tag="jobs",
    scope="jobs:read",
    answers={200: Answer(description="All of them.", content=EventList)},
)
GUIDANCE = Operation(
    operation_id="getGuidance",
    summary="What to do next",
    description="Judged by what had happened up to `at`, or by all of it without. Where the clock "
    "of a device runs ahead, ask for the moment of its newest event: without one no gate is known "
    "to be open then.",
    tag="jobs",
    scope="jobs:read",
    query=GuidanceQuery,
    answers={200: Answer(description="The guidance.", content=Guidance)},
)
CLOSE = Operation(
    operation_id="closeJob",
    summary="Close a job with its verdict",
    description="Needs `If-Match` with the ETag of the job. Events that come later change no "
    "verdict. The record as it stands is signed and kept; give the customer its digest.",
    tag="jobs",
    scope="jobs:write",
    headers=("If-Match",),
    problems=("conflict",),
    changes=True,
    answers={
        200: Answer(
            description="The verdict, and the digest of the record that was signed with it.",
            content=SignedClosing,
            headers=("ETag",),
            links=_RECORD_LINK,
        )
    },
)
REOPEN = Operation(
    operation_id="reopenJob",
    summary="Open a closed job again",
    description="Needs `If-Match` with the ETag of the job. The closing stays among "
    "`earlier_closings`, and what came after it counts like any other event from now on. The next "
    "close judges all of it anew.",
    tag="jobs",
    scope="jobs:write",
    headers=("If-Match",),
    body=Reopening,
    problems=("conflict",),
    changes=True,
    examples={"reopen": {"by": "Invented Foreman", "reason": "The leak was found after all."}},
    answers={
        200: Answer(description="The open job.", content=JobView, headers=("ETag",), links=_FOLLOW)
    },
)
RECORD = Operation(
    operation_id="getRecord",
    summary="The record of a closed job",
    description="For programs as JSON, for people as a page or a PDF: `for=workshop` is the full "
    "record, `for=customer` one sheet in plain words. As JWS it is the record of a close as it was "
    "signed then, byte for byte, for whoever verifies it.",
    tag="jobs",
    scope="jobs:read",
    query=RecordQuery,
    headers=("If-None-Match",),
    problems=("conflict",),
    answers={
        200: Answer(
            description="The record, for programs, as a page, as a PDF or as it was signed.",
            content=JobRecord,
            media_types=(JSON, HTML, PDF, SIGNED),
            headers=("ETag",),
        )
    },
)
WARRANTY_PACK = Operation(
    operation_id="getWarrantyPack",
    summary="The record of a closed job with its photos, as one PDF",
    description="The full record, then every photo that it names with what it shows and its "
    "digest; the pack says which of their files were not sent.",
    tag="jobs",
    scope="jobs:read",
    headers=("If-None-Match",),
    problems=("conflict", "overloaded"),
    answers={200: Answer(description="The pack.", media_types=(PDF,), headers=("ETag",))},
)
LABELS = Operation(
    operation_id="getLabels",
    summary="Labels for the samples of a job, as a PDF",
    description="One for each sample that is neither split nor destroyed, with a code that leads "
    "to the record under the address that this is asked at. A job need not be closed for it.",
    tag="jobs",
    scope="jobs:read",
    headers=("If-None-Match",),
    answers={200: Answer(description="The labels.", media_types=(PDF,), headers=("ETag",))},
)
