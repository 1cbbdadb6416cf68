"""What the correction did: the measurements before, during and after it, in one row."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.schemas.comparing import ChangeOut
from app.services import surveys
from app.services.before_after import change_or_why, fittest_before, judged_alike
from app.services.permissions import Actor
from app.services.survey_views import SurveyView
from app.wording.errors import explain


@dataclass(frozen=True, slots=True)
class Stages:
    """Two or three measurements in the order of the work."""

    shown: tuple[SurveyView, ...]
    during: tuple[int, ...]
    """Numbers of all standing measurements during the correction: one of them is shown."""
    same_reference: bool
    change: ChangeOut | None
    """The last less the first, with the uncertainty that leaves out what both share."""
    no_change_because: str
    """Why the change cannot be told, in a sentence; else empty."""

    @property
    def first(self) -> SurveyView:
        return self.shown[0]

    @property
    def last(self) -> SurveyView:
        return self.shown[-1]


def stages(session: Session, actor: Actor, number: str, during: int | None = None) -> Stages | None:
    """The measurements to set side by side; None where the job has not two of different phases.

    Of those during the correction the one with the number `during`, else the latest; of those
    before it the one that a certificate would set beside. Raises NotFound `no_such_job`.
    """
    standing = [
        view for view in surveys.listing(session, actor, number) if view.superseded_by is None
    ]
    shown = row_of(standing, during)
    if len(shown) < 2:
        return None
    change, refusal = change_or_why(shown[0], shown[-1])
    return Stages(
        shown=shown,
        during=tuple(view.number for view in standing if view.phase == "during"),
        same_reference=all(judged_alike(view, shown[-1]) for view in shown),
        change=change,
        no_change_because="" if refusal is None else explain(refusal).sentence,
    )


def row_of(standing: Sequence[SurveyView], during: int | None) -> tuple[SurveyView, ...]:
    """One measurement of each phase that the job has, in the order of the work."""
    after = latest(standing, "after")
    meanwhile = latest(standing, "during", during) or latest(standing, "during")
    last = after or meanwhile
    before = fittest_before(standing, last) if last else None
    return tuple(view for view in (before, meanwhile, after) if view is not None)


def latest(
    standing: Sequence[SurveyView], phase: str, number: int | None = None
) -> SurveyView | None:
    """The latest of a phase, or the one with that number."""
    found = (view for view in standing if view.phase == phase and number in (None, view.number))
    return max(found, key=lambda view: view.number, default=None)
