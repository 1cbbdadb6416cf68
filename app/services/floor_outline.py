"""What a job's reference says of where things lie, for the drawing at each step."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType

from sqlalchemy.orm import Session

from app.records.tables import Job, ReferenceRevision
from app.schemas.reading import reference_from
from app.services.lookup import job_row, known
from app.services.permissions import Actor, require

KEPT = 32
"""References whose nominals stay in memory: a revision never changes."""
Place = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Nominals:
    """Nominals in mm and degrees by the key of a characteristic, and control points in mm."""

    characteristics: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    control_points: Mapping[str, Place] = field(default_factory=lambda: MappingProxyType({}))
    head_length_mm: float | None = None
    sha256: str = ""
    """Of the reference that says so: what was drawn from it is known by this."""


def nominals(session: Session, actor: Actor, number: str) -> Nominals:
    """The nominals of the job's reference; empty where none is chosen. Raises NotFound."""
    require(actor, "drafts.read")
    return of_job(session, actor, job_row(session, actor, number))


def of_job(session: Session, actor: Actor, job: Job) -> Nominals:
    """The same for a job's row."""
    revision = known(session, actor, ReferenceRevision, job.reference_revision_id)
    return Nominals() if revision is None else _nominals(revision.document)


@lru_cache(maxsize=KEPT)
def _nominals(document: str) -> Nominals:
    reference = reference_from(json.loads(document))
    return Nominals(
        {
            key: line.nominal
            for key, line in reference.characteristics.items()
            if line.nominal is not None
        },
        dict(reference.control_points),
        reference.head_length_mm,
        hashlib.sha256(document.encode()).hexdigest(),
    )
