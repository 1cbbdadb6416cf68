"""What a customer reads and signs when a machine is left here, and what changed in it since.

A signature holds for the text that was signed. Where the check-in says something else by now, the
signed text and the difference stand beside the signature, until the customer signs again.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Claim, Customer, Insurer, Job, Machine, ShopRecord, Signature
from app.schemas.signature import PURPOSES
from app.services import damage, shop
from app.services.job_reading import RIDEABLE
from app.services.job_views import JobView
from app.services.lookup import by_id, job_row
from app.services.permissions import Actor, require
from app.services.signatures import SignatureView, left_at_signing
from app.wording import jobs as words
from app.wording import orders
from app.wording.translation import _

Row = TypeVar("Row", bound=ShopRecord)

LONGEST = 4000
"""Of a text that is kept with a signature."""


@dataclass(frozen=True, slots=True)
class Texts:
    """What is signed."""

    authorisation: str
    notice: tuple[str, ...]
    left: tuple[tuple[str, str], ...]
    """What is left here and in which state, each with its label: the order is given for that."""

    def of(self, purpose: str) -> str:
        """The text of one purpose, as it is kept with the signature."""
        whole = self.authorisation if purpose == "authorisation" else "\n".join(self.notice)
        return whole[:LONGEST]

    @property
    def left_in_lines(self) -> str:
        """What is left here, a line each."""
        return "\n".join(f"{label}: {value}" for label, value in self.left)[:LONGEST]

    @property
    def mark(self) -> str:
        """Another one as soon as any of it reads otherwise."""
        read = "\n".join([*map(self.of, PURPOSES), self.left_in_lines])
        return hashlib.sha256(read.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Change:
    """Something that reads otherwise since it was signed."""

    label: str
    before: str
    after: str


def texts_of(session: Session, actor: Actor, job: JobView) -> Texts:
    """The texts that the customer of this job signs, as they read now."""
    keeper, machine = shop.read(session, actor), job.machine
    left = orders.Left(
        job=job.number,
        make=machine.make,
        model=machine.model,
        year=machine.year,
        plate=machine.plate or "",
        frame_number=machine.frame_number,
        odometer_km=job.odometer_km,
        rideable=job.rideable,
        damage=job.visible_damage,
        belongings=job.belongings,
        promised_on=job.promised_on,
        customer=job.customer.name or "",
        insurer=job.claim.insurer_name or "",
        claim=job.claim.claim_number or "",
    )
    notice = orders.notice(keeper.name, keeper.privacy_notice)
    return _texts(keeper.name, notice, left, job.authorised_scope or "")


def changes(one: SignatureView, now: Texts) -> tuple[Change, ...]:
    """What reads otherwise by now than what this signature was given for."""
    wording = one.wording or ""
    if one.purpose != "authorisation":
        return tuple(_other_text(_("Notice on personal data"), wording, now.of(one.purpose)))
    return tuple(_since_ordered(wording, one.left or "", now))


def changed_since(session: Session, actor: Actor, jobs: Sequence[tuple[Job, Machine]]) -> set[int]:
    """The ids of those jobs whose order was signed and reads otherwise by now."""
    require(actor, "jobs.read")
    signed = _newest_orders(session, actor, [job for job, _machine in jobs])
    if not signed:
        return set()
    keeper = shop.read(session, actor)
    ordered = [job for job, _machine in jobs if job.id in signed]
    left = left_at_signing(session, actor, ordered)
    people = _People(session, actor, ordered)

    def reads_otherwise(job: Job, machine: Machine) -> bool:
        row, now = signed[job.id], _of_rows(keeper.name, job, machine, people)
        return any(_since_ordered(row.wording, left.get(row.id, ""), now))

    return {job.id for job, machine in jobs if job.id in signed and reads_otherwise(job, machine)}


def is_changed(session: Session, actor: Actor, number: str) -> bool:
    """Whether the order of this job was signed and reads otherwise by now. Raises NotFound."""
    job = job_row(session, actor, number)
    machine = by_id(session, actor, Machine, job.machine_id, "no_such_machine")
    return bool(changed_since(session, actor, [(job, machine)]))


def ordered_when_signed(session: Session, actor: Actor, number: str) -> str:
    """What was ordered when the customer signed last; empty where that was not kept."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    signed = _newest_orders(session, actor, [job]).get(job.id)
    return orders.ordered_in(signed.wording) if signed else ""


def _newest_orders(session: Session, actor: Actor, jobs: Sequence[Job]) -> dict[int, Signature]:
    rows = scoped(session, actor, Signature).where(
        Signature.purpose == "authorisation", Signature.job_id.in_([job.id for job in jobs])
    )
    return {row.job_id: row for row in session.scalars(rows.order_by(Signature.id))}


class _People:
    """Customers, claims and insurers of some jobs, each table read once."""

    def __init__(self, session: Session, actor: Actor, jobs: Sequence[Job]) -> None:
        def rows(model: type[Row], wanted: Iterable[int | None]) -> dict[int, Row]:
            found = scoped(session, actor, model).where(model.id.in_(set(filter(None, wanted))))
            return {row.id: row for row in session.scalars(found)}

        self._customers = rows(Customer, [job.customer_id for job in jobs])
        self._claims = rows(Claim, [job.claim_id for job in jobs])
        self._insurers = rows(Insurer, [claim.insurer_id for claim in self._claims.values()])

    def customer(self, job: Job) -> str:
        return self._customers[job.customer_id].name

    def claim(self, job: Job) -> str:
        claim = self._claims.get(job.claim_id or 0)
        return claim.claim_number if claim else ""

    def insurer(self, job: Job) -> str:
        claim = self._claims.get(job.claim_id or 0)
        insurer = self._insurers.get(claim.insurer_id or 0) if claim else None
        return insurer.name if insurer else ""


def _of_rows(keeper: str, job: Job, machine: Machine, people: _People) -> Texts:
    """The order alone: the notice is the same for all jobs."""
    left = orders.Left(
        job=job.number,
        make=machine.make,
        model=machine.model,
        year=machine.year,
        plate=machine.plate,
        frame_number=machine.frame_number,
        odometer_km=job.odometer,
        rideable=RIDEABLE[job.rideable],
        damage=damage.lines(job.damage),
        belongings=job.keys_and_accessories.splitlines(),
        promised_on=job.promised_on,
        customer=people.customer(job),
        insurer=people.insurer(job),
        claim=people.claim(job),
    )
    return _texts(keeper, (), left, job.authorised_scope)


def _texts(keeper: str, notice: tuple[str, ...], left: orders.Left, ordered: str) -> Texts:
    machine = words.machine(left.make, left.model, left.year)
    named = ", ".join(filter(None, [machine, left.frame_number]))
    return Texts(orders.authorisation(keeper, named, ordered), notice, orders.left_here(left))


def _since_ordered(wording: str, left: str, now: Texts) -> Iterator[Change]:
    """What was left here line by line, then what was ordered, else the text as a whole."""
    found = list(_other_lines(left, now))
    before, after = orders.ordered_in(wording), orders.ordered_in(now.of("authorisation"))
    if wording:
        found += _other_text(_("What is ordered"), before, after)
    yield from found or _other_text(_("Order"), wording, now.of("authorisation"))


def _other_lines(left: str, now: Texts) -> Iterator[Change]:
    """Lines that say something else under the same label."""
    pairs = (line.partition(": ") for line in left.split("\n"))
    signed = {label: value for label, _colon, value in pairs}
    told = (line.partition(": ") for line in now.left_in_lines.split("\n"))
    for label, _colon, value in told:
        if signed.get(label, value) != value and not orders.told_later(label, signed[label]):
            yield Change(label, signed[label], value)


def _other_text(label: str, before: str, after: str) -> Iterator[Change]:
    if before and before != after:
        yield Change(label, before, after)
