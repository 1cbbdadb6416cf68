"""Which measurement before the correction stands beside one after it: one rule for all sides."""

from collections.abc import Sequence

from app.services.survey_views import SurveyView


def standing(views: Sequence[SurveyView]) -> list[SurveyView]:
    """Those that no other took the place of, without the ones taken during the correction."""
    return [view for view in views if view.superseded_by is None and view.phase != "during"]


def before_of(views: Sequence[SurveyView], survey: SurveyView | None) -> SurveyView | None:
    """The measurement to set beside one after the correction; `views`: the standing ones.

    The latest that was judged by the same revision, so that both can be compared line by line,
    and whose set-up stood still; where there is none, the latest that has more of it.
    """
    if survey is None or survey.phase != "after":
        return None

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
