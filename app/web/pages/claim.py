"""The claim view: what an adjuster sees who has the link, and nothing else of the shop."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from starlette.responses import Response

from app.documents.content import CertificateContent, CharacteristicLine, Line
from app.services import claim_opening
from app.services.bundles import steps_of
from app.services.claim_opening import ClaimCertificate, ClaimView
from app.services.insurer_links import InsurerClaims
from app.services.photos_signed import SINCE
from app.services.press import Press
from app.web.database import Records
from app.web.door import pages
from app.web.drawn import drawn_bar, drawn_views
from app.web.pages.authority import Authority, authority_of
from app.web.pages.claim_list import Reach, list_page, reach_of
from app.web.pages.claim_photo import Shot, shot_of
from app.web.pages.claim_standing import counts_of, in_force, replaced_of, standing_of
from app.web.pages.download import archive_download, attachment, pdf_download
from app.web.pages.words import Fact, Mark, Said, said_apart
from app.web.rendering import Page, show
from app.web.routes import OPEN, path_to
from app.web.visits import Here, Visit
from app.wording import claims as plain
from app.wording import jobs as words
from app.wording import photos as photo_words
from app.wording import plainly
from app.wording.how_to_check import Step
from app.wording.moments import day
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class BarLine:
    """One required characteristic with its bar."""

    section: str
    """Where it opens a section: its title; else empty."""
    name: str
    now: str
    uncertainty: str
    before: str
    limits: str
    bar: Markup
    finding: Mark


@dataclass(frozen=True, slots=True)
class Files:
    """Where what can be taken along lies."""

    pdf: str
    data: str
    bundle: str


ENDED = "no_tolerance"
"""Without shape and colour: what was found is certified no longer."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A certificate as the adjuster sees it."""

    number: str
    title: str
    standing: Mark
    in_force: bool
    withdrawn: bool
    reason: str
    """Why it is not in force any more; else empty."""
    finding: Mark
    before: str
    now: str
    """Before and now in plain words, a sentence each; of one not in force what was found then."""
    corrections: tuple[str, ...]
    """What was done to the machine in between, a line each."""
    corrections_words: str
    """What stands in their place, or whether the results speak of all of them."""
    said: Said
    """The finding in the certificate's own words."""
    not_measured: tuple[str, ...]
    """What the certificate says nothing of, a sentence each."""
    facts: tuple[Fact, ...]
    bars: tuple[BarLine, ...]
    view: Markup
    holds: tuple[Fact, ...]
    cautions: tuple[str, ...]
    files: Files
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Earlier:
    """Another certificate of the same job."""

    number: str
    title: str
    status: str
    pdf: str


@dataclass(frozen=True, kw_only=True)
class ClaimPage(Page):
    template: ClassVar[str] = "pages/claim.html"
    shop: str
    reach: Reach
    machine: str
    claim: str
    until: str
    back: str
    """The list that it was opened from; else empty."""
    counts: str
    """Which certificate counts now; empty where there is no doubt."""
    replaced: tuple[str, ...]
    """What it took the place of, newest first, a sentence each."""
    shown: Shown | None
    earlier: tuple[Earlier, ...]
    photos: tuple[Shot, ...]
    photos_since: str
    """How many of them were chosen after the certificate was signed; empty where none was."""
    authority: Authority | None


@pages.add("GET", "/claim/{token}", OPEN)
def claim(request: Request, visit: Here, database: Records, token: str) -> Response:
    """What the link leads to: the newest certificate of a job as a page, or the list of an
    insurer's claims. Every opening is written down for the shop."""
    found = claim_opening.open_link(database, token, visit.now, address=visit.address)
    if isinstance(found, InsurerClaims):
        return show(request, visit, list_page(found, token))
    return show(request, visit, page_for(request, visit, found, token))


@pages.add("GET", "/claim/{token}/jobs/{number}", OPEN)
def claim_of_insurer(
    request: Request, visit: Here, database: Records, token: str, number: str
) -> Response:
    """One claim of the list behind an insurer's link."""
    found = claim_opening.open_claim(database, token, number, visit.now, address=visit.address)
    return show(request, visit, page_for(request, visit, found, token))


@pages.add("GET", "/claim/{token}/{number}/pdf", OPEN)
def claim_pdf(visit: Here, database: Records, token: str, number: str) -> Response:
    """The signed file of a certificate that the link shows."""
    return pdf_download(
        claim_opening.open_file(database, token, number, visit.now, address=visit.address)
    )


@pages.add("GET", "/claim/{token}/{number}/data", OPEN)
def claim_data(visit: Here, database: Records, token: str, number: str) -> Response:
    """The data that the certificate carries, byte for byte."""
    found = claim_opening.open_data(database, token, number, visit.now, address=visit.address)
    return attachment(found.content, "application/json", found.filename)


@pages.add("GET", "/claim/{token}/{number}/bundle", OPEN)
def claim_bundle(
    request: Request, visit: Here, database: Records, token: str, number: str
) -> Response:
    """All of it in one file."""
    press = request.app.state.press
    return archive_download(
        claim_opening.open_bundle(
            database, token, number, visit.now, press=press, address=visit.address
        )
    )


def page_for(request: Request, visit: Visit, found: ClaimView, token: str) -> ClaimPage:
    """The claim's page."""
    first, rest = found.certificates[:1], found.certificates[1:]
    press = request.app.state.press
    authority = authority_of(request)
    return ClaimPage(
        title=_("Certificates of job {number}").format(number=found.job_number),
        shop=found.shop,
        reach=reach_of(found.phone, found.email),
        machine=found.machine,
        claim=found.claim_number,
        until=day(found.expires_at),
        back=path_to("claim", token=token) if found.in_list else "",
        counts=counts_of(found.certificates),
        replaced=replaced_of(found.certificates),
        shown=shown_of(first[0], token, steps(first[0], press, visit) if authority else ())
        if first
        else None,
        earlier=tuple(earlier_of(one, token) for one in rest),
        photos=tuple(shot_of(one, token, found.signed) for one in found.photos),
        photos_since=photos_since(found),
        authority=authority,
    )


def photos_since(found: ClaimView) -> str:
    """How many photos were chosen after the certificate was signed; empty where none was."""
    if found.signed is None:
        return ""
    since = sum(why == SINCE for why in found.signed.beside.values())
    return photo_words.chosen_since(since, found.signed.number)


def steps(found: ClaimCertificate, press: Press, visit: Visit) -> tuple[Step, ...]:
    """How to check the certificate with free tools."""
    return steps_of(found.view, press, found.content.authority_sha256, visit.now)


def shown_of(found: ClaimCertificate, token: str, how: tuple[Step, ...]) -> Shown:
    """The certificate's first page."""
    content = found.content
    views = drawn_views(content.outline, content.outline_before)
    valid = in_force(found)
    return Shown(
        number=content.number,
        title=content.title,
        standing=standing_of(found.view),
        in_force=valid,
        withdrawn=found.view.status == "withdrawn",
        reason=found.view.status_reason or "",
        finding=Mark(content.finding if valid else ENDED, content.finding_words),
        before=before_of(content),
        now=now_of(content, missing=found.required_missing) if valid else then_of(content),
        corrections=tuple(
            plain.corrected(one.part, one.method, one.words, one.when)
            for one in content.corrections
        ),
        corrections_words=content.corrections_words,
        said=said_apart(content.finding_sentence),
        not_measured=content.not_measured,
        facts=(
            *facts_of((*content.machine, *content.received[-1:])),
            *facts_of((*content.claim, *content.dates)),
            Fact(_("Measured by"), content.people.measured_by),
            Fact(_("Signed by"), signer_of(content)),
        ),
        bars=bars_of(content.required),
        view=views.single[0] if views else Markup(""),
        holds=facts_of(found.holds),
        cautions=content.cautions,
        files=files_of(content.number, token),
        steps=how,
    )


def files_of(number: str, token: str) -> Files:
    """What can be taken along of a certificate."""
    return Files(
        pdf=path_to("claim_pdf", token=token, number=number),
        data=path_to("claim_data", token=token, number=number),
        bundle=path_to("claim_bundle", token=token, number=number),
    )


def before_of(content: CertificateContent) -> str:
    """How it stood before the correction, in a sentence."""
    found = [(one.key, one.before.verdict) for one in content.characteristics if one.before]
    return plain.before(found) or plain.measured_once()


def now_of(content: CertificateContent, *, missing: bool) -> str:
    """How it stands now, in a sentence or two."""
    found = [(one.key, one.now.verdict) for one in content.characteristics]
    seen = [one.label for one in content.visual_check.seen]
    told = (
        plain.now(content.finding, found, missing=missing),
        plainly.seen_besides(content.finding, seen),
    )
    return " ".join(filter(None, told))


def then_of(content: CertificateContent) -> str:
    """What a certificate had found that is not in force any more."""
    found = [(one.key, one.now.verdict) for one in content.characteristics]
    seen = [one.label for one in content.visual_check.seen]
    told = (plain.then(content.finding, found), plainly.seen_besides(content.finding, seen))
    return " ".join(filter(None, told))


def signer_of(content: CertificateContent) -> str:
    """Who signed, with the title."""
    return ", ".join(filter(None, [content.people.authorised_by, content.people.authorised_title]))


def facts_of(lines: tuple[Line, ...]) -> tuple[Fact, ...]:
    """Labelled facts of a certificate."""
    return tuple(Fact(line.label, line.value) for line in lines)


def bars_of(lines: Sequence[CharacteristicLine]) -> tuple[BarLine, ...]:
    """What the finding rests on; where that is of several sections, with their titles."""
    sections = [line.section for line in lines]
    several = len(set(sections)) > 1
    opens = [
        several and one != before for before, one in zip(["", *sections], sections, strict=False)
    ]
    return tuple(
        bar_line(line, line.section if first else "")
        for line, first in zip(lines, opens, strict=True)
    )


def bar_line(line: CharacteristicLine, section: str) -> BarLine:
    """A required characteristic as it was printed."""
    before = line.before.deviation if line.before else ""
    parts = [line.name, line.now.deviation, line.now.uncertainty, line.limits, line.now.finding]
    return BarLine(
        section=section,
        name=line.name,
        now=line.now.deviation,
        uncertainty=line.now.uncertainty,
        before=before,
        limits=line.limits,
        bar=drawn_bar(line.bar, ", ".join(filter(None, parts))) if line.bar else Markup(""),
        finding=Mark(line.now.verdict, line.now.finding),
    )


def earlier_of(found: ClaimCertificate, token: str) -> Earlier:
    """A further certificate of the job."""
    return Earlier(
        number=found.view.number,
        title=words.kind(found.view.kind),
        status=" ".join(filter(None, [standing_of(found.view).word, found.view.status_reason])),
        pdf=path_to("claim_pdf", token=token, number=found.view.number),
    )
