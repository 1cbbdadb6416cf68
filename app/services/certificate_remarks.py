"""What a signer should look at before signing; nothing of it stands against a certificate."""

from collections.abc import Iterator
from datetime import datetime

from app.errors import Fact, Problem
from app.services.certificate_case import Case
from app.services.certificate_corrections import straightened_though_forbidden
from app.services.certificate_disagreements import (
    damaged_but_not_seen,
    looked_at_before_correction,
)
from app.services.surveys import SurveyView
from app.wording import moments
from app.wording.enumeration import listed


def remarks_on(case: Case, now: datetime) -> tuple[Problem, ...]:
    """All remarks on what this certificate would say."""
    found: list[Problem] = []
    for survey in (case.before, case.survey):
        if survey is not None:
            found += of_moment(survey, case.job.received_at, now)
    return (*found, *of_visual_check(case), *of_corrections(case))


def of_moment(survey: SurveyView, received_at: datetime, now: datetime) -> Iterator[Problem]:
    """A measurement whose own moment cannot be right. Days are compared to the machine's coming:
    it may be measured first and written down at the desk later that day."""
    measured_at = survey.survey.measured_at
    if measured_at is None:
        return
    measured = moments.moment_with_zone(measured_at)
    facts: dict[str, Fact] = {"number": survey.number, "measured": measured}
    if moments.today(measured_at) < moments.today(received_at):
        received = {"received": moments.day(received_at)}
        yield Problem("measured_before_received", "survey", {**facts, **received})
    if measured_at > now:
        yield Problem("measured_in_future", "survey", facts)


def of_visual_check(case: Case) -> Iterator[Problem]:
    """Items that nobody has looked at, or not since a correction, or that check-in contradicts."""
    checks = case.job.visual_checks
    count = sum(check.answer == "not_checked" for check in checks)
    if count:
        facts: dict[str, Fact] = {"count": count, "of": len(checks)}
        yield Problem("visual_check_incomplete", "visual_check", facts)
    if earlier := looked_at_before_correction(case.job):
        yield Problem(
            "visual_check_before_correction",
            "visual_check",
            {"count": len(earlier), "of": len(checks)},
        )
    if zones := damaged_but_not_seen(case.job):
        facts = {"zones": listed(zones)}
        yield Problem("visual_check_contradicts_check_in", "visual_check", facts)


def of_corrections(case: Case) -> Iterator[Problem]:
    """Force or heat where the reference says that the maker forbids it."""
    if straightened_though_forbidden(case):
        yield Problem("straightened_though_forbidden", "corrections")
