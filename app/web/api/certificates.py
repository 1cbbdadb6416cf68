"""Certificates through the API: issued, read, downloaded, replaced, withdrawn, verified."""

from dataclasses import dataclass
from typing import Literal
from urllib.parse import quote

from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.requests import IssueIn, ReasonIn, ReplaceIn, ResumeIn, WithdrawIn
from app.services import certificates, sign_in, verification
from app.services.bundles import bundle
from app.services.claim_message import message
from app.services.issuing_progress import Progress, give_up, progress, resume
from app.services.issuing_queue import IssuingQueue
from app.services.permissions import Actor
from app.services.press import Press
from app.services.register import CertificateView
from app.services.verification import Verification
from app.web.api.call import MESSAGE, PDF, ZIP, Call, Calling, answer
from app.web.api.described import OPEN, Described, route
from app.web.api.listing import Limit, Offset, sliced
from app.web.api.waiting import signed_for
from app.web.pages.download import archive_download, attachment
from app.wording.errors import explain

OF_JOB = "/jobs/{number}/certificates"
ONE = "/certificates/{number}"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One reason why a certificate cannot be issued now."""

    code: str
    field: str
    message: str


@route("GET", "/certificates", "certificates.read", Described(answers=CertificateView, many=True))
def list_certificates(call: Calling, limit: Limit = 50, offset: Offset = 0) -> Response:
    """The register, newest first."""
    found = call.read(lambda session: certificates.certificates(session, call.actor))
    return sliced(call, found, limit, offset)


@route("GET", OF_JOB, "certificates.read", Described(answers=CertificateView, many=True))
def list_job_certificates(
    call: Calling, number: str, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """The certificates of a job, newest first."""
    found = call.read(lambda session: certificates.certificates(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route("GET", OF_JOB + "/obstacles", "certificates.read", Described(answers=Obstacle, many=True))
def list_obstacles(
    call: Calling,
    number: str,
    kind: Literal["report", "completion"] = "report",
    limit: Limit = 50,
    offset: Offset = 0,
) -> Response:
    """Every reason why this job's certificate cannot be issued now; none when it can."""
    found = call.read(
        lambda session: certificates.reasons_against(session, call.actor, number, kind, call.now)
    )
    told_of = [Obstacle(one.code, one.field, explain(one).sentence) for one in found]
    return sliced(call, told_of, limit, offset)


@route(
    "POST",
    OF_JOB,
    "certificates.issue",
    Described(sends=IssueIn, answers=CertificateView, status=202, repeatable=True, waits=True),
)
async def issue_certificate(call: Calling, number: str) -> Response:
    """Sign for the job's certificate in the name of the signer, or refuse with every reason."""
    sent = call.sent(IssueIn)
    return await signed_for(call, lambda: _sign_off(call, sent, number))


@route("GET", ONE, "certificates.read", Described(answers=CertificateView))
def read_certificate(call: Calling, number: str) -> Response:
    """One line of the register."""
    return answer(call.read(lambda session: certificates.certificate(session, call.actor, number)))


@route("GET", ONE + "/pdf", "certificates.read", Described(answer_type=PDF))
def download_certificate(call: Calling, number: str) -> Response:
    """The signed file, byte for byte."""
    file = call.read(lambda session: certificates.certificate_file(session, call.actor, number))
    named = f"attachment; filename*=UTF-8''{quote(file.filename, safe='')}"
    return Response(file.pdf, media_type=PDF, headers={"Content-Disposition": named})


@route("GET", ONE + "/bundle", "certificates.read", Described(answer_type=ZIP))
def download_bundle(call: Calling, number: str) -> Response:
    """All that a recipient needs in one zip: file, data, photos, authority, how to check."""
    return archive_download(
        call.read(lambda session: bundle(session, call.actor, number, call.now, press=_press(call)))
    )


@route("GET", ONE + "/message", "claim_links.write", Described(answer_type=MESSAGE))
def download_message(call: Calling, number: str) -> Response:
    """A mail with the bundle attached, not addressed to anybody who is not on record."""
    made = call.read(
        lambda session: message(session, call.actor, number, call.now, press=_press(call))
    )
    return attachment(made.content, MESSAGE, made.filename)


@route(
    "POST",
    ONE + "/replace",
    "certificates.issue",
    Described(sends=ReplaceIn, answers=CertificateView, status=202, repeatable=True, waits=True),
)
async def replace_certificate(call: Calling, number: str) -> Response:
    """Sign for a new certificate from the job's present records in place of this one."""
    sent = call.sent(ReplaceIn)

    def work() -> CertificateView:
        old = call.read(lambda session: certificates.certificate(session, call.actor, number))
        words = {"replaces": number, "reason": sent.reason}
        return _sign_off(call, sent, old.job_number, **words)

    return await signed_for(call, work)


@route("GET", ONE + "/progress", "certificates.read", Described(answers=Progress))
def read_progress(call: Calling, number: str) -> Response:
    """How far a certificate is that was signed for."""
    return answer(call.read(lambda session: progress(session, call.actor, number)))


@route(
    "POST",
    ONE + "/resume",
    "certificates.issue",
    Described(sends=ResumeIn, answers=Progress, repeatable=True),
)
def resume_certificate(call: Calling, number: str) -> Response:
    """Have a certificate that waits for somebody tried again, under its number."""
    sent = call.sent(ResumeIn)

    def work() -> Progress:
        queue: IssuingQueue = call.request.app.state.issuing
        resume(queue, call.actor, number, sent.key_password, call.now)
        return call.read(lambda session: progress(session, call.actor, number))

    return call.write_in_units(work)


@route(
    "POST",
    ONE + "/give-up",
    "certificates.issue",
    Described(sends=ReasonIn, answers=CertificateView, repeatable=True),
)
def give_up_certificate(call: Calling, number: str) -> Response:
    """Make a number void that is not issued yet."""
    sent = call.sent(ReasonIn)

    def work(session: Session) -> CertificateView:
        give_up(session, call.actor, number, sent.reason, call.now)
        return certificates.certificate(session, call.actor, number)

    return call.write(work)


@route(
    "POST",
    ONE + "/withdraw",
    "certificates.withdraw",
    Described(sends=WithdrawIn, answers=CertificateView, repeatable=True),
)
def withdraw_certificate(call: Calling, number: str) -> Response:
    """Withdraw a certificate in the name of an inspector, for good; its file stays on record."""
    sent = call.sent(WithdrawIn)

    def work() -> CertificateView:
        person = _signer(call, sent)
        with call.database.write() as session:
            return certificates.withdraw(session, person, number, sent.reason, call.now)

    return call.write_in_units(work)


@route(
    "POST",
    "/certificates/verify",
    OPEN,
    Described(sends=bytes, answers=Verification, media_types=(PDF,)),
)
def verify_certificate(call: Calling) -> Response:
    """Check a certificate file: is it unaltered, and is it in force here."""
    call.require_media_type(PDF)
    return answer(
        verification.check_file(
            call.database, call.body, call.now, press=_press(call), address=call.address
        )
    )


def _signer(call: Call, sent: IssueIn | WithdrawIn) -> Actor:
    """The person who signs, or withdraws."""
    passwords = call.request.app.state.passwords
    return sign_in.signer(
        call.database, call.actor, sent.signer, sent.password, call.now, passwords
    )


def _sign_off(call: Call, sent: IssueIn, job_number: str, **words: str) -> CertificateView:
    """Number and words of the certificate, from here on in the queue."""
    queue: IssuingQueue = call.request.app.state.issuing
    return queue.sign_off(
        _signer(call, sent),
        job_number,
        sent.kind,
        sent.password,
        call.now,
        key_password=sent.key_password,
        opinion=sent.opinion or "",
        passwords=call.request.app.state.passwords,
        **words,
    )


def _press(call: Call) -> Press:
    press: Press = call.request.app.state.press
    return press
