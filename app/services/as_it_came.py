"""The machine as it came, told once more as it leaves: damage that nothing on record followed."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.services.certificate_case import gather
from app.services.certificate_received import not_spoken_of
from app.services.permissions import Actor, require


@dataclass(frozen=True, slots=True)
class AsItCame:
    damaged: tuple[str, ...]
    """Zones, of `schemas.damage.ZONES`, that were damaged and of which neither a measurement nor
    a correction speaks."""
    not_rideable: bool
    """It came in as not rideable."""


def as_it_came(session: Session, actor: Actor, number: str) -> AsItCame:
    """What of the check-in is still to be told. Raises NotFound `no_such_job`."""
    require(actor, "jobs.hand_over")
    case = gather(session, actor, number)
    return AsItCame(
        damaged=tuple(not_spoken_of(case, case.survey)),
        not_rideable=case.job.rideable == "no",
    )
