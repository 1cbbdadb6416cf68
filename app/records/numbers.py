"""Numbers of jobs and certificates: unique per shop, kind and year, without a gap."""

from sqlalchemy.orm import Session

from app.records.scope import OfShop, pin, scoped
from app.records.tables import NumberCounter

LETTERS = {"job": "J", "certificate": "C"}


def next_number(session: Session, shop: OfShop | int, kind: str, year: int) -> str:
    """The next number, like `J-2026-0001`; it belongs to the caller's writing unit.

    A unit that is rolled back gives its number back, so the row that carries the number must be
    written in the same unit. `kind` is a key of `LETTERS`.
    """
    counter = session.scalars(
        scoped(session, shop, NumberCounter).where(
            NumberCounter.kind == kind, NumberCounter.year == year
        )
    ).one_or_none()
    if counter is None:
        counter = NumberCounter(shop_id=pin(session, shop), kind=kind, year=year, last=0)
        session.add(counter)
    counter.last += 1
    session.flush()
    return f"{LETTERS[kind]}-{year:04d}-{counter.last:04d}"
