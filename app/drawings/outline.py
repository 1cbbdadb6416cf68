"""The outline of a chassis from the survey's own coordinates, in three views that line up.

One unit of the drawing is one millimetre of the machine. Reference: thin, dashed, grey.
Measured: solid ink. Before, under an after: thin and dotted.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from app.drawings import svg
from app.drawings.deviations import (
    ALWAYS_TOLD,
    MOST_TOLD,
    draw_arrows,
    draw_numbers,
    draw_words,
    labels,
    numbered,
)
from app.drawings.inks import PAGE, Inks
from app.drawings.legend import (
    COMPASS_ROOM,
    COMPASS_WIDTH,
    draw_compass,
    draw_list,
    draw_notes,
    exaggeration_words,
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
LIST_WIDTH = 31.2
"""Width that a list of words below a view needs, in letters."""


@dataclass(frozen=True)
class ThreeViews:
    """Each view alone, and the sheet with all three lined up, as SVG texts; each is drawn when it
    is asked for."""

    scene: Scene
    shared: str
    listed: int

    @cached_property
    def side(self) -> str:
        return single(self.scene, "side", self.listed, self.shared)

    @cached_property
    def above(self) -> str:
        return single(self.scene, "above", self.listed, self.shared, brief=bool(self.shared))

    @cached_property
    def behind(self) -> str:
        return single(self.scene, "behind", self.listed, self.shared, brief=bool(self.shared))

    @cached_property
    def sheet(self) -> str:
        return sheet(self.scene, self.shared)

    @property
    def exaggeration(self) -> int:
        """How many times deviations are drawn."""
        return self.scene.exaggeration

    @property
    def named(self) -> bool:
        """Whether the words of the arrows begin with names: such a drawing wants the whole
        width."""
        return self.scene.named


def three_views(
    measured: OutlineOut,
    before: OutlineOut | None = None,
    *,
    inks: Inks = PAGE,
    exaggeration: int | None = None,
    during: OutlineOut | None = None,
    phase: str = "after",
    shared: str = "",
    listed: int = ALWAYS_TOLD,
) -> ThreeViews:
    """Draw a result's outline; `before` and `during` are those of earlier measurements of the
    same machine, `phase` is when the one drawn solid was measured.

    Without `exaggeration` the largest factor that keeps the drawing readable is taken. With
    `shared` the single views take what they have in common with the sheet from there, for pages
    that hold both: it begins the identifiers and must be unlike any other on the page. Below
    each other, as narrow screens show them, the side view then explains the lines for all.
    `listed`: so many arrows have words in the list below a single view.
    """
    return ThreeViews(
        set_scene(measured, before, inks, exaggeration, during, phase), shared, listed
    )


def one_view(
    measured: OutlineOut, view: str, *, inks: Inks = PAGE, exaggeration: int | None = None
) -> str:
    """One of the three views alone."""
    return single(set_scene(measured, None, inks, exaggeration), view, MOST_TOLD)


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


def draw_frame(view: str, scene: Scene, outer: Box) -> str:
    """The view's name and its compass."""
    letter = scene.letter
    name_at = (outer.left + 0.4 * letter, outer.top + 1.2 * letter)
    name = svg.text(name_at, view_name(view), letter, scene.inks, font_weight=700.0)
    return name + draw_compass(view, scene, outer)


def draw_view(view: str, scene: Scene) -> str:
    """All shapes and arrows of one view, in its own coordinates."""
    return draw_shapes(view, scene) + draw_arrows(view, scene)


def draw_labelled(view: str, scene: Scene, shared: str) -> str:
    """One view with the words beside its arrows."""
    drawn = draw_view(view, scene)
    return "".join(
        [
            svg.element("g", drawn, id=f"{shared}-{view}") if shared else drawn,
            draw_frame(view, scene, room(view, scene, words_beside(scene))),
            draw_words(view, scene, box_round(view, scene.shapes)),
        ]
    )


def single(scene: Scene, view: str, listed: int, shared: str = "", *, brief: bool = False) -> str:
    """One view with its notes beside the compass, or `brief` with the exaggeration alone.

    Where the words need names, they stand in a list below, so that the view itself can be as
    large as the width allows.
    """
    letter = scene.letter
    outer = alone(view, scene)
    most = listed if scene.named else None
    width = min(alone(one, scene).width for one in VIEWS) - COMPASS_WIDTH * letter
    kinds = [("words", exaggeration_words(scene))] if brief else notes(scene, (view,), most)
    told = wrapped(scene, kinds, width)
    at = (outer.left + COMPASS_WIDTH * letter, outer.bottom - (COMPASS_ROOM - 1.4) * letter)
    height = outer.height + max(0.0, 1.4 * len(told) + 1.8 - COMPASS_ROOM) * letter
    drawn = svg.element("use", href=f"#{shared}-{view}") if shared else draw_view(view, scene)
    content = [drawn, draw_frame(view, scene, outer), draw_notes(scene, told, at)]
    if scene.named:
        lines = numbered(view, scene, listed)
        foot = (outer.left + 0.4 * letter, outer.top + height)
        content += [draw_numbers(view, scene, listed), draw_list(lines, scene, foot)]
        height += (1.3 * len(lines) + 0.8) * letter
    else:
        content.append(draw_words(view, scene, box_round(view, scene.shapes)))
    title = spoken(scene, (view,), most)
    return svg.document(content, title, outer.left, outer.top, outer.width, height)


def alone(view: str, scene: Scene) -> Box:
    """The box of a view that stands by itself, wide enough for its notes or its list."""
    outer = room(view, scene, 0.0 if scene.named else WORDS)
    least = COMPASS_WIDTH * scene.letter + least_width(scene)
    if scene.named:
        least = max(least, LIST_WIDTH * scene.letter)
    return outer.grown(0.0, 0.0, max(0.0, least - outer.width), 0.0)


def sheet(scene: Scene, shared: str = "") -> str:
    """All three views: behind beside the side view, above under it, the notes in the corner."""
    side, above, behind = (room(view, scene, words_beside(scene)) for view in VIEWS)
    gap = 0.4 * scene.letter
    beside = max(behind.width, gap + least_width(scene))
    told = wrapped(scene, notes(scene, VIEWS, None), beside - gap)
    content = [
        draw_labelled("side", scene, shared),
        moved(draw_labelled("behind", scene, shared), side.right - behind.left, 0.0),
        moved(draw_labelled("above", scene, shared), 0.0, side.bottom - above.top),
        draw_notes(scene, told, (side.right + gap, side.bottom + 2.0 * scene.letter)),
    ]
    height = side.height + max(above.height, (2.5 + 1.4 * len(told)) * scene.letter)
    title = spoken(scene, VIEWS, None)
    return svg.document(content, title, side.left, side.top, side.width + beside, height)


def moved(content: str, right: float, down: float) -> str:
    """The content moved on the sheet."""
    return svg.element("g", content, transform=f"translate({svg.number(right)} {svg.number(down)})")


def spoken(scene: Scene, views: tuple[str, ...], most: int | None) -> str:
    """What the drawing shows, for those who cannot see it; its words stand in the drawing and in
    the tables, so the largest will do."""
    parts = []
    for view in views:
        words = [", ".join(label.lines) for label in labels(view, scene)[:ALWAYS_TOLD]]
        parts.append(": ".join([view_name(view), "; ".join(words) or _("no deviation to draw")]))
    parts += [words for kind, words in notes(scene, views, most) if kind == "words"]
    return ". ".join(part.removesuffix(".") for part in parts)
