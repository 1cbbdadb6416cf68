"""A job that a desk's screen shows goes on at a tablet: a code for its camera."""

from dataclasses import dataclass

from fastapi import Request
from markupsafe import Markup

from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.web import drawn
from app.web.cookies import tablet_secret
from app.web.reach import address_for_others
from app.web.routes import path_to


@dataclass(frozen=True, slots=True)
class HandOff:
    """The way to a job's floor page for a tablet."""

    address: str
    """Empty: no tablet reaches this machine."""
    code: Markup


def hand_off(request: Request, job: JobView, actor: Actor) -> HandOff | None:
    """None where there is nothing to hand off: on a tablet itself, for a closed job, for those
    who do not measure."""
    if job.closed or not allowed(actor, "drafts.write") or tablet_secret(request) is not None:
        return None
    start = address_for_others(request)
    if start is None:
        return HandOff("", Markup(""))
    address = start + floor_path(job)
    return HandOff(address, drawn.leading_to(address))


def floor_path(job: JobView) -> str:
    """Where a technician goes on: the measurement in progress, else the job's next step."""
    if job.drafts:
        return path_to("draft", number=job.number, draft=job.drafts[-1].id)
    return path_to("job", number=job.number)
