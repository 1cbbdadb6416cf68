"""The claim view: what an adjuster sees who has the link, and nothing else of the shop."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from starlette.responses import Response

from app.documents.content import CertificateContent, CharacteristicLine, Line
from app.services import claim_opening
from app.services.claim_opening import ClaimCertificate
from app.web.database import Records
from app.web.door import pages
from app.web.drawn import drawn_bar, drawn_views
from app.web.pages.authority import Authority, authority_of
from app.web.pages.certificates import status_sentence
from app.web.pages.download import pdf_download
from app.web.pages.words import Fact, Mark, Said, said_apart
from app.web.rendering import Page, show
from app.web.routes import OPEN, path_to
from app.web.visits import Here
from app.wording import jobs as words
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
class Shown:
    """A certificate as the adjuster sees it."""

    number: str
    title: str
    in_force: bool
    status: str
    finding: Mark
    said: Said
    not_measured: tuple[str, ...]
    """What the certificate says nothing of, a sentence each."""
    facts: tuple[Fact, ...]
    bars: tuple[BarLine, ...]
    view: Markup
    holds: tuple[Fact, ...]
    cautions: tuple[str, ...]
    pdf: str


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
    machine: str
    until: str
    shown: Shown | None
    earlier: tuple[Earlier, ...]
    authority: Authority | None


@pages.add("GET", "/claim/{token}", OPEN)
def claim(request: Request, visit: Here, database: Records, token: str) -> Response:
    """The newest certificate as a page. Every opening is written down for the shop."""
    found = claim_opening.open_link(database, token, visit.now, address=visit.address)
    first, rest = found.certificates[:1], found.certificates[1:]
    page = ClaimPage(
        title=_("Certificates of job {number}").format(number=found.job_number),
        shop=found.shop,
        machine=found.machine,
        until=day(found.expires_at),
        shown=shown_of(first[0], token) if first else None,
        earlier=tuple(earlier_of(one, token) for one in rest),
        authority=authority_of(request),
    )
    return show(request, visit, page)


@pages.add("GET", "/claim/{token}/{number}/pdf", OPEN)
def claim_pdf(visit: Here, database: Records, token: str, number: str) -> Response:
    """The signed file of a certificate that the link shows."""
    return pdf_download(
        claim_opening.open_file(database, token, number, visit.now, address=visit.address)
    )


def shown_of(found: ClaimCertificate, token: str) -> Shown:
    """The certificate's first page."""
    content = found.content
    views = drawn_views(content.outline, content.outline_before)
    return Shown(
        number=content.number,
        title=content.title,
        in_force=found.view.status == "valid",
        status=status_sentence(found.view),
        finding=Mark(content.finding, content.finding_words),
        said=said_apart(content.finding_sentence),
        not_measured=content.not_measured,
        facts=(
            *facts_of((*content.machine, *content.claim, *content.dates)),
            Fact(_("Measured by"), content.people.measured_by),
            Fact(_("Signed by"), signer_of(content)),
        ),
        bars=bars_of(content.required),
        view=views.single[0] if views else Markup(""),
        holds=facts_of(content.visual_check.holds),
        cautions=content.cautions,
        pdf=path_to("claim_pdf", token=token, number=content.number),
    )


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
        status=status_sentence(found.view),
        pdf=path_to("claim_pdf", token=token, number=found.view.number),
    )
