"""The job card: one sheet of A4 that hangs on the machine, with a code that opens the job."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlsplit

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.damage import ZONES
from app.services import jobs, shop, signatures
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.services.signed_for import Texts, changes, texts_of
from app.settings import LOOPBACK_NAMES, bracketed
from app.web import drawn
from app.web.database import Read
from app.web.door import pages
from app.web.form_state import Option
from app.web.pages.arrival import Arrival, arrival_of
from app.web.pages.order import how_signed
from app.web.pages.words import Fact, gone, machine_name, or_not_stated
from app.web.reach import address_for_others
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import damage as damage_words
from app.wording import jobs as words
from app.wording import orders
from app.wording.moments import day, moment
from app.wording.translation import _, counted

LONGEST_ACCOUNT = 320
MOST_DAMAGE, MOST_LEFT, MOST_CHANGED = 7, 6, 3
FEWER = 3
"""So many lines less where what changed after signing takes their room."""
LONGEST_LINE = 90
LONGEST_NOTICE = 900
"""Characters of the notice that still fit on the sheet; a longer one stands on a second sheet."""


@dataclass(frozen=True, slots=True)
class Signing:
    """A text with the place for its signature."""

    title: str
    text: tuple[str, ...]
    signed: str
    drawing: Markup
    to_sign: str = ""
    """That nobody signed it yet; empty where it is signed, or for who may not see that."""
    changed: tuple[str, ...] = ()
    """What the card says otherwise than what was signed."""


@dataclass(frozen=True, kw_only=True)
class JobCardPage(Page):
    template: ClassVar[str] = "pages/job_card.html"
    number: str
    shop: str
    plate: str
    machine: str
    stands: str
    code: Markup
    address: tuple[str, ...]
    """In parts, for the eye."""
    here_only: bool
    """The address reaches nobody but this machine."""
    facts: tuple[Fact, ...]
    claim: tuple[Fact, ...]
    account: str
    hour: str
    zones: tuple[Option, ...]
    hit: tuple[str, ...]
    damage: tuple[str, ...]
    left: tuple[str, ...]
    order: Signing
    notice: Signing
    second_sheet: bool
    arrival: Arrival | None


@pages.add("GET", "/jobs/{number}/card", "jobs.read")
def job_card(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The card of a job, to be printed."""
    job = jobs.read(session, visit.person, number)
    way = arrival_of(request.query_params, job, "job_card", visit.person)
    return show(request, visit, page_for(session, visit, job, address_of(request, number), way))


def address_of(request: Request, number: str) -> str:
    """Where the job's page is reached: as others do, else as this page was asked for."""
    start = address_for_others(request) or str(request.base_url).rstrip("/")
    return start + path_to("job", number=number)


def page_for(
    session: Session, visit: Visit, job: JobView, address: str, way: Arrival | None
) -> JobCardPage:
    """The card in words."""
    texts = texts_of(session, visit.person, job)
    order = signing(session, visit, job, texts, "authorisation")
    notice = signing(session, visit, job, texts, "privacy")
    erased = job.customer.erased_at
    fewer = FEWER if order.changed or notice.changed else 0
    return JobCardPage(
        title=_("Job card {number}").format(number=job.number),
        number=job.number,
        shop=shop.read(session, visit.person).name,
        plate=job.machine.plate or (_("plate erased") if erased else _("no plate")),
        machine=machine_name(job.machine),
        stands=(job.storage_place or "") if job.here else "",
        code=drawn.leading_to(address),
        address=in_parts(address),
        here_only=bracketed(urlsplit(address).hostname or "") in LOOPBACK_NAMES,
        facts=machine_facts(job),
        claim=claim_facts(job),
        account=cut(job.incident.account or "", LONGEST_ACCOUNT),
        hour=str(job.incident.clock_direction or ""),
        zones=tuple(Option(code, damage_words.zone(code)) for code in ZONES),
        hit=tuple(one.zone for one in job.damage),
        damage=some_of(job.visible_damage, MOST_DAMAGE - fewer),
        left=some_of(job.belongings, MOST_LEFT - fewer) or ((gone(erased),) if erased else ()),
        order=order,
        notice=notice,
        second_sheet=sum(map(len, notice.text)) > LONGEST_NOTICE,
        arrival=way,
    )


def in_parts(address: str) -> tuple[str, ...]:
    """An address as one reads it off: the shop's machine, then the page."""
    start, middle, rest = address.partition("/jobs/")
    return (start, middle + rest)


def signing(session: Session, visit: Visit, job: JobView, texts: Texts, purpose: str) -> Signing:
    """The text of one purpose, with its signature where this person may see it."""
    titles = {"authorisation": _("Order"), "privacy": _("Notice on personal data")}
    text = (texts.authorisation,) if purpose == "authorisation" else texts.notice
    found, to_sign = None, ""
    if allowed(visit.person, "signatures.read"):
        found = signatures.standing(session, visit.person, job.number).get(purpose)
        to_sign = _("not signed yet, to be signed here:")
    if found is None:
        return Signing(titles[purpose], text, "", Markup(""), to_sign)
    since = [orders.changed(it.label, it.before, it.after) for it in changes(found, texts)]
    return Signing(
        title=titles[purpose],
        text=tuple((found.wording or "").splitlines()) or text,
        signed=how_signed(found),
        drawing=drawn.signature(found.strokes, found.name or ""),
        changed=some_of(tuple(since), MOST_CHANGED),
    )


def machine_facts(job: JobView) -> tuple[Fact, ...]:
    """Machine, customer and days."""
    person = " · ".join(filter(None, [job.customer.name or _("erased"), job.customer.phone]))
    return (
        Fact(_("Frame number"), or_not_stated(job.machine.frame_number)),
        Fact(_("Colour"), or_not_stated(job.machine.colour)),
        Fact(_("Odometer, km"), or_not_stated(job.odometer_km)),
        Fact(_("Condition"), words.rideable(job.rideable)),
        Fact(_("Customer"), person),
        Fact(_("Received"), moment(job.received_at)),
        Fact(_("Promised for"), day(job.promised_on) if job.promised_on else _("not stated")),
    )


def claim_facts(job: JobView) -> tuple[Fact, ...]:
    """Insurer, claim and impact."""
    incident = job.incident
    hour = _("{hour} o'clock").format(hour=incident.clock_direction)
    return (
        Fact(_("Insurer"), or_not_stated(job.claim.insurer_name)),
        Fact(_("Claim number"), or_not_stated(job.claim.claim_number)),
        Fact(_("Day"), day(incident.happened_on) if incident.happened_on else _("not stated")),
        Fact(_("Kind of impact"), words.impact(incident.impact_kind)),
        Fact(_("Where it came from"), hour if incident.clock_direction else _("not stated")),
    )


def some_of(lines: tuple[str, ...], most: int) -> tuple[str, ...]:
    """As many lines as the card has room for; how many more there are stands below them."""
    shown = [cut(line, LONGEST_LINE) for line in lines[:most]]
    more = len(lines) - most
    if more > 0:
        told = counted("and {count} more, on the job's page", "and {count} more, on the job's page",
                       more)  # fmt: skip
        shown.append(told.format(count=more))
    return tuple(shown)


def cut(text: str, longest: int) -> str:
    """The text, or its beginning with a mark that it goes on."""
    return text if len(text) <= longest else text[:longest].rstrip() + " …"
