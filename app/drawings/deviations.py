"""Deviations as arrows from reference to measured, with number and words beside them."""

from dataclasses import dataclass

from app.drawings import svg
from app.drawings.exaggeration import Shift
from app.drawings.projection import AXES, Box, project
from app.drawings.scene import Scene
from app.drawings.svg import Point
from app.wording.translation import _

LEAST_MM = 0.05
"""What would print as 0.0 mm gets no words."""
LINE = 1.2
"""Distance of lines of text, in letters."""


@dataclass(frozen=True, slots=True)
class Label:
    """The words of one arrow, and where its first line stands."""

    tip: Point
    lines: tuple[str, ...]
    top: float


def words_of(axis: int, shift_mm: float) -> str:
    """One part of a shift in words: "6.2 mm back"."""
    number = f"{abs(shift_mm):.1f}"
    forward = shift_mm > 0
    if axis == 0:
        words = _("%(number)s mm forward") if forward else _("%(number)s mm back")
    elif axis == 1:
        words = _("%(number)s mm left") if forward else _("%(number)s mm right")
    else:
        words = _("%(number)s mm up") if forward else _("%(number)s mm down")
    return words % {"number": number}


def lines_of(view: str, shift: Shift) -> tuple[str, ...]:
    """The words of a shift as far as this view shows it."""
    seen = [axis for axis, _sign in AXES[view]]
    return tuple(
        words_of(axis, shift.shift_mm[axis])
        for axis in seen
        if abs(shift.shift_mm[axis]) >= LEAST_MM
    )


def labels(view: str, scene: Scene) -> list[Label]:
    """All labels of a view from top to bottom, pushed down where they would overlap."""
    wanted = [(project(view, shift.drawn), lines_of(view, shift)) for shift in scene.shifts]
    placed: list[Label] = []
    floor = float("-inf")
    for tip, lines in sorted(wanted, key=lambda one: one[0][1]):
        if lines:
            height = LINE * scene.letter * len(lines)
            top = max(tip[1] - height / 2, floor)
            placed.append(Label(tip, lines, top))
            floor = top + height + 0.4 * scene.letter
    return placed


def draw_deviations(view: str, scene: Scene, box: Box) -> str:
    """Arrows and labels; the labels stand in a column to the right of all shapes (`box`)."""
    column = box.right + 1.8 * scene.letter
    arrows = [draw_arrow(view, shift, scene) for shift in scene.shifts if lines_of(view, shift)]
    return "".join(arrows) + "".join(
        draw_label(label, column, scene) for label in labels(view, scene)
    )


def draw_arrow(view: str, shift: Shift, scene: Scene) -> str:
    """From the reference to the measured place, as long as the exaggeration makes it."""
    start, end = project(view, shift.reference), project(view, shift.drawn)
    colour, letter = scene.inks.accent, scene.letter
    return svg.arrow(start, end, 1.0 * letter, colour, 0.18 * letter, "accent")


def draw_label(label: Label, column: float, scene: Scene) -> str:
    """The words, with a thin line from the arrow's head to them."""
    letter, inks = scene.letter, scene.inks
    middle = label.top + LINE * letter * len(label.lines) / 2
    leader = svg.line(
        (label.tip[0] + 0.35 * letter, label.tip[1]), (column - 0.35 * letter, middle),
        stroke=inks.reference, stroke_width=0.05 * letter, class_="reference",
    )  # fmt: skip
    written = [
        svg.text(
            (column, label.top + (row * LINE + 0.95) * letter), words, letter, inks,
            fill=inks.accent, class_="accent",
        )
        for row, words in enumerate(label.lines)
    ]  # fmt: skip
    return leader + "".join(written)
