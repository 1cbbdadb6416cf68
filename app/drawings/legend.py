"""What a drawing says about itself: the compass, the kinds of line, the exaggeration."""

import textwrap
from collections.abc import Sequence

from app.drawings import svg
from app.drawings.deviations import omits
from app.drawings.projection import Box
from app.drawings.scene import Scene
from app.drawings.shapes import pen
from app.drawings.svg import Point
from app.wording.translation import _

COMPASS_ROOM = 5.0
"""Height kept free below the shapes, in letters."""
COMPASS_WIDTH = 8.0
"""Width that the compass takes, in letters."""
STEERED = frozenset({"front_wheel", "fork_left", "fork_right"})
"""Names of what turns with the steering, which may be measured at any angle."""
SIGN = 0.6
"""Width of a sign of running text in a wide face, in heights of its letters."""
LEAST_SIGNS = 30
"""Notes are not broken into shorter lines than these."""
ARM = 1.9
"""Length of the compass' arrows, in letters."""


def compass_words(view: str) -> tuple[str, str, float]:
    """The words across and upward, and whether the arrow across points right (1) or left (−1)."""
    return {
        "side": (_("forward"), _("up"), 1.0),
        "above": (_("forward"), _("left"), 1.0),
        "behind": (_("left"), _("up"), -1.0),
    }[view]


def draw_compass(view: str, scene: Scene, outer: Box) -> str:
    """Two small arrows in the lower left corner, so that nobody guesses the direction of view."""
    across, upward, way = compass_words(view)
    letter, inks = scene.letter, scene.inks
    start = 0.8 if way > 0 else 4.4
    origin = (outer.left + start * letter, outer.bottom - 1.0 * letter)
    right = (origin[0] + way * ARM * letter, origin[1])
    top = (origin[0], origin[1] - ARM * letter)
    size, head, width = 0.85 * letter, 0.6 * letter, 0.09 * letter
    beside = (right[0] + way * 0.3 * letter, right[1] + 0.3 * letter)
    return "".join(
        [
            svg.arrows([(origin, right), (origin, top)], head, inks.muted, width, "muted"),
            svg.text(
                beside, across, size, inks, fill=inks.muted,
                text_anchor="start" if way > 0 else "end",
            ),
            svg.text(
                (top[0], top[1] - 0.35 * letter), upward, size, inks, fill=inks.muted,
                text_anchor="middle",
            ),
        ]
    )  # fmt: skip


def kinds_of_line(scene: Scene) -> list[tuple[str, str]]:
    """Each kind of line that is drawn, and what it stands for."""
    lines = []
    if scene.reference:
        lines.append(("reference", _("reference")))
    if scene.before:
        lines.append(("before", _("measured before")))
    if scene.during:
        lines.append(("during", _("measured during the correction")))
    return [*lines, ("measured", measured_words(scene))]


def measured_words(scene: Scene) -> str:
    """What the solid line stands for: by itself it needs no phase."""
    if not (scene.before or scene.during):
        return _("measured")
    during = scene.phase == "during"
    return _("measured during the correction") if during else _("measured after")


def notes(scene: Scene, views: Sequence[str], most: int | None) -> list[tuple[str, str]]:
    """The lines below a drawing of these views: kind of line (or `words`) and what it says.

    most: of the words in a list below a view; None where they stand beside the arrows.
    """
    lines = kinds_of_line(scene)
    lines.append(("words", exaggeration_words(scene)))
    if "control" in scene.names:
        lines.append(("words", _("Crosses: control points.")))
    if scene.carried & STEERED:
        words = _("Fork and front wheel as the steering stood, moved with the head.")
        lines.append(("words", words))
    elif scene.names & STEERED:
        lines.append(("words", _("Fork and front wheel as the steering stood.")))
    if any(omits(view, scene, most) for view in views):
        lines.append(("words", _("Words at the largest arrows only.")))
    if not scene.levelled:
        lines.append(("words", _("Not levelled: up and forward are only roughly so.")))
    return lines


def exaggeration_words(scene: Scene) -> str:
    """The sentence that states by how much deviations are exaggerated."""
    if not scene.reference:
        return _("There is no reference outline; drawn as measured.")
    if scene.exaggeration == 1:
        return _("Deviations drawn at true size.")
    return _("Deviations drawn %(times)s times.") % {"times": scene.exaggeration}


def draw_list(lines: list[str], scene: Scene, at: Point) -> str:
    """The list that goes with the numbers at the arrows."""
    letter, inks = scene.letter, scene.inks
    written = [
        ((at[0], at[1] + (1.3 * row + 0.9) * letter), words) for row, words in enumerate(lines)
    ]
    return svg.words(written, letter, inks, fill=inks.accent, class_="accent")


def wrapped(scene: Scene, told: Sequence[tuple[str, str]], width: float) -> list[tuple[str, str]]:
    """Notes with lines no longer than a width, mm, which is at least `least_width`."""
    signs = max(LEAST_SIGNS, int(width / (0.9 * SIGN * scene.letter)))
    return [(kind, line) for kind, words in told for line in textwrap.wrap(words, signs)]


def least_width(scene: Scene) -> float:
    """The width that notes need however often they are broken, mm."""
    return LEAST_SIGNS * 0.9 * SIGN * scene.letter


def draw_notes(scene: Scene, lines: list[tuple[str, str]], at: Point) -> str:
    """The notes as lines of text below each other, each kind of line with a sample."""
    letter, inks = scene.letter, scene.inks
    drawn, written = [], []
    for row, (kind, words) in enumerate(lines):
        y = at[1] + (1.4 * row + 0.9) * letter
        x = at[0]
        if kind != "words":
            middle = y - 0.3 * letter
            drawn.append(svg.line((x, middle), (x + 3.2 * letter, middle), **pen(kind, scene)))
            x += 3.8 * letter
        written.append(((x, y), words))
    return "".join(drawn) + svg.words(written, 0.9 * letter, inks)
