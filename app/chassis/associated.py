"""The ideal features that stand for the measured ones (associated features, ISO 17450).

Everything a characteristic is computed from, in one place: directions, points, lines and circles,
each with its derivatives by the inputs of the survey, or over many trials (`geometry.dual`).
Positions in mm about the mean pivot point, directions as unit vectors, in the instrument's axes.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from app.geometry.dual import Scalar, Vector


class Line(NamedTuple):
    """A point of the line and its unit direction."""

    point: Vector
    direction: Vector


class Edge(NamedTuple):
    """One edge of a rim: centre of its circle, unit normal to the left, radius in mm."""

    centre: Vector
    normal: Vector
    radius: Scalar


class Leg(NamedTuple):
    """A fork leg: its centreline, direction upward, and the mean of its points."""

    line: Line
    centroid: Vector
    points: int


@dataclass(frozen=True, slots=True)
class Associated:
    """pivot: the pivot axis, direction to the left; faces: place of each frame face along that
    axis (left.point), mm, by `left` and `right`; steering: the steering axis, upward; head: H.

    points: feature -> label -> mean of its replicates, for `control` (label: name), `pair`
    (`<name>.left`, `<name>.right`) and `level_line` (`rear`, `front`). lines: name -> the further
    axes, to the left. rear_axle: the axle's line, to the left; axle_faces: place of each face of
    the arm along the pivot axis; axle_ends: mean of the axle's points of each side. legs: by side.
    rims: `front` and `rear` -> side -> edge.
    """

    pivot: Line
    faces: Mapping[str, Scalar] = field(default_factory=lambda: MappingProxyType({}))
    steering: Line | None = None
    head: Vector | None = None
    points: Mapping[str, Mapping[str, Vector]] = field(default_factory=lambda: MappingProxyType({}))
    lines: Mapping[str, Line] = field(default_factory=lambda: MappingProxyType({}))
    rear_axle: Line | None = None
    axle_faces: Mapping[str, Scalar] = field(default_factory=lambda: MappingProxyType({}))
    axle_ends: Mapping[str, Vector] = field(default_factory=lambda: MappingProxyType({}))
    legs: Mapping[str, Leg] = field(default_factory=lambda: MappingProxyType({}))
    rims: Mapping[str, Mapping[str, Edge]] = field(default_factory=lambda: MappingProxyType({}))
    up: tuple[float, float, float] | None = None
    """The survey's, in the instrument's axes, not needed where a steering axis is."""
