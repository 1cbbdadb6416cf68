"""The register of certificates: its rows as views, and the data that each certificate holds."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, cast

from pydantic import TypeAdapter
from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import Conflict, NotFound
from app.records.scope import OfShop, scoped
from app.records.tables import Certificate, CertificateFile, Job, Machine, Person
from app.schemas.certificate import CertificateFileOut
from app.services.distrusted_signers import Marked, marked, standing

Kind = Literal["report", "completion"]
Status = Literal["issuing", "valid", "distrusted", "superseded", "withdrawn", "void"]
"""`distrusted`: on record as valid, but the key that signed it is trusted no more."""

CertificateData = CertificateFileOut[CertificateContent]
"""What is stored under a number, and attached to its PDF."""
_CONTENT: TypeAdapter[CertificateContent] = TypeAdapter(CertificateContent)


@dataclass(frozen=True, slots=True)
class CertificateView:
    """One line of the register. Codes and times; the words are made by `wording`."""

    number: str
    kind: Kind
    status: Status
    job_number: str
    machine: str
    """Make and model with the frame number, as printed."""
    plate: str
    """Of the machine as it is on record now; empty where none is."""
    finding: str
    """Verdict code of the overall finding, as certified."""
    reserved_at: datetime
    issued_at: datetime | None
    """None until it is `valid`."""
    signed_by: str
    pdf_sha256: str | None
    data_sha256: str | None
    """Of the canonical JSON of its content."""
    time_stamp: str | None
    """`stamped`; `unreachable`: signed without, because none was to be had; None: none asked."""
    replaces: str | None
    replaced_by: str | None
    status_reason: str | None
    """Why it is withdrawn, superseded or void."""
    status_since: datetime


@dataclass(frozen=True, slots=True)
class FileView:
    """The signed file as it is on record."""

    number: str
    filename: str
    pdf: bytes
    pdf_sha256: str


def row_of(session: Session, shop: OfShop | int, number: str) -> Certificate:
    """The row of a number. Raises NotFound `no_such_certificate`."""
    rows = scoped(session, shop, Certificate).where(Certificate.number == number)
    row = session.scalars(rows).one_or_none()
    if row is None:
        raise NotFound("no_such_certificate", None, met=number[:40])
    return row


def job_number_of(session: Session, shop: OfShop | int, row: Certificate) -> str:
    """The number of the job that a certificate speaks of."""
    job = session.scalars(scoped(session, shop, Job).where(Job.id == row.job_id)).one()
    return job.number


def views_of(
    session: Session, shop: OfShop | int, rows: Sequence[Certificate]
) -> tuple[CertificateView, ...]:
    """The rows as views, with a handful of queries however many they are."""
    job_ids, person_ids = {row.job_id for row in rows}, {row.signed_by_id for row in rows}
    jobs = session.scalars(scoped(session, shop, Job).where(Job.id.in_(job_ids))).all()
    plates = plates_of(session, shop, {job.machine_id for job in jobs})
    people = session.scalars(scoped(session, shop, Person).where(Person.id.in_(person_ids)))
    known = Known(
        jobs={job.id: job.number for job in jobs},
        plates={job.id: plates.get(job.machine_id, "") for job in jobs},
        people={person.id: person.name for person in people},
        replaced=replaced_numbers(session, shop, rows),
        followers=follower_numbers(session, shop, rows),
        distrusted=marked(session, shop),
    )
    return tuple(view_of(row, known) for row in rows)


@dataclass(frozen=True, slots=True)
class Known:
    """What the rows point to, by id."""

    jobs: Mapping[int, str]
    plates: Mapping[int, str]
    """Of the machine, by the job's id."""
    people: Mapping[int, str]
    replaced: Mapping[int, str]
    """Numbers of the certificates that rows replace, by their ids."""
    followers: Mapping[int, str]
    """Numbers of the certificates that took a row's place, by the row's id."""
    distrusted: Mapping[str, Marked]
    """Signers that are trusted no more, by their fingerprints."""


def plates_of(session: Session, shop: OfShop | int, machines: set[int]) -> dict[int, str]:
    """Plates by the machine's id."""
    rows = session.scalars(scoped(session, shop, Machine).where(Machine.id.in_(machines)))
    return {row.id: row.plate or "" for row in rows}


def replaced_numbers(
    session: Session, shop: OfShop | int, rows: Sequence[Certificate]
) -> dict[int, str]:
    ids = {row.replaces_id for row in rows}
    found = session.scalars(scoped(session, shop, Certificate).where(Certificate.id.in_(ids)))
    return {row.id: row.number for row in found}


def follower_numbers(
    session: Session, shop: OfShop | int, rows: Sequence[Certificate]
) -> dict[int, str]:
    ids = {row.id for row in rows}
    query = scoped(session, shop, Certificate).where(
        Certificate.replaces_id.in_(ids), Certificate.status.not_in(("void", "issuing"))
    )
    found = session.scalars(query.order_by(Certificate.id))
    return {row.replaces_id: row.number for row in found if row.replaces_id is not None}


def view_of(row: Certificate, known: Known) -> CertificateView:
    """One row as a view."""
    data = data_of(row)
    status, since = standing(row, known.distrusted)
    return CertificateView(
        number=row.number,
        kind=cast(Kind, row.kind),
        status=cast(Status, status),
        job_number=known.jobs[row.job_id],
        machine=machine_words(data),
        plate=known.plates[row.job_id],
        finding=str(data.get("finding", "")),
        reserved_at=row.reserved_at,
        issued_at=row.issued_at,
        signed_by=known.people.get(row.signed_by_id or 0) or row.signer_name or "",
        pdf_sha256=row.sha256,
        data_sha256=row.content_sha256,
        time_stamp=row.time_stamp,
        replaces=known.replaced.get(row.replaces_id or 0),
        replaced_by=known.followers.get(row.id),
        status_reason=row.reason,
        status_since=since,
    )


def data_of(row: Certificate) -> dict[str, Any]:
    """The data that the certificate holds: its content and what it rests on."""
    read: dict[str, Any] = json.loads(row.content) if row.content else {}
    return read


def machine_words(data: Mapping[str, Any]) -> str:
    """Make, model and frame number in one line."""
    machine = data.get("machine", {})
    name = " ".join(part for part in (machine.get("make"), machine.get("model")) if part)
    return ", ".join(part for part in (name, machine.get("frame_number", "")) if part)


def content_of(row: Certificate) -> CertificateContent:
    """What the certificate says, as it was printed."""
    return read_content(data_of(row)["content"])


def read_content(plain: object) -> CertificateContent:
    """Content from its JSON form."""
    return _CONTENT.validate_python(plain)


def file_of(session: Session, shop: OfShop | int, row: Certificate) -> FileView:
    """The signed file. Raises Conflict `certificate_has_no_file`."""
    files = scoped(session, shop, CertificateFile)
    file = session.scalars(files.where(CertificateFile.certificate_id == row.id)).one_or_none()
    if file is None:
        raise Conflict("certificate_has_no_file", None, number=row.number, status=row.status)
    return FileView(row.number, f"{row.number}.pdf", file.content, file.sha256)
