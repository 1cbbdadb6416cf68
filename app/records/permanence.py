"""What may not change once it is written: checked before each flush.

The rules stand on the tables themselves (`append_only`, `deletable`, `fixed`, `fixed_from`).
"""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import inspect
from sqlalchemy.orm import Session, UOWTransaction

from app.records.scope import pin
from app.records.tables import Base, ShopRecord


class PermanentRecord(RuntimeError):
    """The program tried to change or delete what must stay: a mistake in the program."""


def keep_permanent(session: Session, context: UOWTransaction, instances: object) -> None:
    """Listener of `before_flush`."""
    require_writable(session)
    for record in session.new:
        if isinstance(record, ShopRecord):
            pin(session, record.shop_id)
    for record in session.deleted:
        if not record.deletable:
            raise PermanentRecord(f"{record.__tablename__} rows are never deleted")
    for record in session.dirty:
        if session.is_modified(record):
            _refuse_fixed(record)


def require_writable(session: Session) -> None:
    """Raises PermanentRecord for a session that only reads."""
    if not session.info.get("writable"):
        raise PermanentRecord("a reading session cannot write; use Database.write()")


def _refuse_fixed(record: Base) -> None:
    if record.append_only:
        raise PermanentRecord(f"{record.__tablename__} rows never change")
    if record.fixed_from and _before(record, record.fixed_from) is None:
        return
    changed = [name for name in record.fixed if _replaces_a_value(record, name)]
    if changed:
        names = ", ".join(sorted(changed))
        raise PermanentRecord(f"{record.__tablename__}: {names} cannot change once set")


def _replaces_a_value(record: Base, name: str) -> bool:
    history = inspect(record).attrs[name].history
    return bool(history.added) and _before(record, name) is not None


def _before(record: Base, name: str) -> Any:
    """The value as it stands in the database."""
    history = inspect(record).attrs[name].history
    return next(_values(history.deleted, history.unchanged), None)


def _values(*parts: Any) -> Iterator[Any]:
    for part in parts:
        yield from part or ()
