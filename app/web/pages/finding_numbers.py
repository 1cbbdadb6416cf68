"""One level deeper than the finding: all its numbers, and where the uncertainty comes from."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import surveys
from app.services.surveys import SurveyView
from app.web.database import Read
from app.web.door import pages
from app.web.pages.budget_words import Advice, BudgetGroup, advice, budgets
from app.web.pages.result_words import Figure, figures
from app.web.rendering import Page, show
from app.web.visits import Here
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class NumbersPage(Page):
    template: ClassVar[str] = "pages/finding_numbers.html"
    number: str
    survey: int
    figures: tuple[Figure, ...]
    advice: tuple[Advice, ...]
    budgets: tuple[BudgetGroup, ...]


@pages.add("GET", "/jobs/{number}/surveys/{survey}/numbers", "surveys.read")
def finding_numbers(
    request: Request, visit: Here, session: Read, number: str, survey: int
) -> Response:
    """Values, probabilities and budgets of one measurement."""
    return show(request, visit, page_of(surveys.read(session, visit.person, number, survey)))


def page_of(found: SurveyView) -> NumbersPage:
    """A survey in numbers."""
    return NumbersPage(
        title=_("All numbers of measurement {number}").format(number=found.number),
        number=found.job_number,
        survey=found.number,
        figures=figures(found.result),
        advice=advice(found.result),
        budgets=budgets(found.result),
    )
