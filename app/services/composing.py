"""What is to be issued, whether it may be, and what is printed under a number."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import cast
from unicodedata import normalize

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import Problem, RefusedToIssue
from app.records.chain import canonical
from app.records.scope import scoped
from app.records.tables import Certificate
from app.schemas.certificate import FORMAT
from app.services import audit
from app.services.certificate_case import Case, gather, shop_of
from app.services.certificate_content import Issue, certificate_content
from app.services.certificate_photos import MOST_PRINTED
from app.services.certificate_reasons import reasons
from app.services.jobs import CorrectionView
from app.services.permissions import Actor
from app.services.photo_sharing import SharedPhoto
from app.services.press import Press
from app.services.register import Kind, read_content, row_of
from app.services.surveys import SurveyView
from app.signing.authority import fingerprint, found_authority
from app.signing.keys import SigningKey, open_key
from app.signing.time_stamp_service import Service, service_of
from app.wording import jobs as job_words
from app.wording import moments
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be issued, and by whom."""

    actor: Actor
    job_number: str
    kind: Kind
    now: datetime
    replaces: str | None
    reason: str | None
    opinion: str


@dataclass(frozen=True, slots=True)
class Tools:
    """The press and the opened key."""

    press: Press
    key: SigningKey
    service: Service | None = None
    """Who stamps the signature with the time."""

    @property
    def authority_sha256(self) -> str:
        return fingerprint(self.key.authority_pem)

    @property
    def fingerprints(self) -> tuple[str, str]:
        """Of the authority and of the signer, as they are printed."""
        return self.authority_sha256, self.key.fingerprint


@dataclass(frozen=True, slots=True)
class Reserved:
    """A number that stands in the register as `issuing`, and what is to be printed under it."""

    number: str
    content: CertificateContent
    data: bytes


def refuse_unless_fit(session: Session, wish: Wish) -> Case:
    """What is on record. Raises RefusedToIssue with every reason against a certificate."""
    case = gather(session, wish.actor, wish.job_number)
    if against := against_wish(session, wish, case):
        raise RefusedToIssue(against)
    return case


def against_wish(
    session: Session, wish: Wish, case: Case, own: str | None = None
) -> tuple[Problem, ...]:
    """Every reason, those of other certificates among them; `own` is the one being issued."""
    found = (*reasons(case, wish.actor, wish.kind), *against_another(session, wish, case, own))
    if wish.replaces is None:
        return found
    old = row_of(session, wish.actor, wish.replaces)
    if old.status == "valid" and old.job_id == case.job.id:
        return found
    facts = {"number": old.number, "status": job_words.certificate_status(old.status)}
    return (*found, Problem("certificate_not_valid", "replaces", facts))


def against_another(session: Session, wish: Wish, case: Case, own: str | None) -> Iterator[Problem]:
    """A measurement has one certificate of a kind, unless another takes its place.

    Asked again under the write lock when the number is reserved, so that a form that was sent
    twice issues once.
    """
    rows = scoped(session, wish.actor, Certificate).where(
        Certificate.job_id == case.job.id,
        Certificate.survey_id == case.rows.survey_id,
        Certificate.kind == wish.kind,
        Certificate.status.in_(("issuing", "valid")),
        Certificate.number.not_in([one for one in (own, wish.replaces) if one]),
    )
    for row in session.scalars(rows.order_by(Certificate.id)):
        facts = {"number": row.number, "status": job_words.certificate_status(row.status)}
        yield Problem("certificate_already_there", "kind", facts)


def tools_for(session: Session, wish: Wish, press: Press, key_password: str | None) -> Tools:
    """The key, opened and checked before a number is used; the authority made on first use."""
    shop = shop_of(session, wish.actor).lines[0]
    folder = found_authority(press.data_dir, shop, wish.now)
    return Tools(press, open_key(folder, key_password, wish.now), service_of(folder))


def compose(session: Session, wish: Wish, tools: Tools, number: str) -> Reserved:
    """What is printed under a number. Raises RefusedToIssue."""
    address = tools.press.check_address(number)
    return composed(session, wish, number, address, tools.fingerprints)


def composed(
    session: Session, wish: Wish, number: str, address: str, fingerprints: tuple[str, str]
) -> Reserved:
    """The words and the data. address: where outsiders check it; fingerprints: of the authority
    and of the signer.

    Raises RefusedToIssue.
    """
    case = refuse_unless_fit(session, wish)
    survey = cast(SurveyView, case.survey)
    issue_facts = Issue(
        number=number,
        kind=wish.kind,
        now=wish.now,
        check_address=address,
        authority_sha256=fingerprints[0],
        signer_sha256=fingerprints[1],
        replaces=replaces_words(session, wish),
        opinion=wish.opinion,
    )
    with moments.told_in(case.shop.time_zone):
        content = certificate_content(case, survey, issue_facts)
    data = certificate_data(case, survey, content)
    return Reserved(number, read_content(json.loads(data)["content"]), data)


def replaces_words(session: Session, wish: Wish) -> str:
    """The sentence that names the replaced certificate."""
    if wish.replaces is None:
        return ""
    old = row_of(session, wish.actor, wish.replaces)
    return _("Replaces {number} (its file has SHA-256 {digest}): {reason}").format(
        number=old.number, digest=old.sha256, reason=wish.reason
    )


def certificate_data(case: Case, survey: SurveyView, content: CertificateContent) -> bytes:
    """The canonical JSON that the certificate carries: its words and what they rest on.

    Letters are composed (NFC), so that the fonts' own letters are used and one text has one form.
    """
    reference = case.reference
    machine = case.job.machine
    text = canonical(
        {
            "format": FORMAT,
            "number": content.number,
            "kind": content.kind,
            "issued_at": content.issued_at,
            "finding": content.finding,
            "machine": {
                "make": machine.make,
                "model": machine.model,
                "year": machine.year,
                "frame_number": machine.frame_number,
            },
            "content": asdict(content),
            "reference": cast(audit.Value, dict(reference.document)) if reference else None,
            "reference_revision": reference.number if reference else None,
            "measurement": measurement(survey),
            "measurement_before": measurement(case.before) if case.before else None,
            "measurements_further": [further(one) for one in case.further],
            "corrections": [correction(one) for one in case.job.corrections],
            "photos": [photo(one) for one in case.photos_chosen[:MOST_PRINTED]],
        }
    )
    return normalize("NFC", text).encode()


def correction(one: CorrectionView) -> audit.Value:
    """What was done, as JSON."""
    return {
        "text": one.text,
        "part": one.part,
        "method": one.method,
        "instruction": one.instruction,
        "done_by": one.done_by,
        "done_on": one.done_on.isoformat() if one.done_on else None,
        "noted_at": one.done_at.isoformat(timespec="seconds"),
        "noted_by": one.by,
    }


def photo(one: SharedPhoto) -> audit.Value:
    """A photo that is shown, as JSON; its bytes stand in the pages."""
    return {
        "sha256": one.sha256,
        "about": one.about,
        "caption": one.caption,
        "width": one.width,
        "height": one.height,
    }


def further(survey: SurveyView) -> audit.Value:
    """A measurement that is told in one line, as JSON."""
    return {
        "number": survey.number,
        "phase": survey.phase,
        "survey": survey.survey.model_dump(mode="json", exclude_unset=True),
        "result": cast(audit.Value, survey.result),
    }


def measurement(survey: SurveyView) -> audit.Value:
    """A measurement with its result, as JSON."""
    return {
        "survey": survey.survey.model_dump(mode="json", exclude_unset=True),
        "result": cast(audit.Value, survey.result),
    }
