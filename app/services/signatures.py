"""What a customer signed at the desk: the authorisation to inspect, and the privacy notice."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Customer, Event, Job, PersonalValue, Signature
from app.schemas.signature import SignatureIn, canonical
from app.services import audit
from app.services.lookup import by_id, job_row, names, open_job
from app.services.permissions import Actor, require

SIGNED = "job.signed"
LEFT = "left"


@dataclass(frozen=True, slots=True)
class SignatureView:
    id: int
    purpose: str
    """`authorisation`, `privacy`."""
    way: str
    """`on_screen`, `on_card`."""
    name: str | None
    """Of who signed; None once erased."""
    wording: str | None
    """The text that was signed."""
    left: str | None
    """What was left here when the order was signed, a line each as it was shown; None where that
    was not kept, and once erased."""
    strokes: tuple[tuple[tuple[int, int], ...], ...]
    """Empty for a signed card, and once erased."""
    taken_by: str | None
    at: datetime
    erased_at: datetime | None


def sign(
    session: Session, actor: Actor, number: str, signed: SignatureIn, now: datetime
) -> SignatureView:
    """Keeps a signature; an earlier one of the same purpose is kept behind it.

    The job then says who gave the order, and when; or when the privacy notice was given. Raises
    NotFound `no_such_job`, Conflict `job_closed`, `customer_erased`.
    """
    require(actor, "signatures.write")
    job = open_job(session, actor, number)
    customer = by_id(session, actor, Customer, job.customer_id, "no_such_customer")
    if customer.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer.id)
    strokes = canonical(signed.strokes) if signed.strokes else ""
    row = Signature(
        shop_id=actor.shop_id,
        job_id=job.id,
        purpose=signed.purpose,
        way="on_card" if signed.on_card else "on_screen",
        name=signed.name,
        wording=signed.wording or "",
        strokes=strokes,
        strokes_sha256=hashlib.sha256(strokes.encode()).hexdigest() if strokes else None,
        taken_by_id=actor.person_id,
        at=now,
    )
    session.add(row)
    _tell_the_job(job, signed, now)
    session.flush()
    _record(session, actor, job, row, signed.left, now)
    return _views(session, actor, [job], [row])[0]


def listing(session: Session, actor: Actor, number: str) -> tuple[SignatureView, ...]:
    """All signatures of a job in the order of signing, superseded ones too."""
    require(actor, "signatures.read")
    job = job_row(session, actor, number)
    return _views(session, actor, [job], _of_jobs(session, actor, [job.id]))


def standing(session: Session, actor: Actor, number: str) -> dict[str, SignatureView]:
    """The newest signature of each purpose that was signed."""
    return {one.purpose: one for one in listing(session, actor, number)}


def left_at_signing(session: Session, actor: Actor, jobs: Sequence[Job]) -> dict[int, str]:
    """What was left here, as it was shown, by the id of the signature that was given for it.

    It lies with the log, where it can be erased.
    """
    rows = (
        scoped(session, actor, PersonalValue)
        .join(Event, Event.id == PersonalValue.event_id)
        .where(
            Event.what == SIGNED,
            Event.subject.in_([f"job:{job.number}" for job in jobs]),
            PersonalValue.name == LEFT,
            PersonalValue.value.is_not(None),
        )
        .with_only_columns(Event.public, PersonalValue.value)
    )
    found = session.execute(rows)
    return {json.loads(said)["signature"]: json.loads(value or '""') for said, value in found}


def names_of(session: Session, actor: Actor, jobs: Iterable[int]) -> list[str]:
    """Who signed for these jobs."""
    return [row.name for row in _of_jobs(session, actor, jobs) if row.name]


def erase_of_jobs(session: Session, actor: Actor, jobs: Iterable[int], now: datetime) -> None:
    """Removes names and strokes: their customer asked. That something was signed stays."""
    for row in _of_jobs(session, actor, jobs):
        if row.erased_at is None:
            row.name = row.strokes = ""
            row.erased_at = now
    session.flush()


def _tell_the_job(job: Job, signed: SignatureIn, now: datetime) -> None:
    if signed.purpose == "authorisation":
        job.authorised_by, job.authorised_at = signed.name, now
    else:
        job.privacy_notice_at = now


def _of_jobs(session: Session, actor: Actor, jobs: Iterable[int]) -> Sequence[Signature]:
    rows = scoped(session, actor, Signature).where(Signature.job_id.in_(list(jobs)))
    return session.scalars(rows.order_by(Signature.id)).all()


def _record(
    session: Session, actor: Actor, job: Job, row: Signature, left: str | None, now: datetime
) -> None:
    public: dict[str, audit.Value] = {
        "signature": row.id,
        "purpose": row.purpose,
        "way": row.way,
        "strokes_sha256": row.strokes_sha256,
        "wording_sha256": hashlib.sha256(row.wording.encode()).hexdigest(),
    }
    about = f"customer:{job.customer_id}"
    personal = {"name": row.name, LEFT: left} if left else {"name": row.name}
    audit.record(session, actor, SIGNED, f"job:{job.number}", now, public, personal, about)


def _views(
    session: Session, actor: Actor, jobs: Sequence[Job], rows: Sequence[Signature]
) -> tuple[SignatureView, ...]:
    left = left_at_signing(session, actor, jobs)
    people = names(session, actor, [row.taken_by_id for row in rows])
    return tuple(
        SignatureView(
            id=row.id,
            purpose=row.purpose,
            way=row.way,
            name=row.name or None,
            wording=row.wording or None,
            left=left.get(row.id),
            strokes=_strokes(row.strokes),
            taken_by=people.get(row.taken_by_id),
            at=row.at,
            erased_at=row.erased_at,
        )
        for row in rows
    )


def _strokes(kept: str) -> tuple[tuple[tuple[int, int], ...], ...]:
    read: list[list[list[int]]] = json.loads(kept) if kept else []
    return tuple(tuple((x, y) for x, y in stroke) for stroke in read)
