"""The outline of a chassis from the survey's own coordinates, in three views that line up.

One unit of the drawing is one millimetre of the machine. Reference: thin, dashed, grey.
Measured: solid ink. Before, under an after: thin and dotted.
"""

import math
from dataclasses import dataclass

from app.drawings import svg
from app.drawings.deviations import draw_deviations, draw_numbers, labels, numbered
from app.drawings.inks import PAGE, Inks
from app.drawings.legend import (
    COMPASS_ROOM,
    COMPASS_WIDTH,
    draw_compass,
    draw_list,
    draw_notes,
    least_width,
    notes,
    wrapped,
)
from app.drawings.projection import VIEWS, Box, box_round
from app.drawings.scene import Scene, set_scene
from app.drawings.shapes import draw_shapes
from app.schemas.result import OutlineOut
from app.wording.translation import _

WORDS, NAMED_WORDS = 11.0, 18.5
"""Width kept free for the words beside the arrows, in letters."""
LIST_WIDTH = 31.0
"""Width that a list of words below a view needs, in letters."""


@dataclass(frozen=True, slots=True)
class ThreeViews:
    """SVG texts: each view alone, and the sheet with all three lined up."""

    side: str
    above: str
    behind: str
    sheet: str
    exaggeration: int
    """How many times deviations are drawn."""
    named: bool
    """Whether the words of the arrows begin with names: such a drawing wants the whole width."""


def three_views(
    measured: OutlineOut,
    before: OutlineOut | None = None,
    *,
    inks: Inks = PAGE,
    exaggeration: int | None = None,
) -> ThreeViews:
    """Draw a result's outline; `before` is that of the measurement before the repair.

    Without `exaggeration` the largest factor that keeps the drawing readable is taken.
    """
    scene = set_scene(measured, before, inks, exaggeration)
    return ThreeViews(
        side=single(scene, "side"),
        above=single(scene, "above"),
        behind=single(scene, "behind"),
        sheet=sheet(scene),
        exaggeration=scene.exaggeration,
        named=scene.named,
    )


def view_name(view: str) -> str:
    """The direction of view in words."""
    names = {
        "side": _("Seen from the right side"),
        "above": _("Seen from above"),
        "behind": _("Seen from behind"),
    }
    return names[view]


def room(view: str, scene: Scene, words: float) -> Box:
    """The box of a view with its name, the compass, and `words` letters to the right.

    Views that stand beside each other are equally high, whatever their labels need.
    """
    letter = scene.letter
    top = max(headroom(one, scene) for one in BESIDE[view]) if words else 3.0 * letter
    return box_round(view, scene.shapes).grown(
        2.5 * letter, top, (words or 2.5) * letter, COMPASS_ROOM * letter
    )


BESIDE = {"side": ("side", "behind"), "behind": ("side", "behind"), "above": ("above",)}


def headroom(view: str, scene: Scene) -> float:
    """Height above the shapes: for the view's name, and for labels that reach higher."""
    highest = min((label.top for label in labels(view, scene)), default=math.inf)
    above = box_round(view, scene.shapes).top - highest
    return max(3.0 * scene.letter, above + 0.5 * scene.letter)


def words_beside(scene: Scene) -> float:
    """Width kept free for the words beside the arrows, in letters."""
    return NAMED_WORDS if scene.named else WORDS


def draw_view(view: str, scene: Scene, outer: Box) -> str:
    """Everything of one view but its words, in its own coordinates."""
    letter = scene.letter
    name_at = (outer.left + 0.4 * letter, outer.top + 1.2 * letter)
    name = svg.text(name_at, view_name(view), letter, scene.inks, font_weight=700.0)
    return "".join([name, draw_shapes(view, scene), draw_compass(view, scene, outer)])


def draw_labelled(view: str, scene: Scene) -> str:
    """One view with the words beside its arrows."""
    words = draw_deviations(view, scene, box_round(view, scene.shapes))
    return draw_view(view, scene, room(view, scene, words_beside(scene))) + words


def single(scene: Scene, view: str) -> str:
    """One view with its notes beside the compass. Where the words need names, they stand in a
    list below, so that the view itself can be as large as the width allows."""
    letter = scene.letter
    outer = alone(view, scene)
    told = wrapped(scene, min(alone(one, scene).width for one in VIEWS) - COMPASS_WIDTH * letter)
    at = (outer.left + COMPASS_WIDTH * letter, outer.bottom - (COMPASS_ROOM - 1.4) * letter)
    height = outer.height + max(0.0, 1.4 * len(told) + 1.8 - COMPASS_ROOM) * letter
    content = [draw_view(view, scene, outer), draw_notes(scene, told, at)]
    if scene.named:
        lines = numbered(view, scene)
        foot = (outer.left + 0.4 * letter, outer.top + height)
        content += [draw_numbers(view, scene), draw_list(lines, scene, foot)]
        height += (1.3 * len(lines) + 0.8) * letter
    else:
        content.append(draw_deviations(view, scene, box_round(view, scene.shapes)))
    title = spoken(scene, (view,))
    return svg.document(content, title, outer.left, outer.top, outer.width, height)


def alone(view: str, scene: Scene) -> Box:
    """The box of a view that stands by itself, wide enough for its notes or its list."""
    outer = room(view, scene, 0.0 if scene.named else WORDS)
    least = COMPASS_WIDTH * scene.letter + least_width(scene)
    if scene.named:
        least = max(least, LIST_WIDTH * scene.letter)
    return outer.grown(0.0, 0.0, max(0.0, least - outer.width), 0.0)


def sheet(scene: Scene) -> str:
    """All three views: behind beside the side view, above under it, the notes in the corner."""
    side, above, behind = (room(view, scene, words_beside(scene)) for view in VIEWS)
    gap = 0.4 * scene.letter
    beside = max(behind.width, gap + least_width(scene))
    told = wrapped(scene, beside - gap)
    content = [
        draw_labelled("side", scene),
        moved(draw_labelled("behind", scene), side.right - behind.left, 0.0),
        moved(draw_labelled("above", scene), 0.0, side.bottom - above.top),
        draw_notes(scene, told, (side.right + gap, side.bottom + 2.0 * scene.letter)),
    ]
    height = side.height + max(above.height, (2.5 + 1.4 * len(told)) * scene.letter)
    title = spoken(scene, VIEWS)
    return svg.document(content, title, side.left, side.top, side.width + beside, height)


def moved(content: str, right: float, down: float) -> str:
    """The content moved on the sheet."""
    return svg.element("g", content, transform=f"translate({svg.number(right)} {svg.number(down)})")


def spoken(scene: Scene, views: tuple[str, ...]) -> str:
    """What the drawing shows, for those who cannot see it."""
    parts = []
    for view in views:
        words = [", ".join(label.lines) for label in labels(view, scene)]
        parts.append(": ".join([view_name(view), "; ".join(words) or _("no deviation to draw")]))
    parts += [words for _kind, words in notes(scene) if _kind == "words"]
    return ". ".join(parts)
