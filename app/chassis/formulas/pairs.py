"""Symmetric pairs and further axes: left end against right end."""

from collections.abc import Mapping

from app.chassis import caveats
from app.chassis.associated import Line
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.result import Caveat
from app.geometry.dual import Scalar, Vector, atan2, dot

CROSSWISE_NEEDED = 0.5
"""Least part of a further axis's direction that lies along the pivot axis."""
Ends = Mapping[str, tuple[Vector, Vector]]
"""Left and right one of each pair, by its name."""


def complete(points: Mapping[str, Vector]) -> Ends:
    """The pairs of which both points were measured; points: `<name>.left` and `<name>.right`."""
    names = dict.fromkeys([label.rpartition(".")[0] for label in points])
    return {
        name: (points[f"{name}.left"], points[f"{name}.right"])
        for name in names
        if f"{name}.left" in points and f"{name}.right" in points
    }


def offsets(ends: Ends, datum: Datum) -> dict[str, Scalar]:
    """The middle of each pair to the left of the machine's, mm."""
    if datum.middle is None:
        return {}
    return {
        f"pair_offset.{name}": dot(datum.left, left + right) * 0.5 - datum.middle
        for name, (left, right) in ends.items()
    }


def slants(ends: Ends, lines: Mapping[str, Line], axes: MachineAxes) -> dict[str, Scalar]:
    """By how much the left end is high (roll, twist) and rearward (skew, toe), rad."""
    found = {}
    for name, (left, right) in ends.items():
        high, rearward = _slant(left - right, axes)
        found[f"pair_roll.{name}"], found[f"pair_skew.{name}"] = high, rearward
    for name, line in lines.items():
        high, rearward = _slant(line.direction, axes)
        found[f"axis_twist.{name}"], found[f"axis_toe.{name}"] = high, rearward
    return found


def _slant(leftward: Vector, axes: MachineAxes) -> tuple[Scalar, Scalar]:
    across = dot(axes.left, leftward)
    return atan2(dot(axes.up, leftward), across), atan2(-dot(axes.forward, leftward), across)


def crosswise(lines: Mapping[str, Line], axes: MachineAxes) -> tuple[dict[str, Line], list[Caveat]]:
    """The further axes without those that lie too much along the machine."""
    along = [name for name, line in lines.items() if not _crosswise(line, axes)]
    across = {name: line for name, line in lines.items() if name not in along}
    return across, [caveats.axis_not_crosswise(name) for name in along]


def _crosswise(line: Line, axes: MachineAxes) -> bool:
    """Over trials it is taken for granted: decided was with derivatives."""
    one, other = line.direction.value, axes.left.value
    if one.ndim > 1 or other.ndim > 1:
        return True
    return bool(abs(one.dot(other)) >= CROSSWISE_NEEDED)
