"""The inspector's queue: what waits for a signature, the overdue first."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import distrusted_signers, sign_off_queue
from app.services.road_facts import Outdated, Withdrawn
from app.services.sign_off_queue import Queue, QueueLine
from app.web.database import Read
from app.web.door import pages
from app.web.pages.machine_change import differing
from app.web.pages.open_holds import HoldLine, hold_lines
from app.web.pages.today import Line, line_of
from app.web.rendering import Page, show
from app.web.visits import Here
from app.wording.translation import _, counted


@dataclass(frozen=True, slots=True)
class Waiting:
    """A job that waits for a signature."""

    line: Line
    ready: str
    """What can be signed now, in words."""
    clear: bool
    """Nothing stands in the way."""
    followed: str
    """What followed when it was sent back; empty when it never was."""
    withdrawn: str
    """Which certificate was withdrawn and why; empty where nothing was, or something followed."""
    outdated: str
    """Which certificate in force no longer agrees with the record, and in what; else empty."""


@dataclass(frozen=True, kw_only=True)
class SignOffQueuePage(Page):
    template: ClassVar[str] = "pages/sign_off_queue.html"
    waiting: tuple[Waiting, ...]
    more: str
    sent_back: tuple[Line, ...]
    on_hold: tuple[HoldLine, ...]
    """What an inspector has to close."""
    anew: tuple[str, ...]
    """Certificates whose signature is trusted no more."""


@pages.add("GET", "/sign-off", "certificates.issue")
def to_sign(request: Request, visit: Here, session: Read) -> Response:
    """Everything that waits for an inspector, each with whether it can be signed."""
    found = sign_off_queue.queue(session, visit.person, visit.today)
    anew = distrusted_signers.to_issue_anew(session, visit.person)
    return show(request, visit, page_of(found, anew, visit.today))


def page_of(found: Queue, anew: tuple[str, ...], today: date) -> SignOffQueuePage:
    """The queue in words."""
    more = found.total - len(found.to_sign)
    told = counted("{count} more waits", "{count} more wait", more).format(count=more)
    return SignOffQueuePage(
        title=_("To sign"),
        waiting=tuple(waiting_of(one, today) for one in found.to_sign),
        more=told if more > 0 else "",
        sent_back=tuple(line_of(one, today) for one in found.sent_back),
        on_hold=hold_lines(found.on_hold, today),
        anew=anew,
    )


def waiting_of(one: QueueLine, today: date) -> Waiting:
    """A job with what can be signed."""
    return Waiting(
        line=line_of(one.line, today),
        ready=ready_words(one),
        clear=not one.against_report,
        followed=followed_words(one.after_sending_back, one.answer),
        withdrawn=withdrawn_words(one.withdrawn),
        outdated=outdated_words(one.outdated),
    )


def ready_words(one: QueueLine) -> str:
    """What can be signed, or how much stands in the way."""
    if not one.against_completion:
        return _("a completion certificate can be signed")
    if not one.against_report:
        return _("a measurement report can be signed")
    count = one.against_report
    said = counted("{count} thing stands in the way", "{count} things stand in the way", count)
    return said.format(count=count)


def withdrawn_words(one: Withdrawn | None) -> str:
    """Which certificate was withdrawn and why, with what has to hold before one is signed again."""
    if one is None:
        return ""
    told = _(
        "{number} was withdrawn ({reason}): sign again only if the measurement itself holds, else "
        "send it back"
    )
    return told.format(number=one.number, reason=one.why or _("erased"))


def outdated_words(one: Outdated | None) -> str:
    """Which certificate no longer agrees with the record, and in what."""
    if one is None:
        return ""
    told = _("{number} no longer agrees with the record ({what}): sign one in its place")
    return told.format(number=one.number, what=differing(one.differences))


def followed_words(what: str | None, answer: str = "") -> str:
    """What followed when it was sent back, with the answer itself."""
    if what == "answered" and answer:
        return _("answered: {answer}").format(answer=answer)
    words = {
        "answered": _("sent back, and answered"),
        "measured_again": _("sent back, and measured again"),
    }
    return words.get(what or "", "")
