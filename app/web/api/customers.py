"""Customers through the API."""

from typing import Any

from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.customer import CustomerIn
from app.schemas.requests import ReasonIn
from app.services import customers, kept, shop
from app.services.customers import CustomerView
from app.services.kept_document import document
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, listed


@route("GET", "/customers", "customers.read", Described(answers=CustomerView, many=True))
def list_customers(
    call: Calling, search: Words = "", limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Customers, newest first; `search` looks in name and telephone, else in address and mail."""
    return listed(
        call,
        lambda most, start: call.read(
            lambda session: customers.find(session, call.actor, search, most, start)
        ),
        limit,
        offset,
    )


@route(
    "POST",
    "/customers",
    "customers.write",
    Described(sends=CustomerIn, answers=CustomerView, status=201, repeatable=True),
)
def add_customer(call: Calling) -> Response:
    """Make a new customer."""
    sent = call.sent(CustomerIn)
    return call.write(lambda session: customers.create(session, call.actor, sent, call.now), 201)


@route("GET", "/customers/{customer_id}", "customers.read", Described(answers=CustomerView))
def read_customer(call: Calling, customer_id: int) -> Response:
    """One customer."""
    return answer(call.read(lambda session: customers.read(session, call.actor, customer_id)))


@route(
    "PUT",
    "/customers/{customer_id}",
    "customers.write",
    Described(sends=CustomerIn, answers=CustomerView, repeatable=True),
)
def change_customer(call: Calling, customer_id: int) -> Response:
    """Put new values in place of a customer's old ones."""
    sent = call.sent(CustomerIn)
    return call.write(
        lambda session: customers.update(session, call.actor, customer_id, sent, call.now)
    )


@route(
    "GET",
    "/customers/{customer_id}/kept",
    "customers.tell",
    Described(answers=dict[str, Any]),
)
def read_what_is_kept(call: Calling, customer_id: int) -> Response:
    """All that is kept of a customer, to be handed to them."""

    def told(session: Session) -> dict[str, Any]:
        found = kept.read(session, call.actor, customer_id, call.now)
        return document(found, shop.read(session, call.actor).name, call.now)

    return answer(call.read(told))


@route(
    "POST",
    "/customers/{customer_id}/erase",
    "customers.erase",
    Described(sends=ReasonIn, answers=CustomerView, repeatable=True),
)
def erase_customer(call: Calling, customer_id: int) -> Response:
    """Erase a customer's personal values for good."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: customers.erase(session, call.actor, customer_id, sent.reason, call.now)
    )
