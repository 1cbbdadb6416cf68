"""What every table has: names of constraints, its shop, limits of length, what may change."""

import datetime
from typing import Annotated, Any, ClassVar, get_args

from sqlalchemy import CheckConstraint, ForeignKey, MetaData, Table, event
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedColumn, Mapper, mapped_column

from app.records.columns import Content, Day, Flag, Real, UtcDateTime, Words

Code = Annotated[str, 80]
"""A word of the program or a short number, up to 80 characters."""
Line = Annotated[str, 300]
"""One line that a person wrote, up to 300 characters."""
Paragraph = Annotated[str, 8_000]
"""Several lines that a person wrote, up to 8,000 characters."""
Document = Annotated[str, 8_000_000]
"""A whole JSON or CSV text, up to 8 million characters."""

_TEXTS = (Code, Line, Paragraph, Document)

# Alembic needs to know each constraint by name before it can alter a table on SQLite.
NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Base of all tables."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        **{text: Words(get_args(text)[1]) for text in _TEXTS},
        datetime.datetime: UtcDateTime,
        datetime.date: Day,
        bool: Flag,
        float: Real,
        bytes: Content,
    }

    append_only: ClassVar[bool] = False
    """Rows are added and never changed or deleted."""
    deletable: ClassVar[bool] = False
    """Rows may be deleted: nothing that a shop must be able to show later."""
    fixed: ClassVar[frozenset[str]] = frozenset()
    """Columns that never change once they hold a value."""
    fixed_from: ClassVar[str | None] = None
    """`fixed` holds only from the moment that this column has a value."""

    def __init_subclass__(cls, **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        table = cls.__dict__.get("__table__")
        if isinstance(table, Table):
            table.dialect_options["sqlite"]["strict"] = True
            _check_lengths(table)


def _check_lengths(table: Table) -> None:
    for column in table.columns:
        if isinstance(column.type, Words):
            rule = f"length({column.name}) <= {column.type.limit}"
            table.append_constraint(CheckConstraint(rule, name=f"{column.name}_length"))


@event.listens_for(Base, "mapper_configured", propagate=True)
def _remember_fixed(mapper: Mapper[Any], model: type[Base]) -> None:
    """Let fixed columns load their old value before they are set: it decides if they may be."""
    watched = model.fixed | ({model.fixed_from} if model.fixed_from else frozenset())
    for name in watched:
        getattr(model, name).impl.active_history = True


class ShopRecord(Base):
    """A row that belongs to one shop, as all rows do but the shop itself."""

    __abstract__ = True

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-2)
    shop_id: Mapped[int] = mapped_column(
        ForeignKey("shop.id", ondelete="RESTRICT"), index=True, sort_order=-1
    )


def link(target: str, **options: Any) -> MappedColumn[Any]:
    """A column that points to `table.id`; what is pointed to cannot be deleted."""
    options.setdefault("index", True)
    return mapped_column(ForeignKey(f"{target}.id", ondelete="RESTRICT"), **options)


def one_of(column: str, *values: str) -> CheckConstraint:
    """The column holds one of these words."""
    words = ", ".join(f"'{value}'" for value in values)
    return CheckConstraint(f"{column} IN ({words})", name=f"{column}_known")
