"""Signing for a certificate: everything is looked at, the number taken, the content fixed.

What follows, laying out and signing the file, needs nobody any more: `issuing_queue` does it in
the background, `issue` does it at once.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound, RefusedToIssue, Unavailable
from app.records.numbers import next_number
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Certificate
from app.services import audit, idempotency, issuing_tasks
from app.services.certificate_case import gather
from app.services.composing import (
    Reserved,
    Tools,
    Wish,
    compose,
    refuse_unless_fit,
    tools_for,
)
from app.services.idempotency import StoredAnswer
from app.services.issuing_finish import box_lines, end, finish, note
from app.services.passwords import PASSWORDS, Passwords
from app.services.people import only_shop
from app.services.permissions import Actor, require
from app.services.press import Press
from app.services.register import CertificateView, Kind, job_number_of, row_of, views_of
from app.services.sign_in import confirm_password
from app.services.words import words
from app.signing.keys import SigningKey
from app.wording.translation import _

NOT_YET = "C-0000-0000"
"""Stands for the number while it is only looked at whether a certificate could be made."""
SIGNED_FOR = 202


@dataclass(frozen=True, slots=True)
class SignedFor:
    """A number in the register as `issuing`, or the one that the same request got before."""

    view: CertificateView
    key: SigningKey | None
    """Opened for it; None when the request was a repeated one. It is kept in memory alone."""


@dataclass(frozen=True, slots=True)
class Once:
    """Marks one sending of a form, so that sending it again takes no second number."""

    key: str
    request: str

    def first(self, session: Session, wish: Wish) -> CertificateView | None:
        """The certificate that the first sending got."""
        stored = idempotency.recall(session, wish.actor, self.key, self.request, wish.now)
        if stored is None:
            return None
        return views_of(session, wish.actor, [row_of(session, wish.actor, stored.answer)])[0]

    def keep(self, session: Session, wish: Wish, number: str) -> None:
        """In the writing unit that takes the number."""
        answer = StoredAnswer(SIGNED_FOR, number)
        idempotency.remember(session, wish.actor, self.key, self.request, answer, wish.now)


def once(wish: Wish, request_key: str) -> Once | None:
    """The mark of a form that carries a key; other words under the same key are another form."""
    if not request_key:
        return None
    said = (wish.job_number, wish.kind, wish.replaces or "", wish.reason or "", wish.opinion)
    request = idempotency.request_hash("SIGN", "\n".join((request_key, *said)), b"")
    return Once(f"sign-off:{request}", request)


def sign_off(
    database: Database,
    actor: Actor,
    job_number: str,
    kind: Kind,
    password: str,
    now: datetime,
    *,
    press: Press,
    key_password: str | None = None,
    replaces: str | None = None,
    reason: str | None = None,
    opinion: str = "",
    request_key: str = "",
    holder: str | None = None,
    passwords: Passwords = PASSWORDS,
) -> SignedFor:
    """Sign for the job's certificate: its line of the register, `issuing`, its words fixed.

    password: the signer's own, asked again at this step. The actor is a person: a program
    names one and sends the password (`sign_in.signer`).
    key_password: that of the signing key once the owner has set one; else it lies in the
    data folder. replaces: number of the certificate that this one corrects, with the reason.
    opinion: words of the signer, printed as such. request_key: of the form that was sent.
    holder: the program that will finish it; None: whichever comes first.
    Takes the Database itself, since passwords are checked outside of any session: call it in a
    worker thread.
    Raises RefusedToIssue with every reason; NotAllowed; NotSignedIn for a token; BadInput
    (`wrong_password`); Unavailable (`pdf_needs_pango`). No number is used then.
    """
    require(actor, "certificates.issue")
    why = words(reason, "reason") if replaces is not None else None
    said = words(opinion, "opinion") if opinion.strip() else ""
    wish = Wish(actor, job_number, kind, now, replaces, why, said)
    sent = once(wish, request_key)
    with database.read() as session:
        if sent and (first := sent.first(session, wish)):
            return SignedFor(first, None)
        refuse_unless_fit(session, wish)
    confirm_password(database, actor, password, now, "certificate.issue", passwords)
    with database.read() as session:
        tools = tools_for(session, wish, press, key_password)
        draft = compose(session, wish, tools, NOT_YET)
    if problems := press.problems_with(draft.content, box_lines(now, tools.key, draft.content)):
        raise RefusedToIssue(problems)
    with database.write() as session:
        if sent and (first := sent.first(session, wish)):
            return SignedFor(first, None)
        row = reserve(session, wish, tools)
        issuing_tasks.add(session, row, why, holder)
        if sent:
            sent.keep(session, wish, row.number)
        return SignedFor(views_of(session, actor, [row])[0], tools.key)


def issue(
    database: Database,
    actor: Actor,
    job_number: str,
    kind: Kind,
    password: str,
    now: datetime,
    *,
    press: Press,
    key_password: str | None = None,
    replaces: str | None = None,
    reason: str | None = None,
    opinion: str = "",
    passwords: Passwords = PASSWORDS,
) -> CertificateView:
    """Sign for the job's certificate and finish it before returning; `valid` then.

    Raises as `sign_off` and as `issuing_finish.finish`: what may pass is tried again at once, up
    to `issuing_tasks.MOST_TRIES` times, then the number waits for a person.
    """
    holder = secrets.token_hex(8)
    signed = sign_off(
        database,
        actor,
        job_number,
        kind,
        password,
        now,
        press=press,
        key_password=key_password,
        replaces=replaces,
        reason=reason,
        opinion=opinion,
        holder=holder,
        passwords=passwords,
    )
    return finished_at_once(database, signed, holder, now, press)


def finished_at_once(
    database: Database, signed: SignedFor, holder: str, now: datetime, press: Press
) -> CertificateView:
    """Try until it is there, or the task waits for somebody or for a later time."""
    number, failed = signed.view.number, None
    while True:
        with database.write() as session:
            taken = issuing_tasks.take(session, only_shop(session), holder, now, number)
        if taken is None:
            raise failed or Unavailable("worker_failed", None, task="make")
        try:
            return finish(database, taken, lambda: now, press=press, key=signed.key)
        except Unavailable as error:
            failed = error


def replace(
    database: Database,
    actor: Actor,
    number: str,
    kind: Kind,
    password: str,
    reason: str,
    now: datetime,
    *,
    press: Press,
    key_password: str | None = None,
    opinion: str = "",
    passwords: Passwords = PASSWORDS,
) -> CertificateView:
    """Issue a new certificate from the job's present records; `number` becomes `superseded`.

    The new one names the old one, the SHA-256 of its file and the reason. Raises as `issue`.
    """
    require(actor, "certificates.issue")
    with database.read() as session:
        job_number = job_number_of(session, actor, row_of(session, actor, number))
    return issue(
        database,
        actor,
        job_number,
        kind,
        password,
        now,
        press=press,
        key_password=key_password,
        replaces=number,
        reason=reason,
        opinion=opinion,
        passwords=passwords,
    )


def heal(database: Database, now: datetime) -> tuple[str, ...]:
    """At start: numbers that are `issuing` without anything left to do for them become `void`;
    returns them. Earlier versions left such numbers when they were ended."""
    words_of_it = _("The program ended before this certificate was finished.")
    with database.write() as session:
        try:
            shop_id = only_shop(session)
        except NotFound:
            return ()
        at_work = {number for number, _task in issuing_tasks.every(session, shop_id)}
        rows = scoped(session, shop_id, Certificate).where(Certificate.status == "issuing")
        found = session.scalars(rows.order_by(Certificate.id))
        left = [row for row in found if row.number not in at_work]
        for row in left:
            end(row, words_of_it, now, None)
            subject = f"certificate:{row.number}"
            audit.record_as(session, shop_id, "set_up", "certificate.voided", subject, now)
        return tuple(row.number for row in left)


def reserve(session: Session, wish: Wish, tools: Tools) -> Certificate:
    """Take the next number and enter it as `issuing`, in the caller's writing unit."""
    number = next_number(session, wish.actor, "certificate", wish.now.year)
    composed: Reserved = compose(session, wish, tools, number)
    rows = gather(session, wish.actor, wish.job_number).rows
    replaced = row_of(session, wish.actor, wish.replaces) if wish.replaces else None
    row = Certificate(
        shop_id=wish.actor.shop_id,
        number=number,
        job_id=rows.job_id,
        kind=wish.kind,
        status="issuing",
        survey_id=rows.survey_id,
        result_id=rows.result_id,
        before_result_id=rows.before_result_id,
        reference_revision_id=rows.reference_revision_id,
        replaces_id=replaced.id if replaced else None,
        content=composed.data.decode(),
        content_sha256=hashlib.sha256(composed.data).hexdigest(),
        signer_fingerprint=tools.key.fingerprint,
        signer_name=composed.content.people.authorised_by,
        signed_by_id=wish.actor.person_id,
        reserved_at=wish.now,
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {"job": wish.job_number, "kind": wish.kind}
    note(session, wish.actor, "certificate.reserved", number, wish.now, said)
    return row
