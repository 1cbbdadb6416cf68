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

from app.services.recognising import Recognised, Typed, left_out, recognised
from app.web.database import Read
from app.web.door import pages
from app.web.forms import Sent
from app.web.pages.words import machine_name
from app.web.rendering import Page, show
from app.web.visits import Here, Visit
from app.wording import frame_numbers
from app.wording.translation import _, counted

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
    more: str
    """How many others fit; empty where none do."""


@dataclass(frozen=True, kw_only=True)
class FrameNumberPage(Page):
    template: ClassVar[str] = "pages/frame_number.html"
    said: tuple[str, ...]


@pages.add("POST", "/check-in/known", "jobs.check_in")
def known_while_typing(request: Request, visit: Here, session: Read, form: Sent) -> Response:
    """Who and what is on record of what was typed so far."""
    typed = typed_of(form.values())
    known, more = known_of(session, visit, typed), more_of(session, visit, typed)
    return show(request, visit, KnownPage(title=_("On record"), known=known, more=more))


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


def more_of(session: Session, visit: Visit, typed: Typed) -> str:
    """That others fit too, and what to do."""
    left = left_out(session, visit.person, typed)
    if not left:
        return ""
    return counted(
        "{count} more fits: type further letters.",
        "{count} more fit: type further letters.",
        left,
    ).format(count=left)


def ways_to_take(one: Recognised) -> Iterator[Known]:
    """The machine with its owner; found by its marks it may also have changed hands."""
    name = one.customer.name
    if one.machine is None:
        beside = join(_("with another machine"), because(one))
        yield Known(f"{one.customer.id}-", name or _("erased"), beside)
        return
    marks = [mark for mark in (one.machine.plate, one.machine.frame_number) if mark]
    machine = ", ".join([machine_name(one.machine), *marks])
    here = _("here already, job {number}").format(number=one.here_as) if one.here_as else ""
    if name:
        yield Known(f"{one.customer.id}-{one.machine.id}", name, join(machine, here, because(one)))
    if one.by_mark:
        owner = _("Somebody else, who owns it now")
        yield Known(f"-{one.machine.id}", owner, join(machine, here))


def because(one: Recognised) -> str:
    """What fits, where it is not the name."""
    if one.fits_by == "email":
        return _("the mail fits: {mail}").format(mail=one.customer.email or "")
    return _("the address fits") if one.fits_by else ""


def join(*parts: str) -> str:
    """The parts that say something, one after the other."""
    return " · ".join(filter(None, parts))
