"""The outline of a chassis from the survey's own coordinates, in three views that line up.

One unit of the drawing is one millimetre of the machine. Reference: thin, dashed, grey.
Measured: solid ink. Before, under an after: thin and dotted.
"""

from dataclasses import dataclass

from app.drawings import svg
from app.drawings.deviations import draw_deviations, labels
from app.drawings.inks import PAGE, Inks
from app.drawings.legend import COMPASS_ROOM, COMPASS_WIDTH, draw_compass, draw_notes, notes
from app.drawings.projection import VIEWS, Box, box_round
from app.drawings.scene import Scene, set_scene
from app.drawings.shapes import draw_shapes
from app.schemas.result import OutlineOut
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class ThreeViews:
    """SVG texts: each view alone, and the sheet with all three lined up."""

    side: str
    above: str
    behind: str
    sheet: str
    exaggeration: int
    """How many times deviations are drawn."""


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
    )


def view_name(view: str) -> str:
    """The direction of view in words."""
    names = {
        "side": _("Seen from the right side"),
        "above": _("Seen from above"),
        "behind": _("Seen from behind"),
    }
    return names[view]


def room(view: str, scene: Scene) -> Box:
    """The box of a view with room for its name, the labels and the compass."""
    letter = scene.letter
    return box_round(view, scene.shapes).grown(
        2.5 * letter, 3.0 * letter, 9.0 * letter, COMPASS_ROOM * letter
    )


def draw_view(view: str, scene: Scene) -> str:
    """Everything of one view, in its own coordinates."""
    box, outer = box_round(view, scene.shapes), room(view, scene)
    letter = scene.letter
    name_at = (outer.left + 0.4 * letter, outer.top + 1.2 * letter)
    name = svg.text(name_at, view_name(view), letter, scene.inks, font_weight=700.0)
    return "".join(
        [
            name,
            draw_shapes(view, scene),
            draw_deviations(view, scene, box),
            draw_compass(view, scene, outer),
        ]
    )


def single(scene: Scene, view: str) -> str:
    """One view with its notes beside the compass."""
    outer, letter = room(view, scene), scene.letter
    at = (outer.left + COMPASS_WIDTH * letter, outer.bottom - (COMPASS_ROOM - 1.4) * letter)
    rows = len(notes(scene))
    content = [draw_view(view, scene), draw_notes(scene, at)]
    height = outer.height + max(0.0, 1.4 * rows + 1.8 - COMPASS_ROOM) * letter
    title = spoken(scene, (view,))
    return svg.document(content, title, outer.left, outer.top, outer.width, height)


def sheet(scene: Scene) -> str:
    """All three views: behind beside the side view, above under it, the notes in the corner."""
    side, above, behind = (room(view, scene) for view in VIEWS)
    right = side.right - behind.left
    down = side.bottom - above.top
    corner = (side.right + 0.4 * scene.letter, side.bottom + 2.0 * scene.letter)
    content = [
        draw_view("side", scene),
        moved(draw_view("behind", scene), right, 0.0),
        moved(draw_view("above", scene), 0.0, down),
        draw_notes(scene, corner),
    ]
    height = side.height + max(above.height, (2.5 + 1.4 * len(notes(scene))) * scene.letter)
    title = spoken(scene, VIEWS)
    return svg.document(content, title, side.left, side.top, side.width + behind.width, height)


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
