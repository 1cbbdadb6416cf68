"""Starting a measurement: point by point, or from a file that an instrument wrote."""

from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.records.session import Database
from app.schemas.json_text import text_of
from app.services import drafts, jobs, surveys
from app.services.jobs import JobView, SurveyLine
from app.services.surveys import PHASES, SurveyView
from app.web.again import shown_again
from app.web.database import Read, Records, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.hand_off import HandOff, hand_off
from app.web.pages.heading import FIELDS, heading_of, up_options
from app.web.pages.sending_back import Wanted, wanted_of
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import cautions, labels
from app.wording.translation import _

DRAFT_FIELDS = ("supersedes", "because", *FIELDS)
FILE_FIELDS = ("document", "table", *DRAFT_FIELDS)


@dataclass(frozen=True, kw_only=True)
class MeasurePage(Page):
    template: ClassVar[str] = "pages/measure.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    caution: str
    missing: tuple[str, ...]
    phases: tuple[Option, ...]
    uncorrected: str
    """That no correction is noted yet; empty where one is."""
    upward: tuple[Option, ...]
    replaceable: tuple[Option, ...]
    """Measurements whose place it may take; empty where nothing was measured."""
    hand_off: HandOff | None = None
    wanted: Wanted | None = None


@pages.add("GET", "/jobs/{number}/measure", "drafts.write")
def measure_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """How to measure, with the phase that the road asks for filled in."""
    found = jobs.read(session, visit.person, number)
    asked = request.query_params.get("phase", "")
    phase = asked if asked in PHASES else likely_phase(found)
    page = page_for(found, FormState({"phase": phase, "up": "z"}))
    away = hand_off(request, found, visit.person)
    return show(request, visit, replace(page, hand_off=away, wanted=wanted_of(found, visit.person)))


@pages.add("POST", "/jobs/{number}/drafts", "drafts.write")
def open_draft(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Opens a measurement to which points are added one by one."""
    found = jobs.read(session, visit.person, number)
    with shown_again(request, visit, form.values(), lambda s: page_for(found, s), DRAFT_FIELDS):
        opened = drafts.open_draft(
            session,
            visit.person,
            number,
            form.text("phase"),
            visit.now,
            heading_to_begin(form, visit),
            *replacing_in(form),
        )
    return see("draft", number=number, draft=opened.id)


def heading_to_begin(form: Form, visit: Visit) -> dict[str, object]:
    """What is known before the first step: the axis that the fields of a table show is no answer
    to the step that asks for it."""
    heading = heading_of(form, visit)
    if "mounting" not in heading:
        heading.pop("up", None)
    return heading


@pages.add("POST", "/jobs/{number}/surveys", "surveys.submit")
def send_survey(
    request: Request, visit: Here, database: Records, form: Sent, number: str
) -> Response:
    """Takes a survey file or a table; it is evaluated before the write lock is taken."""
    with database.read() as session:
        found = jobs.read(session, visit.person, number)
    with shown_again(
        request, visit, form.values(), lambda s: page_for(found, s), FILE_FIELDS, "document"
    ):
        stored = submitted(database, visit, form, number)
    return see("finding", number=number, survey=stored.number)


def sent_text(form: Form) -> str:
    """The file, or what was pasted. Raises BadInput when there is neither."""
    sent = form.file("document")
    if sent is not None:
        return text_of(sent.content)
    if form.text("table"):
        return form.text("table")
    raise BadInput([Problem("nothing_sent", "document")], "nothing_sent")


def submitted(database: Database, visit: Visit, form: Form, number: str) -> SurveyView:
    """The measurement just stored. What a table cannot say comes from the fields beside it."""
    text, phase = sent_text(form), form.text("phase")
    heading = heading_of(form, visit)
    with database.read() as session:
        ready = surveys.prepare(session, visit.person, number, text, phase or None, heading)
    with database.write() as session:
        return surveys.store(session, visit.person, ready, visit.now, *replacing_in(form))


def replacing_in(form: Form) -> tuple[int | None, str | None]:
    """The number of the measurement whose place is to be taken, and why."""
    number = form.text("supersedes")
    chosen = number.isascii() and number.isdecimal() and len(number) <= 9
    return (int(number) if chosen else None), form.text("because") or None


def phases() -> tuple[Option, ...]:
    """When a measurement can be taken."""
    words = {
        "before": _("before the correction"),
        "during": _("during the correction"),
        "after": _("after the correction"),
    }
    return tuple(Option(code, words[code]) for code in PHASES)


def likely_phase(found: JobView) -> str:
    """The phase that the road asks for, else that of the last measurement: the machine stands as
    it stood then until a correction is noted."""
    following = found.next_step.code if found.next_step else ""
    if following in ("measure_before", "measure_after"):
        return following.removeprefix("measure_")
    standing = standing_in(found)
    return standing[-1].phase if standing else "before"


def standing_in(found: JobView) -> list[SurveyLine]:
    """The measurements whose place no other took."""
    return [line for line in found.surveys if line.superseded_by is None]


def replaceable_in(found: JobView, phase: str = "") -> tuple[Option, ...]:
    """The measurements whose place another may take, and none of them; those of one phase where
    that is known already. Nothing where there is none."""
    lines = [line for line in standing_in(found) if phase in ("", line.phase)]
    if not lines:
        return ()
    kept = Option("", _("of none: all of them are kept"))
    names = [f"{line.number} · {labels.phase(line.phase)}" for line in lines]
    return (
        kept,
        *(Option(str(line.number), name) for line, name in zip(lines, names, strict=True)),
    )


def page_for(found: JobView, state: FormState) -> MeasurePage:
    """The page for a job."""
    missing = []
    if found.reference is None:
        missing.append(_("No reference is chosen: the numbers will be given without a verdict."))
    if found.instrument is None:
        missing.append(_("No instrument is chosen: each point must then carry its uncertainty."))
    return MeasurePage(
        title=_("Measure"),
        form=state,
        number=found.number,
        caution=" ".join(cautions.before_measuring()),
        missing=tuple(missing),
        phases=phases(),
        uncorrected=uncorrected(found),
        upward=up_options(),
        replaceable=replaceable_in(found),
    )


def uncorrected(found: JobView) -> str:
    """That the machine stands as it came; empty once a correction is noted."""
    if found.corrections or not found.surveys:
        return ""
    return _("No correction is noted yet: the machine still stands before the correction.")
