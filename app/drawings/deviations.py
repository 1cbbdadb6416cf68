"""Deviations as arrows from reference to measured, with number and words beside them."""

import math
import textwrap
from dataclasses import dataclass

from app.drawings import svg
from app.drawings.exaggeration import Shift
from app.drawings.projection import AXES, Box, box_round, project
from app.drawings.scene import Scene
from app.drawings.svg import Point
from app.wording import elements
from app.wording.translation import _

LEAST_MM = 0.05
"""What would print as 0.0 mm gets no words."""
LINE = 1.2
"""Distance of lines of text, in letters."""
GAP = 0.4
"""Between two labels, in letters."""
COLUMN, LIST = 28, 48
"""Signs in a line beside an arrow, and in the list below a view."""
ALWAYS_TOLD, MOST_TOLD = 4, 8
"""So many get words whatever their room and size; more than the second cannot be read in one
view: the tables hold all."""
WORTH_TELLING = 0.1
"""Beyond `ALWAYS_TOLD`, only what is this part of the largest."""


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


def shown(view: str, scene: Scene) -> list[Shift]:
    """The shifts that this view shows, the largest first."""
    seen = [shift for shift in scene.shifts if lines_of(view, shift)]
    return sorted(seen, key=lambda shift: seen_size(view, shift), reverse=True)


def seen_size(view: str, shift: Shift) -> float:
    """The length of a shift as far as this view shows it, mm."""
    return math.hypot(*[shift.shift_mm[axis] for axis, _sign in AXES[view]])


def told(view: str, scene: Scene, most: int | None = None) -> list[Shift]:
    """The shifts that get words in this view: the largest ones.

    most: in a list below the view; None for words beside the arrows, as many as it is high.
    """
    found = shown(view, scene)
    least = WORTH_TELLING * seen_size(view, found[0]) if found else 0.0
    worth = [shift for shift in found[ALWAYS_TOLD:] if seen_size(view, shift) >= least]
    candidates = [*found[:ALWAYS_TOLD], *worth]
    return candidates[: fitting(view, scene, candidates) if most is None else most]


def fitting(view: str, scene: Scene, candidates: list[Shift]) -> int:
    """How many of them have room beside the view: as high as its shapes, but always a few."""
    room, height = box_round(view, scene.shapes).height, 0.0
    for count, shift in enumerate(candidates[:MOST_TOLD]):
        height += (LINE * len(written(view, shift, scene)) + GAP) * scene.letter
        if height > room and count >= ALWAYS_TOLD:
            return count
    return MOST_TOLD


def omits(view: str, scene: Scene, most: int | None) -> bool:
    """Whether some arrows of a view have no words."""
    return len(told(view, scene, most)) < len(shown(view, scene))


def written(view: str, shift: Shift, scene: Scene) -> tuple[str, ...]:
    """The lines beside an arrow: with many of them the name first, the numbers in one line."""
    lines = lines_of(view, shift)
    if not scene.named:
        return lines
    return (*textwrap.wrap(named(shift), COLUMN), *broken(", ".join(map(whole, lines)), COLUMN))


def whole(words: str) -> str:
    """The words with spaces at which no line ends: "6.2 mm back" stays together."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def broken(words: str, signs: int) -> list[str]:
    """Lines of at most so many signs; ended only where `whole` has left a space."""
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in textwrap.wrap(words, signs)]


def named(shift: Shift) -> str:
    """What moved: "tail, left end"."""
    return elements.name(shift.name, shift.end)


def labels(view: str, scene: Scene) -> list[Label]:
    """All labels of a view from top to bottom, moved apart where they would overlap."""
    wanted = [
        (project(view, shift.drawn), written(view, shift, scene)) for shift in told(view, scene)
    ]
    placed: list[Label] = []
    floor = float("-inf")
    for tip, lines in sorted(wanted, key=lambda one: one[0][1]):
        height = LINE * scene.letter * len(lines)
        top = max(tip[1] - height / 2, floor)
        placed.append(Label(tip, lines, top))
        floor = top + height + GAP * scene.letter
    return raised(placed, box_round(view, scene.shapes).bottom + 1.5 * scene.letter, scene.letter)


def raised(placed: list[Label], lowest: float, letter: float) -> list[Label]:
    """The same moved up as far as they would stand below `lowest`."""
    found: list[Label] = []
    for label in reversed(placed):
        top = min(label.top, lowest - LINE * letter * len(label.lines))
        found.insert(0, Label(label.tip, label.lines, top))
        lowest = top - GAP * letter
    return found


def draw_words(view: str, scene: Scene, box: Box) -> str:
    """The words beside the arrows, in a column to the right of all shapes (`box`)."""
    letter, inks = scene.letter, scene.inks
    column, placed = box.right + 1.8 * letter, labels(view, scene)
    leaders = [leader(label, column, letter) for label in placed]
    pen = {"stroke": inks.reference, "class_": "reference"}
    lines = svg.strokes(leaders, stroke_width=0.05 * letter, **pen) if leaders else ""
    written = [
        ((column, label.top + (row * LINE + 0.95) * letter), words)
        for label in placed
        for row, words in enumerate(label.lines)
    ]
    return lines + svg.words(written, letter, inks, fill=inks.accent, class_="accent")


def draw_arrows(view: str, scene: Scene) -> str:
    """An arrow for every shift that this view shows, as long as the exaggeration makes it."""
    letter = scene.letter
    ends = [(project(view, one.reference), project(view, one.drawn)) for one in shown(view, scene)]
    return svg.arrows(ends, 1.0 * letter, scene.inks.accent, 0.18 * letter, "accent")


def draw_numbers(view: str, scene: Scene, most: int) -> str:
    """Numbers at the heads of the arrows, for a list below (`numbered`)."""
    letter = scene.letter
    placed: list[Point] = []
    for shift in told(view, scene, most):
        x, y = project(view, shift.drawn)
        at = (x + 0.5 * letter, y - 0.4 * letter)
        while any(abs(at[0] - px) < 0.9 * letter and abs(at[1] - py) < letter for px, py in placed):
            at = (at[0] + 0.9 * letter, at[1])
        placed.append(at)
    lines = [(at, str(number)) for number, at in enumerate(placed, 1)]
    pen = {"fill": scene.inks.accent, "class_": "accent"}
    return svg.words(lines, letter, scene.inks, font_weight=700.0, **pen)


def numbered(view: str, scene: Scene, most: int) -> list[str]:
    """The list that goes with the numbers: "1  tail, left: 3.1 mm left"."""
    lines = []
    for number, shift in enumerate(told(view, scene, most), 1):
        words = f"{named(shift)}: {', '.join(map(whole, lines_of(view, shift)))}"
        first, *rest = broken(words, LIST)
        lines += [f"{number}  {first}", *rest]
    return lines


def leader(label: Label, column: float, letter: float) -> tuple[Point, Point]:
    """A thin line from the arrow's head to its words."""
    middle = label.top + LINE * letter * len(label.lines) / 2
    return (label.tip[0] + 0.35 * letter, label.tip[1]), (column - 0.35 * letter, middle)
