"""Issuing a certificate: reserve, make, enter. Only the two short writes hold the database."""

import hashlib
import logging
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import Conflict, JigbookError, NotFound, Problem, RefusedToIssue
from app.records.numbers import next_number
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Certificate, CertificateFile
from app.services import audit
from app.services.certificate_case import gather
from app.services.composing import (
    Reserved,
    Tools,
    Wish,
    against_wish,
    compose,
    refuse_unless_fit,
    tools_for,
)
from app.services.order import Made, Order
from app.services.passwords import PASSWORDS, Passwords
from app.services.people import only_shop
from app.services.permissions import Actor, require
from app.services.press import Press
from app.services.register import CertificateView, Kind, job_number_of, row_of, views_of
from app.services.sign_in import confirm_password
from app.services.words import words
from app.wording import moments
from app.wording.errors import explain
from app.wording.translation import _

log = logging.getLogger(__name__)

NOT_YET = "C-0000-0000"
"""Stands for the number while it is only looked at whether a certificate could be made."""


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
    """Issue the job's certificate and return its line of the register, `valid`.

    password: the signer's own, asked again at this step. The actor is a person: a program
    names one and sends the password (`sign_in.signer`).
    key_password: that of the signing key once the owner has set one; else it lies in the
    data folder. replaces: number of the certificate that this one corrects, with the reason.
    opinion: words of the signer, printed as such.
    Takes the Database itself, since the file is made between two transactions: call it
    outside of any session, in a worker thread.
    Raises RefusedToIssue with every reason; NotAllowed; NotSignedIn for a token; BadInput
    (`wrong_password`);
    Unavailable (`pdf_needs_pango`) before a number is used; Unavailable (`render_refused`,
    `signing_failed`, `worker_failed`), after which the number is `void`.
    """
    require(actor, "certificates.issue")
    why = words(reason, "reason") if replaces is not None else None
    said = words(opinion, "opinion") if opinion.strip() else ""
    wish = Wish(actor, job_number, kind, now, replaces, why, said)
    with database.read() as session:
        refuse_unless_fit(session, wish)
    confirm_password(database, actor, password, now, "certificate.issue", passwords)
    with database.read() as session:
        tools = tools_for(session, wish, press, key_password)
        draft = compose(session, wish, tools, NOT_YET)
    if problems := press.problems_with(draft.content, box_lines(wish, tools, draft.content)):
        raise RefusedToIssue(problems)
    with database.write() as session:
        reserved = reserve(session, wish, tools)
    signed = made(database, wish, tools, reserved)
    with database.write() as session:
        outcome = enter(session, wish, reserved.number, signed)
    if isinstance(outcome, CertificateView):
        return outcome
    raise RefusedToIssue(outcome)


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
    """At start: every number left `issuing` by a crash becomes `void`; returns those numbers."""
    words_of_it = _("The program ended before this certificate was finished.")
    with database.write() as session:
        try:
            shop_id = only_shop(session)
        except NotFound:
            return ()
        rows = scoped(session, shop_id, Certificate).where(Certificate.status == "issuing")
        left = session.scalars(rows.order_by(Certificate.id)).all()
        for row in left:
            void(row, words_of_it, now, None)
            subject = f"certificate:{row.number}"
            audit.record_as(session, shop_id, "set_up", "certificate.voided", subject, now)
        return tuple(row.number for row in left)


def reserve(session: Session, wish: Wish, tools: Tools) -> Reserved:
    """Take the next number and enter it as `issuing`, in the caller's writing unit."""
    number = next_number(session, wish.actor, "certificate", wish.now.year)
    composed = compose(session, wish, tools, number)
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
    note(session, wish, "certificate.reserved", number, said)
    return composed


def made(database: Database, wish: Wish, tools: Tools, reserved: Reserved) -> Made:
    """The signed file; when it cannot be made, the number becomes `void` and the error goes on.

    The register says that it failed and by what code; the cause, which may name paths and pieces
    of the document, stands in the server's log alone.
    """
    try:
        return tools.press.make(order_for(wish, tools, reserved))
    except Exception as error:
        code = error.code if isinstance(error, JigbookError) else "internal_error"
        log.error("certificate %s was not made", reserved.number, exc_info=error)
        why = _("The file could not be made ({code}).").format(code=code)
        with database.write() as session:
            void(row_of(session, wish.actor, reserved.number), why, wish.now, wish.actor.person_id)
            note(session, wish, "certificate.voided", reserved.number, {"reason": why})
        raise


def order_for(wish: Wish, tools: Tools, reserved: Reserved) -> Order:
    """What the worker gets."""
    content = reserved.content
    return Order(
        content=content,
        data=reserved.data,
        key=tools.key,
        box=box_lines(wish, tools, content),
        reason=f"{content.title} {content.number}",
        when=wish.now,
        service=tools.service,
    )


def box_lines(wish: Wish, tools: Tools, content: CertificateContent) -> tuple[str, ...]:
    """What stands in the visible signature: who, when, and with which certificate."""
    with moments.told_in(content.time_zone):
        signed = _("Signed {moment}").format(moment=moments.moment_with_zone(wish.now))
    digest = _("Signing certificate {digest}").format(digest=tools.key.fingerprint[:32])
    return (content.people.authorised_by, signed, tools.key.common_name, digest)


def enter(
    session: Session, wish: Wish, number: str, signed: Made
) -> CertificateView | Sequence[Problem]:
    """Make the reserved certificate `valid` with its file.

    When meanwhile something came up against it, it becomes `void`, and the reasons come back.
    """
    row = row_of(session, wish.actor, number)
    if row.status != "issuing":
        raise Conflict("certificate_no_longer_issuing", None, number=number)
    if against := changed_meanwhile(session, wish, row):
        why = "; ".join(explain(problem).sentence for problem in against)
        void(row, why, wish.now, wish.actor.person_id)
        note(session, wish, "certificate.voided", number, {"reason": why})
        return against
    row.sha256, row.time_stamp = hashlib.sha256(signed.pdf).hexdigest(), signed.time_stamp
    row.status, row.issued_at = "valid", wish.now
    session.add(
        CertificateFile(
            shop_id=row.shop_id, certificate_id=row.id, sha256=row.sha256, content=signed.pdf
        )
    )
    note(session, wish, "certificate.issued", number, entered(row))
    if wish.replaces is not None:
        supersede(session, wish, wish.replaces, number)
    session.flush()
    return views_of(session, wish.actor, [row])[0]


def entered(row: Certificate) -> dict[str, audit.Value]:
    """What the event of issuing says of the file."""
    stamp: dict[str, audit.Value] = {"time_stamp": row.time_stamp} if row.time_stamp else {}
    return {"sha256": row.sha256, **stamp}


def changed_meanwhile(session: Session, wish: Wish, row: Certificate) -> tuple[Problem, ...]:
    """What came up against the certificate while its file was being made."""
    case = gather(session, wish.actor, wish.job_number)
    found = against_wish(session, wish, case, own=row.number)
    if case.rows.result_id != row.result_id:
        found = (*found, Problem("measured_meanwhile", "survey"))
    return found


def supersede(session: Session, wish: Wish, old_number: str, new_number: str) -> None:
    """The old certificate ends with the reason; its file stays."""
    old = row_of(session, wish.actor, old_number)
    old.status, old.reason = "superseded", wish.reason
    old.ended_at, old.ended_by_id = wish.now, wish.actor.person_id
    said: dict[str, audit.Value] = {"by": new_number, "reason": wish.reason}
    note(session, wish, "certificate.superseded", old_number, said)


def void(row: Certificate, reason: str, now: datetime, person_id: int | None) -> None:
    """The number stays in the register, with the reason why there is no certificate of it."""
    row.status, row.reason = "void", reason[:8000]
    row.ended_at, row.ended_by_id = now, person_id


def note(
    session: Session, wish: Wish, what: str, number: str, said: dict[str, audit.Value]
) -> None:
    """An event about a certificate."""
    audit.record(session, wish.actor, what, f"certificate:{number}", wish.now, said)
