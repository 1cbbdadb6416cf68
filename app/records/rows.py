"""Rows that nearly every change leaves behind, written at once by statements made once.

A session that keeps a record until it flushes costs several times what the row itself does.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from sqlalchemy import Insert, Update, bindparam, insert, inspect, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value

from app.errors import Conflict
from app.records.permanence import PermanentRecord, require_writable
from app.records.scope import pin
from app.records.tables import ShopRecord


def add_row(session: Session, record: ShopRecord) -> int:
    """Write a new record at once and give it its id; the session keeps nothing of it.

    What it points to must be written already: what the session has changed stays where it is.
    """
    require_writable(session)
    pin(session, record.shop_id)
    values = {name: value for name, value in vars(record).items() if name in _columns(type(record))}
    added = session.connection().execute(_insert(type(record)), values)
    key: tuple[Any, ...] = tuple(added.inserted_primary_key or ())
    record.id = int(key[0])
    return record.id


def change_row(
    session: Session,
    model: type[ShopRecord],
    shop_id: int,
    met: Mapping[str, object],
    new: Mapping[str, object],
) -> bool:
    """Write new values at once into the shop's one row that has the values `met`; whether there is
    such a row. What never changes once it is set is no value for this."""
    require_writable(session)
    if model.append_only or not model.fixed.isdisjoint(new):
        raise PermanentRecord(f"{model.__tablename__}: {', '.join(sorted(new))} cannot change")
    given = {
        _MET + name: value for name, value in (("shop_id", pin(session, shop_id)), *met.items())
    }
    statement = _update(model, ("shop_id", *met), tuple(new))
    changed = session.connection().execute(statement, {**given, **new})
    return changed.rowcount == 1


def set_now(session: Session, record: ShopRecord, **new: object) -> None:
    """Write new values of a record that the session keeps, at once and by themselves; the version
    of a record that has one moves on.

    Nothing else of the record may wait to be written. Raises Conflict `changed_meanwhile`.
    """
    model, met = type(record), {"id": record.id}
    if inspect(model).version_id_col is not None:
        met["version"] = vars(record)["version"]
        new["version"] = met["version"] + 1
    if not change_row(session, model, record.shop_id, met, new):
        raise Conflict("changed_meanwhile")
    for name, value in new.items():
        set_committed_value(record, name, value)


_MET = "met_"


@lru_cache(maxsize=16)
def _insert(model: type[ShopRecord]) -> Insert:
    return insert(model)


@lru_cache(maxsize=16)
def _update(model: type[ShopRecord], met: tuple[str, ...], new: tuple[str, ...]) -> Update:
    columns = model.__table__.c
    conditions = [columns[name] == bindparam(_MET + name, type_=columns[name].type) for name in met]
    return update(model).where(*conditions).values({name: bindparam(name) for name in new})


@lru_cache(maxsize=16)
def _columns(model: type[ShopRecord]) -> frozenset[str]:
    return frozenset(model.__table__.columns.keys())
