"""The shop itself: what it is called, where it is, and how it wants to work."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import across_shops, scoped
from app.records.tables import Shop
from app.schemas.shop import ShopIn
from app.services import audit
from app.services.permissions import Actor, require

UNNAMED = ""


@dataclass(frozen=True, slots=True)
class ShopView:
    """What stands at the head of certificates, and the shop's settings."""

    name: str
    address: str
    phone: str
    email: str
    time_zone: str
    """In which certificates tell days and times."""
    own_statement: str
    """What the shop itself states of its accreditation or standards, in its own words."""
    confidence_threshold: float
    """The probability from which a verdict is given."""
    measurer_may_sign: bool
    claim_link_days: int
    privacy_notice: str
    """The shop's own notice on personal data; empty: the one that the program knows."""


def name(session: Session) -> str:
    """The shop's name, as outsiders see it too; empty before the first start."""
    found = session.scalars(across_shops(Shop).with_only_columns(Shop.name).limit(1)).first()
    return found or UNNAMED


def phone(session: Session) -> str:
    """The shop's telephone number, as outsiders see it too; empty where there is none."""
    return session.scalars(across_shops(Shop).with_only_columns(Shop.phone).limit(1)).first() or ""


def name_and_zone(session: Session) -> tuple[str, str]:
    """The same with the zone that it tells days and times in; both empty before the first start."""
    columns = across_shops(Shop).with_only_columns(Shop.name, Shop.time_zone).limit(1)
    found = session.execute(columns).first()
    return (found[0], found[1]) if found else (UNNAMED, "")


def read(session: Session, actor: Actor) -> ShopView:
    """The shop as it is now."""
    require(actor, "shop.read")
    row = session.scalars(scoped(session, actor, Shop)).one()
    return ShopView(
        name=row.name,
        address=row.address,
        phone=row.phone,
        email=row.email,
        time_zone=row.time_zone,
        own_statement=row.own_statement,
        confidence_threshold=row.confidence_threshold,
        measurer_may_sign=row.measurer_may_sign,
        claim_link_days=row.claim_link_days,
        privacy_notice=row.privacy_notice,
    )


def change(session: Session, actor: Actor, sent: ShopIn, now: datetime) -> ShopView:
    """Change all of it, for findings and certificates from now on; what was issued stays."""
    require(actor, "shop.write")
    row = session.scalars(scoped(session, actor, Shop)).one()
    values: dict[str, audit.Value] = {
        "name": sent.name,
        "address": sent.address or "",
        "phone": sent.phone or "",
        "email": sent.email or "",
        "time_zone": sent.time_zone or row.time_zone,
        "own_statement": sent.own_statement or "",
        "confidence_threshold": sent.confidence_threshold,
        "measurer_may_sign": sent.measurer_may_sign,
        "claim_link_days": sent.claim_link_days,
        "privacy_notice": sent.privacy_notice or "",
    }
    for field, value in values.items():
        setattr(row, field, value)
    session.flush()
    audit.record(session, actor, "shop.changed", "shop", now, values)
    return read(session, actor)
