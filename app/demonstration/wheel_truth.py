"""What is true of the wheels: the front one is turned until it stands straight behind the other."""

import math
from collections.abc import Iterator

import numpy as np

from app.demonstration import elements
from app.demonstration.elements import Head, TrueWheel
from app.demonstration.machine import Machine, Wheel
from app.demonstration.vectors import Floats, crossed, turned, unit

UP = np.array([0.0, 0.0, 1.0])
WIDEST = math.radians(80.0)


def against_head(wheel: Wheel, head: Head) -> Iterator[tuple[str, float]]:
    """Lean and offset of the front wheel against the steering axis, however it is turned."""
    true = elements.front_wheel(wheel, head)
    square = math.acos(float(true.normal @ head.axis))
    yield "front_wheel_lean", 90.0 - math.degrees(square)
    yield "front_wheel_offset", float(true.normal @ (true.centre - head.point))


def against_rear(machine: Machine, level: Floats) -> Iterator[tuple[str, float]]:
    """Lean and track of the front wheel, straight ahead, against the rear one, levelled."""
    if machine.front_wheel is None or machine.rear_wheel is None:
        return
    head = Head.of(machine.head)
    rear = elements.rear_wheel(machine.rear_wheel)
    up = level.T @ UP
    forward = unit(crossed(rear.normal, up))
    front = straight(elements.front_wheel(machine.front_wheel, head), head, forward)
    aside = crossed(up, forward)
    lean = [math.atan2(wheel.normal @ up, wheel.normal @ aside) for wheel in (front, rear)]
    yield "wheel_lean", math.degrees(lean[0] - lean[1])
    yield "wheel_track", float(rear.normal @ (front.centre - rear.centre))


def straight(wheel: TrueWheel, head: Head, forward: Floats) -> TrueWheel:
    """The wheel turned about the steering axis until its axle is square to `forward`, by halving
    the interval in which that happens."""

    def off(angle: float) -> float:
        return float(turned(angle * head.axis) @ wheel.normal @ forward)

    low, high = -WIDEST, WIDEST
    if off(low) > 0.0:
        low, high = high, low
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if off(middle) < 0.0 else (low, middle)
    return wheel.turned_about(head.line, 0.5 * (low + high))
