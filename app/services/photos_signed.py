"""Which photos that go with a claim a certificate shows, and why it does not show the others.

A certificate is fixed as it is signed: what is chosen later goes with the link and the zip alone.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.records.scope import OfShop, scoped
from app.records.tables import Certificate
from app.services.photo_sharing import SharedPhoto, shared_of
from app.services.register import content_of

SINCE = "since"
"""Chosen after the certificate was signed."""
NO_ROOM = "no_room"
"""Chosen before, but behind the last one that a certificate has room for."""


@dataclass(frozen=True, slots=True)
class Signed:
    """A signed certificate beside the photos that go with its claim."""

    number: str
    beside: Mapping[int, str]
    """The ids of those that it does not show: `since` or `no_room`."""


def of_certificate(row: Certificate, chosen: Iterable[SharedPhoto]) -> Signed:
    """What the certificate shows of these photos."""
    shown = {one.photo for one in content_of(row).photos} if row.content else set()
    beside = {
        one.id: SINCE if one.shared_at > row.reserved_at else NO_ROOM
        for one in chosen
        if one.id not in shown
    }
    return Signed(row.number, beside)


def of_job(session: Session, shop: OfShop | int, job_id: int) -> Signed | None:
    """The same of the newest certificate of a job that is in force or being issued."""
    rows = scoped(session, shop, Certificate).where(
        Certificate.job_id == job_id, Certificate.status.in_(("issuing", "valid"))
    )
    newest = session.scalars(rows.order_by(Certificate.id.desc()).limit(1)).one_or_none()
    if newest is None:
        return None
    return of_certificate(newest, shared_of(session, shop, job_id))
