"""What is still open on a job that waits for its signature: told to those who can see to it before
they hand it over, in the very codes that the signer reads."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Problem
from app.services.certificate_case import Case, gather
from app.services.certificate_disagreements import looked_at_before_correction
from app.services.certificate_reasons import reasons
from app.services.certificate_remarks import remarks_on
from app.services.permissions import Actor, require

OF_THE_SIGNER = frozenset({"signer_may_not_sign", "sent_back_unanswered"})
"""What whoever measured can do nothing about, or is told already."""


@dataclass(frozen=True, slots=True)
class StillOpen:
    """What the signer would read of a job as it stands."""

    against: tuple[Problem, ...]
    """What refuses the certificate that the finding allows: a completion where it is within."""
    remarks: tuple[Problem, ...]
    """What does not refuse it, and is printed."""
    not_checked: tuple[str, ...]
    """Items of the visual check that nobody has looked at."""
    not_again: tuple[str, ...]
    """Items that were looked at before the last correction and not since."""
    items: int
    """How many the visual check has."""


def still_open(session: Session, actor: Actor, number: str, now: datetime) -> StillOpen | None:
    """What is open; None without a measurement. Raises NotFound `no_such_job`."""
    require(actor, "certificates.read")
    case = gather(session, actor, number)
    if case.survey is None:
        return None
    within = case.survey.result["finding"]["verdict"] == "within"
    against = reasons(case, actor, "completion" if within else "report")
    return StillOpen(
        against=tuple(one for one in against if one.code not in OF_THE_SIGNER),
        remarks=remarks_on(case, now),
        not_checked=not_checked(case),
        not_again=looked_at_before_correction(case.job),
        items=len(case.job.visual_checks),
    )


def not_checked(case: Case) -> tuple[str, ...]:
    """Items that have no answer, or the answer that nobody looked."""
    return tuple(one.item for one in case.job.visual_checks if one.answer == "not_checked")
