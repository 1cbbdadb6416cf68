"""Withdrawing a certificate: which one, that it is for good, why, and the password again."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import certificates, jobs
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.certificates import facts_of
from app.web.pages.words import Fact
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording.jobs import certificate_status
from app.wording.translation import _

PLACE = "/certificates/{number}/withdraw"


@dataclass(frozen=True, kw_only=True)
class WithdrawPage(Page):
    template: ClassVar[str] = "pages/withdraw.html"
    number: str
    job: str
    facts: tuple[Fact, ...]
    """Which certificate of which machine it is."""
    not_in_force: str
    """Its status, where there is nothing to withdraw; else empty."""


@pages.add("GET", PLACE, "certificates.withdraw", name="withdraw_form")
def withdraw_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What is withdrawn, before it is."""
    return show(request, visit, page_for(session, visit, number, FormState()))


@pages.add("POST", PLACE, "certificates.withdraw", name="withdraw")
def withdraw(request: Request, visit: Here, database: Records, form: Sent, number: str) -> Response:
    """In force no more from now on; the reason is for the shop and who holds a claim link."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(session, visit, number, state)

    values = {"reason": form.text("reason")}
    with shown_again(request, visit, values, again, ("password",)):
        certificates.withdraw_in_person(
            database,
            visit.person,
            number,
            form.text("reason"),
            form.exact("password"),
            visit.now,
            request.app.state.passwords,
        )
    return see("certificate", number=number)


def page_for(session: Session, visit: Visit, number: str, state: FormState) -> WithdrawPage:
    """The page, with the machine that the certificate speaks of."""
    found = certificates.certificate(session, visit.person, number)
    job = jobs.read(session, visit.person, found.job_number)
    stands = found.status in ("valid", "distrusted")
    return WithdrawPage(
        title=_("Withdraw certificate {number}").format(number=found.number),
        form=state,
        number=found.number,
        job=found.job_number,
        facts=(
            *facts_of(found),
            Fact(_("Job"), found.job_number),
            Fact(_("Customer"), job.customer.name or _("erased")),
        ),
        not_in_force="" if stands else certificate_status(found.status),
    )
