"""Surveys made from a known chassis: what is true is chosen, what is measured follows.

The truth comes from the pose by the formulas of this file alone; of the engine nothing is used
but the plain arrays that it takes in. All randomness comes from the generator passed in.
Lengths in mm, angles in degrees where a name says so, else in radians.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from app.chassis.survey import Instrument, Survey
from app.demonstration.elements import Head
from app.demonstration.pose import Pose, truth
from app.demonstration.rigs import Rig, Target, point_names, with_slip
from app.demonstration.survey_document import document
from app.demonstration.vectors import Floats, turned, unit

__all__ = [
    "Pose",
    "Rig",
    "Setup",
    "Simulated",
    "Target",
    "as_document",
    "draw_setup",
    "in_machine_axes",
    "measured_without_noise",
    "plumb",
    "simulate",
    "truth",
    "turned",
    "with_slip",
]


@dataclass(frozen=True, slots=True)
class Setup:
    """What else is true in one session: nothing of it belongs to the chassis."""

    targets: Floats
    """(T, 3): radius, height, direction."""
    steering: Floats
    """(S + returns,): the steering angle of each station, to the left positive."""
    pivot: Floats
    """(P + returned,): where along the axis each pivot point was touched."""
    face: Floats
    """(F, 2): where each pivot face point was touched: forward and up from the axis."""
    head_face: Floats
    """(K, 2): where the head face was touched, in two directions square to the axis."""
    bore: Floats
    """(B,): heights of the bore points above the head face."""
    tilt: Floats
    """(3, 2): lean of the head face, the left and the right pivot face, out of square."""
    ball_error: float
    """The probe's true radius less the one applied."""
    scale_error: float
    orientation: Floats
    """(3, 3): columns are the machine axes, seen in the instrument's."""
    origin: Floats
    """(3,): the middle of the machine in the instrument's axes."""
    slip: Floats
    """(3,): shift of the chassis in the set-up, machine axes."""


@dataclass(frozen=True, slots=True)
class Simulated:
    survey: Survey
    truth: dict[str, float] = field(hash=False)
    setup: Setup
    rig: Rig


def simulate(
    pose: Pose, rig: Rig, rng: np.random.Generator, setup: Setup | None = None
) -> Simulated:
    """One survey of the chassis by this rig; without a set-up, a random one."""
    chosen = draw_setup(pose, rig, rng) if setup is None else setup
    exact = measured_without_noise(pose, rig, chosen)
    noisy = exact + rig.noise_mm * rng.standard_normal(exact.shape)
    names = point_names(rig)
    survey = Survey(
        feature=names.feature,
        label=names.label,
        station=names.station,
        turn=names.turn,
        xyz=noisy,
        u=np.full(len(noisy), np.nan),
        offset=np.full(len(noisy), np.nan),
        up=plumb(chosen),
        instrument=Instrument(
            standard_uncertainty_mm=rig.noise_mm,
            offset_u_mm=rig.offset_u_mm,
            scale_u_ppm=rig.scale_u_ppm,
            probe_radius_mm=rig.probe_radius_mm,
        ),
        part_temperature_c=20.0,
    )
    return Simulated(survey, truth(pose), chosen, rig)


def draw_setup(pose: Pose, rig: Rig, rng: np.random.Generator) -> Setup:
    """A random session: the instrument anywhere, the person's touches near where they should be."""
    targets = np.array([[t.radius_mm, t.height_mm, t.direction_deg] for t in rig.targets])
    targets = targets.reshape(-1, 3) * [1.0, 1.0, math.pi / 180.0]
    stations = rig.stations_deg[: len(rig.stations_deg) if rig.targets else 0]
    again = [stations[0]] if rig.targets and rig.return_steering else []
    steering = np.radians([*stations, *again]) + 0.01 * rng.standard_normal(
        len(stations) + len(again)
    )
    pivot = np.array([*rig.pivot_mm, *(_ends(rig) if rig.return_pivot else ())])
    lean = math.tan(math.radians(rig.face_squareness_deg))
    return Setup(
        targets=targets,
        steering=steering,
        pivot=pivot + rng.uniform(-2.0, 2.0, len(pivot)),
        face=_touches(2 * [rig.face_points] + [1] * rig.return_pivot, rig, rng),
        head_face=_touches([rig.head_face_points], rig, rng),
        bore=np.array(rig.bore_mm) + rng.uniform(-2.0, 2.0, len(rig.bore_mm)),
        tilt=lean * rng.standard_normal((3, 2)),
        ball_error=rig.offset_u_mm * rng.standard_normal(),
        scale_error=1e-6 * rig.scale_u_ppm * rng.standard_normal(),
        orientation=turned(rng.uniform(0.0, math.pi) * unit(rng.standard_normal(3))),
        origin=rng.uniform(-800.0, 800.0, 3),
        slip=np.array(rig.slip_mm),
    )


def _ends(rig: Rig) -> tuple[float, float]:
    return max(rig.pivot_mm), min(rig.pivot_mm)


def _touches(counts: list[int], rig: Rig, rng: np.random.Generator) -> Floats:
    """(n, 2): for each count, points spread evenly round the axis, from anywhere on."""
    spots = []
    for count in counts:
        angles = rng.uniform(0.0, 2.0 * math.pi) + 2.0 * math.pi * np.arange(count) / max(count, 1)
        spots.append(np.column_stack([np.cos(angles), np.sin(angles)]))
    touched: Floats = rig.face_radius_mm * np.vstack(spots)
    return touched


def plumb(setup: Setup) -> tuple[float, float, float]:
    """The vertical as a plumb line shows it: the machine stands nearly upright."""
    x, y, z = setup.orientation @ turned([0.02, -0.03, 0.0])[:, 2]
    return float(x), float(y), float(z)


def measured_without_noise(pose: Pose, rig: Rig, setup: Setup) -> Floats:
    """(n, 3): what a perfect instrument would have read, in its own axes, in the same order."""
    datum, steering, again = in_machine_axes(pose, rig, setup)
    early = {"return": 0.0, "steering": 1.0}[rig.slipped_before]
    points = np.vstack([*datum, *(part + early * setup.slip for part in steering)])
    points = np.vstack([points, *(part + setup.slip for part in again)])
    return (1.0 + setup.scale_error) * (points @ setup.orientation.T + setup.origin)


def in_machine_axes(
    pose: Pose, rig: Rig, setup: Setup
) -> tuple[list[Floats], list[Floats], list[Floats]]:
    """The points of the datum, those of the head and its steering, those measured again last."""
    along_pivot = np.zeros((len(setup.pivot), 3))
    along_pivot[:, 1] = setup.pivot
    faces = _pivot_faces(pose, rig, setup)
    head = Head.of(pose)
    swung = _swing(head, setup)
    on_axis = head.point + setup.bore[:, np.newaxis] * head.axis
    pivots, sides = len(rig.pivot_mm), 2 * rig.face_points
    steps = len(rig.stations_deg) * len(rig.targets)
    return (
        [along_pivot[:pivots], faces[:sides]],
        [_head_face(head, rig, setup), on_axis, swung[:steps]],
        [swung[steps:], along_pivot[pivots:], faces[sides:]],
    )


def _pivot_faces(pose: Pose, rig: Rig, setup: Setup) -> Floats:
    """Ball centres outside both faces; each leans a little, about where the axis pierces it."""
    ball = rig.probe_radius_mm + setup.ball_error
    left = np.arange(len(setup.face)) // max(rig.face_points, 1) != 1
    side = np.where(left, 1.0, -1.0)
    lean = np.where(left[:, np.newaxis], setup.tilt[1], setup.tilt[2])
    outward = side * (0.5 * pose.pivot_width_mm + ball * np.sqrt(1.0 + np.sum(lean**2, axis=1)))
    across = outward + np.sum(lean * setup.face, axis=1)
    return np.column_stack([setup.face[:, 0], across, setup.face[:, 1]])


def _swing(head: Head, setup: Setup) -> Floats:
    """(stations x targets, 3), station by station."""
    radius, height, direction = setup.targets.T
    angle = (setup.steering[:, np.newaxis] + direction).ravel()
    count = len(setup.steering)
    arm = np.outer(np.cos(angle), head.ahead) + np.outer(np.sin(angle), head.left)
    out = np.tile(radius, count)[:, np.newaxis] * arm
    swung: Floats = head.point + out + np.outer(np.tile(height, count), head.axis)
    return swung


def _head_face(head: Head, rig: Rig, setup: Setup) -> Floats:
    """(K, 3): ball centres below the leaning face."""
    ball = rig.probe_radius_mm + setup.ball_error
    lean = setup.tilt[0]
    down = ball * math.sqrt(1.0 + float(lean @ lean)) - setup.head_face @ lean
    across = setup.head_face @ np.stack([head.ahead, head.left])
    centres: Floats = head.point + across - np.outer(down, head.axis)
    return centres


def as_document(simulated: Simulated, **header: Any) -> dict[str, Any]:
    """The survey as a `jigbook.survey/1` document, lengths rounded to a micrometre.

    header: further keys of the format, as they are to stand in it (`phase`, `measured_at`, …).
    """
    return document(simulated.survey, **header)
