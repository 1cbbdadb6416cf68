"""References: nominal geometry and tolerances of a model, in revisions that are kept."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Reference, ReferenceRevision
from app.schemas.json_text import read_json
from app.schemas.reading import reference_from
from app.schemas.reference import ReferenceIn
from app.services import audit
from app.services.lookup import by_id, names
from app.services.permissions import Actor, require
from app.services.search import found_by, page


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
    session: Session, actor: Actor, document: Mapping[str, object] | str, now: datetime
) -> ReferenceView:
    """A new reference from a `jigbook.reference/1` document, decoded or as text.

    Raises BadInput for what the schema does not take, among it a tolerance on what levelling
    sets equal (`tolerance_on_levelled`) and a required X or Z of a control point under
    `by_height` and `by_angle` (`control_needs_own_levelling`).
    """
    require(actor, "references.write")
    text, reference = _read(document)
    row = Reference(shop_id=actor.shop_id, make="", model="", created_at=now)
    _fill(row, reference)
    session.add(row)
    session.flush()
    _add_revision(session, actor, row, 1, text, reference, now)
    return view(session, actor, row)


def revise(
    session: Session,
    actor: Actor,
    reference_id: int,
    document: Mapping[str, object] | str,
    now: datetime,
) -> ReferenceView:
    """The next revision. Raises NotFound, Conflict `nothing_changed`, and as `create` does."""
    require(actor, "references.write")
    text, reference = _read(document)
    row = reference_row(session, actor, reference_id)
    latest = _revisions(session, actor, row)[0]
    if json.loads(latest.document) == json.loads(text):
        raise Conflict("nothing_changed", None, revision=latest.revision)
    _fill(row, reference)
    _add_revision(session, actor, row, latest.revision + 1, text, reference, now)
    return view(session, actor, row)


def read(session: Session, actor: Actor, reference_id: int) -> ReferenceView:
    """One reference. Raises NotFound `no_such_reference`."""
    require(actor, "references.read")
    return view(session, actor, reference_row(session, actor, reference_id))


def read_revision(
    session: Session, actor: Actor, reference_id: int, number: int | None = None
) -> RevisionView:
    """One revision, the latest unless told. Raises NotFound."""
    require(actor, "references.read")
    return revision_view(session, actor, revision_row(session, actor, reference_id, number))


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[ReferenceView, ...]:
    """References whose make, model or years hold every word of `text`, by name."""
    require(actor, "references.read")
    limit, offset = page(limit, offset)
    rows = session.scalars(
        scoped(session, actor, Reference)
        .where(found_by(Reference.search_text, text))
        .order_by(Reference.search_text, Reference.id)
        .limit(limit)
        .offset(offset)
    ).all()
    return tuple(view(session, actor, row) for row in rows)


def reference_row(session: Session, actor: Actor, reference_id: int) -> Reference:
    """The row of a reference. Raises NotFound `no_such_reference`."""
    return by_id(session, actor, Reference, reference_id, "no_such_reference")


def revision_row(
    session: Session, actor: Actor, reference_id: int, number: int | None = None
) -> ReferenceRevision:
    """The row of a revision, the latest unless told. Raises NotFound."""
    rows = _revisions(session, actor, reference_row(session, actor, reference_id))
    for row in rows:
        if number is None or row.revision == number:
            return row
    raise NotFound("no_such_revision", None, met=number)


def view(session: Session, actor: Actor, row: Reference) -> ReferenceView:
    rows = _revisions(session, actor, row)
    return ReferenceView(
        id=row.id,
        name=" ".join(part for part in (row.make, row.model, row.years) if part) or f"#{row.id}",
        latest=revision_view(session, actor, rows[0]),
        revisions=tuple(one.revision for one in rows),
    )


def revision_view(session: Session, actor: Actor, row: ReferenceRevision) -> RevisionView:
    document = json.loads(row.document)
    reference = reference_from(document)
    newest = scoped(session, actor, ReferenceRevision).where(
        ReferenceRevision.reference_id == row.reference_id,
        ReferenceRevision.revision > row.revision,
    )
    return RevisionView(
        id=row.id,
        reference_id=row.reference_id,
        number=row.revision,
        make=reference.machine.make,
        model=reference.machine.model,
        years=reference.machine.years,
        levelling=reference.levelling,
        document=document,
        reference=reference,
        used=row.frozen_at is not None,
        latest=session.scalars(newest).first() is None,
        created_at=row.created_at,
        created_by=names(session, actor, [row.created_by_id]).get(row.created_by_id),
    )


def _read(document: Mapping[str, object] | str) -> tuple[str, ReferenceIn]:
    """The text to keep and what it says; a text is kept to the letter."""
    if isinstance(document, str):
        return document, reference_from(read_json(document))
    reference = reference_from(document)
    return json.dumps(document, ensure_ascii=False), reference


def _revisions(session: Session, actor: Actor, row: Reference) -> list[ReferenceRevision]:
    rows = scoped(session, actor, ReferenceRevision).where(ReferenceRevision.reference_id == row.id)
    return list(session.scalars(rows.order_by(ReferenceRevision.revision.desc())))


def _fill(row: Reference, reference: ReferenceIn) -> None:
    machine = reference.machine
    row.make, row.model = machine.make or "", machine.model or ""
    row.years = machine.years or ""
    row.search_text = search_text(row.make, row.model, row.years)


def _add_revision(
    session: Session,
    actor: Actor,
    row: Reference,
    number: int,
    text: str,
    reference: ReferenceIn,
    now: datetime,
) -> None:
    digest = hashlib.sha256(text.encode()).hexdigest()
    provenance = reference.provenance
    session.add(
        ReferenceRevision(
            shop_id=actor.shop_id,
            reference_id=row.id,
            revision=number,
            document=text,
            document_sha256=digest,
            provenance_kind=provenance.kind if provenance else "",
            provenance_detail=(provenance.detail or "") if provenance else "",
            created_by_id=actor.person_id,
            created_at=now,
        )
    )
    session.flush()
    what = "reference.created" if number == 1 else "reference.revised"
    said: dict[str, audit.Value] = {"revision": number, "document_sha256": digest}
    audit.record(session, actor, what, f"reference:{row.id}", now, said)
