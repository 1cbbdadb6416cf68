"""Rows that nearly every change leaves behind, written at once by statements made once.

A session that keeps a record until it flushes costs several times what the row itself does.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import cast

from sqlalchemy import Table, bindparam, insert, inspect, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value
from sqlalchemy.sql.schema import DefaultGenerator, ScalarElementColumnDefault

from app.errors import Conflict
from app.records.permanence import PermanentRecord, require_writable
from app.records.prepared import Prepared
from app.records.scope import pin
from app.records.tables import ShopRecord


def add_row(session: Session, record: ShopRecord) -> int:
    """Write a new record at once and give it its id; the session keeps nothing of it.

    What it points to must be written already: what the session has changed stays where it is.
    """
    record.id = add_values(session, type(record), record.shop_id, vars(record))
    return record.id


def add_values(
    session: Session, model: type[ShopRecord], shop_id: int, given: Mapping[str, object]
) -> int:
    """The same for the values of a record that nobody needs; what is not given is as by default."""
    require_writable(session)
    values = {name: given.get(name, default) for name, default in _columns(model)}
    return _insert(model).added(session, {**values, "shop_id": pin(session, shop_id)})


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
    return statement.changed(session, {**given, **new}) == 1


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
def _insert(model: type[ShopRecord]) -> Prepared:
    return Prepared(
        insert(_table(model)).values({name: bindparam(name) for name, _ in _columns(model)})
    )


@lru_cache(maxsize=16)
def _update(model: type[ShopRecord], met: tuple[str, ...], new: tuple[str, ...]) -> Prepared:
    columns = _table(model).c
    conditions = [columns[name] == bindparam(_MET + name, type_=columns[name].type) for name in met]
    values: dict[str, object] = {name: bindparam(name) for name in new}
    return Prepared(update(_table(model)).where(*conditions).values(values))


@lru_cache(maxsize=16)
def _columns(model: type[ShopRecord]) -> tuple[tuple[str, object], ...]:
    """Every column but the id, which the database gives, with the value that it has by default."""
    columns = [column for column in _table(model).columns if not column.primary_key]
    return tuple([(one.key, _default(one.default)) for one in columns])


def _default(default: DefaultGenerator | None) -> object:
    """Raises TypeError for one that is worked out anew each time, which no table has."""
    if default is None:
        return None
    if not isinstance(default, ScalarElementColumnDefault):
        raise TypeError(f"{default!r} is no plain value")
    return default.arg


def _table(model: type[ShopRecord]) -> Table:
    return cast(Table, model.__table__)
