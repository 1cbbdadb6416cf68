"""Symmetric pairs and further axes: left end against right end."""

from collections.abc import Mapping, Sequence

from app.chassis import caveats
from app.chassis.associated import Line
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.result import Caveat
from app.geometry.dual import Scalar, Vector, dot
from app.geometry.dual_sums import angles

CROSSWISE_NEEDED = 0.5
"""Least part of a further axis's direction that lies along the pivot axis."""


def characteristics(
    points: Mapping[str, Vector], datum: Datum, axes: MachineAxes | None
) -> dict[str, Scalar]:
    """points: `<name>.left` and `<name>.right`; axes: levelled, or None."""
    found, names = {}, complete(points)
    ends = [(points[f"{name}.left"], points[f"{name}.right"]) for name in names]
    if datum.middle is not None:
        for name, (left, right) in zip(names, ends, strict=True):
            found[f"pair_offset.{name}"] = dot(datum.left, left + right) * 0.5 - datum.middle
    if axes is not None:
        slants = slanted([left - right for left, right in ends], axes)
        for name, (rearward, high) in zip(names, slants, strict=True):
            found[f"pair_roll.{name}"], found[f"pair_skew.{name}"] = high, rearward
    return found


def complete(points: Mapping[str, Vector]) -> list[str]:
    """Names of the pairs of which both points were measured."""
    names = dict.fromkeys([label.rpartition(".")[0] for label in points])
    return [name for name in names if f"{name}.left" in points and f"{name}.right" in points]


def slanted(leftward: Sequence[Vector], axes: MachineAxes) -> list[tuple[Scalar, Scalar]]:
    """By how much each direction to the left has its left end rearward, and high, rad."""
    if not leftward:
        return []
    x, y, z = axes.directions(leftward)
    return list(zip(angles(-x, y), angles(z, y), strict=True))


def further_axes(
    lines: Mapping[str, Line], axes: MachineAxes
) -> tuple[dict[str, Scalar], list[Caveat]]:
    """Toe and twist of each further axis; what lies too much along the machine is left out."""
    found = {}
    along = [name for name, line in lines.items() if not _crosswise(line, axes)]
    names = [name for name in lines if name not in along]
    slants = slanted([lines[name].direction for name in names], axes)
    for name, (rearward, high) in zip(names, slants, strict=True):
        found[f"axis_toe.{name}"], found[f"axis_twist.{name}"] = rearward, high
    return found, [caveats.axis_not_crosswise(name) for name in along]


def _crosswise(line: Line, axes: MachineAxes) -> bool:
    """Over trials it is taken for granted: decided was with derivatives."""
    one, other = line.direction.value, axes.left.value
    if one.ndim > 1 or other.ndim > 1:
        return True
    return bool(abs(one @ other) >= CROSSWISE_NEEDED)
