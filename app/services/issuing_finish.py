"""A certificate that is signed for becomes a file in the register, or void with the reason.

The file is made outside of any session; before and after it stands one short writing unit.
"""

import hashlib
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import JigbookError, Problem, RefusedToIssue, Unavailable
from app.records.session import Database
from app.records.tables import Certificate, CertificateFile, IssuingTask
from app.services import audit, issuing_tasks, sessions
from app.services.certificate_case import gather
from app.services.certificate_photos import pictures_of
from app.services.composing import Wish, against_wish
from app.services.distrusted_signers import marked
from app.services.issuing_tasks import PASSING, Taken
from app.services.order import Made, Order
from app.services.people import person_of
from app.services.permissions import Actor
from app.services.press import Press
from app.services.register import (
    CertificateView,
    Kind,
    content_of,
    job_number_of,
    replaced_numbers,
    row_of,
    views_of,
)
from app.signing.authority import FOLDER
from app.signing.keys import SigningKey, open_key
from app.signing.time_stamp_service import service_of
from app.signing.trust import fingerprint_of, signers
from app.wording import moments
from app.wording.digests import in_fours
from app.wording.errors import explain
from app.wording.progress import not_made
from app.wording.translation import _

log = logging.getLogger(__name__)

Clock = Callable[[], datetime]
KEY_WANTED = "signing_password_needed"


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the records say of a number that is to be finished."""

    wish: Wish
    content: CertificateContent
    data: bytes
    signer: str
    """Fingerprint of the certificate that it was signed for with."""
    pictures: dict[str, bytes]
    """The photos that it shows."""


def finish(
    database: Database,
    taken: Taken,
    clock: Clock,
    *,
    press: Press,
    key: SigningKey | None = None,
    while_waiting: Callable[[], None] | None = None,
) -> CertificateView:
    """Make the file and enter it; the certificate is `valid` then.

    key: opened when it was signed for; else it is opened without a password of its own.
    while_waiting: called several times a second while the file is being made; what it raises
    ends that.
    Raises what went wrong, after it was written down: the task waits for another try, for the
    key's password or for a person, or the number is `void`. Raises Conflict
    (`certificate_no_longer_issuing`) when another program has it, and changes nothing then.
    """
    try:
        with database.read() as session:
            sheet = sheet_of(session, taken)
            refuse_other_key(session, taken.shop_id, sheet.signer, press)
        order = order_for(sheet, opened(press, key, sheet.signer, clock()), press)
        made = press.make(order, while_waiting)
        with database.write() as session:
            refuse_other_key(session, taken.shop_id, sheet.signer, press)
            outcome = enter(session, taken, made, clock())
    except Exception as error:
        log.error("certificate %s was not made", taken.number, exc_info=error)
        with database.write() as session:
            write_down(session, taken, error, clock())
        raise
    if isinstance(outcome, CertificateView):
        return outcome
    raise RefusedToIssue(outcome)


def sheet_of(session: Session, taken: Taken) -> Sheet:
    """What was fixed when it was signed for."""
    task = issuing_tasks.held(session, taken)
    row = row_of(session, taken.shop_id, taken.number)
    content = content_of(row)
    return Sheet(
        wish=wish_of(session, row, task),
        content=content,
        data=(row.content or "").encode(),
        signer=row.signer_fingerprint or "",
        pictures=pictures_of(session, taken.shop_id, content),
    )


def wish_of(session: Session, row: Certificate, task: IssuingTask) -> Wish:
    """What was wished, and by whom. A person who was disabled since has no role left; a password
    that was reset since undoes no signature."""
    person = person_of(session, row.shop_id, row.signed_by_id or 0)
    actor = replace(sessions.actor_of(session, person), must_change_password=False)
    if person.disabled_at is not None:
        actor = replace(actor, roles=frozenset())
    return Wish(
        actor=actor,
        job_number=job_number_of(session, row.shop_id, row),
        kind=cast(Kind, row.kind),
        now=row.reserved_at,
        replaces=replaced_numbers(session, row.shop_id, [row]).get(row.replaces_id or 0),
        reason=task.replacing_reason,
        opinion="",
    )


def opened(press: Press, key: SigningKey | None, signer: str, now: datetime) -> SigningKey:
    """The key that the certificate names.

    Raises NotAllowed (`signing_password_needed`); Unavailable when it is another by now.
    """
    found = key or open_key(press.data_dir / FOLDER, None, now)
    if found.fingerprint != signer:
        raise Unavailable("signing_key_changed")
    return found


def refuse_other_key(session: Session, shop_id: int, signer: str, press: Press) -> None:
    """Raise Unavailable where the key that it was signed for with is trusted no more, or never was
    one of the shop's keys of today: asked again in the unit that enters the file.

    A key that was renewed since it was signed for finishes what it began: its certificates stay
    verifiable, and the moment of signing lies before the renewal.
    """
    if signer in marked(session, shop_id):
        raise Unavailable("signing_key_distrusted")
    held = signers(press.data_dir / FOLDER)
    if signer not in {fingerprint_of(one) for one in held}:
        raise Unavailable("signing_key_changed")


def order_for(sheet: Sheet, key: SigningKey, press: Press) -> Order:
    """What the worker gets."""
    content, moment = sheet.content, sheet.wish.now
    return Order(
        content=content,
        data=sheet.data,
        key=key,
        box=box_lines(moment, key, content),
        reason=f"{content.title} {content.number}",
        when=moment,
        service=service_of(press.data_dir / FOLDER),
        pictures=sheet.pictures,
    )


def box_lines(moment: datetime, key: SigningKey, content: CertificateContent) -> tuple[str, ...]:
    """What stands in the visible signature: whose key signed, who authorised it and when, and with
    which certificate."""
    with moments.told_in(content.time_zone):
        authorised = _("{moment}, authorised by {name}").format(
            moment=moments.moment_with_zone(moment), name=content.people.authorised_by
        )
    digest = _("Key's certificate, SHA-256 {digest} …").format(
        digest=in_fours(key.fingerprint[:24])
    )
    return (_("Signed with the shop's key"), authorised, key.common_name, digest)


def enter(
    session: Session, taken: Taken, made: Made, now: datetime
) -> CertificateView | Sequence[Problem]:
    """Make the certificate `valid` with its file.

    When meanwhile something came up against it, it becomes `void`, and the reasons come back.
    """
    task = issuing_tasks.held(session, taken)
    row = row_of(session, taken.shop_id, taken.number)
    wish = wish_of(session, row, task)
    session.delete(task)
    if against := changed_meanwhile(session, wish, row):
        void(session, wish.actor, row, "; ".join(explain(one).sentence for one in against), now)
        return against
    row.sha256, row.time_stamp = hashlib.sha256(made.pdf).hexdigest(), made.time_stamp
    row.status, row.issued_at = "valid", wish.now
    session.add(
        CertificateFile(
            shop_id=row.shop_id, certificate_id=row.id, sha256=row.sha256, content=made.pdf
        )
    )
    note(session, wish.actor, "certificate.issued", row.number, now, entered(row))
    if wish.replaces is not None:
        supersede(session, wish, wish.replaces, row.number, now)
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


def supersede(
    session: Session, wish: Wish, old_number: str, new_number: str, now: datetime
) -> None:
    """The old certificate ends with the reason; its file stays."""
    old = row_of(session, wish.actor, old_number)
    old.status, old.reason = "superseded", wish.reason
    old.ended_at, old.ended_by_id = now, wish.actor.person_id
    said: dict[str, audit.Value] = {"by": new_number, "reason": wish.reason}
    note(session, wish.actor, "certificate.superseded", old_number, now, said)


def write_down(session: Session, taken: Taken, error: Exception, now: datetime) -> None:
    """What comes of a try that failed. Raises Conflict when another program has the number.

    The register says only by what code it failed; the cause, which may name paths and pieces of
    the document, stands in the server's log.
    """
    task = issuing_tasks.held(session, taken)
    code = error.code if isinstance(error, JigbookError) else "internal_error"
    row = row_of(session, taken.shop_id, taken.number)
    actor = wish_of(session, row, task).actor
    if code in PASSING or code == KEY_WANTED:
        delay(session, actor, task, code, now, taken.number)
        return
    session.delete(task)
    void(session, actor, row, not_made(code), now)


def delay(
    session: Session, actor: Actor, task: IssuingTask, code: str, now: datetime, number: str
) -> None:
    """The number is kept; an event tells when nothing more is done by itself."""
    if code == KEY_WANTED:
        issuing_tasks.wait_for(task, "key", code)
    else:
        issuing_tasks.put_off(task, code, now)
    if task.waits_for is not None:
        said: dict[str, audit.Value] = {"for": task.waits_for, "problem": code}
        note(session, actor, "certificate.waits", number, now, said)


def void(session: Session, actor: Actor, row: Certificate, reason: str, now: datetime) -> None:
    """The number stays in the register, with the reason why there is no certificate of it."""
    end(row, reason, now, actor.person_id)
    note(session, actor, "certificate.voided", row.number, now, {"reason": reason})


def end(row: Certificate, reason: str, now: datetime, person_id: int | None) -> None:
    """The row of a number that will not be issued."""
    row.status, row.reason = "void", reason[:8000]
    row.ended_at, row.ended_by_id = now, person_id


def note(
    session: Session,
    actor: Actor,
    what: str,
    number: str,
    now: datetime,
    said: dict[str, audit.Value],
) -> None:
    """An event about a certificate."""
    audit.record(session, actor, what, f"certificate:{number}", now, said)
