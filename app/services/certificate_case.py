"""What a certificate speaks of, gathered from the records in one reading."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Person, Result, Shop, Survey
from app.services import instruments, jobs, photos, references, sending_back, surveys
from app.services.before_after import before_of, standing
from app.services.instrument_standing import InstrumentStanding, instrument_standing
from app.services.instruments import InstrumentView
from app.services.jobs import JobView
from app.services.permissions import Actor
from app.services.photo_sharing import SharedPhoto, shared_of
from app.services.photos import PhotoView
from app.services.references import RevisionView
from app.services.same_points import SamePoints, same_points
from app.services.sending_back import Exchange
from app.services.surveys import SurveyView


@dataclass(frozen=True, slots=True)
class Signer:
    """Who authorises: the person who acts, with what stands under the name."""

    name: str
    title: str
    person_id: int | None


@dataclass(frozen=True, slots=True)
class ShopSheet:
    """The shop as it stands at the head of a certificate."""

    lines: tuple[str, ...]
    own_statement: str
    language: str
    time_zone: str
    measurer_may_sign: bool


@dataclass(frozen=True, slots=True)
class Rows:
    """Ids of the records that a certificate rests on."""

    job_id: int
    survey_id: int | None
    result_id: int | None
    before_result_id: int | None
    reference_revision_id: int | None
    measured_by_id: int | None


@dataclass(frozen=True, slots=True)
class Case:
    job: JobView
    survey: SurveyView | None
    """The last standing measurement; what is certified."""
    before: SurveyView | None
    """The standing measurement before the correction, when `survey` is one after it."""
    further: tuple[SurveyView, ...]
    """Standing measurements beside these two, such as those taken during the correction."""
    reference: RevisionView | None
    """The revision that `survey` was judged by."""
    instrument: InstrumentView | None
    before_instrument: InstrumentView | None
    """That of the measurement before the correction."""
    instrument_standing: InstrumentStanding
    """What the instrument's own record says against it."""
    same_points: tuple[SamePoints, ...]
    """Of these two measurements, those whose points another job had before."""
    photos: tuple[PhotoView, ...]
    """All photos of the job."""
    photos_chosen: tuple[SharedPhoto, ...]
    """Those that go with the claim."""
    answers: tuple[Exchange, ...]
    """What was answered to the inspector, the newest first; what was erased is left out."""
    signer: Signer
    shop: ShopSheet
    rows: Rows


def gather(session: Session, actor: Actor, job_number: str) -> Case:
    """Everything on record that a certificate of this job would say. Raises NotFound."""
    job = jobs.read(session, actor, job_number)
    found = surveys.listing(session, actor, job_number)
    views = standing(found)
    survey = views[-1] if views else None
    before = before_of(views, survey)
    return Case(
        job=job,
        survey=survey,
        before=before,
        further=further_of(found, survey, before),
        reference=reference_of(session, actor, survey),
        instrument=instrument_of(session, actor, survey),
        before_instrument=instrument_of(session, actor, before),
        instrument_standing=standing_of(session, actor, survey),
        same_points=shared_points(session, actor, survey, before),
        photos=photos.listing(session, actor, job_number),
        photos_chosen=shared_of(session, actor, job.id),
        answers=answers_of(session, actor, job_number),
        signer=signer_of(session, actor),
        shop=shop_of(session, actor),
        rows=rows_of(session, actor, job, survey, before),
    )


def answers_of(session: Session, actor: Actor, job_number: str) -> tuple[Exchange, ...]:
    """The answers to why the job was sent back that can still be read, the newest first."""
    said = sending_back.exchanges(session, actor, job_number)
    return tuple(one for one in reversed(said) if one.kind == "answered" and one.words)


def further_of(found: Sequence[SurveyView], *shown: SurveyView | None) -> tuple[SurveyView, ...]:
    """The measurements that no other took the place of, without those whose results are shown."""
    numbers = {view.number for view in shown if view is not None}
    return tuple(
        view for view in found if view.superseded_by is None and view.number not in numbers
    )


def reference_of(session: Session, actor: Actor, survey: SurveyView | None) -> RevisionView | None:
    """The reference revision that a measurement was judged by."""
    if survey is None or survey.reference_id is None:
        return None
    return references.read_revision(session, actor, survey.reference_id, survey.reference_revision)


def instrument_of(
    session: Session, actor: Actor, survey: SurveyView | None
) -> InstrumentView | None:
    """The shop's instrument that a measurement was taken with."""
    if survey is None or survey.instrument_id is None:
        return None
    return instruments.read(session, actor, survey.instrument_id)


def standing_of(session: Session, actor: Actor, survey: SurveyView | None) -> InstrumentStanding:
    """What stands against the instrument, for a measurement taken when this one was."""
    if survey is None:
        return InstrumentStanding()
    moment = survey.survey.measured_at or survey.submitted_at
    return instrument_standing(session, actor, survey.instrument_id, moment)


def shared_points(
    session: Session, actor: Actor, *shown: SurveyView | None
) -> tuple[SamePoints, ...]:
    """What of the measurements that a certificate shows stands in another job already."""
    found = [same_points(session, actor, survey) for survey in shown if survey is not None]
    return tuple(one for one in found if one is not None)


def signer_of(session: Session, actor: Actor) -> Signer:
    """The name and title of who acts."""
    if actor.person_id is None:
        return Signer(actor.name, "", None)
    person = session.scalars(
        scoped(session, actor, Person).where(Person.id == actor.person_id)
    ).one()
    return Signer(person.name, person.title, person.id)


def shop_of(session: Session, actor: Actor) -> ShopSheet:
    """The shop's name, address and settings."""
    shop = session.scalars(scoped(session, actor, Shop)).one()
    lines = [shop.name, *shop.address.splitlines(), shop.phone, shop.email]
    return ShopSheet(
        lines=tuple(line.strip() for line in lines if line.strip()),
        own_statement=shop.own_statement.strip(),
        language=shop.language,
        time_zone=shop.time_zone,
        measurer_may_sign=shop.measurer_may_sign,
    )


def rows_of(
    session: Session,
    actor: Actor,
    job: JobView,
    survey: SurveyView | None,
    before: SurveyView | None,
) -> Rows:
    """The ids of the rows behind the views."""
    row = None
    if survey is not None:
        row = session.scalars(scoped(session, actor, Survey).where(Survey.id == survey.id)).one()
    return Rows(
        job_id=job.id,
        survey_id=row.id if row else None,
        result_id=newest_result(session, actor, survey),
        before_result_id=newest_result(session, actor, before),
        reference_revision_id=row.reference_revision_id if row else None,
        measured_by_id=(row.measured_by_id or row.submitted_by_id) if row else None,
    )


def newest_result(session: Session, actor: Actor, survey: SurveyView | None) -> int | None:
    """The result that a measurement's view shows."""
    if survey is None:
        return None
    results = scoped(session, actor, Result).where(Result.survey_id == survey.id)
    newest = session.scalars(results.order_by(Result.id.desc()).limit(1)).one_or_none()
    return None if newest is None else newest.id


def day_of(survey: SurveyView) -> date:
    """The day of a measurement, in the place's own time; that of submission if none was given."""
    measured = survey.survey.measured_at or survey.submitted_at
    return measured.date()


def measured_by(case: Case) -> str:
    """Who measured, as the measurement itself says, else who submitted it."""
    if case.survey is None:
        return ""
    return case.survey.survey.by or case.survey.submitted_by or ""


def one_person(case: Case) -> bool:
    """Whether who measured also authorises."""
    by_id = case.signer.person_id is not None and case.signer.person_id == case.rows.measured_by_id
    stated = case.survey.survey.by if case.survey else None
    return by_id if stated is None else stated.casefold() == case.signer.name.casefold()
