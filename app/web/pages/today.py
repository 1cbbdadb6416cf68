"""Today's list: one line a job, what waits for whom, since when."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import today as list_of_today
from app.services.permissions import allowed
from app.services.today import TodayLine
from app.web.database import Read
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.pages.words import Mark, mark, opened
from app.web.rendering import Page, show
from app.web.visits import Here
from app.wording import jobs as job_words
from app.wording.moments import moment
from app.wording.translation import _, counted

MOST_LINES = 200


@dataclass(frozen=True, slots=True)
class Line:
    """One job."""

    number: str
    plate: str
    machine: str
    customer: str
    claim: str
    next_step: str
    waits_for: str
    since: str
    finding: Mark | None
    holds: str


@dataclass(frozen=True, kw_only=True)
class TodayPage(Page):
    template: ClassVar[str] = "pages/today.html"
    lines: tuple[Line, ...]
    summary: str
    roles: tuple[Option, ...]
    closed: tuple[Option, ...]
    searched: bool
    may_check_in: bool


@pages.add("GET", "/", "jobs.read")
def today(request: Request, visit: Here, session: Read) -> Response:
    """The list; what it is filtered by stands in the address."""
    sought = {name: request.query_params.get(name, "")[:200] for name in ("q", "role", "closed")}
    found = list_of_today.today(
        session,
        visit.person,
        text=sought["q"],
        waits_for=sought["role"] if sought["role"] in job_words.ROLES else None,
        include_closed=bool(sought["closed"]),
        limit=MOST_LINES,
    )
    page = TodayPage(
        title=_("Today"),
        form=FormState(sought),
        lines=tuple(line_of(line) for line in found.lines),
        summary=summary_of(found, MOST_LINES),
        roles=role_options(),
        closed=(Option("1", _("closed jobs too"), bool(sought["closed"])),),
        searched=any(sought.values()),
        may_check_in=allowed(visit.person, "jobs.check_in"),
    )
    return show(request, visit, page)


def line_of(line: TodayLine) -> Line:
    """A line in words."""
    return Line(
        number=line.number,
        plate=line.plate or "",
        machine=f"{line.make} {line.model}",
        customer=line.customer_name or _("erased"),
        claim=line.claim_number or "",
        next_step=job_words.step(line.next_step or "") or job_words.status(line.status),
        waits_for=job_words.role(line.waits_for) if line.waits_for else "",
        since=moment(line.since),
        finding=mark(line.finding) if line.finding else None,
        holds=opened(line.holds_open),
    )


def role_options() -> tuple[Option, ...]:
    """For whom jobs may wait."""
    roles = [code for code in job_words.ROLES if code != "owner"]
    return (Option("", _("anybody")), *(Option(code, job_words.role(code)) for code in roles))


def summary_of(found: list_of_today.Today, limit: int) -> str:
    """How many jobs there are and for whom they wait, in one line."""
    parts = [
        counted("{count} waits for the {role}", "{count} wait for the {role}", count).format(
            count=count, role=job_words.role(code)
        )
        for code, count in found.waiting
        if count
    ]
    if found.total > limit:
        parts.append(_("{shown} of {total} are shown").format(shown=limit, total=found.total))
    return " · ".join(parts)
