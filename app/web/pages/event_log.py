"""The event log, and whether it is whole: for the owner."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import event_log
from app.services.event_log import Asked, Checked, EventPage
from app.web.database import Read
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.pages.event_words import Line, facts_of, line_of, what, when
from app.web.pages.words import Fact
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import events as words
from app.wording.moments import moment
from app.wording.translation import _, counted

FILTERS = ("job", "person", "day")
BEFORE = "before"
BARE_NUMBER = re.compile(r"\d{4}-\d+")
"""A job's number without its letter."""
FIRST_YEAR, LAST_YEAR = 1970, 9000
MOST_FAULTS = 50


@dataclass(frozen=True, kw_only=True)
class EventLogPage(Page):
    template: ClassVar[str] = "pages/event_log.html"
    lines: tuple[Line, ...]
    people: tuple[Option, ...]
    newest: str
    """Address of the newest events; empty where they are shown."""
    older: str
    """Address of those before the last of these; empty where there are none."""
    filtered: bool


@dataclass(frozen=True, kw_only=True)
class SingleEventPage(Page):
    template: ClassVar[str] = "pages/event.html"
    when: str
    who: str
    job: str
    facts: tuple[Fact, ...]
    position: int
    digest: str


@dataclass(frozen=True, slots=True)
class Fault:
    """Where the log does not hold together."""

    said: str
    href: str
    """The event, where there is one."""


@dataclass(frozen=True, kw_only=True)
class EventCheckPage(Page):
    template: ClassVar[str] = "pages/event_check.html"
    whole: bool
    counts: str
    faults: tuple[Fault, ...]
    more_faults: int
    position: int
    head: str
    when: str
    noted: str
    """What became of the digest that was noted earlier; empty where none was given."""
    noted_stands: bool


@pages.add("GET", "/shop/events", "audit.read")
def event_log_list(request: Request, visit: Here, session: Read) -> Response:
    """The newest events; what they are filtered by stands in the address."""
    asked = filters_of(request.query_params)
    before = position_asked(request.query_params.get(BEFORE, ""))
    known = event_log.actors(session, visit.person)
    people = options(known)
    if asked["person"] not in {one.value for one in people}:
        asked["person"] = ""
    wanted = Asked(asked["job"], asked["person"], day_of(asked["day"]))
    found = event_log.listing(session, visit.person, wanted, before)
    return show(request, visit, page_of(found, asked, before, people))


@pages.add("GET", "/shop/events/check", "audit.read")
def event_log_check(request: Request, visit: Here, session: Read) -> Response:
    """Walks the whole log, as `jigbook audit verify` does. Reads only."""
    noted = request.query_params.get("digest", "")[:200].strip()
    checked = event_log.check(session, visit.person, noted)
    return show(request, visit, check_page(checked, noted, moment(visit.now)))


@pages.add("GET", "/shop/events/{event}", "audit.read")
def event(request: Request, visit: Here, session: Read, event: int) -> Response:
    """One event with everything that it says."""
    found = event_log.one(session, visit.person, event)
    return show(request, visit, single_page(found))


def filters_of(sent: Mapping[str, str]) -> dict[str, str]:
    """The filters that the list knows; a day that is none is as if not asked."""
    asked = {name: sent.get(name, "")[:80].strip() for name in FILTERS}
    number = asked["job"].upper()
    asked["job"] = f"J-{number}" if BARE_NUMBER.fullmatch(number) else number
    asked["day"] = asked["day"] if day_of(asked["day"]) else ""
    return asked


def day_of(text: str) -> date | None:
    """The day that was asked for; None for what is no day of a calendar that a log may have."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        return None
    return found if FIRST_YEAR <= found.year <= LAST_YEAR else None


def position_asked(text: str) -> int | None:
    """Before which event; None: from the newest on."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 12 else None


def options(known: tuple[tuple[str, str], ...]) -> tuple[Option, ...]:
    """Everybody who may have acted."""
    names = dict(known)
    marks = (*names, *words.NOBODY)
    return (Option("", _("anybody")), *(Option(mark, words.who(mark, names)) for mark in marks))


def page_of(
    found: EventPage, asked: dict[str, str], before: int | None, people: tuple[Option, ...]
) -> EventLogPage:
    """The list in words."""
    kept = {name: value for name, value in asked.items() if value}
    last = found.events[-1].position if found.events else 0
    return EventLogPage(
        title=_("Event log"),
        form=FormState(asked),
        lines=tuple(line_of(one, found) for one in found.events),
        people=people,
        newest=path_to("event_log_list", kept) if before is not None else "",
        older=path_to("event_log_list", {**kept, BEFORE: str(last)}) if found.older else "",
        filtered=bool(kept),
    )


def single_page(found: EventPage) -> SingleEventPage:
    """An event in words."""
    (view,) = found.events
    return SingleEventPage(
        title=what(view, found),
        when=when(view),
        who=words.who(view.actor, found.names) if view.at else "",
        job=view.job or "",
        facts=tuple(
            Fact(one.label[:1].upper() + one.label[1:], one.value)
            for one in facts_of(view, found, whole=True)
        ),
        position=view.position,
        digest=view.digest,
    )


def check_page(checked: Checked, noted: str, now: str) -> EventCheckPage:
    """What the check found, in words."""
    report = checked.report
    faults = report.breaks[:MOST_FAULTS]
    return EventCheckPage(
        title=_("Is the event log whole?"),
        form=FormState({"digest": noted}),
        whole=report.whole,
        counts=counts_of(checked),
        faults=tuple(
            Fault(
                words.fault(one.code, one.position, one.name),
                ""
                if one.code in ("missing", "end_missing")
                else path_to("event", event=one.position),
            )
            for one in faults
        ),
        more_faults=len(report.breaks) - len(faults),
        position=report.events,
        head=report.head,
        when=now,
        noted=noted_in_words(checked) if noted else "",
        noted_stands=checked.noted_stands,
    )


def counts_of(checked: Checked) -> str:
    """How much was read."""
    report = checked.report
    events = counted("{count} event", "{count} events", report.events).format(count=report.events)
    erased = counted(
        "{count} personal value erased", "{count} personal values erased", report.erased_values
    ).format(count=report.erased_values)
    return _("{events}, {erased}").format(events=events, erased=erased)


def noted_in_words(checked: Checked) -> str:
    """What the digest that was noted earlier shows."""
    found = checked.noted
    if found is None:
        return _(
            "No event of this log has the noted digest. Compare its signs; if they are right, the "
            "log was made anew or cut short since it was noted."
        )
    of = _("The noted digest is that of event {position}, {when}.").format(
        position=found.position, when=when(found)
    )
    if checked.noted_stands:
        stands = _("Everything up to it is as it was when the digest was noted.")
    else:
        stands = _("But the log does not hold together before it.")
    return f"{of} {stands}"
