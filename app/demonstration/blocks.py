"""The points of a whole machine, block by block, as a perfect instrument finds them at 20 °C."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from app.demonstration import elements
from app.demonstration.elements import Head, TrueWheel
from app.demonstration.extent import RIMS, Extent
from app.demonstration.machine import Machine, Triple, Wheel
from app.demonstration.session import Session
from app.demonstration.vectors import Floats

SIDES = ("left", "right")
SIGNS = {"left": 1.0, "right": -1.0}
HALF_TURN = "half_turn"


class Block(NamedTuple):
    """Points of one feature, label and station on one part; places (k, 3) in the machine's frame,
    each moved outward by the ball (outward: (3,), None: touched without one)."""

    feature: str
    label: str | None
    part: str
    places: Floats
    outward: Floats | None = None
    station: str | None = None


def blocks(machine: Machine, extent: Extent, session: Session) -> list[Block]:
    """All of the extent's features that the machine has, in the order of measuring."""
    found = [
        *_on_frame(machine, extent),
        *_axes(machine, session),
        *_arm(machine, session),
        *_fork(machine, session),
        *_wheels(machine, extent, session),
    ]
    return [block for block in found if block.feature in extent.features and len(block.places)]


def _on_frame(machine: Machine, extent: Extent) -> Iterator[Block]:
    def touched(place: Triple) -> Floats:
        return np.tile(place, (extent.replicates, 1))

    for end, place in zip(("rear", "front"), machine.level_line or (), strict=False):
        yield Block("level_line", end, "frame", touched(place))
    for name, place in machine.controls.items():
        yield Block("control", name, "frame", touched(place))
    for name, both in machine.pairs.items():
        for side, place in zip(SIDES, both, strict=True):
            yield Block("pair", f"{name}.{side}", "frame", touched(place))


def _axes(machine: Machine, session: Session) -> Iterator[Block]:
    for (name, axis), along in zip(machine.axes.items(), session.axes, strict=True):
        yield Block("axis", name, "frame", elements.further_axis(axis).at(along))


def _arm(machine: Machine, session: Session) -> Iterator[Block]:
    """The axle's points bear the label of their side; each face leans about where the axle passes
    it."""
    arm = machine.arm
    if arm is None:
        return
    axle = elements.axle(arm)
    for side in SIDES:
        on_side = session.axle[session.axle * SIGNS[side] > 0.0]
        yield Block("rear_axle", side, "arm", axle.at(on_side))
    for number, side in enumerate(SIDES):
        sign, lean = SIGNS[side], session.axle_tilt[number]
        # The face stands at half the width beside M along the pivot axis, on the axle's line.
        middle = axle.at(np.array([0.5 * sign * arm.width_mm / axle.direction[1]]))[0]
        touched = session.axle_face[number]
        places = middle + np.column_stack([touched[:, 0], touched @ lean, touched[:, 1]])
        outward = sign * np.array([-lean[0], 1.0, -lean[1]]) / np.sqrt(1.0 + lean @ lean)
        yield Block("axle_face", side, "arm", places, outward)


def _fork(machine: Machine, session: Session) -> Iterator[Block]:
    if machine.fork is None:
        return
    both = elements.legs(machine.fork, Head.of(machine.head), session.fork_steering)
    for side, leg, along in zip(SIDES, both, session.legs, strict=True):
        yield Block("fork_leg", side, "fork", leg.at(along))


def _wheels(machine: Machine, extent: Extent, session: Session) -> Iterator[Block]:
    if machine.front_wheel is not None:
        head = Head.of(machine.head)
        true = elements.front_wheel(machine.front_wheel, head, session.wheel_steering)
        yield from _rims(0, machine.front_wheel, true, extent, session)
    if machine.rear_wheel is not None:
        true = elements.rear_wheel(machine.rear_wheel)
        yield from _rims(1, machine.rear_wheel, true, extent, session)


def _rims(
    number: int, wheel: Wheel, true: TrueWheel, extent: Extent, session: Session
) -> Iterator[Block]:
    for half in (1.0, -1.0) if extent.half_turn else (1.0,):
        for edge, side in enumerate(SIDES):
            if side in extent.edges:
                angles = session.rims[number, edge]
                out = half * session.runout[number, edge]
                outward = SIGNS[side] * true.normal
                middle = true.centre + 0.5 * wheel.width_mm * outward
                places = middle + _circle(true, wheel.radius_mm, angles, out)
                station = None if half > 0.0 else HALF_TURN
                yield Block(RIMS[number], side, "wheel", places, outward, station)


def _circle(true: TrueWheel, radius: float, angles: Floats, out: Floats) -> Floats:
    """(k, 3): round the axle; out: (k, 2), along the axle and outward."""
    across = np.outer(np.cos(angles), true.first) + np.outer(np.sin(angles), true.second)
    circle: Floats = (radius + out[:, 1:]) * across + out[:, :1] * true.normal
    return circle
