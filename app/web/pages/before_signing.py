"""What a technician is told before the inspector reads it: what is still open, with the way."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.errors import Problem
from app.services import before_signing
from app.services.before_signing import StillOpen
from app.services.job_views import JobView
from app.services.permissions import allowed, allowed_with_password
from app.web.rendering import Link
from app.web.routes import ROUTES, path_to
from app.web.visits import Visit
from app.wording import before_signing as words
from app.wording.errors import explain
from app.wording.translation import _

WAYS: dict[str, str] = {
    "visual_check": "visual_check_form",
    "survey": "measure_form",
    "corrections": "note_correction_form",
    "instrument": "instruments_list",
}
"""By the field that a problem speaks of, where it is seen to."""


@dataclass(frozen=True, slots=True)
class OpenList:
    """What is open, a sentence each."""

    against: tuple[str, ...]
    """What refuses the certificate."""
    remarks: tuple[str, ...]
    """What it would say."""
    ways: tuple[Link, ...]
    """Where the person can see to it, in that order."""


def before_signing_of(session: Session, visit: Visit, job: JobView) -> OpenList | None:
    """None where the job does not wait for a signature, nothing is open, or the person has nothing
    to do with it."""
    waits = job.next_step is not None and job.next_step.code == "sign" and not job.closed
    if not waits or not allowed(visit.person, "visual_checks.write"):
        return None
    found = before_signing.still_open(session, visit.person, job.number, visit.now)
    if found is None or not (found.against or found.remarks):
        return None
    # A hold is closed by an inspector: nothing leads there.
    fields = [one.field for one in (*found.against, *found.remarks) if one.code != "hold_open"]
    ways = [way_to(visit, job, field) for field in dict.fromkeys(fields)]
    return OpenList(
        tuple(said_of(one, found) for one in found.against),
        tuple(said_of(one, found) for one in found.remarks),
        tuple(way for way in ways if way is not None),
    )


def said_of(problem: Problem, found: StillOpen) -> str:
    """A problem in words; what the signer's list says to the signer is said to who looked."""
    if problem.code == "visual_check_incomplete":
        return words.not_checked(found.not_checked)
    if problem.code == "visual_check_before_correction":
        return words.not_again(found.not_again, found.items)
    if problem.code == "visual_check_contradicts_check_in":
        return words.contradicts_check_in(str(problem.facts["zones"]))
    return explain(problem).sentence


def way_to(visit: Visit, job: JobView, field: str) -> Link | None:
    """Where what a field speaks of is seen to; None where the person may not."""
    labels = {
        "visual_check": _("To the visual check"),
        "survey": _("Measure again"),
        "corrections": _("To the corrections"),
        "instrument": _("To the instruments"),
    }
    name = WAYS.get(field)
    if name is None or not allowed_with_password(visit.person, ROUTES[name].action):
        return None
    if field == "instrument":
        return Link(labels[field], path_to(name))
    phase = {"phase": "after" if job.corrections else "before"} if field == "survey" else None
    return Link(labels[field], path_to(name, phase, number=job.number))
