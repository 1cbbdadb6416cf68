"""Jobs by words, open and closed: closed ones are many after some years, so the database counts
them and cuts them off."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, func
from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Certificate, Claim, Customer, Job, JobEntry, Machine
from app.services.lookup import CANCELLED, CLOSING, GIVEN_BACK, REOPENED
from app.services.permissions import Actor
from app.services.search import Column, NamesOf, asks_beside, found_in, is_exactly, mark_in


@dataclass(frozen=True)
class Asked:
    """What is searched for: words, and of closed jobs also a status."""

    session: Session
    actor: Actor
    text: str
    status: str | None

    def open_ones(self) -> Sequence[Job]:
        """Jobs that are open, and cancelled ones whose machine still stands here."""
        return self.session.scalars(self._found().where(~self._has_left())).all()

    def left_with_withdrawn(self) -> Sequence[Job]:
        """Jobs whose machine has left, and of which a certificate was withdrawn; without those
        whose customer was erased and can be called no more."""
        rows = scoped(self.session, self.actor, Certificate)
        withdrawn = rows.where(Certificate.status == "withdrawn")
        found = self._found().where(self._has_left())
        ids = withdrawn.with_only_columns(Certificate.job_id)
        known = Customer.erased_at.is_(None)
        return self.session.scalars(found.where(Job.id.in_(ids), known)).all()

    def ids(self) -> Select[Any]:
        """The ids of all of them, open and closed, as a part of another question."""
        return self._found().with_only_columns(Job.id)

    def exact_ones(self) -> set[int]:
        """The ids of jobs of which a plate or number is just what was typed."""
        if not mark_in(self.text):
            return set()
        rows = self._found().where(self._exactly()).with_only_columns(Job.id)
        return set(self.session.scalars(rows))

    def count(self) -> int:
        """How many jobs fit the words, open and closed."""
        found = self._found().with_only_columns(func.count(Job.id))
        return self.session.scalar(found) or 0

    def closed_count(self, exact: bool) -> int:
        """How many closed jobs there are, of those that are just what was typed or the others."""
        if exact and not mark_in(self.text):
            return 0
        rows = self._closed(exact).with_only_columns(func.count(Job.id))
        return self.session.scalar(rows) or 0

    def closed_ones(self, exact: bool, limit: int, offset: int) -> Sequence[Job]:
        """The same jobs, the newest first."""
        rows = self._closed(exact).order_by(Job.id.desc()).limit(limit).offset(offset)
        return self.session.scalars(rows).all()

    def _closed(self, exact: bool) -> Select[Any]:
        rows = self._found().where(self._has_left(self.status))
        if not mark_in(self.text):
            return rows
        return rows.where(self._exactly() if exact else ~self._exactly())

    def _found(self) -> Select[Any]:
        """Jobs whose own words, machine, customer or claim hold every word; a customer's address
        and mail are looked in only where nothing else fits."""
        return self._holding(
            Customer.search_text if self._beside else NamesOf(Customer.search_text)
        )

    @cached_property
    def _beside(self) -> bool:
        if asks_beside(self.text):
            return True
        by_names = self._holding(NamesOf(Customer.search_text))
        return not self.session.scalar(by_names.with_only_columns(func.count(Job.id)))

    def _holding(self, of_customer: Column) -> Select[Any]:
        return (
            scoped(self.session, self.actor, Job)
            .join(Machine, Machine.id == Job.machine_id)
            .join(Customer, Customer.id == Job.customer_id)
            .outerjoin(Claim, Claim.id == Job.claim_id)
            .where(
                found_in(
                    self.text,
                    Job.search_text,
                    Machine.search_text,
                    of_customer,
                    func.coalesce(Claim.search_text, ""),
                )
            )
        )

    def _exactly(self) -> ColumnElement[bool]:
        claims = func.coalesce(Claim.search_text, "")
        return is_exactly(self.text, Job.search_text, Machine.search_text, claims)

    def _has_left(self, status: str | None = None) -> ColumnElement[bool]:
        """Jobs by the newest entry that closed or opened them: closed, the machine gone."""
        rows = scoped(self.session, self.actor, JobEntry).where(
            JobEntry.id.in_(self._newest_closing()),
            JobEntry.kind != REOPENED,
            ~and_(JobEntry.kind == CANCELLED, func.coalesce(JobEntry.still_here, False)),
        )
        if status is not None:
            kinds = (CANCELLED, GIVEN_BACK) if status == CANCELLED else (status,)
            rows = rows.where(JobEntry.kind.in_(kinds))
        return Job.id.in_(rows.with_only_columns(JobEntry.job_id))

    def _newest_closing(self) -> Select[Any]:
        """Of each job that was ever closed the newest entry that closed it or opened it again."""
        return (
            scoped(self.session, self.actor, JobEntry)
            .with_only_columns(func.max(JobEntry.id))
            .where(JobEntry.kind.in_(CLOSING))
            .group_by(JobEntry.job_id)
        )
