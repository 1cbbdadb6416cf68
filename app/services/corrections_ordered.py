"""Whether a correction is ordered: what was not needs the customer's word first."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.schemas.correction import CorrectionIn
from app.schemas.note import NoteIn
from app.services import corrections, jobs, notes, signed_for
from app.services.job_views import CorrectionView, JobView
from app.services.lookup import open_job
from app.services.permissions import Actor, require
from app.services.words import line
from app.wording import orders

LONGEST = 400
"""Of the correction's words in the note of who agreed to it."""


def word_needed(session: Session, actor: Actor, job: JobView) -> str | None:
    """Why the customer's word is needed before a correction; None where one is ordered.

    `not_given`: nobody gave the order. `unsigned`: a correction is noted as ordered, and nobody
    gave that order yet. `not_ordered`: measuring alone is ordered, or nothing is
    said. `own_words`: what is ordered in words of its own, no program can read. `not_signed`:
    something else was ordered when the customer signed.
    """
    require(actor, "jobs.read")
    ordered = job.authorised_scope or ""
    code = orders.scope_code(ordered)
    if job.authorised_at is None:
        return "unsigned" if code == "correct" else "not_given"
    if code != "correct":
        return "own_words" if ordered and not code else "not_ordered"
    signed = signed_for.ordered_when_signed(session, actor, job.number)
    return "not_signed" if signed and signed != ordered.rstrip(".") else None


def note(
    session: Session,
    actor: Actor,
    number: str,
    sent: CorrectionIn,
    agreed: bool,
    agreed_by: str,
    now: datetime,
) -> CorrectionView:
    """Notes a correction, and with one that is not ordered who agreed to it.

    Raises BadInput `word_needed` where nobody is said to have agreed, and as `corrections.note`.
    """
    require(actor, "corrections.write")
    open_job(session, actor, number)
    if (
        sent.supersedes is not None
        or word_needed(session, actor, jobs.read(session, actor, number)) is None
    ):
        return corrections.note(session, actor, number, sent, now)
    if not agreed:
        raise BadInput([Problem("word_needed", "agreed")], "word_needed")
    said = orders.agreed(line(agreed_by, "agreed_by"), sent.text[:LONGEST])
    notes.add(session, actor, number, NoteIn(words=said), now)
    return corrections.note(session, actor, number, sent, now)
