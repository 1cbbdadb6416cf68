"""Surveys from a known pose, by formulas that do not use the engine's own.

The chassis is built in machine axes: H from reach, offset and height; the steering axis by two
turns of the vertical (twist about X, then the head angle about Y); targets by turning them about
that axis with Rodrigues' formula.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Instrument, Reference, Survey, Tolerance

Floats = NDArray[np.float64]
Key = tuple[str, str | None, str | None]


@dataclass(frozen=True)
class Pose:
    reach: float = 640.0
    height: float = 380.0
    angle: float = 24.0
    twist: float = 0.0
    offset: float = 0.0
    width: float = 240.0
    targets: Mapping[str, tuple[float, float, float]] = field(
        default_factory=lambda: {"upper": (90.0, -40.0, 60.0), "lower": (85.0, 50.0, -140.0)}
    )
    """Radius, azimuth (deg, from straight ahead, to the left), height above H."""
    stations: Mapping[str, float] = field(
        default_factory=lambda: {"s1": 0.0, "s2": 28.0, "s3": 14.0, "s4": -14.0, "s5": -28.0}
    )
    returns: Mapping[str, float] = field(default_factory=lambda: {"return": 2.0})

    @property
    def up(self) -> Floats:
        """The steering axis: leaning back by the angle, its top to the right by the twist."""
        e, t = math.radians(self.angle), math.radians(self.twist)
        return np.array([-math.cos(t) * math.sin(e), -math.sin(t), math.cos(t) * math.cos(e)])

    @property
    def head(self) -> Floats:
        return np.array([self.reach, self.offset, self.height])

    @property
    def distance(self) -> float:
        e = math.radians(self.angle)
        return self.reach * math.cos(e) + self.height * math.sin(e)

    @property
    def position(self) -> float:
        e = math.radians(self.angle)
        return self.height * math.cos(e) - self.reach * math.sin(e)

    def turned(self, vector: Floats, degrees: float) -> Floats:
        k, a = self.up, math.radians(degrees)
        return (
            vector * math.cos(a)
            + np.cross(k, vector) * math.sin(a)
            + k * (k @ vector) * (1.0 - math.cos(a))
        )

    def target(self, name: str, degrees: float) -> Floats:
        radius, azimuth, height = self.targets[name]
        ahead = np.cross([0.0, 1.0, 0.0], self.up)
        ahead /= np.linalg.norm(ahead)
        return self.head + height * self.up + self.turned(radius * ahead, degrees + azimuth)

    def points(self) -> list[tuple[Key, Floats]]:
        """17 points: pivot, faces, head face, five stations, a return."""
        half = self.width / 2.0
        found: list[tuple[Key, Floats]] = [
            (("pivot", "left", None), np.array([0.0, half + 10.0, 0.0])),
            (("pivot", "right", None), np.array([0.0, -half - 10.0, 0.0])),
            (("pivot_face", "left", None), np.array([10.0, half, 12.0])),
            (("pivot_face", "right", None), np.array([-8.0, -half, 15.0])),
            (("head_face", None, None), self.on_face(25.0, 160.0)),
        ]
        for station, degrees in (*self.stations.items(), *self.returns.items()):
            found += [
                (("steer_target", name, station), self.target(name, degrees))
                for name in self.targets
            ]
        return found

    def on_face(self, radius: float, azimuth: float) -> Floats:
        ahead = np.cross([0.0, 1.0, 0.0], self.up)
        ahead /= np.linalg.norm(ahead)
        return self.head + self.turned(radius * ahead, azimuth)

    def on_bore(self, height: float) -> Floats:
        return self.head + height * self.up

    def reference(self, **changed: Tolerance | None) -> Reference:
        """Nominals of this pose, with limits that a sound chassis keeps."""
        known: dict[str, Tolerance] = {
            "head_twist": Tolerance(self.twist, -0.3, 0.3),
            "head_offset": Tolerance(self.offset, -2.0, 2.0),
            "axis_distance": Tolerance(self.distance, -3.0, 3.0),
            "face_position": Tolerance(self.position, -3.0, 3.0),
            "head_reach": Tolerance(self.reach),
            "head_height": Tolerance(self.height),
            "head_angle": Tolerance(self.angle, -0.5, 0.5),
            "pivot_width": Tolerance(self.width, -2.0, 2.0),
        }
        for key, tolerance in changed.items():
            known.pop(key, None)
            if tolerance is not None:
                known[key] = tolerance
        return Reference(known, "by_height", materials={"frame": "steel"})


INSTRUMENT = Instrument(standard_uncertainty_mm=0.1, probe_radius_mm=0.0)


def survey(
    points: Sequence[tuple[Key, Floats]],
    *,
    noise: float = 0.0,
    seed: int = 0,
    motion: tuple[Floats, Floats] | None = None,
    up: Sequence[float] | None = (0.0, 0.0, 1.0),
    instrument: Instrument = INSTRUMENT,
    temperature: float | None = 20.0,
    **changed: object,
) -> Survey:
    """motion: rotation (3, 3) and shift (3,) from machine axes to the instrument's."""
    rotation, shift = motion if motion is not None else (np.eye(3), np.zeros(3))
    xyz = np.array([place for _, place in points]).reshape(-1, 3)
    xyz = xyz + np.random.default_rng(seed).normal(0.0, 1.0, xyz.shape) * noise
    n = len(points)
    base = Survey(
        feature=tuple(key[0] for key, _ in points),
        label=tuple(key[1] for key, _ in points),
        station=tuple(key[2] for key, _ in points),
        turn=(None,) * n,
        xyz=xyz @ rotation.T + shift,
        u=np.full(n, np.nan),
        offset=np.full(n, np.nan),
        up=None if up is None else tuple((rotation @ np.array(up)).tolist()),
        instrument=instrument,
        part_temperature_c=temperature,
    )
    return replace(base, **changed)  # type: ignore[arg-type]


def random_motion(seed: int, reach: float = 10_000.0) -> tuple[Floats, Floats]:
    """A turn and a shift of up to `reach` mm."""
    rng = np.random.default_rng(seed)
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    q *= np.sign(np.linalg.det(q))
    shift = rng.normal(size=3)
    return q, shift / np.linalg.norm(shift) * reach
