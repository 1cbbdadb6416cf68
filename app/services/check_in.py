"""Check-in: one form of the desk makes customer, machine, claim and job, or nothing at all."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Problem
from app.schemas.check_in import CheckInIn
from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class CheckedIn:
    job_number: str
    customer_id: int
    machine_id: int
    warnings: tuple[Problem, ...]
    """What is odd but was taken, such as a check digit of the frame number that does not fit."""


def read_form(sent: Mapping[str, object]) -> CheckInIn:
    """Reads what a page or the API sent. Raises BadInput with all its problems at once."""
    raise NotImplementedError


def check_in(session: Session, actor: Actor, form: CheckInIn, now: datetime) -> CheckedIn:
    """Takes a machine in: customer, machine, claim and job, all of them or none.

    A machine that this shop already knows by its frame number is taken again, not made twice,
    when it belongs to the same customer. Raises BadInput with every problem, also those that
    only the records can show (`no_such_customer`, `frame_number_of_another_customer`,
    `in_the_future`, …).
    """
    raise NotImplementedError
