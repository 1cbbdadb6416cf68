"""Today's list: who must be called; then one line a job: what waits for whom, since when."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import today as list_of_today
from app.services.distrusted_signers import to_issue_anew
from app.services.jobs import STATUSES
from app.services.permissions import Actor, Role, allowed
from app.services.sign_off_queue import open_holds
from app.services.today import CallLine, Today, TodayLine
from app.web.database import Read
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.pages.calls import (
    NOTED,
    CallDone,
    call_done,
    dial,
    is_late,
    message_left,
    promise_options,
    reason_of,
    tried,
)
from app.web.pages.customer import CustomerLine, found_by, waiting_to_be_erased
from app.web.pages.open_holds import HoldLine, hold_lines
from app.web.pages.words import Mark, mark, opened
from app.web.rendering import Link, Page, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import calls as call_words
from app.wording import jobs as job_words
from app.wording import labels
from app.wording.moments import day_near, moment_near
from app.wording.translation import _, counted

MOST_LINES = 80
MOST_CALLS = 20
CALLS_AT_ONCE = 4
"""So that the page stays small: what is not on it is a page or a call further."""
FARTHEST_PAGE = 10_000
FILTERS = ("q", "role", "status", "closed", "widely")
EVERYBODY = "all"
WAITED_FOR = (Role.DESK, Role.TECHNICIAN, Role.INSPECTOR)
OWN_VIEW = (Role.TECHNICIAN, Role.INSPECTOR)
"""Who sees first what waits for them; a desk is asked about every machine in the shop."""


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
    overdue: str
    promised: str
    finding: Mark | None
    holds: str
    sent_back: bool
    unsigned: str
    """That the order is not signed, or not as it reads now; else empty."""
    cancelled: str
    """That the job is cancelled, while its machine stands here; else empty."""
    outdated: str
    """Which certificate a new one is to take the place of; else empty."""


@dataclass(frozen=True, slots=True)
class Call:
    """Somebody who must be called."""

    number: str
    whom: str
    """Code, for the form."""
    name: str
    phone: str
    dial: str
    """The number as an address that a telephone dials; empty without one."""
    about: str
    reasons: tuple[str, ...]
    tried: str
    message: str
    """When a message was left; empty where none was."""
    days: tuple[Option, ...]
    """What may be promised instead of a day that is past; empty where none is."""


@dataclass(frozen=True, kw_only=True)
class TodayPage(Page):
    template: ClassVar[str] = "pages/today.html"
    lines: tuple[Line, ...]
    calls: tuple[Call, ...]
    summary: tuple[str, ...]
    roles: tuple[Option, ...]
    statuses: tuple[Option, ...]
    closed: tuple[Option, ...]
    everybody: str
    """Address of the list without the filter of a role; empty where it is not filtered."""
    query: str
    """What the list is filtered by, to come back to it."""
    calls_at_once: int
    """How many of the calls stand open; the others are folded away below them."""
    more_calls: str
    earlier: str
    later: str
    """Addresses of the pages before and after this one; empty where there is none."""
    wider: Link | None
    """The same search with what fits its words alone; None where nothing was left out."""
    may_check_in: bool
    done: CallDone | None
    """The call that was just noted."""
    nothing: str
    """What is said where no line is shown."""
    anew: tuple[str, ...]
    """Certificates whose signature is trusted no more, for who can sign others."""
    on_hold: tuple[HoldLine, ...] = ()
    """Open holds, for who closes them."""
    customers: tuple[CustomerLine, ...] = ()
    """Whom the search finds."""
    to_erase: tuple[CustomerLine, ...] = ()
    """Who asked to be erased."""


@pages.add("GET", "/", "jobs.read")
def today(request: Request, visit: Here, session: Read) -> Response:
    """The list; what it is filtered by stands in the address."""
    asked = filters_of(request.query_params)
    at = page_asked(request.query_params.get("page", ""))
    role = role_of(asked, visit.person)
    found = list_of_today.today(
        session,
        visit.person,
        visit.today,
        text=asked["q"],
        status=asked["status"] or None,
        waits_for=role if role in WAITED_FOR else None,
        include_closed=bool(asked["closed"]),
        widely=bool(asked["widely"]),
        limit=MOST_LINES,
        offset=(at - 1) * MOST_LINES,
    )
    anew = to_issue_anew(session, visit.person) if sees_anew(visit) else ()
    page = page_of(found, asked, role, at, visit, anew)
    done = call_done(session, visit, request.query_params.get(NOTED, ""))
    closes = allowed(visit.person, "holds.close")
    held = open_holds(session, visit.person) if closes else ()
    on_hold = hold_lines(held, visit.today)
    return show(
        request,
        visit,
        replace(
            page,
            done=done,
            on_hold=on_hold,
            customers=found_by(session, visit.person, asked["q"]),
            to_erase=waiting_to_be_erased(session, visit.person),
        ),
    )


def page_asked(text: str) -> int:
    """Which page of the list, from 1 on."""
    sound = text.isascii() and text.isdecimal() and len(text) <= len(str(FARTHEST_PAGE))
    return min(max(int(text), 1), FARTHEST_PAGE) if sound else 1


def filters_of(sent: Mapping[str, str]) -> dict[str, str]:
    """The filters that the list knows; what is no role and no status is as if not asked."""
    asked = {name: sent.get(name, "")[:200].strip() for name in FILTERS}
    if asked["role"] not in (*WAITED_FOR, EVERYBODY):
        asked["role"] = ""
    if asked["status"] not in STATUSES:
        asked["status"] = ""
    return asked


def role_of(asked: Mapping[str, str], actor: Actor) -> str:
    """For whom the jobs wait that are shown. Who searches for something wants to see it, whoever
    it waits for; unless they chose a role."""
    return asked["role"] or (EVERYBODY if asked["q"] else own_view(actor))


def own_view(actor: Actor) -> str:
    """The role whose work a person sees first: the one role that they measure or sign in."""
    own = [role for role in OWN_VIEW if role in actor.roles]
    only = own[0] if len(own) == 1 and len(actor.roles) == 1 else None
    return only.value if only else EVERYBODY


def page_of(
    found: Today, asked: Mapping[str, str], role: str, at: int, visit: Visit, anew: tuple[str, ...]
) -> TodayPage:
    """The list in words; `at` is which page of it."""
    kept = {name: value for name, value in asked.items() if value}
    calls = found.calls if sees_calls(visit, role) else ()

    def turned(to: int) -> str:
        return path_to("today", {**kept, "page": str(to)})

    return TodayPage(
        title=_("Today"),
        form=FormState(dict(asked)),
        lines=tuple(line_of(line, visit.today) for line in found.lines),
        calls=tuple(call_of(line, visit.today) for line in calls[:MOST_CALLS]),
        summary=tuple(summary_of(found, at)),
        roles=role_options(visit.person, bool(asked["q"])),
        statuses=status_options(),
        closed=(Option("1", _("closed jobs too"), bool(asked["closed"])),),
        everybody=path_to("today", {**kept, "role": EVERYBODY}) if role != EVERYBODY else "",
        query=path_to("today", kept).partition("?")[2],
        calls_at_once=CALLS_AT_ONCE,
        more_calls=more_calls(len(calls) - MOST_CALLS),
        earlier=turned(at - 1) if at > 1 else "",
        later=turned(at + 1) if found.total > at * MOST_LINES else "",
        wider=wider(found.left_out, kept),
        may_check_in=allowed(visit.person, "jobs.check_in"),
        done=None,
        nothing=nothing_of(found, asked, role),
        anew=anew,
    )


def wider(left_out: int, kept: Mapping[str, str]) -> Link | None:
    """The way to the jobs that only fit the words of a search."""
    if not left_out:
        return None
    told = counted(
        "Show {count} further job that fits these words",
        "Show {count} further jobs that fit these words",
        left_out,
    )
    return Link(told.format(count=left_out), path_to("today", {**kept, "widely": "1"}))


def sees_anew(visit: Visit) -> bool:
    """Who signs, and the owner, who marked the key."""
    return any(allowed(visit.person, one) for one in ("certificates.issue", "signing_keys.write"))


def more_calls(count: int) -> str:
    """How many calls are not shown; empty when all are."""
    if count <= 0:
        return ""
    return counted("{count} more call", "{count} more calls", count).format(count=count)


def sees_calls(visit: Visit, role: str) -> bool:
    """Calls are the desk's work: they stand on its list and on that of everybody's."""
    return allowed(visit.person, "jobs.check_in") and role in (EVERYBODY, Role.DESK)


def line_of(line: TodayLine, today: date) -> Line:
    """A line in words."""
    return Line(
        number=line.number,
        plate=line.plate or "",
        machine=f"{line.make} {line.model}",
        customer=line.customer_name or _("customer erased"),
        claim=line.claim_number or "",
        next_step=next_step(line),
        waits_for=job_words.role(line.waits_for) if line.waits_for else "",
        since=moment_near(line.since, today),
        overdue=overdue(line.days_overdue),
        promised=promised(line, today),
        finding=mark(line.finding) if line.finding else None,
        holds=opened(line.holds_open),
        sent_back=line.sent_back,
        unsigned=unsigned(line),
        cancelled=job_words.status(line.status) if line.status == "cancelled" else "",
        outdated=_("{number} no longer agrees with the record").format(number=line.outdated)
        if line.outdated and line.next_step == "sign"
        else "",
    )


def next_step(line: TodayLine) -> str:
    """What comes next; where the job stands when nothing does."""
    if line.measuring and line.next_step:
        return _("Go on measuring {phase} the correction").format(
            phase=labels.phase(line.measuring)
        )
    return job_words.step(line.next_step or "") or job_words.status(line.status)


def unsigned(line: TodayLine) -> str:
    """What is to be signed while the job is open; empty when nothing is."""
    if line.next_step is None or line.status == "cancelled":
        return ""
    if not line.ordered:
        return _("the order is not signed")
    return _("changed since it was signed") if line.to_sign_anew else ""


def overdue(days: int) -> str:
    """By how much the promise is broken; empty when it is not."""
    if not days:
        return ""
    return counted("overdue by {count} day", "overdue by {count} days", days).format(count=days)


def promised(line: TodayLine, today: date) -> str:
    """The promised day, while the job is open."""
    if line.promised_on is None or line.next_step is None or line.status == "cancelled":
        return ""
    return _("promised for {day}").format(day=day_near(line.promised_on, today))


def call_of(line: CallLine, today: date) -> Call:
    """A call in words."""
    machine = f"{line.make} {line.model}"
    whose = call_words.whom(line.call.whom)
    if line.call.whom == "adjuster" and line.insurer_name:
        whose = f"{whose}, {line.insurer_name}"
    return Call(
        number=line.number,
        whom=line.call.whom,
        name=f"{line.name} ({whose})" if line.name else whose,
        phone=line.phone or "",
        dial=dial(line.phone or ""),
        about=" · ".join(filter(None, [line.plate, machine])),
        reasons=tuple(reason_of(one) for one in line.call.reasons),
        tried=tried(line.call),
        message=message_left(line.call),
        days=promise_options(today) if is_late(line.call) else (),
    )


def role_options(actor: Actor, searching: bool) -> tuple[Option, ...]:
    """For whom jobs may wait; first what somebody sees who chooses nothing: a search is of all."""
    mine = own_view(actor) != EVERYBODY and not searching
    anybody = Option(EVERYBODY if mine else "", _("anybody"))
    return (
        *([Option("", _("you")), anybody] if mine else [anybody]),
        *(Option(code.value, job_words.role(code)) for code in WAITED_FOR),
    )


def status_options() -> tuple[Option, ...]:
    """Where jobs may stand."""
    return (Option("", _("any")), *(Option(code, job_words.status(code)) for code in STATUSES))


def nothing_of(found: Today, asked: Mapping[str, str], role: str) -> str:
    """Why no line is shown; what waits for others is told where a role hides it."""
    if found.lines:
        return ""
    others = ", ".join(waiting_words(found)) if role != EVERYBODY else ""
    if asked["q"] and others:
        return _("Nothing here fits this search, but of what does {others}.").format(others=others)
    if asked["q"]:
        return _("No job fits this search, open or closed. Search for fewer words.")
    if asked["status"] or asked["closed"]:
        return _("No job fits this search. Choose another status, or anybody to wait for.")
    if role != EVERYBODY:
        return _("Nothing waits for you.")
    return _("Nothing waits. The next machine that is checked in appears here.")


def waiting_words(found: Today) -> list[str]:
    """How many jobs wait for whom."""
    return [
        counted("{count} waits for the {role}", "{count} wait for the {role}", count).format(
            count=count, role=job_words.role(code)
        )
        for code, count in found.waiting
        if count
    ]


def summary_of(found: Today, at: int) -> list[str]:
    """How many jobs there are, how many overdue, and for whom they wait."""
    parts = []
    if found.overdue:
        late = counted("{count} overdue", "{count} overdue", found.overdue)
        parts.append(late.format(count=found.overdue))
    parts += waiting_words(found)
    if found.total > len(found.lines) and found.lines:
        first = (at - 1) * MOST_LINES + 1
        parts.append(
            _("{first} to {last} of {total} are shown").format(
                first=first, last=first + len(found.lines) - 1, total=found.total
            )
        )
    return parts
