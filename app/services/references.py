"""References: nominal geometry and tolerances of a model, in revisions that are kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.reference import ReferenceIn
from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class RevisionView:
    """One revision of a reference. A used revision never changes: `revise` makes the next one."""

    id: int
    reference_id: int
    number: int
    """1, 2, 3 … within its reference."""
    make: str | None
    model: str | None
    years: str | None
    levelling: str | None
    document: Mapping[str, object]
    """The `jigbook.reference/1` document exactly as it was sent."""
    reference: ReferenceIn
    """The same, read."""
    used: bool
    """Whether a job has it fixed."""
    latest: bool
    created_at: datetime
    created_by: str | None


@dataclass(frozen=True, slots=True)
class ReferenceView:
    id: int
    name: str
    """Make, model and years in one line, for lists."""
    latest: RevisionView
    revisions: tuple[int, ...]
    """Numbers of all revisions, newest first."""


def create(
    session: Session, actor: Actor, document: Mapping[str, object], now: datetime
) -> ReferenceView:
    """A new reference from a `jigbook.reference/1` document.

    Raises BadInput for what the schema does not take, and Refusal for a tolerance on what
    levelling sets equal or a required X or Z of a control point under `by_height`, `by_angle`.
    """
    raise NotImplementedError


def revise(
    session: Session,
    actor: Actor,
    reference_id: int,
    document: Mapping[str, object],
    now: datetime,
) -> ReferenceView:
    """The next revision. Raises NotFound, Conflict `nothing_changed`, and as `create` does."""
    raise NotImplementedError


def read(session: Session, actor: Actor, reference_id: int) -> ReferenceView:
    """One reference. Raises NotFound `no_such_reference`."""
    raise NotImplementedError


def read_revision(
    session: Session, actor: Actor, reference_id: int, number: int | None = None
) -> RevisionView:
    """One revision, the latest unless told. Raises NotFound."""
    raise NotImplementedError


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[ReferenceView, ...]:
    """References whose make, model or years hold every word of `text`, by name."""
    raise NotImplementedError
