"""The measurements of a job in one drawing, or one view of each side by side."""

from dataclasses import dataclass

from fastapi import Request

from app.drawings.projection import VIEWS
from app.services.stages import Stages
from app.web.drawn import IN_ONE, drawn_alike, drawn_views
from app.web.pages.drawing import Beside, Drawing, Exaggeration, exaggeration_of
from app.web.pages.words import Fact
from app.web.routes import path_to
from app.wording import labels
from app.wording.translation import _

Drawn = tuple[Drawing, int, tuple[int, ...]]
"""The drawing, by how many times deviations are drawn, and the factors on offer."""
WAYS = ("overlaid", *VIEWS)


@dataclass(frozen=True, slots=True)
class Way:
    """One way to see several measurements."""

    label: str
    href: str
    chosen: bool


def chosen_way(request: Request) -> str:
    """What the address asks for; all in one drawing unless it asks for something known."""
    way = request.query_params.get("way", "")
    return way if way in WAYS else WAYS[0]


def ways(found: Stages, chosen: str, factor: int) -> tuple[Way, ...]:
    """All ways, each with its address; the exaggeration stays."""
    names = {
        "overlaid": _("In one drawing"),
        "side": _("Side by side, seen from the right side"),
        "above": _("Side by side, seen from above"),
        "behind": _("Side by side, seen from behind"),
    }
    number = found.last.job_number
    query = {fact.label: fact.value for fact in kept(found, "")} | {"times": str(factor)}
    return tuple(
        Way(
            names[way],
            path_to("before_and_after", query | {"way": way}, number=number) + "#drawing",
            way == chosen,
        )
        for way in WAYS
    )


def kept(found: Stages, way: str) -> tuple[Fact, ...]:
    """What an address says besides the exaggeration."""
    shown = [view.number for view in found.shown if view.phase == "during"]
    during = [Fact("during", str(number)) for number in shown if len(found.during) > 1]
    return (*during, Fact("way", way)) if way else tuple(during)


def times_of(found: Stages, way: str, drawn: Drawn, page: str) -> Exaggeration | None:
    """By how many times deviations may be drawn, on the page of that route."""
    number = found.last.job_number
    here, alone = path_to(page, number=number), path_to("comparison_drawing", number=number)
    _drawing, factor, offered = drawn
    return exaggeration_of(factor, offered, here, alone, kept(found, way))


def overlaid(found: Stages, times: int | None) -> Drawn:
    """The last one solid, the earlier ones behind it."""
    earlier = {view.phase: view.result["outline"] for view in found.shown[:-1]}
    views = drawn_views(
        found.last.result["outline"],
        earlier.get("before"),
        times,
        during=earlier.get("during"),
        phase=found.last.phase,
        shared=IN_ONE,
    )
    if views is None:
        return Drawing(None), 1, (1,)
    return Drawing(views), views.exaggeration, views.offered


def beside(found: Stages, view: str, times: int | None) -> Drawn:
    """One view of each, in the order of the work."""
    outlines = [one.result["outline"] for one in found.shown]
    drawn, factor, offered = drawn_alike(outlines, view, times)
    parts = tuple(
        Beside(labels.phase(one.phase), picture)
        for one, picture in zip(found.shown, drawn, strict=True)
    )
    return Drawing(None, parts), factor, offered
