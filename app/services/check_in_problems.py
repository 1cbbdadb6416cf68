"""What only the records, the clock or the other fields can tell is wrong with a check-in."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.errors import Fact, Problem
from app.records.scope import scoped
from app.records.tables import Customer, Insurer, Job, Machine
from app.schemas.check_in import CheckInIn, ClaimIn, VisitIn
from app.services.lookup import closing_entry, known
from app.services.machines import frame_number_refusals, known_by_frame, taken
from app.services.permissions import Actor
from app.wording import moments
from app.wording.translation import _


def problems_of(
    session: Session, actor: Actor, form: CheckInIn, groups: frozenset[str], now: datetime
) -> Iterator[Problem]:
    """Every such problem. `groups` names what was sent, also where a part of it was wrong."""
    asked = _Asked(session, actor, form, groups, now)
    yield from asked.about_customer()
    yield from asked.about_machine()
    yield from about_insurer(session, actor, form.claim)
    yield from about_days(form, now)


def about_insurer(session: Session, actor: Actor, claim: ClaimIn) -> Iterator[Problem]:
    """A known insurer by its id, or a new one."""
    if claim.insurer_id is not None and claim.insurer is not None:
        yield Problem("known_or_new", "claim.insurer")
    elif claim.insurer_id is not None and known(session, actor, Insurer, claim.insurer_id) is None:
        yield Problem("no_such_insurer", "claim.insurer_id", {"met": claim.insurer_id})


def about_days(form: VisitIn, now: datetime, promised: date | None = None) -> Iterator[Problem]:
    """Days on the wrong side of today, as the shop's clock has it; `promised` stands already."""
    today = moments.today(now)
    happened = form.incident.happened_on
    if happened is not None and happened > today:
        yield Problem("in_the_future", "incident.happened_on", {"met": happened.isoformat()})
    newly = form.promised_on if form.promised_on != promised else None
    if newly is not None and newly < today:
        yield Problem("in_the_past", "promised_on", {"met": newly.isoformat()})


@dataclass(frozen=True, slots=True)
class _Asked:
    session: Session
    actor: Actor
    form: CheckInIn
    groups: frozenset[str]
    now: datetime

    def about_customer(self) -> Iterator[Problem]:
        yield from self._one_of("customer")
        customer = known(self.session, self.actor, Customer, self.form.customer_id)
        if self.form.customer_id is not None and customer is None:
            yield Problem("no_such_customer", "customer_id", {"met": self.form.customer_id})
        if customer is not None and customer.erased_at is not None:
            yield Problem("customer_erased", "customer_id", {"customer": customer.id})

    def about_machine(self) -> Iterator[Problem]:
        yield from self._one_of("machine")
        machine = known(self.session, self.actor, Machine, self.form.machine_id)
        if self.form.machine_id is not None and machine is None:
            yield Problem("no_such_machine", "machine_id", {"met": self.form.machine_id})
        if self.form.machine is not None:
            yield from self._about_frame_number(self.form.machine.frame_number)
        yield from self._about_open_job(machine, "machine_id")

    def _one_of(self, name: str) -> Iterator[Problem]:
        """A known one by its id, or a new one; not both and not neither."""
        given = {f"{name}_id", name} & self.groups
        if not given:
            yield Problem("missing", name)
        elif len(given) == 2:
            yield Problem("known_or_new", name)

    def _about_frame_number(self, text: str) -> Iterator[Problem]:
        field = "machine.frame_number"
        refusals = frame_number_refusals(text, field)
        yield from refusals
        if refusals:
            return
        number = taken(text, field).number
        machine = known_by_frame(self.session, self.actor, number)
        if machine is not None and machine.customer_id != self.form.customer_id:
            owner = known(self.session, self.actor, Customer, machine.customer_id)
            name = owner.name if owner is not None and owner.name else _("a customer erased since")
            facts: dict[str, Fact] = {"met": number, "machine": machine.id, "owner": name}
            yield Problem("frame_number_of_another_customer", field, facts)
        yield from self._about_open_job(machine, field)

    def _about_open_job(self, machine: Machine | None, field: str) -> Iterator[Problem]:
        if machine is None:
            return
        jobs = scoped(self.session, self.actor, Job).where(Job.machine_id == machine.id)
        for job in self.session.scalars(jobs.order_by(Job.id)).all():
            if closing_entry(self.session, self.actor, job) is None:
                yield Problem("machine_here_already", field, {"job": job.number})
