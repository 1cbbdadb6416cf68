"""Sign-off: everything that would refuse a certificate said beforehand, then the signature."""

import secrets
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import certificates, jobs, signing_keys
from app.services.certificates import Kind
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState, Option, said
from app.web.forms import Form, Sent
from app.web.pages.job import claim_facts, correction_facts, machine_facts
from app.web.pages.machine_change import differing
from app.web.pages.seen import seen_before_of, seen_besides, seen_of
from app.web.pages.sending_back import ExchangeLine, answered_of
from app.web.pages.sign_off_review import Figures, Review, checked_words, figures_of, review_of
from app.web.pages.words import Fact, Mark, machine_name, mark
from app.web.rendering import Page, see, show
from app.web.routes import ROUTES, path_to
from app.web.visits import Here, Visit
from app.wording import cautions, labels
from app.wording import jobs as words
from app.wording.moments import in_the_shop, moment
from app.wording.signing_key import names_another
from app.wording.translation import _

KINDS: tuple[Kind, ...] = ("completion", "report")
CLAIM_LINES = 2
"""Of what is on record of the claim: the insurer and the claim's number."""


@dataclass(frozen=True, slots=True)
class KindChoice:
    """One kind of certificate, and why it cannot be issued now."""

    code: str
    name: str
    says: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Basis:
    """A measurement that the certificate will rest on."""

    number: int
    phase: str
    used_as: str
    """As what it stands on the certificate, in words."""
    finding: Mark
    when: str


@dataclass(frozen=True, kw_only=True)
class SignOffPage(Page):
    template: ClassVar[str] = "pages/sign_off.html"
    number: str
    whose: tuple[str, ...]
    """Plate and machine."""
    outdated: str
    """In what the certificate in force no longer agrees with the record; else empty."""
    other_name: str
    """That the key carries an earlier name of the shop; else empty."""
    answered: ExchangeLine | None
    """The answer that waits for the inspector."""
    kinds: tuple[KindChoice, ...]
    possible: bool
    replaceable: tuple[Option, ...]
    """Certificates in force, of which the new one may take the place; empty without any."""
    opinions: tuple[str, ...]
    """What the one whose place is taken says for its signer, so that it need not be looked up."""
    basis: tuple[Basis, ...]
    figures: Figures | None
    machine: tuple[Fact, ...]
    machine_change: str
    """Where it is put right; empty for those who may not."""
    claim: tuple[Fact, ...]
    corrections: tuple[Fact, ...]
    checked: str
    seen: tuple[Fact, ...]
    seen_before: tuple[Fact, ...]
    besides: str
    """The same in a sentence beside the findings; else empty."""
    remarks: tuple[str, ...]
    """What the signer should look at once more; none of it stands in the way."""
    signer: str
    review: Review
    request_key: str
    """So that a form that is sent twice takes one number."""
    cautions: tuple[str, ...]


@pages.add("GET", "/jobs/{number}/sign-off", "certificates.issue")
def sign_off_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What would be certified, and what stands against it."""
    replaces = request.query_params.get("replaces", "")
    return show(request, visit, page_for(request, session, visit, number, FormState(), replaces))


@pages.add("POST", "/jobs/{number}/certificates", "certificates.issue")
def issue_certificate(
    request: Request, visit: Here, database: Records, form: Sent, number: str
) -> Response:
    """Signs for it; the file is made in the background."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(request, session, visit, number, state)

    values = {name: form.text(name) for name in ("kind", "opinion", "replaces", "reason")}
    with shown_again(request, visit, values, again, ("password", "key_password"), "kind"):
        signed = request.app.state.issuing.sign_off(
            visit.person,
            number,
            kind_of(form),
            form.exact("password"),
            visit.now,
            key_password=form.exact("key_password") or None,
            opinion=form.text("opinion"),
            replaces=form.text("replaces") or None,
            reason=form.text("reason") or None,
            request_key=form.text("request_key"),
            passwords=request.app.state.passwords,
        )
    return see("progress", number=signed.number)


def kind_of(form: Form) -> Kind:
    """The kind that was chosen. Raises BadInput when none was."""
    chosen = next((kind for kind in KINDS if kind == form.text("kind")), None)
    if chosen is None:
        raise BadInput([Problem("nothing_chosen", "kind")], "nothing_chosen")
    return chosen


def page_for(
    request: Request,
    session: Session,
    visit: Visit,
    number: str,
    state: FormState,
    replaces: str = "",
) -> SignOffPage:
    """The page, with a kind filled in that can be issued; `replaces`: the certificate that was
    chosen to be corrected. All its times are the shop's, also those of the certificate."""
    with in_the_shop():
        other = names_another(signing_keys.other_name(session, request.app.state.press))
        return _page_for(session, visit, number, state, replaces, other)


def _page_for(
    session: Session, visit: Visit, number: str, state: FormState, replaces: str, other: str
) -> SignOffPage:
    found = jobs.read(session, visit.person, number)
    used = certificates.basis(session, visit.person, number)
    kinds = tuple(choice_of(session, visit, number, kind) for kind in KINDS)
    possible = [kind.code for kind in kinds if not kind.reasons]
    valid = [line.number for line in found.certificates if line.status in ("valid", "distrusted")]
    if not state.values and possible:
        chosen = replaces if replaces in valid else "".join(valid[-1:])
        state = FormState({"kind": possible[0], "replaces": chosen})
    old = state.value("replaces") if state.value("replaces") in valid else ""
    return SignOffPage(
        title=_("Sign-off, in place of {number}").format(number=old) if old else _("Sign-off"),
        form=state,
        number=number,
        whose=tuple(filter(None, [found.machine.plate, machine_name(found.machine)])),
        outdated=differing(found.outdated.differences) if found.outdated else "",
        other_name=other,
        answered=answered_of(found),
        kinds=kinds,
        possible=bool(possible),
        replaceable=replace_options(valid),
        opinions=opinions_of(session, visit, old),
        basis=basis_of(found, used),
        figures=figures_of(session, visit, number, used[0]),
        machine=machine_facts(found),
        machine_change=machine_change_of(found, visit),
        claim=claim_facts(found)[:CLAIM_LINES],
        corrections=correction_facts(found),
        checked=checked_words(found.visual_checks),
        seen=seen_of(found),
        seen_before=seen_before_of(found),
        besides=seen_besides(found, last_finding(found)),
        remarks=remarks_of(session, visit, number),
        signer=visit.person.name,
        review=review_of(session, visit, found),
        request_key=secrets.token_urlsafe(12),
        cautions=tuple(cautions.everywhere()),
    )


def machine_change_of(found: JobView, visit: Visit) -> str:
    """Where plate and frame number are put right; empty for those who may not."""
    if found.closed or not allowed(visit.person, ROUTES["machine_change_form"].action):
        return ""
    return path_to("machine_change_form", number=found.number)


def last_finding(found: JobView) -> str:
    """The verdict of the last measurement that stands; empty without one."""
    standing = [line.finding for line in found.surveys if line.superseded_by is None]
    return standing[-1] if standing else ""


def opinions_of(session: Session, visit: Visit, number: str) -> tuple[str, ...]:
    """The opinions that a certificate carries; none without a number."""
    if not number:
        return ()
    return certificates.certificate_content(session, visit.person, number).opinions


def replace_options(valid: list[str]) -> tuple[Option, ...]:
    """Certificates in force, and none of them; nothing when there is none."""
    if not valid:
        return ()
    return (*(Option(number, number) for number in valid), Option("", _("none: both are in force")))


def choice_of(session: Session, visit: Visit, number: str, kind: Kind) -> KindChoice:
    """A kind with all that stands against it."""
    reasons = certificates.reasons_against(session, visit.person, number, kind, visit.now)
    says = {
        "completion": _("every required characteristic is within, and nothing is on hold"),
        "report": _("what was found, whatever it is"),
    }
    return KindChoice(kind, words.kind(kind), says[kind], tuple(said(one) for one in reasons))


def remarks_of(session: Session, visit: Visit, number: str) -> tuple[str, ...]:
    """What is odd about the records; it holds for every kind of certificate."""
    found = certificates.remarks(session, visit.person, number, KINDS[0], visit.now)
    return tuple(said(one) for one in found)


def basis_of(found: JobView, used: tuple[int | None, int | None]) -> tuple[Basis, ...]:
    """The standing measurements, with the place that the certificate gives to each.

    used: numbers of the one that is certified and of the one before it.
    """
    standing = [line for line in found.surveys if line.superseded_by is None]
    certified, before = used
    places = {before: _("used as before"), certified: _("what is certified")}
    if before is not None:
        places[certified] = _("used as after: what is certified")
    return tuple(
        Basis(
            line.number,
            labels.phase(line.phase),
            places.get(line.number, _("not on the certificate")),
            mark(line.finding),
            _("measured {moment}").format(moment=moment(line.measured_at))
            if line.measured_at
            else _("submitted {moment}").format(moment=moment(line.submitted_at)),
        )
        for line in standing
    )
