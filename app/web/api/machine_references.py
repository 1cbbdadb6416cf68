"""References made from measured machines: worked out and answered, stored by a call of its own."""

from starlette.responses import Response

from app.schemas.machine_reference import FromJobsIn, FromSurveysIn, MachineReferenceOut
from app.services.machine_references import Machine, from_machines
from app.services.references_from_jobs import from_jobs
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route


@route(
    "POST",
    "/references/from-surveys",
    "solve",
    Described(sends=FromSurveysIn, answers=MachineReferenceOut),
)
def reference_from_surveys(call: Calling) -> Response:
    """Work out a reference from surveys of machines in order; nothing is stored."""
    sent = call.sent(FromSurveysIn)
    machines = [Machine(one.name, one.survey, one.left_out_because) for one in sent.surveys]
    return answer(from_machines(machines, sent.base, sent.machine, sent))


@route(
    "POST",
    "/references/from-jobs",
    "references.write",
    Described(sends=FromJobsIn, answers=MachineReferenceOut),
)
def reference_from_jobs(call: Calling) -> Response:
    """Work out a reference from measurements on record; nothing is stored."""
    sent = call.sent(FromJobsIn)
    return answer(call.read(lambda session: from_jobs(session, call.actor, sent)))
