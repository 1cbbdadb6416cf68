"""Machines through the API."""

from starlette.responses import Response

from app.schemas.machine import MachineIn
from app.schemas.requests import NewMachineIn
from app.services import machines
from app.services.machines import MachineView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, listed


@route("GET", "/machines", "machines.read", Described(answers=MachineView, many=True))
def list_machines(
    call: Calling,
    search: Words = "",
    customer_id: int | None = None,
    limit: Limit = 50,
    offset: Offset = 0,
) -> Response:
    """Machines, newest first; `search` looks in make, model, plate and frame number."""
    return listed(
        call,
        lambda most, start: call.read(
            lambda session: machines.find(session, call.actor, search, customer_id, most, start)
        ),
        limit,
        offset,
    )


@route(
    "POST",
    "/machines",
    "machines.write",
    Described(sends=NewMachineIn, answers=MachineView, status=201, repeatable=True),
)
def add_machine(call: Calling) -> Response:
    """Make a new machine of a customer."""
    sent = call.sent(NewMachineIn)
    return call.write(
        lambda session: machines.create(session, call.actor, sent.customer_id, sent, call.now),
        201,
    )


@route("GET", "/machines/{machine_id}", "machines.read", Described(answers=MachineView))
def read_machine(call: Calling, machine_id: int) -> Response:
    """One machine."""
    return answer(call.read(lambda session: machines.read(session, call.actor, machine_id)))


@route(
    "PUT",
    "/machines/{machine_id}",
    "machines.write",
    Described(sends=MachineIn, answers=MachineView, repeatable=True),
)
def change_machine(call: Calling, machine_id: int) -> Response:
    """Put new values in place of a machine's old ones."""
    sent = call.sent(MachineIn)
    return call.write(
        lambda session: machines.update(session, call.actor, machine_id, sent, call.now)
    )
