"""Holds that wait for an inspector, as a list on the pages that inspectors begin with."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.services.sign_off_queue import OpenHold
from app.web.routes import path_to
from app.wording import jobs as words
from app.wording.moments import moment_near


@dataclass(frozen=True, slots=True)
class HoldLine:
    """One open hold."""

    job: str
    href: str
    """Where it is closed."""
    what: str
    about: str
    """Plate and machine."""
    since: str


def hold_lines(found: Sequence[OpenHold], today: date) -> tuple[HoldLine, ...]:
    """Open holds in words."""
    return tuple(
        HoldLine(
            job=one.job,
            href=path_to("close_hold_form", number=one.job, hold=one.id),
            what=": ".join(filter(None, [words.item(one.item), one.note])),
            about=" · ".join(filter(None, [one.plate, one.machine])),
            since=moment_near(one.since, today),
        )
        for one in found
    )
