"""Instruments and their calibrations."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.reading import checked
from app.services import calibrating, instruments
from app.services.instruments import CalibrationView, InstrumentView
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.decimals import numbers_in
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent, Value
from app.web.pages.ask import AskPage
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import numbers
from app.wording.moments import day
from app.wording.translation import _

IDENTITY = ("name", "kind", "serial_number", "note")
NUMBERS = (
    "standard_uncertainty_mm", "offset_u_mm", "scale_u_ppm", "probe_radius_mm",
    "scale_temperature_c", "scale_expansion_per_k", "repeatability_mm",
    "repeatability_degrees_of_freedom",
)  # fmt: skip
TEXTS = ("calibrated", "due", "laboratory", "document_number", "note")
GROUP = "calibration."


@dataclass(frozen=True, slots=True)
class Line:
    """One instrument in the list."""

    id: int
    name: str
    detail: str
    state: str
    good: bool


@dataclass(frozen=True, slots=True)
class Calibration:
    """One calibration in words."""

    calibrated: str
    due: str
    uncertainty: str
    offset: str
    scale: str
    probe: str
    laboratory: str
    passed: bool


@dataclass(frozen=True, kw_only=True)
class InstrumentsPage(Page):
    template: ClassVar[str] = "pages/instruments.html"
    lines: tuple[Line, ...]
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class InstrumentPage(Page):
    template: ClassVar[str] = "pages/instrument.html"
    line: Line
    note: str
    calibrations: tuple[Calibration, ...]
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class InstrumentFormPage(Page):
    template: ClassVar[str] = "pages/instrument_form.html"
    id: int | None
    """Of the instrument that is calibrated again; None for a new one."""
    action: str
    button: str


@pages.add("GET", "/instruments", "instruments.read")
def instruments_list(request: Request, visit: Here, session: Read) -> Response:
    """All instruments, retired ones too."""
    found = instruments.listing(session, visit.person, include_retired=True)
    page = InstrumentsPage(
        title=_("Instruments"),
        lines=tuple(line_of(one, visit) for one in found),
        may_write=allowed(visit.person, "instruments.write"),
    )
    return show(request, visit, page)


@pages.add("GET", "/instruments/new", "instruments.write")
def new_instrument_form(request: Request, visit: Here) -> Response:
    """The form for an instrument and its calibration."""
    return show(request, visit, form_page(None, "", FormState()))


@pages.add("POST", "/instruments", "instruments.write")
def new_instrument(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Enters an instrument with its calibration."""
    with shown_again(request, visit, form.values(), lambda s: form_page(None, "", s)):
        identity = checked(InstrumentIn, {name: form.text(name) for name in IDENTITY})
        made = instruments.create(session, visit.person, identity, visit.now, calibration_of(form))
    return see("instrument", instrument=made.id)


@pages.add("GET", "/instruments/{instrument}", "instruments.read")
def instrument(request: Request, visit: Here, session: Read, instrument: int) -> Response:
    """One instrument with all its calibrations."""
    found = instruments.read(session, visit.person, instrument)
    page = InstrumentPage(
        title=found.name,
        line=line_of(found, visit),
        note=found.note or "",
        calibrations=tuple(calibration_words(one) for one in found.calibrations),
        may_write=allowed(visit.person, "instruments.write") and found.retired_at is None,
    )
    return show(request, visit, page)


@pages.add("GET", "/instruments/{instrument}/calibrate", "instruments.write")
def calibrate_form(request: Request, visit: Here, session: Read, instrument: int) -> Response:
    """The form for a later calibration."""
    found = instruments.read(session, visit.person, instrument)
    return show(request, visit, form_page(instrument, found.name, FormState()))


@pages.add("POST", "/instruments/{instrument}/calibrate", "instruments.write")
def calibrate(
    request: Request, visit: Here, session: Write, form: Sent, instrument: int
) -> Response:
    """Adds a calibration; earlier ones stay as they were."""
    found = instruments.read(session, visit.person, instrument)
    with shown_again(request, visit, form.values(), lambda s: form_page(instrument, found.name, s)):
        calibration = calibration_of(form) or checked_calibration({})
        calibrating.calibrate(session, visit.person, instrument, calibration, visit.now)
    return see("instrument", instrument=instrument)


@pages.add("GET", "/instruments/{instrument}/retire", "instruments.write")
def retire_form(request: Request, visit: Here, session: Read, instrument: int) -> Response:
    """Why it is taken out of use."""
    return show(request, visit, retire_page(session, visit, instrument, FormState()))


@pages.add("POST", "/instruments/{instrument}/retire", "instruments.write")
def retire(request: Request, visit: Here, session: Write, form: Sent, instrument: int) -> Response:
    """Takes it out of use."""

    def again(state: FormState) -> Page:
        return retire_page(session, visit, instrument, state)

    with shown_again(request, visit, form.values(), again):
        instruments.retire(session, visit.person, instrument, form.text("reason"), visit.now)
    return see("instrument", instrument=instrument)


def retire_page(session: Session, visit: Visit, instrument: int, state: FormState) -> AskPage:
    """Its measurements stay on record."""
    found = instruments.read(session, visit.person, instrument)
    return AskPage(
        title=_("Take {name} out of use").format(name=found.name),
        form=state,
        lead=(_("Its measurements stay on record."),),
        label=_("Reason"),
        button=_("Take it out of use"),
        action=path_to("retire", instrument=instrument),
        back=path_to("instrument", instrument=instrument),
        back_label=found.name,
    )


def calibration_of(form: Form) -> CalibrationIn | None:
    """The calibration of the form; None when nothing of it was filled in."""
    sent: dict[str, Value] = {
        name: form.text(GROUP + name) for name in (*TEXTS, *NUMBERS) if form.text(GROUP + name)
    }
    return checked_calibration(sent) if sent else None


def checked_calibration(sent: dict[str, Value]) -> CalibrationIn:
    """The calibration, with every problem placed at its field."""
    try:
        return checked(CalibrationIn, numbers_in(sent, NUMBERS))
    except BadInput as error:
        placed = [Problem(one.code, GROUP + one.field, one.facts) for one in error.problems]
        raise BadInput(placed, error.code) from None


def form_page(instrument: int | None, name: str, state: FormState) -> InstrumentFormPage:
    """The form for a new instrument, or for a calibration of one."""
    new = instrument is None
    return InstrumentFormPage(
        title=_("New instrument") if new else _("Calibration of {name}").format(name=name),
        form=state,
        id=instrument,
        action=path_to("new_instrument")
        if new
        else path_to("calibrate", instrument=instrument or 0),
        button=_("Enter this instrument") if new else _("Enter this calibration"),
    )


def line_of(one: InstrumentView, visit: Visit) -> Line:
    """An instrument and whether it can be used today."""
    today = visit.today
    calibration = one.calibration_on(today)
    good = one.in_calibration(today) and one.retired_at is None
    if one.retired_at:
        state = _("out of use since {day}").format(day=day(one.retired_at))
    elif calibration is None:
        state = _("never calibrated")
    else:
        words = _("in calibration until {day}") if good else _("out of calibration since {day}")
        state = words.format(day=day(calibration.due))
    number = _("no. {number}").format(number=one.serial_number) if one.serial_number else ""
    return Line(one.id, one.name, " · ".join(filter(None, [one.kind, number])), state, good)


def calibration_words(one: CalibrationView) -> Calibration:
    """A calibration in words."""
    return Calibration(
        calibrated=day(one.calibrated),
        due=day(one.due),
        uncertainty=numbers.plain(one.standard_uncertainty_mm)
        if one.standard_uncertainty_mm is not None
        else "",
        offset=numbers.plain(one.offset_u_mm),
        scale=numbers.plain(one.scale_u_ppm),
        probe="" if one.probe_radius_mm is None else numbers.plain(one.probe_radius_mm),
        laboratory=" · ".join(filter(None, [one.laboratory, one.document_number])),
        passed=one.passed,
    )
