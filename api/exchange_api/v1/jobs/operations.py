"""What the job operations declare of themselves."""

from exchange_api.operations import JSON, Answer, Link, Operation
from exchange_api.v1.jobs.answers import (
    EventList,
    EventOutcomes,
    EventPost,
    GuidanceQuery,
    JobPage,
    JobQuery,
    JobStart,
)
from exchange_api.v1.jobs.examples import READING_POST
from libexchange.job.guidance import Guidance
from libexchange.job.view import Closing, JobView
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
    "A plan that is not feasible starts no job.",
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
    "close is kept as late. Any order of arrival gives one state.",
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
    description="Judged by what had happened up to `at`. Where the clock of a device runs ahead, "
    "ask for the moment of its newest event.",
    tag="jobs",
    scope="jobs:read",
    query=GuidanceQuery,
    answers={200: Answer(description="The guidance.", content=Guidance)},
)
CLOSE = Operation(
    operation_id="closeJob",
    summary="Close a job with its verdict",
    description="Needs `If-Match` with the ETag of the job. Events that come later change no "
    "verdict.",
    tag="jobs",
    scope="jobs:write",
    headers=("If-Match",),
    problems=("conflict",),
    changes=True,
    answers={
        200: Answer(
            description="The verdict.", content=Closing, headers=("ETag",), links=_RECORD_LINK
        )
    },
)
RECORD = Operation(
    operation_id="getRecord",
    summary="The record of a closed job",
    tag="jobs",
    scope="jobs:read",
    headers=("If-None-Match",),
    problems=("conflict",),
    answers={
        200: Answer(
            description="The record, for programs or as a page.",
            content=JobRecord,
            media_types=(JSON, "text/html"),
            headers=("ETag",),
        )
    },
)
