"""A job that is ready to be measured, for tests of surveys and drafts."""

from dataclasses import dataclass
from typing import Any

from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import check_in, instruments, jobs, references, surveys, visual_checks
from app.services.surveys import SurveyView
from tests.services.documents import ARM, calibration, reference_document, survey_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop

MEASURED_AT = "2026-03-02T09:00:00+01:00"


@dataclass(frozen=True)
class Ready:
    workshop: Workshop
    number: str
    reference_id: int
    instrument_id: int

    def submit(self, document: Any = None, **kwargs: Any) -> SurveyView:
        sent = survey_document(measured_at=MEASURED_AT) if document is None else document
        return self.workshop.do(surveys.submit, "technician", self.number, sent, **kwargs)

    def status(self) -> str:
        return self.workshop.see(jobs.read, "desk", self.number).status


def ready(workshop: Workshop) -> Ready:
    """Checked in, with reference and instrument, and looked at."""
    reference = workshop.do(references.create, "technician", reference_document())
    arm = workshop.do(instruments.create, "inspector", ARM, calibration=calibration())
    number = workshop.do(check_in.check_in, "desk", check_in_form()).job_number
    workshop.do(jobs.fix_reference, "technician", number, reference.id)
    workshop.do(jobs.fix_instrument, "technician", number, arm.id)
    looked = [VisualCheckIn.model_validate({"item": item, "answer": "not_seen"}) for item in ITEMS]
    workshop.do(visual_checks.answer, "technician", number, looked)
    return Ready(workshop, number, reference.id, arm.id)
