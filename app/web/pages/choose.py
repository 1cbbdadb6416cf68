"""Choosing what a job is judged against and what it is measured with."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import instruments, jobs, reference_fit
from app.services.instruments import InstrumentView
from app.services.jobs import JobView
from app.services.machines import MachineView
from app.services.references import ReferenceView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.words import Fact, or_not_stated
from app.web.rendering import Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording.moments import day
from app.wording.translation import _

MOST_SHOWN = 200
REFERENCE_FIELDS = ("reference", "because")


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing to choose."""

    id: str
    name: str
    detail: str
    warning: str
    href: str


@dataclass(frozen=True, kw_only=True)
class ChoosePage(Page):
    template: ClassVar[str] = "pages/choose.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    machine: tuple[Fact, ...]
    """For which machine it is chosen."""
    lead: str
    warning: str
    sought: str | None
    """What the list is searched for; None where there is no search."""
    field: str
    asks_why: bool
    """What was chosen is of another machine, and the reason is asked for."""
    candidates: tuple[Candidate, ...]
    nothing: str
    action: str
    here: str
    button: str


@pages.add("GET", "/jobs/{number}/reference", "jobs.choose_reference")
def choose_reference_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The references, those of the machine's model first."""
    found = jobs.read(session, visit.person, number)
    sought = request.query_params.get("q", "")[:200].strip()
    chosen = str(found.reference.reference_id) if found.reference else ""
    state = FormState({"reference": chosen})
    return show(request, visit, reference_page(session, visit, found, sought, state))


@pages.add("POST", "/jobs/{number}/reference", "jobs.choose_reference")
def choose_reference(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Fixes the latest revision of the reference that was chosen."""

    def again(state: FormState) -> Page:
        found = jobs.read(session, visit.person, number)
        return reference_page(session, visit, found, form.text("q")[:200], state)

    with shown_again(request, visit, form.values(), again, REFERENCE_FIELDS, "reference"):
        chosen, because = chosen_id(form, "reference"), form.text("because")
        reference_fit.choose(session, visit.person, number, chosen, because, visit.now)
    return see_saved(request, "job", number=number)


def reference_page(
    session: Session, visit: Visit, job: JobView, sought: str, state: FormState
) -> ChoosePage:
    """All references that fit the search, always in one order: those of the machine first."""
    found = reference_fit.candidates(session, visit.person, job.machine, sought)
    unsure = reference_fit.year_decides(job.machine, found)
    return ChoosePage(
        title=_("Choose the reference"),
        form=state,
        number=job.number,
        machine=machine_of(job),
        lead=_(
            "The latest revision of the chosen reference is fixed for this job; later revisions do "
            "not change it."
        ),
        warning=_(
            "The year of this machine is not on record, and references of its model differ by "
            "years: look at the machine, and have the desk put the year in."
        )
        if unsure
        else "",
        sought=sought,
        field="reference",
        asks_why=bool(state.messages("because") or state.value("because")),
        candidates=tuple(candidate_reference(one, job.machine) for one in found[:MOST_SHOWN]),
        nothing=_("No reference fits. Search for fewer words, or enter a new reference first."),
        action=path_to("choose_reference", number=job.number),
        here=path_to("choose_reference_form", number=job.number),
        button=_("Choose this reference"),
    )


def machine_of(job: JobView) -> tuple[Fact, ...]:
    """The machine that stands in front of whoever chooses."""
    machine = job.machine
    return (
        Fact(_("Machine"), f"{machine.make} {machine.model}"),
        Fact(_("Year"), or_not_stated(machine.year)),
        Fact(_("Frame number"), machine.frame_number),
    )


def candidate_reference(one: ReferenceView, machine: MachineView) -> Candidate:
    """A reference with where its values come from, and in what it is of another machine."""
    names = {"make": _("another make"), "model": _("another model"), "year": _("other years")}
    other = [names[code] for code in reference_fit.differing(machine, one.latest)]
    provenance = one.latest.reference.provenance
    source = words.provenance(provenance.kind) if provenance else _("source not stated")
    detail = _("revision {number} · {source}").format(number=one.latest.number, source=source)
    href = path_to("reference", reference=one.id)
    return Candidate(str(one.id), one.name, detail, ", ".join(other), href)


@pages.add("GET", "/jobs/{number}/instrument", "jobs.choose_reference")
def choose_instrument_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The instruments, each with whether it is in calibration today."""
    found = jobs.read(session, visit.person, number)
    state = FormState({"instrument": str(found.instrument.id) if found.instrument else ""})
    return show(request, visit, instrument_page(session, visit, found, state))


@pages.add("POST", "/jobs/{number}/instrument", "jobs.choose_reference")
def choose_instrument(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Chooses the instrument for the next measurements."""

    def again(state: FormState) -> Page:
        return instrument_page(session, visit, jobs.read(session, visit.person, number), state)

    with shown_again(request, visit, form.values(), again, ("instrument",), "instrument"):
        jobs.fix_instrument(session, visit.person, number, chosen_id(form, "instrument"), visit.now)
    return see_saved(request, "job", number=number)


def instrument_page(session: Session, visit: Visit, job: JobView, state: FormState) -> ChoosePage:
    """All instruments in use, by name."""
    found = instruments.listing(session, visit.person)
    return ChoosePage(
        title=_("Choose the instrument"),
        form=state,
        number=job.number,
        machine=machine_of(job),
        lead=_("With an instrument out of calibration a machine can be measured, not certified."),
        warning="",
        sought=None,
        field="instrument",
        asks_why=False,
        candidates=tuple(candidate_instrument(one, visit) for one in found),
        nothing=_("There is no instrument yet. The owner or an inspector enters one first."),
        action=path_to("choose_instrument", number=job.number),
        here=path_to("choose_instrument_form", number=job.number),
        button=_("Choose this instrument"),
    )


def candidate_instrument(one: InstrumentView, visit: Visit) -> Candidate:
    """An instrument with its calibration."""
    today = visit.today
    calibration = one.calibration_on(today)
    if calibration is None:
        detail, warning = one.kind or "", _("never calibrated")
    else:
        until = _("calibrated until {day}").format(day=day(calibration.due))
        detail = " · ".join(filter(None, [one.kind, until]))
        warning = "" if one.in_calibration(today) else _("out of calibration")
    return Candidate(
        str(one.id), one.name, detail, warning, path_to("instrument", instrument=one.id)
    )


def chosen_id(form: Form, name: str) -> int:
    """The id of what was chosen. Raises BadInput when nothing was."""
    text = form.text(name)
    if not (text.isascii() and text.isdecimal() and len(text) <= 18):
        raise BadInput([Problem("nothing_chosen", name)], "nothing_chosen")
    return int(text)
