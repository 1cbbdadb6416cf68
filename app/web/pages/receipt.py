"""The receipt of a machine that was handed over: one sheet of A4, to be signed by who took it."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import closings, jobs, shop
from app.services.as_it_came import AsItCame, as_it_came
from app.services.closings import Closing
from app.services.jobs import JobView
from app.web.database import Read
from app.web.door import pages
from app.web.pages.road import open_as_it_leaves
from app.web.pages.words import Fact, machine_name, or_not_stated
from app.web.rendering import Page, show
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording import leaving
from app.wording.moments import day, moment
from app.wording.translation import _

MOST_ZONES = 6
"""That are named on the sheet, so that it stays one; how many more there are is told."""


@dataclass(frozen=True, kw_only=True)
class ReceiptPage(Page):
    template: ClassVar[str] = "pages/receipt.html"
    number: str
    shop: tuple[str, ...]
    """Name, then lines of address, then telephone."""
    plate: str
    machine: str
    facts: tuple[Fact, ...]
    handed: tuple[Fact, ...]
    given_back: tuple[str, ...]
    kept_here: tuple[str, ...]
    kept_because: str
    certificates: tuple[str, ...]
    came: tuple[str, ...]
    """What of the machine as it came is still to be told, sentences."""
    open: tuple[str, ...]
    """What it leaves with, sentences; nothing where nothing is open."""
    named: bool
    """Who took it is on record, and need not write their name."""
    erased: str
    """That the customer was erased since; there is no sheet then. Else empty."""


@pages.add("GET", "/jobs/{number}/receipt", "jobs.hand_over", name="hand_over_receipt")
def receipt(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What was given back when the machine left, to be printed and signed."""
    left = closings.left(session, visit.person, number)
    came = as_it_came(session, visit.person, number)
    return show(request, visit, page_for(session, visit, number, left, came))


def page_for(
    session: Session, visit: Visit, number: str, left: Closing, came: AsItCame
) -> ReceiptPage:
    """The sheet in words."""
    job = jobs.read(session, visit.person, number)
    keeper = shop.read(session, visit.person)
    return ReceiptPage(
        title=_("Receipt {number}").format(number=job.number),
        number=job.number,
        shop=tuple(filter(None, [keeper.name, *keeper.address.splitlines(), keeper.phone])),
        plate=job.machine.plate or "",
        machine=machine_name(job.machine),
        facts=machine_facts(job),
        handed=handed_facts(left),
        given_back=left.given_back,
        kept_here=left.kept_here,
        kept_because=left.words or "",
        certificates=tuple(
            f"{one.number} ({words.kind(one.kind)})"
            for one in job.certificates
            if one.status == "valid"
        ),
        came=leaving.as_it_came(came.damaged, came.not_rideable, MOST_ZONES),
        open=leaving.left_with(*open_as_it_leaves(job)),
        named=bool(left.to),
        erased=erased_since(left.at, job.customer.erased_at),
    )


def receipt_stands(job: JobView) -> bool:
    """The machine has left, and nothing of what the receipt says was erased since."""
    left_at = job.handed_over_at
    return left_at is not None and not erased_since(left_at, job.customer.erased_at)


def erased_since(left_at: datetime, erased_at: datetime | None) -> str:
    """Where the customer was erased after the machine left: when, and what holds instead."""
    if erased_at is None or erased_at < left_at:
        return ""
    told = _(
        "The customer was erased on {day}, and with them to whom the machine was given and what "
        "was given back. The paper that was signed when it left stands; no new one is printed."
    )
    return told.format(day=day(erased_at))


def machine_facts(job: JobView) -> tuple[Fact, ...]:
    """Which machine, and whose."""
    return (
        Fact(_("Frame number"), or_not_stated(job.machine.frame_number)),
        Fact(_("Customer"), job.customer.name or _("erased")),
        Fact(_("Received"), moment(job.received_at)),
    )


def handed_facts(left: Closing) -> tuple[Fact, ...]:
    """When it left, to whom, and who handed it over."""
    return (
        Fact(_("Handed over"), moment(left.at)),
        Fact(_("To whom"), or_not_stated(left.to)),
        Fact(_("By"), or_not_stated(left.by)),
    )
