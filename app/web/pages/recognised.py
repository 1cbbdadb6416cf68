"""While the desk types: who is on record, and what the check of the frame number says.

Both are pieces of a page, asked for with what was typed in the body: names and plates do not
belong into addresses, which logs keep.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services.recognising import Recognised, Typed, recognised
from app.web.database import Read
from app.web.door import pages
from app.web.forms import Sent
from app.web.pages.words import machine_name
from app.web.rendering import Page, show
from app.web.visits import Here, Visit
from app.wording import frame_numbers
from app.wording.translation import _

LONGEST = 200


@dataclass(frozen=True, slots=True)
class Known:
    """A customer with one of their machines, or without, to be taken over."""

    take: str
    """Both ids, as the form sends them; either may be empty."""
    label: str
    beside: str


@dataclass(frozen=True, kw_only=True)
class KnownPage(Page):
    template: ClassVar[str] = "pages/known.html"
    known: tuple[Known, ...]


@dataclass(frozen=True, kw_only=True)
class FrameNumberPage(Page):
    template: ClassVar[str] = "pages/frame_number.html"
    said: tuple[str, ...]


@pages.add("POST", "/check-in/known", "jobs.check_in")
def known_while_typing(request: Request, visit: Here, session: Read, form: Sent) -> Response:
    """Who and what is on record of what was typed so far."""
    known = known_of(session, visit, typed_of(form.values()))
    return show(request, visit, KnownPage(title=_("On record"), known=known))


@pages.add("POST", "/check-in/frame-number", "jobs.check_in")
def frame_number_while_typing(request: Request, visit: Here, form: Sent) -> Response:
    """What the check of the frame number says."""
    typed = form.text("machine.frame_number") or form.text("frame_number")
    said = frame_numbers.explained(typed[:LONGEST])
    return show(request, visit, FrameNumberPage(title=_("Frame number"), said=said))


def typed_of(values: Mapping[str, str]) -> Typed:
    """What was typed so far of who and what it may be."""
    return Typed(
        name=values.get("customer.name", "")[:LONGEST],
        phone=values.get("customer.phone", "")[:LONGEST],
        plate=values.get("machine.plate", "")[:LONGEST],
        frame_number=values.get("machine.frame_number", "")[:LONGEST],
    )


def known_of(session: Session, visit: Visit, typed: Typed) -> tuple[Known, ...]:
    """Customers and machines that fit what was typed."""
    found = recognised(session, visit.person, typed)
    return tuple(known for one in found for known in ways_to_take(one))


def ways_to_take(one: Recognised) -> Iterator[Known]:
    """The machine with its owner; found by its marks it may also have changed hands."""
    name = one.customer.name
    if one.machine is None:
        beside = _("with another machine")
        yield Known(f"{one.customer.id}-", name or _("erased"), beside)
        return
    marks = [mark for mark in (one.machine.plate, one.machine.frame_number) if mark]
    machine = ", ".join([machine_name(one.machine), *marks])
    here = _("here already, job {number}").format(number=one.here_as) if one.here_as else ""
    if name:
        yield Known(f"{one.customer.id}-{one.machine.id}", name, join(machine, here))
    if one.by_mark:
        owner = _("Somebody else, who owns it now")
        yield Known(f"-{one.machine.id}", owner, join(machine, here))


def join(*parts: str) -> str:
    """The parts that say something, one after the other."""
    return " · ".join(filter(None, parts))
