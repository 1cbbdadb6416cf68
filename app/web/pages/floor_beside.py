"""What stands beside a step's form: what an empty field means, what was just taken back, and the
drawings of the targets that follow without network."""

from dataclasses import dataclass, replace

from markupsafe import Markup

from app.services.floor_views import FloorView, StepView
from app.web.pages.draft_words import reading_of
from app.web.pages.floor_drawing import drawing
from app.web.pages.floor_words import place_of
from app.wording import steps as words

GONE = "gone"
"""Ids of the points that were just taken back, in the page's address."""
MOST_GONE = 9
UNBROKEN = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class IfEmpty:
    """What counts where nothing is typed."""

    uncertainty: str
    probe_radius: str


def if_empty(view: FloorView) -> IfEmpty:
    """The instrument's figures, or that none is known."""
    known = view.figures
    return IfEmpty(
        words.if_empty(known.standard_uncertainty_mm), words.if_empty(known.probe_radius_mm)
    )


def drawings_to_come(view: FloorView, step: StepView) -> tuple[Markup, ...]:
    """The step's drawing as it will be once the next point is taken, and the one after it."""
    following = [step.open_names[at:] for at in range(1, len(step.open_names))]
    drawn = [drawing(view, replace(step, open_names=names), view.nominals) for names in following]
    return tuple(picture for picture, _exact in drawn if picture is not None)


def taken_back(view: FloorView, ids: str) -> tuple[str, ...]:
    """The readings with these ids that do not stand any more, in words."""
    asked = set(ids.split(",")[:MOST_GONE])
    found = [one for one in view.draft.points if not one.stands and str(one.id) in asked]
    read = [(reading_of(point), place_of(point)) for point in found]
    return tuple(
        f"{' · '.join(filter(None, [one.feature, place]))}, "
        f"X{UNBROKEN}{one.x} · Y{UNBROKEN}{one.y} · Z{UNBROKEN}{one.z}{UNBROKEN}mm"
        for one, place in read
    )
