"""The shop itself: what it is called."""

from sqlalchemy.orm import Session

from app.records.scope import across_shops
from app.records.tables import Shop

UNNAMED = ""


def name(session: Session) -> str:
    """The shop's name, as outsiders see it too; empty before the first start."""
    found = session.scalars(across_shops(Shop).with_only_columns(Shop.name).limit(1)).first()
    return found or UNNAMED
