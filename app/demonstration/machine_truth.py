"""What is true of a known machine, characteristic by characteristic, by this file's own algebra.

Angles in degrees, lengths in mm. Where the design defines a characteristic by the places that were
measured (the legs of the fork), the session says which these were.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from app.demonstration import elements, fork_truth, wheel_truth
from app.demonstration.datum_truth import datum_against
from app.demonstration.elements import Head
from app.demonstration.machine import Arm, Machine, Triple
from app.demonstration.pose import truth
from app.demonstration.session import Session
from app.demonstration.vectors import Floats, turned

RULES = ("by_control", "by_line", "by_height", "by_angle")
Values = Iterator[tuple[str, float]]


@dataclass(frozen=True, slots=True)
class Terms:
    """What a reference says that decides a value: the levelling with its nominal (head height in
    mm or head angle in degrees), the control points, and which distances are wanted."""

    levelling: str | None = None
    nominal: float = 0.0
    controls: Mapping[str, Triple] = field(default_factory=lambda: MappingProxyType({}))
    weights: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    distances: tuple[tuple[str, str], ...] = ()


def true_values(machine: Machine, terms: Terms, session: Session | None = None) -> dict[str, float]:
    """Every characteristic of sections 5.2 to 5.7 that this machine has under these terms.

    Without a session, both fork legs were measured at the same heights.
    """
    found = dict(truth(machine.head))
    found.update(_not_levelled(machine, terms))
    if machine.fork is not None:
        touched = np.zeros((2, 1)) if session is None else session.legs
        found.update(fork_truth.fork_values(machine.fork, Head.of(machine.head), touched))
    if terms.levelling is not None:
        found.update(_levelled(machine, terms, raised(machine, terms)))
    return found


def _not_levelled(machine: Machine, terms: Terms) -> Values:
    if machine.arm is not None:
        yield from arm_values(machine.arm)
    for name, (left, right) in machine.pairs.items():
        yield f"pair_offset.{name}", 0.5 * (left[1] + right[1])
    for one, other in terms.distances:
        apart = math.dist(machine.controls[one], machine.controls[other])
        yield f"distance.{one}.{other}", apart
    known = {name: place for name, place in machine.controls.items() if name in terms.controls}
    if len(known) > 2:
        yield from datum_against(known, terms.controls, terms.weights)
    if machine.front_wheel is not None:
        yield from wheel_truth.against_head(machine.front_wheel, Head.of(machine.head))


def arm_values(arm: Arm) -> Values:
    """From the axle as it lies, seen along the arm and across it."""
    axle = elements.axle(arm)
    in_side_view = complex(axle.point[0], axle.point[2])
    along = in_side_view / abs(in_side_view)
    # Of the axle's direction in side view, the parts along the arm (rearward) and square to it:
    # turned by the arm's own angle, its real part is rearward, its imaginary part down.
    slope = complex(axle.direction[0], axle.direction[2]) / along / axle.direction[1]
    yield "arm_length", abs(in_side_view)
    yield "axle_toe", math.degrees(math.atan(slope.real))
    yield "axle_twist", -math.degrees(math.atan(slope.imag))
    yield "axle_offset", float(axle.point[1])


def raised(machine: Machine, terms: Terms) -> float:
    """Rad: by how much the levelling raises the front of the machine as it stands."""
    pose = machine.head
    if terms.levelling in ("by_height", "by_angle"):
        found = truth(pose, terms.levelling, terms.nominal)
        return math.radians(found["head_angle"] - pose.head_angle_deg)
    if terms.levelling == "by_line":
        if machine.level_line is None:
            raise ValueError(terms.levelling)
        rear, front = machine.level_line
        return -math.atan2(front[2] - rear[2], front[0] - rear[0])
    if terms.levelling != "by_control":
        raise ValueError(terms.levelling)
    # The best turn of complex numbers onto others is the argument of their summed products.
    both = [
        (terms.weights.get(name, 1.0), machine.controls[name], nominal)
        for name, nominal in terms.controls.items()
        if name in machine.controls
    ]
    total = sum(w * complex(m[0], -m[2]) * complex(n[0], n[2]) for w, m, n in both)
    return math.atan2(total.imag, total.real)


def _levelled(machine: Machine, terms: Terms, by: float) -> Values:
    # A turn that raises the front is negative about the axis to the left.
    level = turned([0.0, -by, 0.0])
    head = complex(machine.head.head_reach_mm, machine.head.head_height_mm)
    at = head * complex(math.cos(by), math.sin(by))
    yield "head_reach", at.real
    yield "head_height", at.imag
    yield "head_angle", machine.head.head_angle_deg + math.degrees(by)
    for name, both in machine.pairs.items():
        yield from _pair(name, level @ np.array(both[0]), level @ np.array(both[1]))
    for name, place in machine.controls.items():
        if name in terms.controls:
            off = level @ np.array(place) - np.array(terms.controls[name])
            yield from zip((f"control.{name}.{way}" for way in "xyz"), off.tolist(), strict=True)
    for name, axis in machine.axes.items():
        along = level @ elements.further_axis(axis).direction
        yield f"axis_toe.{name}", -math.degrees(math.atan(along[0] / along[1]))
        yield f"axis_twist.{name}", math.degrees(math.atan(along[2] / along[1]))
    yield from wheel_truth.against_rear(machine, level)


def _pair(name: str, left: Floats, right: Floats) -> Values:
    across, apart = left - right, left[1] - right[1]
    yield f"pair_roll.{name}", math.degrees(math.atan(across[2] / apart))
    yield f"pair_skew.{name}", -math.degrees(math.atan(across[0] / apart))
