"""An event of the log as a page tells it: when, who, what, on which job."""

from collections.abc import Iterator
from dataclasses import dataclass

from app.services.event_log import EventPage, EventView, PersonalFact
from app.services.event_names import NAMED
from app.web.pages.words import Fact
from app.web.routes import path_to
from app.wording import event_facts as facts
from app.wording import events as words
from app.wording.moments import moment
from app.wording.translation import _

LONGEST_VALUE = 120
LONGEST_LINE = 400
"""Characters of what stands beside an event in the list; its own page has all of it."""


@dataclass(frozen=True, slots=True)
class Line:
    """One event in the list."""

    position: int
    href: str
    when: str
    who: str
    what: str
    said: str
    job: str


def line_of(view: EventView, page: EventPage) -> Line:
    """An event in one line."""
    return Line(
        position=view.position,
        href=path_to("event", event=view.position),
        when=when(view),
        who=words.who(view.actor, page.names) if view.at else "",
        what=what(view, page),
        said=shortened(view, page),
        job=view.job or "",
    )


def when(view: EventView) -> str:
    """Day and time; that nobody can tell where the event was altered past reading."""
    return moment(view.at) if view.at else _("cannot be read any more")


def what(view: EventView, page: EventPage) -> str:
    """What happened, and to whom or what where that is not told elsewhere in the line."""
    if view.at is None:
        return _("This event is not as it was written.")
    return words.what(view.what, thing(view, page) or told_first(view, page))


def thing(view: EventView, page: EventPage) -> str:
    """What the event was done to; empty for a job, for the shop and for whoever did it."""
    kind, _colon, rest = view.subject.partition(":")
    if view.subject == view.actor:
        return ""
    if kind in NAMED:
        return page.names.get(view.subject) or facts.erased()
    return rest if kind == "certificate" else ""


def told_first(view: EventView, page: EventPage) -> str:
    """Values that belong into the sentence."""
    keys = facts.TOLD_FIRST.get(view.what, ())
    told = (facts.value(key, view.public.get(key), page.names) for key in keys)
    return ", ".join(filter(None, told))


def shortened(view: EventView, page: EventPage) -> str:
    """What else the event says, as far as a line goes."""
    told = ""
    for fact in facts_of(view, page, whole=False):
        value = fact.value[:LONGEST_VALUE]
        cut = "…" if len(fact.value) > LONGEST_VALUE else ""
        further = _("{label}: {value}").format(label=fact.label, value=value + cut)
        if len(told) + len(further) > LONGEST_LINE:
            return f"{told} · …"
        told = f"{told} · {further}" if told else further
    return told


def facts_of(view: EventView, page: EventPage, *, whole: bool) -> tuple[Fact, ...]:
    """What the event says beside its sentence; `whole` with its digests and row numbers."""
    named = thing(view, page)
    told = [*_public(view, page, whole=whole), *_personal(view, page)]
    return tuple(fact for fact in told if fact.value and (whole or fact.value != named))


def _public(view: EventView, page: EventPage, *, whole: bool) -> Iterator[Fact]:
    in_sentence = () if thing(view, page) else facts.TOLD_FIRST.get(view.what, ())
    for key, met in view.public.items():
        if whole or not (key in facts.FURTHER or key in in_sentence):
            yield Fact(facts.label(key), facts.value(key, met, page.names))


def _personal(view: EventView, page: EventPage) -> Iterator[Fact]:
    for one in view.personal:
        yield Fact(facts.label(one.name), _told(one, page))


def _told(one: PersonalFact, page: EventPage) -> str:
    if one.state == "kept":
        return facts.value(one.name, one.value, page.names)
    return facts.erased() if one.state == "erased" else facts.missing()
