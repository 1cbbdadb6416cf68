"""Checking a certificate file: is it unaltered, and is it still in force. Two answers.

Nobody needs to be signed in. The strict rule lies in `signing.checking`; whether a certificate
is in force is what the register says now, found by the SHA-256 of the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from app.services.certificates import Kind, Status
    from app.services.press import Press


@dataclass(frozen=True, slots=True)
class RegisterEntry:
    """What the register tells an outsider of one certificate."""

    number: str
    kind: Kind
    status: Status
    machine: str
    finding: str
    issued_at: datetime | None
    status_since: datetime
    status_reason: str | None
    replaced_by: str | None
    pdf_sha256: str | None
    data_sha256: str | None


@dataclass(frozen=True, slots=True)
class Verification:
    """Two answers, kept apart."""

    unaltered: bool
    why_not: str | None
    """Code when not unaltered: `unreadable`, `not_signed`, `several_signatures`,
    `not_whole_file`, `altered`, `not_trusted`."""
    signed_by: str | None
    """Common name in the signer's certificate."""
    signed_at: datetime | None
    signer_sha256: str | None
    pdf_sha256: str
    in_register: bool
    entry: RegisterEntry | None
    in_force: bool
    """Unaltered, in this register, and `valid` there."""


def verify(session: Session, pdf: bytes, *, press: Press) -> Verification:
    """Check a file against this shop's authority and register; never raises for a bad file."""
    raise NotImplementedError


def register_entry(session: Session, number: str) -> RegisterEntry:
    """What `/verify/{number}` shows. Raises NotFound; `issuing` and `void` are told as such."""
    raise NotImplementedError
