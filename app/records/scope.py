"""The one door to the tables: every query of a session stays within one shop.

`scoped()` builds a query and pins its session to the shop. From then on the session adds the
shop to everything it selects, joined tables and `session.get()` included. A query in a session
that was never pinned is refused, so a forgotten door is an error and not a leak.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Protocol, TypeVar

from sqlalchemy import Executable, Select, select
from sqlalchemy.orm import LoaderCriteriaOption, ORMExecuteState, Session, with_loader_criteria

from app.records.tables import Base, Shop, ShopRecord

Record = TypeVar("Record", bound=Base)
Asked = TypeVar("Asked", bound=Select[*tuple[Any, ...]])
GIVEN = "shop_id"
"""The parameter that a statement made for all shops is given."""


class UnscopedQuery(RuntimeError):
    """A query was about to look beyond one shop: a mistake in the program."""


class OfShop(Protocol):
    """Anything that belongs to a shop, such as the person who acts."""

    @property
    def shop_id(self) -> int: ...


def pin(session: Session, shop: OfShop | int) -> int:
    """Tie the session to the shop for the rest of its life."""
    shop_id = shop if isinstance(shop, int) else shop.shop_id
    pinned: int = session.info.setdefault("shop_id", shop_id)
    if pinned != shop_id:
        raise UnscopedQuery(f"session of shop {pinned} used for shop {shop_id}")
    return shop_id


def scoped(session: Session, shop: OfShop | int, model: type[Record]) -> Select[Record]:
    """Select of the shop's rows of `model`; add `where`, `order_by`, `with_only_columns` …"""
    shop_id = pin(session, shop)
    owner = model.shop_id if issubclass(model, ShopRecord) else Shop.id
    return select(model).where(owner == shop_id)


def across_shops(model: type[Record]) -> Select[Record]:
    """Select over all shops: only for finding out which shop a secret or a start belongs to."""
    return select(model).execution_options(across_shops=True)


def for_given_shop(statement: Asked) -> Asked:
    """A select that is made once and asked with nearly every request: to be executed with the
    parameter `shop_id`, with which it compares by itself. Nothing is put to it when it is asked,
    and of tables it may be as well as of records, which costs less.

    Raises UnscopedQuery for one that compares with no such parameter.
    """
    if GIVEN not in statement.compile().params:
        raise UnscopedQuery(str(statement))
    return statement.execution_options(for_given_shop=True)


def keep_within_shop(state: ORMExecuteState) -> None:
    """Listener of `do_orm_execute`."""
    if state.is_insert or state.is_column_load or state.is_relationship_load:
        return
    if state.is_update or state.is_delete:
        _refuse_bulk_change(state)
    elif state.execution_options.get("across_shops"):
        return
    shop_id = state.session.info.get("shop_id")
    if shop_id is not None and state.execution_options.get("for_given_shop"):
        _require_given(state.parameters, shop_id)
        return
    if shop_id is None or not state.is_orm_statement:
        raise UnscopedQuery(str(state.statement))
    state.statement = state.statement.options(*_within(shop_id))


def require_within(session: Session, asked: Executable, given: Mapping[str, object]) -> None:
    """For selects that the session does not see. Raises UnscopedQuery unless the select is one
    across shops, or one that is given the shop which the session is pinned to."""
    options = asked.get_execution_options()
    if not options.get("across_shops"):
        _require_given(given if options.get("for_given_shop") else None, session.info.get(GIVEN))


def require_across(asked: Executable) -> None:
    """Raises UnscopedQuery unless the statement says that it looks at all shops."""
    if not asked.get_execution_options().get("across_shops"):
        raise UnscopedQuery(str(asked))


def _require_given(parameters: object, shop_id: int | None) -> None:
    given = parameters.get(GIVEN) if isinstance(parameters, Mapping) else None
    if shop_id is None or given != shop_id:
        raise UnscopedQuery(f"session of shop {shop_id} asked for shop {given}")


@lru_cache(maxsize=16)
def _within(shop_id: int) -> tuple[LoaderCriteriaOption, LoaderCriteriaOption]:
    """Made once a shop: making them costs as much as a small query."""
    return (
        with_loader_criteria(ShopRecord, lambda cls: cls.shop_id == shop_id, include_aliases=True),
        with_loader_criteria(Shop, lambda cls: cls.id == shop_id, include_aliases=True),
    )


def _refuse_bulk_change(state: ORMExecuteState) -> None:
    model = state.bind_mapper.class_ if state.bind_mapper is not None else None
    if model is None or not model.deletable:
        raise UnscopedQuery(f"rows are changed one by one, not by {state.statement}")
