"""The features of a known machine as the engine would associate them if it saw without error."""

from collections.abc import Mapping

import numpy as np

from app.chassis.associated import Associated, Edge, Leg, Line
from app.chassis.survey import NO_HANDLING, Handling, Reference, Tolerance
from app.demonstration import elements
from app.demonstration.elements import Head, TrueLine, TrueWheel
from app.demonstration.handling_truth import Running
from app.demonstration.machine import Machine, Wheel
from app.demonstration.machine_truth import Terms
from app.demonstration.session import Session
from app.demonstration.vectors import Floats
from app.geometry.dual import Scalar, Vector

SIDES = ("left", "right")
Motion = tuple[Floats, Floats]
"""Rotation (3, 3) and shift (3,) from the machine's frame to the instrument's."""


class Seen:
    """A machine in a session, seen from an instrument that stands anywhere."""

    def __init__(self, machine: Machine, session: Session, motion: Motion) -> None:
        self.machine, self.session = machine, session
        self.rotation, self.shift = motion

    def place(self, place: Floats) -> Vector:
        return Vector(self.rotation @ np.asarray(place) + self.shift)

    def way(self, direction: Floats) -> Vector:
        return Vector(self.rotation @ direction)

    def line(self, true: TrueLine, along: float = 0.0) -> Line:
        return Line(self.place(true.point + along * true.direction), self.way(true.direction))

    def associated(self) -> Associated:
        """The lines' points are any of theirs, as a fit might give them."""
        machine, arm, head = self.machine, self.machine.arm, Head.of(self.machine.head)
        left = TrueLine(np.zeros(3), elements.LEFT)
        base = float(self.rotation[:, 1] @ self.shift)
        return Associated(
            pivot=self.line(left, 41.0),
            faces=_either_side(base, machine.head.pivot_width_mm),
            steering=self.line(head.line, -77.0),
            head=self.place(head.point),
            points=self._points(),
            lines={
                name: self.line(elements.further_axis(axis), 9.0)
                for name, axis in machine.axes.items()
            },
            rear_axle=None if arm is None else self.line(elements.axle(arm), 33.0),
            axle_faces={} if arm is None else _either_side(base + arm.offset_mm, arm.width_mm),
            legs=self._legs(head),
            rims=self._rims(head),
        )

    def _points(self) -> dict[str, dict[str, Vector]]:
        machine = self.machine
        ends = dict(zip(("rear", "front"), machine.level_line or (), strict=False))
        pairs = {
            f"{name}.{side}": place
            for name, both in machine.pairs.items()
            for side, place in zip(SIDES, both, strict=True)
        }
        found = {"control": machine.controls, "pair": pairs, "level_line": ends}
        return {
            feature: {label: self.place(np.array(place)) for label, place in places.items()}
            for feature, places in found.items()
        }

    def _legs(self, head: Head) -> Mapping[str, Leg]:
        if self.machine.fork is None:
            return {}
        both = elements.legs(self.machine.fork, head, self.session.fork_steering)
        return {
            side: Leg(
                self.line(leg, float(along.mean())),
                self.place(leg.at(along).mean(axis=0)),
                len(along),
            )
            for side, leg, along in zip(SIDES, both, self.session.legs, strict=True)
        }

    def _rims(self, head: Head) -> Mapping[str, Mapping[str, Edge]]:
        front, rear = self.machine.front_wheel, self.machine.rear_wheel
        found = {}
        if front is not None:
            true = elements.front_wheel(front, head, self.session.wheel_steering)
            found["front"] = self._edges(front, true)
        if rear is not None:
            found["rear"] = self._edges(rear, elements.rear_wheel(rear))
        return found

    def _edges(self, wheel: Wheel, true: TrueWheel) -> dict[str, Edge]:
        return {
            side: Edge(
                self.place(true.centre + 0.5 * sign * wheel.width_mm * true.normal),
                self.way(true.normal),
                Scalar(wheel.radius_mm),
            )
            for side, sign in zip(SIDES, (1.0, -1.0), strict=True)
        }


def _either_side(middle: float, width: float) -> dict[str, Scalar]:
    return {"left": Scalar(middle + 0.5 * width), "right": Scalar(middle - 0.5 * width)}


def reference_of(terms: Terms, running: Running | None = None) -> Reference:
    """What the engine is told of the same terms."""
    nominal = {"by_height": "head_height", "by_angle": "head_angle"}.get(terms.levelling or "")
    known = {} if nominal is None else {nominal: Tolerance(terms.nominal)}
    known |= {f"distance.{one}.{other}": Tolerance() for one, other in terms.distances}
    return Reference(
        known,
        terms.levelling,
        control_points=terms.controls,
        control_weights=terms.weights,
        handling=NO_HANDLING if running is None else handling_of(running),
    )


def handling_of(running: Running) -> Handling:
    return Handling(
        running.attitude_deg,
        running.fork_offset_mm,
        running.front_tyre_radius_mm,
        running.rear_tyre_radius_mm,
        running.wheelbase_mm,
        running.arm_droop_deg,
        running.head_above_ground_mm,
    )
