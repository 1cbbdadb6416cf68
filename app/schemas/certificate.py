"""`jigbook.certificate/1`: the data that a certificate carries inside as measurement.json.

Canonical JSON: keys sorted, no white space, letters composed. Files may gain keys within /1; those
that came later are not required, so that certificates of earlier days follow it as well.
"""

from datetime import date, datetime
from typing import Annotated, Generic, Literal, NotRequired, TypeVar

from pydantic import Field
from typing_extensions import TypedDict

from app.schemas.correction import Method
from app.schemas.correction import Part as CorrectedPart
from app.schemas.reference import ReferenceIn
from app.schemas.result import OverallVerdict, ResultOut
from app.schemas.survey import Phase, SurveyIn

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


class FurtherMeasurementOut(CertifiedMeasurementOut):
    """A measurement of the job that the pages tell in one line, by its number and phase."""

    number: int
    phase: Phase


class CertifiedCorrectionOut(TypedDict):
    """What was done to the machine, in the codes of `jigbook.certificate/1`."""

    text: str
    part: CorrectedPart | None
    method: Method | None
    instruction: str | None
    done_by: str | None
    done_on: date | None
    noted_at: datetime
    noted_by: str | None


class CertifiedPhotoOut(TypedDict):
    """A photo that the certificate shows; its digest is that of the photo as the shop keeps it."""

    sha256: str
    about: str | None
    caption: str
    width: int
    height: int


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
    measurements_further: NotRequired[list[FurtherMeasurementOut]]
    """Other standing measurements of the job, such as those taken during a correction."""
    corrections: NotRequired[list[CertifiedCorrectionOut]]
    photos: NotRequired[list[CertifiedPhotoOut]]
