"""A machine seen by an instrument that stands anywhere, in each state of `geometry.dual`."""

from collections.abc import Callable

import numpy as np

from app.chassis.associated import Associated, Edge, Leg, Line
from app.geometry.dual import Scalar, Vector, unit
from tests.chassis.formulas.machine import Features, Floats, Machine, Z

DIRECTIONS = ("direction", "normal")


def seen(features: Features, turn: Floats, shift: Floats) -> Features:
    """The same in the axes of an instrument; faces become their places along the pivot axis."""
    found = {
        name: turn @ value if name.endswith(DIRECTIONS) else turn @ value + shift
        for name, value in features.items()
    }
    left = found["pivot.direction"]
    return {
        name: np.asarray(left @ value) if name.startswith(("face", "axle_face")) else value
        for name, value in found.items()
    }


class Seen:
    """What an instrument saw: values () or (3,) by name, given out in each state."""

    def __init__(self, features: Features, up: tuple[float, float, float] | None = None) -> None:
        self.features, self.up = features, up
        self.columns: dict[str, slice] = {}
        first = 0
        for name, value in features.items():
            self.columns[name] = slice(first, first + value.size)
            first += value.size
        self.inputs = first

    @classmethod
    def by(
        cls, machine: Machine, turn: Floats | None = None, shift: Floats | None = None
    ) -> "Seen":
        turn = np.eye(3) if turn is None else turn
        shift = np.zeros(3) if shift is None else shift
        return cls(seen(machine.features(), turn, shift), tuple((turn @ Z).tolist()))

    @property
    def numbers(self) -> Floats:
        """(inputs,)."""
        return np.concatenate([value.ravel() for value in self.features.values()])

    def with_derivatives(self) -> Associated:
        slopes = np.eye(self.inputs)

        def vector(name: str) -> Vector:
            return Vector(self.features[name], slopes[self.columns[name]])

        def scalar(name: str) -> Scalar:
            return Scalar(float(self.features[name]), slopes[self.columns[name]][0])

        return self._associated(vector, scalar)

    def over(self, numbers: Floats) -> Associated:
        """numbers: (inputs,) for constants, (inputs, trials) for trials."""

        def vector(name: str) -> Vector:
            return Vector(numbers[self.columns[name]])

        def scalar(name: str) -> Scalar:
            return Scalar(numbers[self.columns[name]][0])

        return self._associated(vector, scalar)

    def _associated(
        self, vector: Callable[[str], Vector], scalar: Callable[[str], Scalar]
    ) -> Associated:
        def line(name: str) -> Line:
            return Line(vector(f"{name}.point"), unit(vector(f"{name}.direction")))

        def leg(name: str) -> Leg:
            return Leg(line(name), vector(f"{name}.centroid"), 3)

        def edge(name: str) -> Edge:
            return Edge(vector(f"{name}.centre"), unit(vector(f"{name}.normal")), Scalar(220.0))

        def named(start: str) -> list[str]:
            names = [name.removeprefix(start) for name in self.features if name.startswith(start)]
            return list(dict.fromkeys([name.removesuffix(".point") for name in names]))

        sides = [side for side in ("left", "right") if f"leg.{side}.point" in self.features]
        axes = {name.removesuffix(".direction") for name in named("axis.")}
        return Associated(
            pivot=line("pivot"),
            faces={name: scalar(f"face.{name}") for name in named("face.")},
            steering=line("steering") if "steering.point" in self.features else None,
            head=vector("head") if "head" in self.features else None,
            points={
                feature: {name: vector(f"{feature}.{name}") for name in named(f"{feature}.")}
                for feature in ("control", "pair", "level_line")
            },
            lines={name: line(f"axis.{name}") for name in sorted(axes)},
            rear_axle=line("axle") if "axle.point" in self.features else None,
            axle_faces={name: scalar(f"axle_face.{name}") for name in named("axle_face.")},
            axle_ends={name: vector(f"axle_end.{name}") for name in named("axle_end.")},
            legs={side: leg(f"leg.{side}") for side in sides},
            rims={
                wheel: {
                    side: edge(f"rim.{wheel}.{side}")
                    for side in ("left", "right")
                    if f"rim.{wheel}.{side}.centre" in self.features
                }
                for wheel in ("front", "rear")
            },
            up=self.up,
        )
