"""People, their roles, and how they get in: sessions, tokens, throttling."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Line, ShopRecord, link, one_of

ROLES = ("desk", "technician", "inspector", "owner")


class Person(ShopRecord):
    __tablename__ = "person"
    __table_args__ = (UniqueConstraint("shop_id", "sign_in_key"),)

    sign_in_name: Mapped[Line]
    sign_in_key: Mapped[Line]
    """The sign-in name as it is compared: casefolded, without marks."""
    name: Mapped[Line]
    title: Mapped[Line] = mapped_column(default="")
    """Printed under the name on a certificate."""
    email: Mapped[Line] = mapped_column(default="")
    password_hash: Mapped[Line | None]
    password_set_at: Mapped[datetime.datetime | None]
    one_time_until: Mapped[datetime.datetime | None]
    """The password is a one-time password that ends then and must be changed at sign-in."""
    pin_hash: Mapped[Line | None]
    """Of the PIN that opens enrolled tablets, and only those."""
    pin_set_at: Mapped[datetime.datetime | None]
    disabled_at: Mapped[datetime.datetime | None]
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class PersonRole(ShopRecord):
    __tablename__ = "person_role"
    __table_args__ = (UniqueConstraint("person_id", "role"), one_of("role", *ROLES))
    deletable = True

    person_id: Mapped[int] = link("person")
    role: Mapped[Code]


class SignInSession(ShopRecord):
    """One browser that is signed in; only the digest of its cookie is kept."""

    __tablename__ = "sign_in_session"
    deletable = True

    person_id: Mapped[int] = link("person")
    token_hash: Mapped[Code] = mapped_column(unique=True)
    created_at: Mapped[datetime.datetime]
    last_seen_at: Mapped[datetime.datetime]
    ends_at: Mapped[datetime.datetime]
    """The absolute end, however busy the session is."""
    idle_s: Mapped[int]
    """Seconds without a request after which the session is over."""
    confirmed_at: Mapped[datetime.datetime | None]
    """When the password was last given again in this session."""
    address: Mapped[Line] = mapped_column(default="")
    user_agent: Mapped[Line] = mapped_column(default="")
    revoked_at: Mapped[datetime.datetime | None]
    tablet_id: Mapped[int | None] = link("tablet")
    """The tablet on which a PIN opened it; None when a password did."""


class Tablet(ShopRecord):
    """A tablet of the shop on which people change by PIN; only digests of its secrets are kept."""

    __tablename__ = "tablet"

    name: Mapped[Line]
    code_hash: Mapped[Code | None] = mapped_column(unique=True)
    """Of the one-time code that enrols it; gone once it was used."""
    code_until: Mapped[datetime.datetime | None]
    token_hash: Mapped[Code | None] = mapped_column(unique=True)
    """Of the secret that the enrolled browser keeps."""
    created_by_id: Mapped[int | None] = link("person")
    created_at: Mapped[datetime.datetime]
    enrolled_at: Mapped[datetime.datetime | None]
    last_seen_at: Mapped[datetime.datetime | None]
    revoked_at: Mapped[datetime.datetime | None]


class Throttle(ShopRecord):
    """Failed tries of one account or one address; survives a restart."""

    __tablename__ = "throttle"
    __table_args__ = (UniqueConstraint("shop_id", "kind", "subject_hash"),)
    deletable = True

    kind: Mapped[Code]
    """`account`, `address`, or another door that counts failures."""
    subject_hash: Mapped[Code]
    """A digest: people type their password into the name field by mistake."""
    failures: Mapped[int]
    last_failed_at: Mapped[datetime.datetime]
    blocked_until: Mapped[datetime.datetime | None]


class ApiToken(ShopRecord):
    """A machine's own way in; only the digest of the token is kept."""

    __tablename__ = "api_token"
    __table_args__ = (UniqueConstraint("shop_id", "name"), one_of("role", *ROLES))

    name: Mapped[Line]
    role: Mapped[Code]
    token_hash: Mapped[Code] = mapped_column(unique=True)
    hint: Mapped[Code]
    """The first characters, so that a person can tell tokens apart."""
    created_by_id: Mapped[int | None] = link("person")
    created_at: Mapped[datetime.datetime]
    expires_at: Mapped[datetime.datetime | None]
    last_used_at: Mapped[datetime.datetime | None]
    revoked_at: Mapped[datetime.datetime | None]
