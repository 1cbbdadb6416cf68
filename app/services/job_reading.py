"""From the rows of a job to the view of it."""

import json
from collections import Counter
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import (
    Certificate,
    Claim,
    Draft,
    DraftPoint,
    Event,
    Instrument,
    Insurer,
    Job,
    JobEntry,
    PersonalValue,
    ReferenceRevision,
    Result,
    Survey,
)
from app.services import (
    corrections,
    customers,
    damage,
    floor_acts,
    instruments,
    machines,
    references,
    visual_checks,
)
from app.services.check_in_version import version_of
from app.services.distrusted_signers import marked, standing
from app.services.job_facts import facts_of
from app.services.job_views import (
    CertificateLine,
    ClaimView,
    DraftLine,
    IncidentView,
    JobView,
    SurveyLine,
)
from app.services.lookup import CANCELLED, known, names
from app.services.permissions import Actor
from app.services.road import is_answered, is_withdrawn, road, since, status, waits_for
from app.services.visual_check_views import standing_of

LEFT = "job.handed_over"
RECIPIENT = "handed_over_to"
RIDEABLE = {True: "yes", False: "no", None: "not_tried"}


def view(session: Session, actor: Actor, job: Job) -> JobView:
    """Everything on record of one job."""
    facts = facts_of(session, actor, [job])[job.id]
    steps = road(facts)
    looked = visual_checks.answers_of(session, actor, job)
    customer = customers.customer_row(session, actor, job.customer_id)
    machine = machines.machine_row(session, actor, job.machine_id)
    return JobView(
        id=job.id,
        number=job.number,
        status=status(facts),
        waits_for=waits_for(facts),
        since=since(facts),
        road=steps,
        next_step=next((step for step in steps if step.state == "next"), None),
        machine=machines.view(machine),
        customer=customers.view(customer),
        claim=_claim(session, actor, job),
        incident=_incident(job),
        received_at=job.received_at,
        received_by=facts.received.by,
        rideable=RIDEABLE[job.rideable],
        odometer_km=job.odometer,
        damage=damage.zones(job.damage),
        visible_damage=damage.lines(job.damage),
        belongings=tuple(job.keys_and_accessories.splitlines()),
        storage_place=job.storage_place or None,
        authorised_by=job.authorised_by or None,
        authorised_scope=job.authorised_scope or None,
        authorised_at=job.authorised_at,
        promised_on=job.promised_on,
        privacy_notice_at=job.privacy_notice_at,
        check_in_version=version_of(
            job, customer, machine, known(session, actor, Claim, job.claim_id)
        ),
        reference=_reference(session, actor, job),
        instrument=_instrument(session, actor, job),
        visual_checks=standing_of(looked),
        visual_answers=looked,
        holds=visual_checks.holds_of(session, actor, job),
        surveys=_surveys(session, actor, job),
        drafts=_drafts(session, actor, job),
        corrections=corrections.of_job(session, actor, job),
        certificates=_certificates(session, actor, job),
        cancelled_at=facts.cancelled.at if facts.cancelled else None,
        cancelled_reason=_cancelled_reason(session, actor, job) if facts.cancelled else None,
        handed_over_at=facts.handed_over.at if facts.handed_over else None,
        handed_over_to=_recipient(session, actor, job) if facts.handed_over else None,
        still_here=facts.still_here,
        sent_back=facts.sent_back,
        answered=facts.answered if is_answered(facts) else None,
        withdrawn=facts.withdrawn if is_withdrawn(facts) else None,
        outdated=facts.outdated,
    )


def _claim(session: Session, actor: Actor, job: Job) -> ClaimView:
    row = known(session, actor, Claim, job.claim_id)
    if row is None:
        return ClaimView(None, None, None, None, None, None, None)
    insurer = known(session, actor, Insurer, row.insurer_id)
    return ClaimView(
        insurer_id=row.insurer_id,
        insurer_name=insurer.name if insurer else None,
        claim_number=row.claim_number or None,
        policy_number=row.policy_number or None,
        adjuster=row.adjuster or None,
        adjuster_phone=row.adjuster_phone or None,
        adjuster_email=row.adjuster_email or None,
    )


def _incident(job: Job) -> IncidentView:
    return IncidentView(
        happened_on=job.happened_on,
        impact_kind=job.impact_kind or "unknown",
        clock_direction=job.impact_clock,
        account=job.what_happened or None,
    )


def _reference(session: Session, actor: Actor, job: Job) -> references.RevisionView | None:
    row = known(session, actor, ReferenceRevision, job.reference_revision_id)
    return references.revision_view(session, actor, row) if row else None


def _instrument(session: Session, actor: Actor, job: Job) -> instruments.InstrumentView | None:
    row = known(session, actor, Instrument, job.instrument_id)
    return instruments.view(session, actor, row) if row else None


def _surveys(session: Session, actor: Actor, job: Job) -> tuple[SurveyLine, ...]:
    rows = scoped(session, actor, Survey).where(Survey.job_id == job.id).order_by(Survey.ordinal)
    surveys = session.scalars(rows).all()
    found = scoped(session, actor, Result).where(Result.survey_id.in_([one.id for one in surveys]))
    results = {row.survey_id: row for row in session.scalars(found.order_by(Result.id))}
    superseded = {one.supersedes_id: one.ordinal for one in surveys if one.supersedes_id}
    people = names(session, actor, [one.submitted_by_id for one in surveys])
    return tuple(
        SurveyLine(
            id=one.id,
            number=one.ordinal,
            phase=one.phase,
            submitted_at=one.submitted_at,
            submitted_by=people.get(one.submitted_by_id),
            measured_at=one.measured_at,
            finding=results[one.id].verdict,
            rig=results[one.id].rig_verdict,
            superseded_by=superseded.get(one.id),
        )
        for one in surveys
    )


def _drafts(session: Session, actor: Actor, job: Job) -> tuple[DraftLine, ...]:
    rows = scoped(session, actor, Draft).where(Draft.job_id == job.id, Draft.closed_at.is_(None))
    drafts = session.scalars(rows.order_by(Draft.id)).all()
    wanted = [draft.id for draft in drafts]
    found = scoped(session, actor, DraftPoint).where(DraftPoint.draft_id.in_(wanted))
    points = session.scalars(found).all()
    replaced = {point.supersedes_id for point in points}
    stand = [point for point in points if point.discarded_at is None and point.id not in replaced]
    counted = Counter(point.draft_id for point in stand)
    people = names(session, actor, [draft.opened_by_id for draft in drafts])
    paused = floor_acts.paused_since(session, actor, wanted)
    return tuple(
        DraftLine(
            id=draft.id,
            phase=draft.phase,
            points=counted[draft.id],
            opened_at=draft.opened_at,
            opened_by=people.get(draft.opened_by_id),
            changed_at=_changed_at(draft, points),
            paused_at=paused.get(draft.id),
        )
        for draft in drafts
    )


def _changed_at(draft: Draft, points: Sequence[DraftPoint]) -> datetime:
    own = [point for point in points if point.draft_id == draft.id]
    moments = [moment for one in own for moment in (one.taken_at, one.discarded_at) if moment]
    return max([draft.opened_at, *moments])


def _certificates(session: Session, actor: Actor, job: Job) -> tuple[CertificateLine, ...]:
    rows = session.scalars(
        scoped(session, actor, Certificate)
        .where(Certificate.job_id == job.id)
        .order_by(Certificate.id.desc())
    ).all()
    people = names(session, actor, [row.signed_by_id for row in rows])
    signers = marked(session, actor)
    return tuple(
        CertificateLine(
            row.number,
            row.kind,
            standing(row, signers)[0],
            row.issued_at,
            people.get(row.signed_by_id),
        )
        for row in rows
    )


def _cancelled_reason(session: Session, actor: Actor, job: Job) -> str | None:
    rows = scoped(session, actor, JobEntry).where(
        JobEntry.job_id == job.id, JobEntry.kind == CANCELLED
    )
    newest = session.scalars(rows.order_by(JobEntry.id.desc()).limit(1)).one()
    return newest.words or None


def _recipient(session: Session, actor: Actor, job: Job) -> str | None:
    """To whom the machine was given; a person's name, so it lies where it can be erased."""
    rows = (
        scoped(session, actor, PersonalValue)
        .join(Event, Event.id == PersonalValue.event_id)
        .where(
            Event.what == LEFT,
            Event.subject == f"job:{job.number}",
            PersonalValue.name == RECIPIENT,
        )
        .order_by(PersonalValue.id.desc())
    )
    newest = session.scalars(rows).first()
    return None if newest is None or newest.value is None else str(json.loads(newest.value))
