"""A machine built from known angles by rotations of its own, for tests of the formulas.

Everything is placed in machine axes: X forward, Y to the left, Z up, O the origin.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Features = dict[str, Floats]
X, Y, Z = np.eye(3)


def turning(axis: Floats, degrees: float) -> Floats:
    """(3, 3): a right-handed turn about an axis, by Rodrigues' formula."""
    x, y, z = axis / math.sqrt(axis @ axis)
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    angle = math.radians(degrees)
    return np.asarray(np.eye(3) + math.sin(angle) * k + (1.0 - math.cos(angle)) * (k @ k))


def between(one: Floats, other: Floats) -> Floats:
    """(3, 3): the shortest turn from one direction to another."""
    axis = np.cross(one, other)
    size = math.sqrt(axis @ axis)
    if size == 0.0:
        return np.eye(3)
    return turning(axis, math.degrees(math.atan2(size, float(one @ other))))


def slanted(main: Floats, *slants: tuple[Floats, float]) -> Floats:
    """The direction near `main` whose projections lean towards others by angles in degrees."""
    direction = main + sum(math.tan(math.radians(angle)) * other for other, angle in slants)
    return np.asarray(direction / math.sqrt(direction @ direction))


@dataclass(frozen=True)
class Fork:
    rake: float = 0.0
    lean: float = 0.0
    offset: float = 32.0
    spacing: float = 190.0
    spread: float = 0.0
    cross: float = 0.0
    left_height: float = 0.0
    right_height: float = 0.0


@dataclass(frozen=True)
class Wheels:
    """steer: how far the front one stands turned while it is measured, to the left; toe, lean: of
    the rear one; track: the front one to the left of it, when straight."""

    steer: float = 0.0
    lean: float = 0.0
    track: float = 0.0
    rear_toe: float = 0.0
    rear_lean: float = 0.0
    widths: Mapping[str, float] = field(default_factory=lambda: {"front": 90.0, "rear": 150.0})
    front_sides: tuple[str, ...] = ("left", "right")
    rear_sides: tuple[str, ...] = ("left", "right")


@dataclass(frozen=True)
class Pair:
    place: tuple[float, float, float] = (-300.0, 0.0, 250.0)
    half: float = 110.0
    roll: float = 0.0
    skew: float = 0.0


@dataclass(frozen=True)
class Machine:
    """mm and degrees; None leaves a part out."""

    reach: float = 640.0
    height: float = 380.0
    angle: float = 24.0
    twist: float = 0.0
    offset: float = 0.0
    width: float | None = 240.0
    head: bool = True
    steering: bool = True
    arm_length: float | None = 560.0
    droop: float = 7.0
    toe: float = 0.0
    axle_twist: float = 0.0
    axle_offset: float = 0.0
    axle_faces: bool = True
    pairs: Mapping[str, Pair] = field(default_factory=lambda: {"tail": Pair()})
    axes: Mapping[str, tuple[float, float]] = field(default_factory=lambda: {"shock": (0.0, 0.0)})
    """Toe and twist."""
    control: Mapping[str, tuple[float, float, float]] = field(
        default_factory=lambda: {
            "front_left": (410.0, 120.0, 95.0),
            "front_right": (410.0, -120.0, 95.0),
            "tail": (-250.0, 30.0, 310.0),
            "spar": (150.0, -90.0, 330.0),
        }
    )
    """Where they are, in machine axes."""
    level_line: tuple[float, float] | None = (-200.0, 350.0)
    """X of rear and front."""
    fork: Fork | None = field(default_factory=Fork)
    wheels: Wheels | None = field(default_factory=Wheels)

    @property
    def up(self) -> Floats:
        """The steering axis: leaning back by the angle, then its top to the right by the twist,
        square to its own plane."""
        back = turning(Y, -self.angle) @ Z
        return turning(turning(Y, -self.angle) @ X, self.twist) @ back

    @property
    def head_point(self) -> Floats:
        return np.array([self.reach, self.offset, self.height])

    def features(self) -> Features:
        """Points, directions and radii in machine axes, by name."""
        found: Features = {"pivot.point": 13.0 * Y, "pivot.direction": Y.copy()}
        if self.width is not None:
            found |= {"face.left": Y * self.width / 2.0, "face.right": -Y * self.width / 2.0}
        if self.steering:
            found["steering.point"] = self.head_point + 70.0 * self.up
            found["steering.direction"] = self.up
        if self.head:
            found["head"] = self.head_point
        return found | self._arm() | self._points() | self._fork() | self._wheels()

    def _arm(self) -> Features:
        if self.arm_length is None:
            return {}
        back = turning(Y, -self.droop) @ -X
        upward = np.cross(Y, back)
        middle = back * self.arm_length + Y * self.axle_offset
        axle = slanted(Y, (back, self.toe), (upward, self.axle_twist))
        found = {"axle.point": middle + 31.0 * axle, "axle.direction": axle}
        ends = "axle_face" if self.axle_faces else "axle_end"
        reach = axle / (axle @ Y)
        return found | {
            f"{ends}.left": middle + 110.0 * reach,
            f"{ends}.right": middle - 110.0 * reach,
        }

    def _points(self) -> Features:
        found: Features = {}
        for name, pair in self.pairs.items():
            half = pair.half * slanted(Y, (Z, pair.roll), (-X, pair.skew))
            found[f"pair.{name}.left"] = np.array(pair.place) + half
            found[f"pair.{name}.right"] = np.array(pair.place) - half
        for name, (toe, high) in self.axes.items():
            found[f"axis.{name}.point"] = np.array([-80.0, 20.0, 160.0])
            found[f"axis.{name}.direction"] = slanted(Y, (-X, toe), (Z, high))
        for name, place in self.control.items():
            found[f"control.{name}"] = np.array(place)
        if self.level_line is not None:
            rear, front = self.level_line
            found["level_line.rear"] = np.array([rear, 80.0, 210.0])
            found["level_line.front"] = np.array([front, -60.0, 210.0])
        return found

    def _fork(self) -> Features:
        if self.fork is None:
            return {}
        fork, own = self.fork, slanted(Z, (-X, self.fork.rake), (Y, self.fork.lean))
        # In the fork's own axes X is ahead of the legs, Y to the left, Z up them, and `own` is the
        # steering axis; this turns them into the machine's.
        placed = between(Z, self.up) @ between(own, Z)
        middle = self.head_point - 150.0 * self.up
        square = X - own * (own @ X)
        ahead = placed @ (square * (fork.offset / (X @ square)))
        found: Features = {}
        for side, sign, height in (("left", 1, fork.left_height), ("right", -1, fork.right_height)):
            leg = slanted(Z, (Y, sign * fork.spread / 2.0), (X, sign * fork.cross / 2.0))
            base = sign * fork.spacing / 2.0 * Y + leg * (height / leg[2])
            found[f"leg.{side}.centroid"] = middle + ahead + placed @ base
            found[f"leg.{side}.point"] = found[f"leg.{side}.centroid"] + placed @ leg * 40.0
            found[f"leg.{side}.direction"] = placed @ leg
        return found

    def _wheels(self) -> Features:
        if self.wheels is None:
            return {}
        wheels = self.wheels
        toed = turning(Z, wheels.rear_toe)
        across, ahead = toed @ Y, toed @ X
        rear = turning(ahead, wheels.rear_lean) @ across
        front = turning(ahead, wheels.rear_lean + wheels.lean) @ across
        rear_centre = np.array([-550.0, 4.0, -60.0])
        base = rear_centre + 1380.0 * ahead
        straight = base + rear * (wheels.track - rear @ (base - rear_centre))
        steered = turning(self.up, wheels.steer)
        centre = self.head_point + steered @ (straight - self.head_point)
        found: Features = {}
        for name, normal, middle, sides in (
            ("front", steered @ front, centre, wheels.front_sides),
            ("rear", rear, rear_centre, wheels.rear_sides),
        ):
            for side in sides:
                outward = 0.5 if side == "left" else -0.5
                found[f"rim.{name}.{side}.normal"] = normal
                found[f"rim.{name}.{side}.centre"] = middle + outward * wheels.widths[name] * normal
        return found
