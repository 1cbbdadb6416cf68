"""Labelled facts of a certificate, and the moments among them."""

from app.documents.content import Line as Fact
from app.services.surveys import SurveyView
from app.wording import moments
from app.wording.translation import _


def facts(*pairs: tuple[str, str | None]) -> tuple[Fact, ...]:
    """Labelled facts; those that are not on record are left out."""
    return tuple(Fact(label, value) for label, value in pairs if value)


def moment_of(survey: SurveyView) -> str:
    """When a measurement was taken, else when it was submitted."""
    if survey.survey.measured_at is not None:
        return moments.moment_with_zone(survey.survey.measured_at)
    submitted = moments.moment_with_zone(survey.submitted_at)
    return _("submitted {moment}").format(moment=submitted)
