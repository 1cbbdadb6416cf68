"""Links to a job's claim, or to all claims of an insurer, through the API.

What opens behind a link is a page for people; programs make links, revoke them, and read who
used them.
"""

import base64
import hashlib
import hmac
import json
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.claim_link import ClaimLinkIn
from app.services import claims, insurer_links, insurers
from app.services.claims import AccessView, LinkView, NewLink
from app.services.insurer_links import NewInsurerLink
from app.web.api.call import Call, Calling, answer
from app.web.api.described import Described, route
from app.web.api.door import token_in
from app.web.api.listing import Limit, Offset, listed, sliced
from app.web.reach import address_of_claim

ALL = "/claim-links"
ONE = ALL + "/{link_id}"
OF_JOB = "/jobs/{number}/claim-links"
OF_INSURER = "/insurers/{insurer_id}/claim-links"
PURPOSE = b"jigbook claim link\0"
ODD_BYTES = 16


@dataclass(frozen=True, slots=True)
class MadeLink:
    """A link just made. Its address is told to who made it and kept nowhere."""

    id: int
    job_number: str | None
    """None for a link to all claims of an insurer."""
    insurer_id: int | None
    """None for a link to one job."""
    expires_at: datetime
    address: str


@dataclass(frozen=True, slots=True)
class EndedLink:
    """A link that opens nothing any more. Who used it is for those who may see that."""

    id: int
    state: str
    revoked_at: datetime | None


@dataclass(frozen=True, slots=True)
class Kept:
    """The answer to making a link, as it is stored for a repeat: without the secret."""

    id: int
    job_number: str | None
    insurer_id: int | None
    expires_at: datetime
    odd: str


@route("GET", ALL, "claim_links.read", Described(answers=LinkView, many=True))
def list_claim_links(call: Calling, limit: Limit = 50, offset: Offset = 0) -> Response:
    """All links of the shop, newest first."""
    found = call.read(lambda session: claims.links(session, call.actor, call.now))
    return sliced(call, found, limit, offset)


@route("GET", ALL + "/uses", "claim_links.read", Described(answers=AccessView, many=True))
def list_uses(call: Calling, limit: Limit = 50, offset: Offset = 0) -> Response:
    """Who used the shop's links and when, newest first."""
    return used(call, None, limit, offset)


@route("GET", ONE, "claim_links.read", Described(answers=LinkView))
def read_claim_link(call: Calling, link_id: int) -> Response:
    """One link, and how often it was used."""
    found = call.read(lambda session: claims.link(session, call.actor, link_id, call.now))
    return answer(found)


@route("GET", ONE + "/uses", "claim_links.read", Described(answers=AccessView, many=True))
def list_uses_of_link(
    call: Calling, link_id: int, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Who used a link and when, newest first."""
    return used(call, link_id, limit, offset)


@route("GET", OF_JOB, "claim_links.write", Described(answers=LinkView, many=True))
def list_links_of_job(
    call: Calling, number: str, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """The links to a job's claim, newest first."""
    found = call.read(lambda session: claims.links(session, call.actor, call.now, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    OF_JOB,
    "claim_links.write",
    Described(sends=ClaimLinkIn, answers=MadeLink, status=201, repeatable=True),
)
def make_claim_link(call: Calling, number: str) -> Response:
    """Make a link to the claim of a job; its address is told in this answer alone."""
    sent = call.sent(ClaimLinkIn)

    def work(session: Session, token: str) -> NewLink:
        return claims.create_link(
            session, call.actor, number, call.now,
            note=sent.note, valid_days=sent.valid_days, token=token,
        )  # fmt: skip

    return made(call, work, job_number=number)


@route(
    "POST",
    ONE + "/revoke",
    "claim_links.write",
    Described(answers=EndedLink, repeatable=True),
)
def revoke_claim_link(call: Calling, link_id: int) -> Response:
    """Revoke a link to a job's claim at once."""
    return call.write(lambda session: ended(claims.revoke(session, call.actor, link_id, call.now)))


@route("GET", OF_INSURER, "claim_links.read", Described(answers=LinkView, many=True))
def list_links_of_insurer(
    call: Calling, insurer_id: int, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """The links to all claims of an insurer, newest first."""

    def work(session: Session) -> tuple[LinkView, ...]:
        insurers.read(session, call.actor, insurer_id)
        return claims.links(session, call.actor, call.now, insurer_id=insurer_id)

    return sliced(call, call.read(work), limit, offset)


@route(
    "POST",
    OF_INSURER,
    "insurer_links.write",
    Described(sends=ClaimLinkIn, answers=MadeLink, status=201, repeatable=True),
)
def make_link_of_insurer(call: Calling, insurer_id: int) -> Response:
    """Make a link to all claims of an insurer; its address is told in this answer alone."""
    sent = call.sent(ClaimLinkIn)

    def work(session: Session, token: str) -> NewInsurerLink:
        return insurer_links.create_link(
            session, call.actor, insurer_id, call.now,
            note=sent.note, valid_days=sent.valid_days, token=token,
        )  # fmt: skip

    return made(call, work, insurer_id=insurer_id)


@route(
    "POST",
    OF_INSURER + "/{link_id}/revoke",
    "insurer_links.write",
    Described(answers=EndedLink, repeatable=True),
)
def revoke_link_of_insurer(call: Calling, insurer_id: int, link_id: int) -> Response:
    """Revoke a link to an insurer's claims at once."""
    return call.write(
        lambda session: ended(
            insurer_links.revoke(session, call.actor, insurer_id, link_id, call.now)
        )
    )


def made(
    call: Call,
    work: Callable[[Session, str], NewLink | NewInsurerLink],
    job_number: str | None = None,
    insurer_id: int | None = None,
) -> Response:
    """The answer with the link's address, the same when it is asked for again.

    What is stored for a repeat holds no secret: the token is worked out from the caller's own,
    which is on record as a digest alone, and odd bytes that are stored.
    """

    def kept(session: Session) -> Kept:
        odd = secrets.token_hex(ODD_BYTES)
        link = work(session, token_from(call, odd))
        return Kept(link.id, job_number, insurer_id, link.expires_at, odd)

    stored = call.write(kept, 201)
    told = json.loads(bytes(stored.body))
    address = address_of_claim(call.request, token_from(call, told.pop("odd")))
    return answer({**told, "address": address}, stored.status_code)


def token_from(call: Call, odd: str) -> str:
    """The secret of a link: 256 bits that only who holds the caller's token can work out."""
    key = token_in(call.request).encode()
    digest = hmac.digest(key, PURPOSE + odd.encode(), hashlib.sha256)
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def ended(link: LinkView) -> EndedLink:
    """What is told of a link that was revoked."""
    return EndedLink(link.id, link.state, link.revoked_at)


def used(call: Call, link_id: int | None, limit: int, offset: int) -> Response:
    """One page of the log."""
    return listed(
        call,
        lambda most, start: call.read(
            lambda session: claims.accesses(session, call.actor, link_id, most, start)
        ),
        limit,
        offset,
    )
