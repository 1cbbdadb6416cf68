"""What is measured on a simulated chassis, with which targets, and how well."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

TURN_SEEN_FROM_DEG = 2.0

Row = tuple[str, str | None, str | None, str | None]


@dataclass(frozen=True, slots=True)
class Target:
    """A point that turns with the steering; height above the head face along the axis."""

    name: str
    radius_mm: float
    height_mm: float
    direction_deg: float
    """Round the steering axis from straight ahead, to the left positive, steering straight."""


@dataclass(frozen=True, slots=True)
class Rig:
    """What is measured, and how well."""

    targets: tuple[Target, ...] = (
        Target("upper", 180.0, 210.0, 45.0),
        Target("lower", 160.0, -40.0, -45.0),
    )
    stations_deg: tuple[float, ...] = (-30.0, -15.0, 0.0, 15.0, 30.0)
    pivot_mm: tuple[float, ...] = (165.0, -165.0)
    """Where along the pivot axis its points are measured, to the left positive."""
    face_points: int = 1
    """On each of the frame's outer faces."""
    head_face_points: int = 1
    bore_mm: tuple[float, ...] = ()
    """Heights above the head face of the points on the steering axis itself."""
    return_steering: bool = True
    return_pivot: bool = True
    """Both ends of the pivot axis and the left face, measured again last."""
    noise_mm: float = 0.1
    offset_u_mm: float = 0.02
    scale_u_ppm: float = 20.0
    probe_radius_mm: float = 3.0
    face_squareness_deg: float = 0.2
    face_radius_mm: float = 22.0
    """Distance from the axis at which faces are touched."""
    slip_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """How the chassis moved in the set-up, in machine axes."""
    slipped_before: str = "return"
    """When it moved: before the `return`, or already before the `steering` was measured."""


@dataclass(frozen=True, slots=True)
class PointNames:
    feature: tuple[str, ...]
    label: tuple[str | None, ...]
    station: tuple[str | None, ...]
    turn: tuple[str | None, ...]


def point_names(rig: Rig) -> PointNames:
    """What each measured point is called, in the order of measuring."""
    feature, label, station, turn = zip(*point_rows(rig), strict=True)
    return PointNames(feature, label, station, turn)


def point_rows(rig: Rig) -> list[Row]:
    """Feature, label, station and turn of each measured point, in the order of measuring."""
    rows: list[Row] = [
        ("pivot", "left" if place > 0.0 else "right", None, None) for place in rig.pivot_mm
    ]
    for side in ("left", "right"):
        rows.extend([("pivot_face", side, None, None)] * rig.face_points)
    rows.extend([("head_face", None, None, None)] * rig.head_face_points)
    rows.extend([("head_bore", None, None, None)] * len(rig.bore_mm))
    for number, angle in enumerate(rig.stations_deg, start=1):
        rows.extend(_station(rig, str(number), angle))
    if rig.return_steering:
        rows.extend(_station(rig, "return", rig.stations_deg[0]))
    if rig.return_pivot:
        rows.extend(("pivot", side, "return", None) for side in ("left", "right"))
        rows.append(("pivot_face", "left", "return", None))
    return rows


def _station(rig: Rig, name: str, angle_deg: float) -> list[Row]:
    side = None
    if abs(angle_deg) >= TURN_SEEN_FROM_DEG:
        side = "left" if angle_deg > 0.0 else "right"
    return [("steer_target", target.name, name, side) for target in rig.targets]


def with_slip(rig: Rig, slip: ArrayLike) -> Rig:
    """The same rig, with the chassis moved by `slip` (3,), mm, in the set-up."""
    x, y, z = np.asarray(slip, dtype=float)
    return replace(rig, slip_mm=(float(x), float(y), float(z)))
