"""What is written stays: surveys, events, numbers, what a certificate says."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from app.records.permanence import PermanentRecord
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import (
    CorrectionNote,
    Customer,
    Job,
    Machine,
    PersonRole,
    Reference,
    ReferenceRevision,
    Throttle,
)
from app.records.tables.people import Person
from tests.databases import NOW


@pytest.fixture
def job_id(database: Database, shop_id: int) -> int:
    with database.write() as session:
        customer = Customer(shop_id=shop_id, name="Kim", created_at=NOW)
        session.add(customer)
        session.flush()
        machine = Machine(
            shop_id=shop_id, customer_id=customer.id, make="Invented", model="One",
            frame_number="X", created_at=NOW,
        )  # fmt: skip
        session.add(machine)
        session.flush()
        job = Job(
            shop_id=shop_id, number="J-2026-0001", customer_id=customer.id,
            machine_id=machine.id, received_at=NOW, created_at=NOW,
        )  # fmt: skip
        session.add(job)
        session.flush()
        session.add(CorrectionNote(shop_id=shop_id, job_id=job.id, words="a", at=NOW))
        return job.id


def refused(database: Database, change: Callable[[Session], object]) -> None:
    with pytest.raises(PermanentRecord), database.write() as session:
        change(session)


def test_a_row_that_is_only_added_cannot_be_changed_or_deleted(
    database: Database, shop_id: int, job_id: int
) -> None:
    def reword(session: Session) -> None:
        session.scalars(scoped(session, shop_id, CorrectionNote)).one().words = "b"

    def remove(session: Session) -> None:
        session.delete(session.scalars(scoped(session, shop_id, CorrectionNote)).one())

    refused(database, reword)
    refused(database, remove)
    with database.read() as session:
        assert session.scalars(scoped(session, shop_id, CorrectionNote)).one().words == "a"


def test_setting_the_same_value_again_is_no_change(
    database: Database, shop_id: int, job_id: int
) -> None:
    with database.write() as session:
        session.scalars(scoped(session, shop_id, CorrectionNote)).one().words = "a"
    with database.read() as session:
        assert session.scalars(scoped(session, shop_id, CorrectionNote)).one().words == "a"


def test_fixed_columns_stay_and_others_move(database: Database, shop_id: int, job_id: int) -> None:
    def renumber(session: Session) -> None:
        session.scalars(scoped(session, shop_id, Job)).one().number = "J-2026-0002"

    def renumber_unseen(session: Session) -> None:
        job = session.scalars(scoped(session, shop_id, Job)).one()
        session.expire(job)
        job.number = "J-2026-0002"

    refused(database, renumber)
    refused(database, renumber_unseen)
    with database.write() as session:
        session.scalars(scoped(session, shop_id, Job)).one().storage_place = "bay 2"
    with database.read() as session:
        job = session.scalars(scoped(session, shop_id, Job)).one()
        assert (job.number, job.storage_place, job.version) == ("J-2026-0001", "bay 2", 2)


def test_a_revision_changes_until_its_first_use_and_never_after(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        reference = Reference(shop_id=shop_id, make="Invented", model="One", created_at=NOW)
        session.add(reference)
        session.flush()
        session.add(
            ReferenceRevision(
                shop_id=shop_id, reference_id=reference.id, revision=1, document="{}",
                document_sha256="", created_at=NOW,
            )
        )  # fmt: skip

    def revision(session: Session) -> ReferenceRevision:
        return session.scalars(scoped(session, shop_id, ReferenceRevision)).one()

    def reword(session: Session) -> None:
        revision(session).document = '{"b": 2}'

    def thaw(session: Session) -> None:
        revision(session).frozen_at = None

    def freeze_again(session: Session) -> None:
        revision(session).frozen_at = NOW + timedelta(days=1)

    with database.write() as session:
        revision(session).document = '{"a": 1}'
    with database.write() as session:
        revision(session).frozen_at = NOW
    for change in (reword, thaw, freeze_again):
        refused(database, change)
    with database.read() as session:
        assert revision(session).document == '{"a": 1}'


def test_a_customer_cannot_be_deleted_but_a_role_or_a_pause_can(
    database: Database, shop_id: int, job_id: int
) -> None:
    def remove(session: Session) -> None:
        session.delete(session.scalars(scoped(session, shop_id, Customer)).one())

    refused(database, remove)
    with database.write() as session:
        person = Person(
            shop_id=shop_id, sign_in_name="a", sign_in_key="a", name="A", created_at=NOW
        )
        session.add(person)
        session.flush()
        session.add(PersonRole(shop_id=shop_id, person_id=person.id, role="desk"))
        session.add(
            Throttle(
                shop_id=shop_id, kind="account", subject_hash="", failures=1, last_failed_at=NOW
            )
        )  # fmt: skip
    with database.write() as session:
        for model in (PersonRole, Throttle):
            session.delete(session.scalars(scoped(session, shop_id, model)).one())


def test_a_reading_session_writes_nothing(database: Database, shop_id: int) -> None:
    with database.read() as session:
        session.add(Customer(shop_id=shop_id, name="Kim", created_at=NOW))
        with pytest.raises(PermanentRecord):
            session.flush()
