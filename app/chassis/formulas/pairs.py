"""Symmetric pairs and further axes: left end against right end."""

from collections.abc import Mapping

from app.chassis import caveats
from app.chassis.associated import Line
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.result import Caveat
from app.geometry.dual import Scalar, Vector, atan2, dot

CROSSWISE_NEEDED = 0.5
"""Least part of a further axis's direction that lies along the pivot axis."""


def characteristics(
    points: Mapping[str, Vector], datum: Datum, axes: MachineAxes | None
) -> dict[str, Scalar]:
    """points: `<name>.left` and `<name>.right`; axes: levelled, or None."""
    found = {}
    for name in complete(points):
        left, right = points[f"{name}.left"], points[f"{name}.right"]
        if datum.middle is not None:
            found[f"pair_offset.{name}"] = dot(datum.left, left + right) * 0.5 - datum.middle
        if axes is not None:
            rearward, high = slanted(left - right, axes)
            found[f"pair_roll.{name}"], found[f"pair_skew.{name}"] = high, rearward
    return found


def complete(points: Mapping[str, Vector]) -> list[str]:
    """Names of the pairs of which both points were measured."""
    names = dict.fromkeys([label.rpartition(".")[0] for label in points])
    return [name for name in names if f"{name}.left" in points and f"{name}.right" in points]


def slanted(leftward: Vector, axes: MachineAxes) -> tuple[Scalar, Scalar]:
    """By how much a direction to the left has its left end rearward, and high, rad."""
    x, y, z = axes.direction(leftward)
    return atan2(-x, y), atan2(z, y)


def further_axes(
    lines: Mapping[str, Line], axes: MachineAxes
) -> tuple[dict[str, Scalar], list[Caveat]]:
    """Toe and twist of each further axis; what lies too much along the machine is left out."""
    found, warnings = {}, []
    for name, line in lines.items():
        across = dot(line.direction, axes.left).value
        if isinstance(across, float) and abs(across) < CROSSWISE_NEEDED:
            warnings.append(caveats.axis_not_crosswise(name))
            continue
        toe, high = slanted(line.direction, axes)
        found[f"axis_toe.{name}"], found[f"axis_twist.{name}"] = toe, high
    return found, warnings
