"""Jobs through the API: check-in, choices, notes, closing."""

from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.check_in import CheckInChangeIn, CheckInIn
from app.schemas.machine_change import MachineChangeIn
from app.schemas.requests import (
    CancelIn,
    CorrectionDoneIn,
    HandOverIn,
    InstrumentChoiceIn,
    ReasonIn,
    ReferenceChoiceIn,
    VisualChecksIn,
)
from app.services import (
    check_in,
    check_in_changes,
    corrections_ordered,
    jobs,
    machine_changes,
    reference_fit,
    visual_checks,
)
from app.services.check_in import CheckedIn
from app.services.jobs import JobView
from app.services.put_right import MachineChange
from app.services.today import TodayLine, today
from app.services.visual_checks import HoldView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, page, sliced


@route("GET", "/jobs", "jobs.read", Described(answers=TodayLine, many=True))
def list_jobs(
    call: Calling,
    search: Words = "",
    status: Words = "",
    waits_for: Words = "",
    closed: bool = False,
    limit: Limit = 50,
    offset: Offset = 0,
) -> Response:
    """Jobs, the overdue first, then those that waited longest; with `closed` also closed ones."""
    found = call.read(
        lambda session: today(
            session,
            call.actor,
            call.now.astimezone().date(),
            search,
            status or None,
            waits_for or None,
            closed,
            widely=True,
            limit=limit,
            offset=offset,
        )
    )
    return page(call, found.lines, limit, offset, more=found.total > offset + limit)


@route(
    "POST",
    "/jobs",
    "jobs.check_in",
    Described(sends=CheckInIn, answers=CheckedIn, status=201, repeatable=True),
)
def check_machine_in(call: Calling) -> Response:
    """Check a machine in: customer, machine, claim and job, all of them or none."""
    sent = call.sent(CheckInIn)
    return call.write(lambda session: check_in.check_in(session, call.actor, sent, call.now), 201)


@route("GET", "/jobs/{number}", "jobs.read", Described(answers=JobView))
def read_job(call: Calling, number: str) -> Response:
    """Everything on record of one job."""
    return answer(call.read(lambda session: jobs.read(session, call.actor, number)))


@route(
    "PUT",
    "/jobs/{number}/check-in",
    "jobs.check_in",
    Described(sends=CheckInChangeIn, answers=JobView, repeatable=True),
)
def put_check_in_right(call: Calling, number: str) -> Response:
    """Put a check-in right; `version` is the job's `check_in_version` as it was read."""
    sent = call.sent(CheckInChangeIn)
    return call.write(
        lambda session: check_in_changes.change(session, call.actor, number, sent, call.now)
    )


@route(
    "PUT",
    "/jobs/{number}/machine",
    "jobs.check_in",
    Described(sends=MachineChangeIn, answers=MachineChange, repeatable=True),
)
def put_machine_right(call: Calling, number: str) -> Response:
    """Put right what the machine is, with a reason; `version` is the job's `check_in_version`."""
    sent = call.sent(MachineChangeIn)
    return call.write(
        lambda session: machine_changes.change(session, call.actor, number, sent, call.now)
    )


@route(
    "GET",
    "/jobs/{number}/machine-changes",
    "jobs.read",
    Described(answers=MachineChange, many=True),
)
def list_machine_changes(
    call: Calling, number: str, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """What was put right of a job's machine, newest first."""
    found = call.read(lambda session: machine_changes.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "PUT",
    "/jobs/{number}/reference",
    "jobs.choose_reference",
    Described(sends=ReferenceChoiceIn, answers=JobView, repeatable=True),
)
def choose_reference(call: Calling, number: str) -> Response:
    """Fix the reference revision that the job is judged by; of another machine with `because`."""
    sent = call.sent(ReferenceChoiceIn)
    return call.write(
        lambda session: reference_fit.choose(
            session,
            call.actor,
            number,
            sent.reference_id,
            sent.because or "",
            call.now,
            sent.revision,
        )
    )


@route(
    "PUT",
    "/jobs/{number}/instrument",
    "jobs.choose_reference",
    Described(sends=InstrumentChoiceIn, answers=JobView, repeatable=True),
)
def choose_instrument(call: Calling, number: str) -> Response:
    """Choose the instrument of the job's next surveys."""
    sent = call.sent(InstrumentChoiceIn)
    return call.write(
        lambda session: jobs.fix_instrument(
            session, call.actor, number, sent.instrument_id, call.now
        )
    )


@route(
    "POST",
    "/jobs/{number}/visual-checks",
    "visual_checks.write",
    Described(sends=VisualChecksIn, answers=tuple[HoldView, ...], status=201, repeatable=True),
)
def answer_visual_checks(call: Calling, number: str) -> Response:
    """Add answers to the visual check; gives the holds that are open."""
    sent = call.sent(VisualChecksIn)
    return call.write(
        lambda session: visual_checks.answer(session, call.actor, number, sent.checks, call.now),
        201,
    )


@route(
    "POST",
    "/jobs/{number}/holds/{hold_id}/close",
    "holds.close",
    Described(sends=ReasonIn, answers=HoldView, repeatable=True),
)
def close_hold(call: Calling, number: str, hold_id: int) -> Response:
    """Close a hold, with the reason."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: visual_checks.close_hold(
            session, call.actor, number, hold_id, sent.reason, call.now
        )
    )


@route(
    "POST",
    "/jobs/{number}/corrections",
    "corrections.write",
    Described(sends=CorrectionDoneIn, answers=JobView, status=201, repeatable=True),
)
def note_correction(call: Calling, number: str) -> Response:
    """Note what was done to the machine; what was not ordered needs `agreed` and `agreed_by`."""
    sent = call.sent(CorrectionDoneIn)

    def noted(session: Session) -> JobView:
        corrections_ordered.note(
            session, call.actor, number, sent, sent.agreed, sent.agreed_by or "", call.now
        )
        return jobs.read(session, call.actor, number)

    return call.write(noted, 201)


@route(
    "POST",
    "/jobs/{number}/cancel",
    "jobs.cancel",
    Described(sends=CancelIn, answers=JobView, repeatable=True),
)
def cancel_job(call: Calling, number: str) -> Response:
    """End a job without a certificate; where its machine is still here, handing it over is due."""
    sent = call.sent(CancelIn)
    return call.write(
        lambda session: jobs.cancel(
            session, call.actor, number, sent.reason, call.now, sent.still_here
        )
    )


@route(
    "POST",
    "/jobs/{number}/reopen",
    "jobs.cancel",
    Described(sends=ReasonIn, answers=JobView, repeatable=True),
)
def reopen_job(call: Calling, number: str) -> Response:
    """Open a closed job again."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: jobs.reopen(session, call.actor, number, sent.reason, call.now)
    )


@route(
    "POST",
    "/jobs/{number}/hand-over",
    "jobs.hand_over",
    Described(sends=HandOverIn, answers=JobView, repeatable=True),
)
def hand_over_job(call: Calling, number: str) -> Response:
    """The machine leaves the shop, also that of a cancelled job."""
    sent = call.sent(HandOverIn)
    return call.write(
        lambda session: jobs.hand_over(
            session,
            call.actor,
            number,
            sent.handed_over_to,
            call.now,
            sent.given_back,
            sent.kept_because or "",
            sent.told,
        )
    )
