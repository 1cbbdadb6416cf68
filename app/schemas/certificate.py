"""`jigbook.certificate/1`: the data that a certificate carries inside as measurement.json.

Canonical JSON: keys sorted, no white space, letters composed. Files may gain keys within /1; those
that came later are not required, so that certificates of earlier days follow it as well.
"""

from typing import Annotated, Generic, Literal, TypeVar

from pydantic import Field
from typing_extensions import TypedDict

from app.schemas.reference import ReferenceIn
from app.schemas.result import OverallVerdict, ResultOut
from app.schemas.survey import SurveyIn

FORMAT: Literal["jigbook.certificate/1"] = "jigbook.certificate/1"

Content = TypeVar("Content")


class CertifiedMachineOut(TypedDict):
    make: str
    model: str
    year: int | None
    frame_number: str


class CertifiedMeasurementOut(TypedDict):
    """A measurement as it was sent, and what came of it."""

    survey: SurveyIn
    result: ResultOut


class CertificateFileOut(TypedDict, Generic[Content]):
    """Content: what is printed, word by word; the rest is what it rests on."""

    format: Literal["jigbook.certificate/1"]
    number: str
    kind: Annotated[str, Field(json_schema_extra={"enum": ["report", "completion"]})]
    issued_at: str
    """ISO 8601, in the shop's own time zone."""
    finding: OverallVerdict
    machine: CertifiedMachineOut
    content: Content
    reference: ReferenceIn | None
    reference_revision: int | None
    measurement: CertifiedMeasurementOut
    measurement_before: CertifiedMeasurementOut | None
    """The one before a correction, where a completion sets both side by side."""
