"""What a machine is, put right after check-in: make, model, year, frame number and plate."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import jobs, machine_changes
from app.services.jobs import JobView
from app.services.machine_changes import FIELDS
from app.services.put_right import Difference, MachineChange, differences
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.arrival import on_the_way
from app.web.pages.words import Fact, machine_name
from app.web.rendering import Page, see, see_saved, show
from app.web.visits import Here
from app.wording import frame_numbers
from app.wording.moments import moment
from app.wording.translation import _

SENT = ("version", *FIELDS, "reason")


@dataclass(frozen=True, kw_only=True)
class MachineChangePage(Page):
    template: ClassVar[str] = "pages/machine_change.html"
    number: str
    machine: str
    version: str
    in_force: tuple[str, ...]
    """Numbers of this job's certificates that say what stands now."""
    frame_said: tuple[str, ...]
    """What the check says of the frame number in the form."""
    way: dict[str, str]
    """The way that follows a check-in, to lead back to it; empty elsewhere."""


@pages.add("GET", "/jobs/{number}/machine", "jobs.check_in")
def machine_change_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The machine as it stands on record."""
    job = jobs.read(session, visit.person, number)
    way = on_the_way(request.query_params)
    return show(request, visit, page_for(job, FormState(values_of(job)), way))


@pages.add("POST", "/jobs/{number}/machine", "jobs.check_in")
def change_machine(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Puts what was sent in place of what stood there."""
    job = jobs.read(session, visit.person, number)
    again = form.values()
    way = on_the_way(again)
    with shown_again(request, visit, again, lambda state: page_for(job, state, way), SENT):
        sent = {name: form.text(name) for name in SENT if form.text(name)}
        machine_changes.change(session, visit.person, number, sent, visit.now)
    if way:
        return see("order_form", way, number=number)
    return see_saved(request, "job", number=number)


def page_for(job: JobView, state: FormState, way: dict[str, str]) -> MachineChangePage:
    """The page with what it warns of."""
    return MachineChangePage(
        title=_("Put the machine's details right"),
        form=state,
        number=job.number,
        machine=machine_name(job.machine),
        version=job.check_in_version,
        in_force=tuple(one.number for one in job.certificates if one.status == "valid"),
        frame_said=frame_numbers.explained(state.value("frame_number")),
        way=way,
    )


def values_of(job: JobView) -> dict[str, str]:
    """What is on record, as values of the form."""
    machine = job.machine
    values = {name: getattr(machine, name) for name in FIELDS}
    values["frame_number"] = machine.frame_number_as_read or machine.frame_number
    return {name: "" if value is None else str(value) for name, value in values.items()}


def change_facts(found: tuple[MachineChange, ...]) -> tuple[Fact, ...]:
    """What was put right, newest first, each with its moment and person."""
    return tuple(
        Fact(" · ".join(filter(None, [moment(one.at), one.by])), said_of(one)) for one in found
    )


def said_of(one: MachineChange) -> str:
    """What stood there, what stands there now, and why."""
    if not one.after:
        return _("erased")
    lines = [
        _("{label}: {after} instead of {before}").format(
            label=label, after=told(one.after, name), before=told(one.before, name)
        )
        for name, label in labels()
        if name in one.after
    ]
    return "; ".join([*lines, _("reason: {reason}").format(reason=one.reason)])


def told(values: Mapping[str, object], name: str) -> str:
    """One value in words."""
    return str(values.get(name) or _("nothing"))


def labels() -> tuple[tuple[str, str], ...]:
    """What the page calls its fields."""
    return (
        ("make", _("Make")),
        ("model", _("Model")),
        ("year", _("Year")),
        ("frame_number", _("Frame number")),
        ("plate", _("Plate")),
    )


def outdated(job: JobView, found: tuple[MachineChange, ...]) -> tuple[str, ...]:
    """Sentences about certificates in force that say what was put right since."""
    told = _(
        "Certificate {number} no longer agrees with the record of the machine ({what}). An "
        "inspector issues a new one in its place."
    )
    standing = (one for one in job.certificates if one.status in ("valid", "distrusted"))
    return tuple(
        told.format(number=one.number, what=differing(left))
        for one in standing
        if (left := differences(found, one.issued_at))
    )


def differing(found: tuple[Difference, ...]) -> str:
    """In which fields a certificate differs from the record, and how."""
    names = dict(labels())
    text = _("{label}: {certified} on the certificate, {recorded} on record")
    return "; ".join(
        text.format(
            label=names[one.field],
            certified=one.certified or _("nothing"),
            recorded=one.on_record or _("nothing"),
        )
        for one in found
    )
