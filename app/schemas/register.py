"""`jigbook.register/1`: the register of certificates as it is exported, signed as a whole.

Canonical JSON, as in certificates. It names no person, machine or claim: who holds a certificate
finds its line by number and digest, and nobody learns of others.
"""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypedDict

FORMAT: Literal["jigbook.register/1"] = "jigbook.register/1"

Moment = Annotated[str, Field(description="ISO 8601 with its zone")]


class RegisterEntryOut(TypedDict):
    """One number that was given; none is missing."""

    number: str
    kind: Literal["report", "completion"]
    status: Literal["issuing", "valid", "distrusted", "superseded", "withdrawn", "void"]
    """`distrusted`: the key that signed it may be stolen; ask the shop for a new one."""
    status_since: Moment
    issued_at: Moment | None
    replaces: str | None
    replaced_by: str | None
    pdf_sha256: str | None
    """Of the signed file."""
    data_sha256: str | None
    """Of the data that it carries."""
    signer_sha256: str | None
    """Of the certificate of the key that signed."""
    time_stamp: str | None


class RegisterFileOut(TypedDict):
    """What was in force when it was made."""

    format: Literal["jigbook.register/1"]
    shop: str
    exported_at: Moment
    csv_sha256: str
    """Of the same lines as a table."""
    entries: list[RegisterEntryOut]
