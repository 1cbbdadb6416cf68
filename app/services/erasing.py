"""What erasing a customer empties, and what it leaves: counted before, done, and told after.

Certificates are signed and stay as they are; so does what is on record of the machine and of the
work on it, which names nobody unless somebody wrote a name into it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select
from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.search_text import closed_up, search_text, words_in
from app.records.tables import (
    Certificate,
    ClaimLink,
    CorrectionNote,
    Customer,
    Draft,
    Hold,
    Job,
    JobEntry,
    JobNote,
    Machine,
    PersonalValue,
    Photo,
    Signature,
    Survey,
    VisualCheckItem,
)
from app.services import audit, claims, damage, idempotency, job_claims, photos, signatures
from app.services.lookup import closing_entry, count, stands_here
from app.services.permissions import Actor

PERSONAL = ("name", "address", "phone", "email", "note")
SHORTEST = 3
"""Letters of a word of a name that is looked for in what stays."""


@dataclass(frozen=True, slots=True)
class Emptied:
    """How much of each kind holds personal values, or held them."""

    machines: int
    jobs: int
    claims: int
    notes: int
    photos: int
    signatures: int
    links: int
    """Open links to the claims of these jobs: they end."""
    log_values: int


@dataclass(frozen=True, slots=True)
class StillNamed:
    """A text that stays and in which a word of the name, or the plate, was written."""

    job: str
    kind: str
    """`visual_check`, `hold`, `correction`, `photo`, `order`, `damage`, `measurement`,
    `certificate`."""
    text: str


@dataclass(frozen=True, slots=True)
class Extent:
    """What would be emptied and what would stay, as it stands now."""

    emptied: Emptied
    certificates: tuple[tuple[str, str], ...]
    """Number and status of each that was issued or is being signed: they name the customer."""
    still_named: tuple[StillNamed, ...]
    here: tuple[str, ...]
    """Numbers of jobs whose machine stands in the shop: nobody could be called about it."""
    recipients: tuple[str, ...]
    """For whom links to these jobs were made that were opened, as far back as uses are kept:
    whoever has what they opened keeps it."""


def extent(session: Session, actor: Actor, row: Customer) -> Extent:
    """What erasing this customer would do. Reads only; the caller has asked who may."""
    jobs = jobs_of(session, actor, row)
    ids = [job.id for job in jobs]
    issued = _of_jobs(session, actor, Certificate, ids).order_by(Certificate.id)
    links = _of_jobs(session, actor, ClaimLink, ids).order_by(ClaimLink.id)
    made = session.scalars(links).all()
    uses = claims.uses_of(session, actor, [one.id for one in made])
    opened = [one for one in made if any(use.what != claims.REFUSED for use in uses[one.id])]
    return Extent(
        emptied=_counted(session, actor, row, jobs),
        certificates=tuple((one.number, one.status) for one in session.scalars(issued)),
        still_named=still_named(session, actor, row),
        here=tuple(job.number for job in jobs if stands_here(closing_entry(session, actor, job))),
        recipients=tuple(dict.fromkeys(one.recipient for one in opened if one.recipient)),
    )


def still_named(session: Session, actor: Actor, row: Customer) -> tuple[StillNamed, ...]:
    """The texts of the customer's jobs that nothing empties, as far as they name the customer."""
    jobs = jobs_of(session, actor, row)
    telling, numbers = _telling(session, actor, row), {job.id: job.number for job in jobs}
    return tuple(
        StillNamed(numbers[job_id], kind, text)
        for job_id, kind, text in _staying(session, actor, jobs)
        if text and _names(text, telling)
    )


def names_the_customer(session: Session, actor: Actor, row: Customer, text: str) -> bool:
    """Whether a word of the name, the mail address, the telephone number or a plate is in it."""
    return _names(text, _telling(session, actor, row))


def empty(session: Session, actor: Actor, row: Customer, now: datetime) -> Emptied:
    """Empties the personal values of the customer, their machines and jobs, and of the log.

    Gives what was emptied. The log's own event of it comes after this, from the caller.
    """
    jobs = jobs_of(session, actor, row)
    ids = [job.id for job in jobs]
    done = _counted(session, actor, row, jobs)
    telling = _telling(session, actor, row)
    idempotency.forget_words(session, actor, _personal_words(session, actor, row, jobs))
    for field in (*PERSONAL, "search_text"):
        setattr(row, field, "")
    _empty_machines(session, actor, row)
    _empty_jobs(session, actor, jobs)
    for link in session.scalars(_of_jobs(session, actor, ClaimLink, ids)).all():
        if _names(link.recipient, telling):
            link.recipient = ""
        claims.ended(session, actor, link, now)
    job_claims.empty(session, actor, [job.claim_id for job in jobs])
    photos.erase_of_jobs(session, actor, ids, now)
    signatures.erase_of_jobs(session, actor, ids, now)
    return done


def counts(done: Emptied) -> dict[str, audit.Value]:
    """What was emptied, as the log says it."""
    return {name: value for name, value in asdict(done).items() if value}


def jobs_of(session: Session, actor: Actor, row: Customer) -> Sequence[Job]:
    """The jobs of a customer, the oldest first."""
    found = scoped(session, actor, Job).where(Job.customer_id == row.id)
    return session.scalars(found.order_by(Job.id)).all()


def _of_jobs(session: Session, actor: Actor, model: type[Any], ids: Iterable[int]) -> Select[Any]:
    return scoped(session, actor, model).where(model.job_id.in_(list(ids)))


def _machines(session: Session, actor: Actor, row: Customer) -> Sequence[Machine]:
    found = scoped(session, actor, Machine).where(Machine.customer_id == row.id)
    return session.scalars(found).all()


def _counted(session: Session, actor: Actor, row: Customer, jobs: Sequence[Job]) -> Emptied:
    ids = [job.id for job in jobs]
    standing = Photo.job_id.in_(ids), Photo.erased_at.is_(None)
    shown = scoped(session, actor, Photo).where(*standing).with_only_columns(Photo.id)
    about = [f"customer:{row.id}", *(f"photo:{one}" for one in session.scalars(shown))]
    signed = Signature.job_id.in_(ids), Signature.erased_at.is_(None)
    open_links = ClaimLink.job_id.in_(ids), ClaimLink.revoked_at.is_(None)
    in_log = PersonalValue.about.in_(about), PersonalValue.erased_at.is_(None)
    return Emptied(
        machines=len(_machines(session, actor, row)),
        jobs=len(jobs),
        claims=sum(job.claim_id is not None for job in jobs),
        notes=sum(bool(one.words) for one in _said_of(session, actor, ids)),
        photos=count(session, actor, Photo, *standing),
        signatures=count(session, actor, Signature, *signed),
        links=count(session, actor, ClaimLink, *open_links),
        log_values=count(session, actor, PersonalValue, *in_log),
    )


def _personal_words(
    session: Session, actor: Actor, row: Customer, jobs: Sequence[Job]
) -> list[str]:
    """What a stored answer may have told of the customer."""
    of_machines = [(one.plate, one.note) for one in _machines(session, actor, row)]
    ids = [job.id for job in jobs]
    earlier = audit.words_about(session, actor, f"customer:{row.id}")
    return [
        *(getattr(row, field) for field in PERSONAL),
        *earlier,
        *(line for text in earlier for line in text.splitlines()),
        *(word for pair in of_machines for word in pair),
        *(said.words for said in _said_of(session, actor, ids)),
        *job_claims.words_of(session, actor, [job.claim_id for job in jobs]),
        *photos.captions_of(session, actor, ids),
        *signatures.names_of(session, actor, ids),
    ]


def _said_of(session: Session, actor: Actor, ids: Sequence[int]) -> Sequence[JobNote | JobEntry]:
    """Notes, and reasons why a job was cancelled, sent back and the like."""
    notes, entries = (_of_jobs(session, actor, one, ids) for one in (JobNote, JobEntry))
    return [*session.scalars(notes), *session.scalars(entries)]


def _empty_machines(session: Session, actor: Actor, row: Customer) -> None:
    for machine in _machines(session, actor, row):
        machine.plate = machine.note = ""
        machine.search_text = search_text(
            machine.make, machine.model, marks=(machine.frame_number,)
        )


def _empty_jobs(session: Session, actor: Actor, jobs: Sequence[Job]) -> None:
    for job in jobs:
        job.what_happened = job.authorised_by = job.keys_and_accessories = ""
        job.search_text = search_text(marks=(job.number,))
    for said in _said_of(session, actor, [job.id for job in jobs]):
        said.words = ""
        if isinstance(said, JobEntry):
            said.given_back = said.kept_here = ""


def _telling(session: Session, actor: Actor, row: Customer) -> frozenset[str]:
    """Words by which the customer is known: of the name, and numbers closed up."""
    plates = [one.plate for one in _machines(session, actor, row)]
    marks = map(closed_up, filter(None, [row.phone, row.email, *plates]))
    return frozenset(one for one in (*words_in(row.name), *marks) if len(one) >= SHORTEST)


def _names(text: str, telling: frozenset[str]) -> bool:
    said = {*words_in(text), *map(closed_up, text.split())}
    whole = closed_up(text)
    numbers = (one for one in telling if any(sign.isdigit() for sign in one))
    return not telling.isdisjoint(said) or any(one in whole for one in numbers)


def _staying(
    session: Session, actor: Actor, jobs: Sequence[Job]
) -> Iterator[tuple[int, str, str | None]]:
    """Every text of these jobs that nothing empties: job, kind and text."""
    ids = [job.id for job in jobs]
    for job in jobs:
        yield job.id, "order", job.authorised_scope
        yield from ((job.id, "damage", line) for line in damage.lines(job.damage))
    for model, kind, columns in _TEXTS:
        for row in session.scalars(_of_jobs(session, actor, model, ids)):
            for column in columns:
                yield row.job_id, kind, getattr(row, column)


_TEXTS = (
    (VisualCheckItem, "visual_check", ("place", "note", "since_words")),
    (Hold, "hold", ("note", "closed_because")),
    (CorrectionNote, "correction", ("words", "done_by")),
    (Photo, "photo", ("taken_out_because",)),
    (Draft, "measurement", ("supersedes_because",)),
    (Survey, "measurement", ("supersedes_because",)),
    (Certificate, "certificate", ("reason",)),
)
