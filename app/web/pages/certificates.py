"""The register of certificates, and each of them."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote, urlencode

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import certificates, jobs, machine_changes
from app.services.bundles import bundle
from app.services.certificates import CertificateView
from app.services.claim_message import message
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.services.put_right import differences
from app.services.search import LONGEST_SEARCH
from app.web.database import Read
from app.web.door import pages
from app.web.form_state import FormState
from app.web.pages.download import archive_download, attachment, pdf_download
from app.web.pages.machine_change import differing
from app.web.pages.words import Fact, Mark, mark, or_not_stated
from app.web.rendering import Page, show
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording.claim_message import subject as subject_of
from app.wording.claim_message import with_zip
from app.wording.moments import moment
from app.wording.translation import _
from app.wording.verification import in_force


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the register."""

    number: str
    kind: str
    status: str
    stands: bool
    """In force, so that its finding holds."""
    job: str
    machine: str
    plate: str
    finding: Mark
    issued: str
    signed_by: str


@dataclass(frozen=True, kw_only=True)
class RegisterPage(Page):
    template: ClassVar[str] = "pages/register.html"
    entries: tuple[Entry, ...]
    may_export: bool
    sees_links: bool


@dataclass(frozen=True, kw_only=True)
class CertificatePage(Page):
    template: ClassVar[str] = "pages/certificate.html"
    entry: Entry
    sentence: str
    differs: str
    """In what it no longer agrees with the record of the machine; empty where it does."""
    facts: tuple[Fact, ...]
    digests: tuple[Fact, ...]
    replaces: str
    because: str
    """Why it takes that one's place."""
    replaced_by: str
    in_progress: bool
    has_file: bool
    may_withdraw: bool
    may_correct: bool
    """Another one may be signed that takes its place."""
    may_share: bool
    mail: str
    """Begins a mail to the adjuster; empty where no address is on record."""


@pages.add("GET", "/certificates", "certificates.read")
def register(request: Request, visit: Here, session: Read) -> Response:
    """Every number that was ever given, newest first: none is missing. Or those searched for."""
    sought = request.query_params.get("q", "")[:LONGEST_SEARCH].strip()
    found = certificates.certificates(session, visit.person, text=sought)
    page = RegisterPage(
        title=_("Certificates"),
        form=FormState({"q": sought}),
        entries=tuple(entry_of(one) for one in found),
        may_export=allowed(visit.person, "register.export"),
        sees_links=allowed(visit.person, "claim_links.read"),
    )
    return show(request, visit, page)


@pages.add("GET", "/certificates/{number}", "certificates.read")
def certificate(request: Request, visit: Here, session: Read, number: str) -> Response:
    """One certificate: what it is, whether it is in force, its file."""
    found = certificates.certificate(session, visit.person, number)
    stands = found.status in ("valid", "distrusted")
    changes = machine_changes.listing(session, visit.person, found.job_number) if stands else ()
    page = CertificatePage(
        title=_("Certificate {number}").format(number=found.number),
        entry=entry_of(found),
        sentence=status_sentence(found),
        differs=differing(differences(changes, found.issued_at)),
        facts=facts_of(found),
        digests=digests_of(found),
        replaces=found.replaces or "",
        because=why_replaced(session, visit, found),
        replaced_by=found.replaced_by or "",
        in_progress=found.status == "issuing",
        has_file=found.pdf_sha256 is not None,
        may_withdraw=stands and allowed(visit.person, "certificates.withdraw"),
        may_correct=stands and allowed(visit.person, "certificates.issue"),
        may_share=allowed(visit.person, "claim_links.write"),
        mail=mail_about(found, jobs.read(session, visit.person, found.job_number)),
    )
    return show(request, visit, page)


@pages.add("GET", "/certificates/{number}/pdf", "certificates.read")
def certificate_pdf(visit: Here, session: Read, number: str) -> Response:
    """The signed file."""
    return pdf_download(certificates.certificate_file(session, visit.person, number))


@pages.add("GET", "/certificates/{number}/bundle", "certificates.read")
def certificate_bundle(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The file with all that a recipient needs, to download or to send by mail."""
    press = request.app.state.press
    return archive_download(bundle(session, visit.person, number, visit.now, press=press))


@pages.add("GET", "/certificates/{number}/message", "claim_links.write")
def certificate_message(request: Request, visit: Here, session: Read, number: str) -> Response:
    """A mail with the zip attached, as a file that a mail program opens as a draft."""
    press = request.app.state.press
    made = message(session, visit.person, number, visit.now, press=press)
    return attachment(made.content, "message/rfc822", made.filename)


def mail_about(found: CertificateView, job: JobView) -> str:
    """A mail to the adjuster as their own program begins it; the file is put in by hand."""
    claim = job.claim
    if claim is None or not claim.adjuster_email:
        return ""
    subject = subject_of(found.kind, found.number, claim.claim_number or "")
    body = with_zip(found.number, f"{found.number}.zip")
    query = urlencode({"subject": subject, "body": body}, quote_via=quote)
    return f"mailto:{quote(claim.adjuster_email, safe='@')}?{query}"


def entry_of(found: CertificateView) -> Entry:
    """A line of the register in words."""
    return Entry(
        number=found.number,
        kind=words.kind(found.kind),
        status=words.certificate_status(found.status),
        stands=found.status == "valid",
        job=found.job_number,
        machine=found.machine,
        plate=found.plate,
        finding=mark(found.finding),
        issued=moment(found.issued_at) if found.issued_at else "",
        signed_by=found.signed_by,
    )


def why_replaced(session: Session, visit: Visit, found: CertificateView) -> str:
    """The reason that stands with the one whose place it takes; empty where it takes none's."""
    if not found.replaces:
        return ""
    return certificates.certificate(session, visit.person, found.replaces).status_reason or ""


def status_sentence(found: CertificateView) -> str:
    """Whether it is in force, in one sentence."""
    since = moment(found.status_since)
    sentences = {
        "valid": _("It is in force."),
        "distrusted": in_force(found.status),
        "issuing": _("It is being issued."),
        "superseded": _("Another one took its place on {since}.").format(since=since),
        "withdrawn": _("It was withdrawn on {since}.").format(since=since),
        "void": _("It was never issued: making it failed on {since}.").format(since=since),
    }
    return " ".join(filter(None, [sentences[found.status], found.status_reason]))


def facts_of(found: CertificateView) -> tuple[Fact, ...]:
    """What it speaks of."""
    return (
        Fact(_("Kind"), words.kind(found.kind)),
        Fact(_("Machine"), found.machine),
        Fact(_("Plate on record"), or_not_stated(found.plate)),
        Fact(_("Issued"), moment(found.issued_at) if found.issued_at else _("not issued")),
        Fact(_("Signed by"), found.signed_by),
    )


def digests_of(found: CertificateView) -> tuple[Fact, ...]:
    """The fingerprints of file and data."""
    return tuple(
        Fact(label, value)
        for label, value in (
            (_("SHA-256 of the file"), found.pdf_sha256),
            (_("SHA-256 of its data"), found.data_sha256),
        )
        if value
    )
