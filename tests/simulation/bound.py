"""The Cramér-Rao bound of a rig, by differences of the simulator; the engine has no part in it.

All that is unknown in a session is a parameter: the pose, where the instrument stands, where
each free point was touched, the targets, the steering angles. What is drawn at random about a
known mean (lean of the faces, error of the ball and of the scale) carries that knowledge as
information. The turn about the pivot axis is left out: it cannot be told from the pose's own.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from app.demonstration.simulator import (
    Pose,
    Rig,
    Setup,
    draw_setup,
    measured_without_noise,
    truth,
    turned,
)

Floats = NDArray[np.float64]
Levelling = tuple[str, float]

POSE_FIELDS = (
    "head_twist_deg",
    "head_offset_mm",
    "head_reach_mm",
    "head_height_mm",
    "head_angle_deg",
    "pivot_width_mm",
)
STEP = 1e-4
SESSIONS = 6


@dataclass(frozen=True)
class Unknowns:
    """Everything unknown as changes from one session: a flat vector and what is known of it."""

    pose: Pose
    rig: Rig
    setup: Setup

    def fields(self) -> dict[str, tuple[int, float]]:
        """Name -> how many values, and their known standard deviation (infinite: unknown)."""
        s, free = self.setup, math.inf
        return {
            "pose": (len(POSE_FIELDS), free),
            "turn": (2, free),
            "origin": (3, free),
            "targets": (s.targets.size, free),
            "steering": (max(len(s.steering) - 1, 0), free),
            "pivot": (s.pivot.size, free),
            "face": (s.face.size, free),
            "head_face": (s.head_face.size, free),
            "bore": (s.bore.size, free),
            "tilt": (s.tilt.size, math.tan(math.radians(self.rig.face_squareness_deg))),
            "ball": (1, self.rig.offset_u_mm),
            "scale": (1, 1e-6 * self.rig.scale_u_ppm),
            "slip": (3, free),
        }

    def positions(self, change: Floats) -> Floats:
        """(3n,): the noiseless measurements after a change of the unknowns."""
        sizes = [size for size, _ in self.fields().values()]
        cut = np.split(change, np.cumsum(sizes)[:-1])
        by = dict(zip(self.fields(), cut, strict=True))
        s = self.setup
        pose = replace(
            self.pose,
            **{
                name: getattr(self.pose, name) + float(d)
                for name, d in zip(POSE_FIELDS, by["pose"], strict=True)
            },
        )
        setup = replace(
            s,
            targets=s.targets + by["targets"].reshape(s.targets.shape),
            steering=s.steering + np.concatenate([np.zeros(1), by["steering"]])[: len(s.steering)],
            pivot=s.pivot + by["pivot"],
            face=s.face + by["face"].reshape(s.face.shape),
            head_face=s.head_face + by["head_face"].reshape(s.head_face.shape),
            bore=s.bore + by["bore"],
            tilt=s.tilt + by["tilt"].reshape(s.tilt.shape),
            ball_error=s.ball_error + float(by["ball"][0]),
            scale_error=s.scale_error + float(by["scale"][0]),
            orientation=s.orientation @ turned([by["turn"][0], 0.0, by["turn"][1]]),
            origin=s.origin + by["origin"],
            slip=s.slip + by["slip"],
        )
        return measured_without_noise(pose, self.rig, setup).ravel()

    def information(self) -> Floats:
        """Fisher's information of one survey, with what is known beforehand."""
        parts = self.fields().values()
        known = np.repeat([sd for _, sd in parts], [size for size, _ in parts])
        jacobian = derivatives(self.positions, len(known))
        return jacobian.T @ jacobian / self.rig.noise_mm**2 + np.diag(known**-2.0)


def derivatives(function: Callable[[Floats], Floats], count: int) -> Floats:
    """Central differences at zero change."""
    steps = STEP * np.eye(count)
    return np.column_stack([(function(s) - function(-s)) / (2.0 * STEP) for s in steps])


def random_unknowns(rig: Rig, pose: Pose, rng: np.random.Generator) -> Unknowns:
    """A session whose face leans, ball and scale stand at their means."""
    setup = draw_setup(pose, rig, rng)
    setup = replace(setup, tilt=np.zeros((3, 2)), ball_error=0.0, scale_error=0.0)
    return Unknowns(pose, rig, setup)


def standard_deviations(rig: Rig, pose: Pose, levelling: Levelling) -> dict[str, float]:
    """The smallest spread that an unbiased estimate of each characteristic can have.

    The set-up is known to have stood still. Averaged over random sessions.
    """
    keys = list(truth(pose, *levelling))
    slopes = derivatives(lambda change: _characteristics(pose, change, levelling), 6)
    variances = [np.diag(slopes @ least @ slopes.T) for least in pose_covariances(rig, pose)]
    return dict(zip(keys, np.sqrt(np.mean(variances, axis=0)), strict=True))


@cache
def pose_covariances(rig: Rig, pose: Pose) -> tuple[Floats, ...]:
    """(6, 6) of each session: the least covariance of what is unknown of the pose."""
    rng = np.random.default_rng(20)
    found = []
    for _ in range(SESSIONS):
        still = random_unknowns(rig, pose, rng).information()[:-3, :-3]
        found.append(inverse(still)[:6, :6])
    return tuple(found)


def _characteristics(pose: Pose, change: Floats, levelling: Levelling) -> Floats:
    moved = {
        name: getattr(pose, name) + float(d) for name, d in zip(POSE_FIELDS, change, strict=True)
    }
    return np.array(list(truth(replace(pose, **moved), *levelling).values()))


def inverse(information: Floats) -> Floats:
    """The inverse of a matrix whose unknowns have very different units."""
    scale = 1.0 / np.sqrt(np.diag(information))
    evened = information * np.outer(scale, scale)
    return np.linalg.inv(evened) * np.outer(scale, scale)
