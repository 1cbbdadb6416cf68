"""Which measurement before the correction stands beside one after it: one rule for all sides."""

from collections.abc import Sequence

from app.errors import Refusal
from app.schemas.comparing import ChangeOut
from app.services import combining
from app.services.stored_results import measured
from app.services.survey_views import SurveyView


def standing(views: Sequence[SurveyView]) -> list[SurveyView]:
    """Those that no other took the place of, without the ones taken during the correction."""
    return [view for view in views if view.superseded_by is None and view.phase != "during"]


def before_of(views: Sequence[SurveyView], survey: SurveyView | None) -> SurveyView | None:
    """The measurement to set beside one after the correction; `views`: the standing ones."""
    if survey is None or survey.phase != "after":
        return None
    return fittest_before(views, survey)


def fittest_before(views: Sequence[SurveyView], survey: SurveyView) -> SurveyView | None:
    """The measurement before the correction that a later one is compared with.

    The latest that was judged by the same revision, so that both can be compared line by line,
    and whose set-up stood still; where there is none, the latest that has more of it.
    """

    def fitness(view: SurveyView) -> tuple[bool, bool, int]:
        return (
            judged_alike(view, survey),
            view.result["rig_check"]["verdict"] != "moved",
            view.number,
        )

    before = [view for view in views if view.phase == "before"]
    return max(before, key=fitness, default=None)


def judged_alike(one: SurveyView, other: SurveyView) -> bool:
    """Whether both were judged by the same revision of the same reference."""
    return (one.reference_id, one.reference_revision) == (
        other.reference_id,
        other.reference_revision,
    )


def change(before: SurveyView, after: SurveyView) -> ChangeOut:
    """What changed between two measurements, from their stored results; what both share is left
    out of its uncertainty.

    Raises Refusal `change_moved`, `change_differs` where they cannot be compared.
    """
    return combining.change(measured(before), measured(after))


def change_or_why(
    before: SurveyView | None, after: SurveyView | None
) -> tuple[ChangeOut | None, Refusal | None]:
    """The same for a page or a certificate: the change, or why there is none to tell."""
    if before is None or after is None:
        return None, None
    try:
        return change(before, after), None
    except Refusal as refusal:
        return None, refusal
