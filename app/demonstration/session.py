"""What else is true in one session at a whole machine: nothing of it belongs to the chassis."""

import math
from dataclasses import dataclass

import numpy as np

from app.demonstration.extent import RIMS, Extent, Warmth
from app.demonstration.machine import Machine
from app.demonstration.simulator import Setup, draw_setup
from app.demonstration.vectors import Floats, unit

PARTS = ("frame", "arm", "fork", "wheel")
FAR_MM = 2000.0


@dataclass(frozen=True, slots=True)
class Session:
    head: Setup
    """Of the head's survey, with orientation, origin, slip, scale and ball for all."""
    axle: Floats
    """(k,): places along the rear axle."""
    axle_face: Floats
    """(2, k, 2): where the left and the right face were touched, forward and up from the axle."""
    axle_tilt: Floats
    """(2, 2): how both faces lean out of square."""
    axes: Floats
    """(axes, k): places along each further axis."""
    legs: Floats
    """(2, k): places along the left and the right leg."""
    rims: Floats
    """(2, 2, k): angles round the axle, by wheel (front, rear) and edge (left, right)."""
    runout: Floats
    """(2, 2, k, 2): what the wheel is out by there, along its axle and outward, mm; half a turn on
    it is out by the opposite."""
    fork_steering: float
    wheel_steering: float
    part_c: float
    per_k: tuple[float, ...]
    """The true growth per kelvin of each of PARTS."""
    spacing_error: float
    """By how much the stated distance of the targets is out, mm."""
    viewpoint: Floats
    """(3,): from where an instrument looks that sees badly in depth, in its own axes."""

    def grown(self, part: str) -> float:
        """The factor on the lengths of a part, as warm as it truly is."""
        return 1.0 + self.per_k[PARTS.index(part)] * (self.part_c - 20.0)


def draw_session(machine: Machine, extent: Extent, rng: np.random.Generator) -> Session:
    """A random session: touched near where it should be, as warm as stated, more or less."""
    rig = extent.rig
    lean = math.tan(math.radians(rig.face_squareness_deg))
    steered = math.radians(extent.steered_deg)
    head = draw_setup(machine.head, rig, rng)
    rims = _angles((len(RIMS), 2, extent.rim_points), rng)
    return Session(
        head=head,
        axle=_near(np.array(extent.axle_mm), rng),
        axle_face=rig.face_radius_mm * _round((2, extent.axle_face_points), rng),
        axle_tilt=lean * rng.standard_normal((2, 2)),
        axes=_along_axes(machine, extent, rng),
        legs=_near(np.tile(extent.leg_mm, (2, 1)), rng),
        rims=rims,
        runout=_runout(extent, rims, rng),
        fork_steering=rng.uniform(-steered, steered),
        wheel_steering=rng.uniform(-steered, steered),
        part_c=extent.warmth.part_c + extent.warmth.u_k * rng.standard_normal(),
        per_k=_growths(extent.warmth, rng),
        spacing_error=extent.spacing_u_mm * rng.standard_normal() if extent.spacing_u_mm else 0.0,
        viewpoint=head.origin + FAR_MM * unit(rng.standard_normal(3)),
    )


def _near(places: Floats, rng: np.random.Generator) -> Floats:
    near: Floats = places + rng.uniform(-2.0, 2.0, places.shape)
    return near


def _along_axes(machine: Machine, extent: Extent, rng: np.random.Generator) -> Floats:
    spans = np.array([axis.span_mm for axis in machine.axes.values()])
    spread = np.linspace(0.5, -0.5, extent.axis_points)
    return _near(spans[:, np.newaxis] * spread, rng)


def _angles(shape: tuple[int, ...], rng: np.random.Generator) -> Floats:
    """Angles spread evenly along the last index, from anywhere on."""
    count = shape[-1]
    start = rng.uniform(0.0, 2.0 * math.pi, (*shape[:-1], 1))
    spread: Floats = start + 2.0 * math.pi * np.arange(count) / max(count, 1)
    return spread


def _round(shape: tuple[int, ...], rng: np.random.Generator) -> Floats:
    angles = _angles(shape, rng)
    return np.stack([np.cos(angles), np.sin(angles)], axis=-1)


def _runout(extent: Extent, rims: Floats, rng: np.random.Generator) -> Floats:
    """Each point by chance; where the wheel is turned half on, a wobble of one wave a turn, along
    the axle the same on both edges."""
    if not extent.half_turn:
        by_chance: Floats = extent.runout_mm * rng.standard_normal((*rims.shape, 2))
        return by_chance
    waves = extent.runout_mm * rng.standard_normal((len(RIMS), 1, 1, 2, 2))
    beat = np.stack([np.cos(rims), np.sin(rims)], axis=-1)
    wobble: Floats = np.sum(waves * beat[..., np.newaxis, :], axis=-1)
    return wobble


def _growths(warmth: Warmth, rng: np.random.Generator) -> tuple[float, ...]:
    """Parts of one material grow alike."""
    errors: dict[tuple[float, float], float] = {}
    for part in PARTS:
        errors.setdefault(warmth.of(part), rng.standard_normal())
    stated = [warmth.of(part) for part in PARTS]
    return tuple(value + u * errors[value, u] for value, u in stated)
