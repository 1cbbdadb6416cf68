"""What is drawn in all three views: the shapes of reference, measured and before, in one scale."""

from dataclasses import dataclass

from app.drawings.carried import CARRIER
from app.drawings.exaggeration import (
    Shift,
    as_shape,
    exaggerated,
    extent,
    fitting_factor,
    shifts,
)
from app.drawings.inks import Inks
from app.drawings.places import Place, Shape
from app.schemas.result import OutlineOut

DATUM = frozenset({"pivot_axis", "face_left", "face_right"})
"""The chassis' own datum: everything else is measured from it, so it carries no arrow."""
HEAD = frozenset({"steering_axis", "head"})
"""Where nothing else carries an arrow, its words need no name."""
LETTERS = 26.0
"""The extent of the chassis in heights of the letters."""


@dataclass(frozen=True, slots=True)
class Scene:
    """Lengths in mm of the machine: one unit of the drawing is one millimetre."""

    reference: tuple[Shape, ...]
    measured: tuple[Shape, ...]
    before: tuple[Shape, ...]
    during: tuple[Shape, ...]
    """The last measurement while the correction went on, where it stands behind another."""
    phase: str
    """When `measured` was measured: `before`, `during` or `after` the correction."""
    shifts: tuple[Shift, ...]
    exaggeration: int
    letter: float
    """Height of the letters; all widths and gaps are multiples of it."""
    levelled: bool
    inks: Inks

    @property
    def named(self) -> bool:
        """Whether the words of an arrow begin with the name of what moved."""
        return any(shift.name not in HEAD for shift in self.shifts)

    @property
    def names(self) -> frozenset[str]:
        """First parts of the names of everything drawn."""
        return frozenset(shape.name.partition(".")[0] for shape in self.shapes)

    @property
    def carried(self) -> frozenset[str]:
        """Names of measured shapes that are not drawn where they were measured, but moved with
        what carries them."""
        known = {shape.name for shape in self.reference} if self.exaggeration > 1 else set()
        without = {shape.name for shape in self.measured} - known
        return frozenset(name for name in without if CARRIER.get(name) in known)

    @property
    def shapes(self) -> tuple[Shape, ...]:
        return (*self.reference, *self.before, *self.during, *self.measured)


def set_scene(
    measured: OutlineOut,
    before: OutlineOut | None,
    inks: Inks,
    exaggeration: int | None,
    during: OutlineOut | None = None,
    phase: str = "after",
) -> Scene:
    """Lay out all shapes; the factor is chosen to fit unless it is given."""
    outlines = [one for one in (measured, before, during) if one is not None]
    factor = exaggeration or fitting_factor(outlines)
    return Scene(
        reference=linked([as_shape(one) for one in measured["reference"]]),
        measured=linked(exaggerated(measured, factor)),
        before=() if before is None else linked(exaggerated(before, factor)),
        during=() if during is None else linked(exaggerated(during, factor)),
        phase=phase,
        shifts=arrows_of(shifts(measured, factor)),
        exaggeration=factor,
        letter=max(extent(outline) for outline in outlines) / LETTERS,
        levelled=measured["levelled"],
        inks=inks,
    )


def linked(shapes: list[Shape]) -> tuple[Shape, ...]:
    """The shapes with a thin line from the middle of the pivot axis to the head.

    It stands for no tube: it is the distance that the eye compares.
    """
    named = {shape.name: shape for shape in shapes}
    pivot, head = named.get("pivot_axis"), named.get("head")
    if pivot is None or head is None or len(pivot.points) != 2:
        return tuple(shapes)
    return (Shape("link", "segment", (middle(*pivot.points), head.points[0]), None), *shapes)


def middle(a: Place, b: Place) -> Place:
    """The point midway."""
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)


def arrows_of(found: list[Shift]) -> tuple[Shift, ...]:
    """The shifts that get an arrow: not the datum's, and each place once."""
    once = {
        tuple(round(value, 3) for value in shift.drawn): shift
        for shift in found
        if shift.name not in DATUM
    }
    return tuple(once.values())
