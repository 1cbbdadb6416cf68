"""What an inspector reads beside the measurements: what was said, and what was certified before."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup
from sqlalchemy.orm import Session

from app.documents.content import Line
from app.services import notes, photos, sending_back, sign_off_queue, surveys
from app.services.certificate_photos import MOST_PRINTED
from app.services.certificate_visual_check import looked
from app.services.draft_certificate import also_printed
from app.services.jobs import JobView
from app.services.photos import PhotoView
from app.services.register import CertificateView
from app.services.visual_check_views import VisualCheckView
from app.web.drawn import Views, outline, scale
from app.web.pages.notes import NoteLine, line_of
from app.web.pages.result_words import Row, rows_of
from app.web.pages.sending_back import ExchangeLine, exchange_lines, withdrawn_of
from app.web.pages.words import Fact, Mark, mark
from app.web.visits import Visit
from app.wording import jobs as words
from app.wording.moments import moment
from app.wording.translation import _, counted

MOST_NOTES = 6
"""Of the notes; all of them stand on a page of their own."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """A certificate of the same frame, of this job or another."""

    number: str
    job: str
    """The other job; empty for this one."""
    kind: str
    status: str
    finding: Mark | None
    when: str
    why: str
    """Why it is no longer in force."""


@dataclass(frozen=True, slots=True)
class Figures:
    """What was found by the measurement that would be certified."""

    survey: int
    finding: Mark
    drawing: Views | None
    scale: Markup
    required: tuple[Row, ...]
    """The characteristics that the finding rests on."""


@dataclass(frozen=True, slots=True)
class Review:
    """What was said on the job, and what was certified of its frame before."""

    exchanges: tuple[ExchangeLine, ...]
    withdrawn: ExchangeLine | None
    """The certificate that was withdrawn last, until something followed it."""
    sendable: bool
    """The job can be sent back now."""
    notes: tuple[NoteLine, ...]
    more_notes: str
    earlier: tuple[Earlier, ...]
    photos: str
    """How many of the job's photos the certificate will show; empty where it has none."""
    instrument: tuple[Fact, ...]
    first_page: tuple[str, ...]
    """What the certificate prints in bold beside the finding."""
    not_measured: tuple[str, ...]
    unknown: bool
    """Nothing tells what became of damage at check-in."""
    holds: tuple[Fact, ...]
    """Open and closed."""


def review_of(session: Session, visit: Visit, job: JobView) -> Review:
    """Gathered for the page on which somebody signs."""
    person, number = visit.person, job.number
    noted = notes.listing(session, person, number)
    said = sending_back.exchanges(session, person, number)
    earlier = sign_off_queue.of_the_same_frame(session, person, number)
    beside = also_printed(session, person, number)
    return Review(
        instrument=facts_of(beside.instrument) if beside else (),
        first_page=tuple(without_marks(one) for one in beside.first_page) if beside else (),
        not_measured=beside.not_measured if beside else (),
        unknown=beside is not None and beside.unknown,
        holds=facts_of(beside.holds) if beside else (),
        exchanges=exchange_lines(said),
        withdrawn=withdrawn_of(job),
        sendable=sendable(job),
        notes=tuple(line_of(one) for one in noted[:MOST_NOTES]),
        more_notes=more_notes(len(noted) - MOST_NOTES),
        earlier=tuple(earlier_of(one, number) for one in earlier),
        photos=photos_shown(photos.listing(session, person, number)),
    )


def figures_of(session: Session, visit: Visit, number: str, survey: int | None) -> Figures | None:
    """Drawing and numbers of a measurement; None without one."""
    if survey is None:
        return None
    result = surveys.read(session, visit.person, number, survey).result
    required = [one for one in result["characteristics"] if one["required"]]
    return Figures(
        survey=survey,
        finding=mark(result["finding"]["verdict"]),
        drawing=outline(result),
        scale=scale(),
        required=rows_of(required),
    )


def checked_words(checks: Sequence[VisualCheckView]) -> str:
    """How many were looked at and what was seen of them, with who looked and when."""
    seen = [words.item(check.item) for check in checks if check.answer == "seen"]
    left = sum(check.answer == "not_checked" for check in checks)
    if left == len(checks):
        return looked(checks)
    told = _("{count} looked at, nothing seen").format(count=len(checks) - left)
    if seen:
        told = _("{seen} of {count} seen: {items}").format(
            seen=len(seen), count=len(checks), items=", ".join(seen)
        )
    before = [words.item(check.item) for check in checks if check.seen_before is not None]
    if before:
        told += _("; seen before: {items}").format(items=", ".join(before))
    rest = _("; {count} not looked at").format(count=left) if left else ""
    return f"{told}{rest}. {looked(checks)}"


def photos_shown(found: tuple[PhotoView, ...]) -> str:
    """How many photos were chosen to go with the claim, and how many of them a certificate has
    room for."""
    kept = [one for one in found if one.stands]
    if not kept:
        return ""
    chosen = sum(one.shared_at is not None for one in kept)
    text = _(
        "{shown} of {count}: those that were chosen to go with the claim, at most {most}. Choose "
        "before you sign: what is chosen later is not on the certificate."
    )
    return text.format(shown=min(chosen, MOST_PRINTED), count=len(kept), most=MOST_PRINTED)


def sendable(job: JobView) -> bool:
    """Something was measured, nothing is certified of it, and it was not sent back already."""
    measured = any(line.superseded_by is None for line in job.surveys)
    return measured and not job.closed and job.sent_back is None and job.status != "certified"


def more_notes(count: int) -> str:
    """How many notes are not shown; empty when all are."""
    if count <= 0:
        return ""
    return counted("{count} older note", "{count} older notes", count).format(count=count)


def earlier_of(one: CertificateView, number: str) -> Earlier:
    """A certificate of the same frame in words."""
    return Earlier(
        number=one.number,
        job="" if one.job_number == number else one.job_number,
        kind=words.kind(one.kind),
        status=words.certificate_status(one.status),
        finding=mark(one.finding) if one.finding else None,
        when=moment(one.issued_at) if one.issued_at else _("not issued"),
        why=one.status_reason or "",
    )


def without_marks(text: str) -> str:
    """A sentence of the certificate without the mark of its tables, which this page has not."""
    return text.replace(" (††)", "")


def facts_of(lines: Sequence[Line]) -> tuple[Fact, ...]:
    """Facts of a certificate as facts of a page."""
    return tuple(Fact(line.label, line.value) for line in lines)
