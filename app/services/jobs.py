"""Jobs: where a machine's visit stands, read from its records and never typed in."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, Problem
from app.records.tables import Draft, Job, JobEntry, Survey
from app.schemas.correction import CorrectionIn
from app.schemas.problems import refused
from app.services import audit, calibrating, corrections
from app.services.instruments import usable_instrument
from app.services.job_facts import INSTRUMENT_CHOSEN, REFERENCE_FIXED, facts_of
from app.services.job_reading import LEFT, RECIPIENT, view
from app.services.job_views import (
    CertificateLine,
    ClaimView,
    CorrectionView,
    DraftLine,
    IncidentView,
    JobView,
    SurveyLine,
)
from app.services.lookup import (
    CANCELLED,
    GIVEN_BACK,
    HANDED_OVER,
    REOPENED,
    closing_entry,
    count,
    job_closed,
    job_row,
    open_job,
    stands_here,
)
from app.services.permissions import Actor, require
from app.services.references import revision_row
from app.services.road import STATUSES, STEPS, Step, leaves_open
from app.services.words import line, require_all, words

__all__ = [
    "STATUSES", "STEPS", "CertificateLine", "ClaimView", "CorrectionView", "DraftLine",
    "IncidentView", "JobView", "Step", "SurveyLine",
]  # fmt: skip


def read(session: Session, actor: Actor, number: str) -> JobView:
    """One job by its number. Raises NotFound `no_such_job`."""
    require(actor, "jobs.read")
    return view(session, actor, job_row(session, actor, number))


def fix_reference(
    session: Session,
    actor: Actor,
    number: str,
    reference_id: int,
    now: datetime,
    revision: int | None = None,
    because: str = "",
) -> JobView:
    """Fixes the reference revision (the latest unless told) that the job is judged against.

    `because`: why it is one of another machine. From then on that revision never changes. Raises
    NotFound, Conflict `job_closed`, `reference_in_use` once a survey was judged by another one.
    """
    require(actor, "jobs.choose_reference")
    job = open_job(session, actor, number)
    row = revision_row(session, actor, reference_id, revision)
    if row.id == job.reference_revision_id:
        return view(session, actor, job)
    if count(
        session, actor, Survey, Survey.job_id == job.id, Survey.reference_revision_id.is_not(None)
    ):
        raise Conflict("reference_in_use", None, job=number)
    job.reference_revision_id = row.id
    row.frozen_at = row.frozen_at or now
    enter(session, actor, job, REFERENCE_FIXED, now, because)
    said: dict[str, audit.Value] = {"reference": reference_id, "revision": row.revision}
    personal = {"reason": because} if because else {}
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, "job.reference_fixed", mark(job), now, said, personal, about)
    return view(session, actor, job)


def fix_instrument(
    session: Session, actor: Actor, number: str, instrument_id: int, now: datetime
) -> JobView:
    """Chooses the instrument for the job's next surveys.

    Raises NotFound, Conflict `job_closed`, `instrument_retired`. An instrument out of calibration
    is taken (its survey is stored and cannot be certified).
    """
    require(actor, "jobs.choose_reference")
    job = open_job(session, actor, number)
    row = usable_instrument(session, actor, instrument_id)
    if row.id == job.instrument_id:
        return view(session, actor, job)
    job.instrument_id = row.id
    enter(session, actor, job, INSTRUMENT_CHOSEN, now)
    calibrating.look_again(session, actor, row)
    said: dict[str, audit.Value] = {"instrument": row.id}
    audit.record(session, actor, "job.instrument_chosen", mark(job), now, said)
    return view(session, actor, job)


def note_correction(
    session: Session, actor: Actor, number: str, text: str, now: datetime
) -> JobView:
    """Notes in words alone what was done to the machine; `corrections.note` takes more.

    Raises NotFound, Conflict `job_closed`, BadInput.
    """
    require(actor, "corrections.write")
    said = CorrectionIn(text=words(text, "text"))
    corrections.note(session, actor, number, said, now)
    return read(session, actor, number)


def cancel(
    session: Session,
    actor: Actor,
    number: str,
    reason: str,
    now: datetime,
    still_here: bool = True,
) -> JobView:
    """Ends a job without a certificate. Where the machine is still here, handing it over stays
    due. Raises NotFound, Conflict `job_closed`, BadInput."""
    require(actor, "jobs.cancel")
    why = words(reason, "reason")
    job = open_job(session, actor, number)
    enter(session, actor, job, CANCELLED, now, why).still_here = still_here
    session.flush()
    tell(session, actor, job, "job.cancelled", now, {"reason": why}, {"still_here": still_here})
    return view(session, actor, job)


def reopen(session: Session, actor: Actor, number: str, reason: str, now: datetime) -> JobView:
    """Opens a job again that was cancelled or handed over by mistake.

    Raises NotFound, Conflict `job_not_closed`, BadInput.
    """
    require(actor, "jobs.cancel")
    why = words(reason, "reason")
    job = job_row(session, actor, number)
    if closing_entry(session, actor, job) is None:
        raise Conflict("job_not_closed", None, job=number)
    enter(session, actor, job, REOPENED, now, why)
    tell(session, actor, job, "job.reopened", now, {"reason": why})
    return view(session, actor, job)


def hand_over(
    session: Session,
    actor: Actor,
    number: str,
    handed_over_to: str,
    now: datetime,
    given_back: Sequence[str] | None = None,
    kept_because: str = "",
    told: bool | None = None,
) -> JobView:
    """The machine leaves the shop, also that of a cancelled job.

    `given_back`: what of the things left with it was given back, None: nobody was asked;
    `kept_because`: why the others stay; `told`: whoever fetches it was told what is open.
    Raises NotFound, Conflict `job_closed`, `draft_still_open`, BadInput `left_behind`, `not_told`.
    A job without certificate may be handed over: the customer may fetch the machine at any time.
    """
    require(actor, "jobs.hand_over")
    job = job_row(session, actor, number)
    closed = closing_entry(session, actor, job)
    if closed is not None and not stands_here(closed):
        raise job_closed(job, closed)
    if closed is None and _measuring(session, actor, job):
        raise Conflict("draft_still_open", None, job=number)
    require_all(
        lambda: _require_told(session, actor, job, told),
        lambda: _handed(job, given_back, kept_because),
        lambda: line(handed_over_to, "handed_over_to"),
    )
    handed, recipient = _handed(job, given_back, kept_because), line(handed_over_to, RECIPIENT)
    kind = HANDED_OVER if closed is None else GIVEN_BACK
    row = enter(session, actor, job, kind, now, handed["kept_because"])
    row.given_back, row.kept_here, row.told = handed["given_back"], handed["kept_here"], told
    session.flush()
    personal: dict[str, audit.Value] = {name: value for name, value in handed.items() if value}
    public: dict[str, audit.Value] = {} if told is None else {"told": told}
    tell(session, actor, job, LEFT, now, {RECIPIENT: recipient, **personal}, public)
    return view(session, actor, job)


def _measuring(session: Session, actor: Actor, job: Job) -> bool:
    return bool(count(session, actor, Draft, Draft.job_id == job.id, Draft.closed_at.is_(None)))


def _require_told(session: Session, actor: Actor, job: Job, told: bool | None) -> None:
    """Whoever fetches the machine was told what is open, or nobody was asked. Raises BadInput."""
    if told is False and leaves_open(facts_of(session, actor, [job])[job.id]):
        raise refused([Problem("not_told", "told")])


def _handed(job: Job, given_back: Sequence[str] | None, kept_because: str) -> dict[str, str]:
    """What was given back, what stays and why, lines each. Raises BadInput `left_behind`."""
    things = job.keys_and_accessories.splitlines()
    given = things if given_back is None else [one for one in things if one in given_back]
    kept = [one for one in things if one not in given]
    why = kept_because.strip()
    if kept and not why:
        raise refused([Problem("left_behind", "kept_because", {"met": "; ".join(kept)})])
    return {
        "given_back": "" if given_back is None else "\n".join(given),
        "kept_here": "\n".join(kept),
        "kept_because": words(why, "kept_because") if kept else "",
    }


def mark(job: Job) -> str:
    """How events name the job."""
    return f"job:{job.number}"


def tell(
    session: Session,
    actor: Actor,
    job: Job,
    what: str,
    now: datetime,
    said: dict[str, audit.Value],
    public: dict[str, audit.Value] | None = None,
) -> None:
    """Add an event with words that may speak of the customer: they go when the customer asks."""
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, what, mark(job), now, public or {}, said, about)


def enter(
    session: Session, actor: Actor, job: Job, kind: str, now: datetime, said: str = ""
) -> JobEntry:
    """Add an entry of this kind to the job, from which its status is worked out."""
    row = JobEntry(
        shop_id=actor.shop_id,
        job_id=job.id,
        kind=kind,
        words=said,
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    return row
