"""What a certificate would look like, as a PDF that is none: for the signer to read beforehand."""

from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.documents.content import Line as Fact
from app.records.session import Database
from app.services.certificate_case import gather
from app.services.certificate_content import left_out_in_brief
from app.services.certificate_method import instrument_lines
from app.services.certificate_not_measured import not_measured
from app.services.certificate_photos import pictures_of
from app.services.certificate_received import nothing_on_record, of_damage
from app.services.certificate_sources import about_reference
from app.services.certificate_visual_check import visual_check
from app.services.composing import Wish, composed
from app.services.permissions import Actor, require
from app.services.press import Press
from app.wording import moments
from app.wording.translation import _


def draft_certificate(database: Database, wish: Wish, press: Press) -> bytes:
    """The pages as they would be printed now, each called a draft; no number, no signature.

    Nothing is kept, and no key is opened. Raises NotAllowed, NotFound; RefusedToIssue with every
    reason against the certificate or letters that cannot be printed; Unavailable.
    """
    require(wish.actor, "certificates.issue")
    with database.read() as session:
        later = _("stands on the certificate")
        content = as_draft(composed(session, wish, "", "", (later, later)).content)
        pictures = pictures_of(session, wish.actor, content)
    return press.draft(content, pictures)


def as_draft(content: CertificateContent) -> CertificateContent:
    """The content with words that nobody can take for a certificate's."""
    return replace(
        content,
        number=_("no number, not signed"),
        title=_("Draft: {title}").format(title=content.title[:1].lower() + content.title[1:]),
        in_force=(
            Fact(_("In force"), _("never: this is a draft, and it is not signed")),
            *(line for line in content.in_force if line.label not in not_of_a_draft()),
        ),
    )


def not_of_a_draft() -> tuple[str, ...]:
    """Labels of what only a certificate can say of itself."""
    return _("In force"), _("Issued")


@dataclass(frozen=True, slots=True)
class AlsoPrinted:
    """What a certificate says beside its figures."""

    first_page: tuple[str, ...]
    """What stands in bold beside the finding: of the limits, and of what is not measured."""
    instrument: tuple[Fact, ...]
    not_measured: tuple[str, ...]
    unknown: bool
    """Of damage at check-in nothing tells what became of it."""
    holds: tuple[Fact, ...]


def also_printed(session: Session, actor: Actor, job_number: str) -> AlsoPrinted | None:
    """The same sentences as on the certificate; None without a measurement. Raises NotFound."""
    case = gather(session, actor, job_number)
    if case.survey is None:
        return None
    with moments.told_in(case.shop.time_zone):
        bold = about_reference(case, case.survey.result), left_out_in_brief(case, case.survey)
        return AlsoPrinted(
            first_page=tuple(filter(None, bold)),
            unknown=nothing_on_record(case, case.survey),
            instrument=instrument_lines(case.instrument, case.survey),
            not_measured=not_measured(case.survey, case.reference, *of_damage(case, case.survey)),
            holds=visual_check(case.job).holds,
        )
