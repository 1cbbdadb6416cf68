"""Who used a claim link: let in or not, written down, slowed down, and forgotten after a while.

Nobody is signed in. Addresses are kept cut short, so that they name a network, and only for
`KEPT`. A try is counted and an opening written down in a short unit of its own, so that both stay
on record when the link is refused.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, ip_address, ip_network

from sqlalchemy import delete
from sqlalchemy.orm import Session

from app.errors import NotFound, TooManyTries
from app.records.scope import OfShop, across_shops, pin, scoped
from app.records.session import Database
from app.records.tables import ClaimAccess, ClaimLink, Shop
from app.services import throttle
from app.services.claims import REFUSED, digest_of, state_of
from app.services.people import only_shop
from app.wording import moments

KEPT = timedelta(days=180)
"""How long it stays known who used a link."""
MOST_AN_HOUR = 200
"""Uses of one link within an hour, whoever they come from: a link is for a few people."""
HOUR = timedelta(hours=1)
NETWORK_BITS = {4: 24, 6: 48}


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for behind a link, as the log names it."""

    what: str
    """`viewed`, `listed`, `photo`, `downloaded`, `data`, `bundle`."""
    subject: str = ""
    """Number of the job or certificate, or a photo of a job."""
    of_insurer: str = ""
    """What it is instead, where the link is one to an insurer's claims."""

    def of(self, link: ClaimLink) -> str:
        """What is fetched by this link."""
        return self.of_insurer if link.insurer_id is not None and self.of_insurer else self.what


Finds = Callable[[Session, ClaimLink], object]
"""Raises NotFound where the link does not lead to what is asked for."""


def admitted(
    database: Database, token: str, now: datetime, asked: Asked, address: str, finds: Finds
) -> int:
    """The id of the link, its use logged.

    Raises, after the try was written down, NotFound `claim_link_unknown`, the same whatever was
    guessed, `claim_link_expired`, `claim_link_revoked`, these two with the shop that is asked
    (facts `shop`, `phone`, `email`), or as `finds`; TooManyTries.
    """
    client = throttle.network_of(address)
    with database.write() as session:
        shop_id = only_shop(session)
        throttle.count_try(session, shop_id, "claim", client, now)
        link = found(session, token)
        if link is None:
            against: Exception | None = NotFound("claim_link_unknown")
        else:
            slow_down(session, link, now)
            against = against_opening(session, link, now, finds)
            log(session, link, now, asked, address, refused=against is not None)
        if link is not None and against is None:
            throttle.give_back(session, shop_id, "claim", client)
            return link.id
    assert against is not None
    raise against


def has_opened(
    session: Session,
    link: ClaimLink,
    now: datetime,
    what: str,
    subjects: tuple[str, ...],
    address: str,
) -> bool:
    """Whether the log says that this network opened one of these by the link within the last
    hour."""
    uses = scoped(session, link.shop_id, ClaimAccess).where(
        ClaimAccess.claim_link_id == link.id,
        ClaimAccess.at > now - HOUR,
        ClaimAccess.what == what,
        ClaimAccess.subject.in_(subjects),
        ClaimAccess.address == shortened(address),
    )
    return session.scalars(uses.limit(1)).first() is not None


def against_opening(
    session: Session, link: ClaimLink, now: datetime, finds: Finds
) -> NotFound | None:
    """Why the link does not open what is asked for; None when it does."""
    state = state_of(link, now)
    if state == "revoked" and link.revoked_at is not None:
        revoked = moments.moment_with_zone(link.revoked_at)
        return NotFound("claim_link_revoked", None, revoked_at=revoked, **_maker(session, link))
    if state == "expired":
        expired = moments.moment_with_zone(link.expires_at)
        return NotFound("claim_link_expired", None, expired_at=expired, **_maker(session, link))
    try:
        finds(session, link)
    except NotFound as error:
        return error
    return None


def _maker(session: Session, link: ClaimLink) -> dict[str, str]:
    """Whom to ask where a link has ended: the shop, and nothing of what the link led to."""
    shop = session.scalars(scoped(session, link.shop_id, Shop)).one()
    return {"shop": shop.name, "phone": shop.phone, "email": shop.email}


def found(session: Session, token: str) -> ClaimLink | None:
    """The link of a token, whatever its state.

    It is sought by the token's digest: how long that takes says nothing of tokens that are near.
    """
    query = across_shops(ClaimLink).where(ClaimLink.token_hash == digest_of(token))
    link = session.scalars(query).one_or_none()
    if link is not None:
        pin(session, link.shop_id)
    return link


def link_of(session: Session, token: str, link_id: int) -> ClaimLink:
    """The link that was admitted, in another session."""
    link = found(session, token)
    if link is None or link.id != link_id:
        raise NotFound("claim_link_unknown")
    return link


def slow_down(session: Session, link: ClaimLink, now: datetime) -> None:
    """Raises TooManyTries when the link was used too often within the last hour."""
    recent = scoped(session, link.shop_id, ClaimAccess).where(
        ClaimAccess.claim_link_id == link.id, ClaimAccess.at > now - HOUR
    )
    newest = recent.with_only_columns(ClaimAccess.at).order_by(ClaimAccess.id.desc())
    uses = session.scalars(newest.limit(MOST_AN_HOUR)).all()
    if len(uses) == MOST_AN_HOUR:
        wait = math.ceil((uses[-1] + HOUR - now).total_seconds())
        raise TooManyTries("too_many_tries", max(wait, 1))


def log(
    session: Session, link: ClaimLink, now: datetime, asked: Asked, address: str, *, refused: bool
) -> None:
    """Write down that the link was used, and forget what is old."""
    forget_old(session, link.shop_id, now)
    session.add(
        ClaimAccess(
            shop_id=link.shop_id,
            claim_link_id=link.id,
            at=now,
            what=REFUSED if refused else asked.of(link),
            subject=asked.subject[:40],
            address=shortened(address),
        )
    )
    session.flush()


def forget_old(session: Session, shop: OfShop | int, now: datetime) -> None:
    """Delete what was written down longer ago than it may be kept."""
    shop_id = pin(session, shop)
    session.execute(
        delete(ClaimAccess).where(ClaimAccess.shop_id == shop_id, ClaimAccess.at < now - KEPT)
    )


def forget_at_start(database: Database, now: datetime) -> None:
    """The same when the program starts, so that it also happens where no link is used any more."""
    with database.write() as session:
        try:
            shop_id = only_shop(session)
        except NotFound:
            return
        forget_old(session, shop_id, now)


def shortened(address: str) -> str:
    """The network that an address lies in; empty for what is no address."""
    try:
        one = ip_address(address)
    except ValueError:
        return ""
    if not isinstance(one, IPv4Address) and one.ipv4_mapped:
        one = one.ipv4_mapped
    return str(ip_network((int(one), NETWORK_BITS[one.version]), strict=False))
