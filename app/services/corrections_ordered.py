"""Whether a correction is ordered: what was not needs the customer's word first."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.schemas.correction import OF_THE_FRAME, STRAIGHTENING, CorrectionIn
from app.schemas.note import NoteIn
from app.schemas.visual_check import FRAME_HOLD_ITEMS
from app.services import corrections, jobs, notes, signed_for
from app.services.job_views import CorrectionView, JobView
from app.services.lookup import open_job
from app.services.permissions import Actor, require
from app.services.words import line
from app.wording import jobs as job_words
from app.wording import orders
from app.wording.enumeration import listed

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

    Raises BadInput `frame_on_hold` where the frame would be straightened though it is on hold,
    `word_needed` where nobody is said to have agreed, and as `corrections.note`.
    """
    require(actor, "corrections.write")
    open_job(session, actor, number)
    job = jobs.read(session, actor, number)
    refuse_on_hold(job, sent)
    if sent.supersedes is not None or word_needed(session, actor, job) is None:
        return corrections.note(session, actor, number, sent, now)
    if not agreed:
        raise BadInput([Problem("word_needed", "agreed")], "word_needed")
    said = orders.agreed(line(agreed_by, "agreed_by"), sent.text[:LONGEST])
    notes.add(session, actor, number, NoteIn(words=said), now)
    return corrections.note(session, actor, number, sent, now)


def refuse_on_hold(job: JobView, sent: CorrectionIn) -> None:
    """Nothing of the frame is straightened before an inspector has decided on its hold. What puts
    an earlier note right may name the method that was used, where that was noted already."""
    if sent.method not in STRAIGHTENING or (sent.part or "frame") not in OF_THE_FRAME:
        return
    earlier = [one.method for one in job.corrections if one.id == sent.supersedes]
    held = [
        job_words.item(one.item)
        for one in job.holds
        if one.closed_at is None and one.item in FRAME_HOLD_ITEMS
    ]
    if held and sent.method not in earlier:
        facts = {"items": listed(held, len(held))}
        raise BadInput([Problem("frame_on_hold", "method", facts)], "frame_on_hold")
