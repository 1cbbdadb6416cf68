"""What the engine takes in: plain arrays and names, nothing read, nothing stored.

Lengths in millimetres, angles in radians, temperatures in degrees Celsius. Positions stand in
the instrument's axes. NaN in `u` or `offset` means "not stated for this point".
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FEATURES = frozenset(
    {
        "pivot", "pivot_face", "steer_target", "head_bore", "head_face", "level_line", "control",
        "pair", "rear_axle", "axle_face", "fork_leg", "front_rim", "rear_rim", "axis",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Instrument:
    """What is known of the instrument, from its calibration."""

    standard_uncertainty_mm: float | None = None
    offset_u_mm: float = 0.0
    scale_u_ppm: float = 0.0
    probe_radius_mm: float | None = None
    scale_temperature_c: float | None = None
    scale_expansion_per_k: float = 0.0
    repeatability_mm: float | None = None
    repeatability_degrees_of_freedom: float | None = None


@dataclass(frozen=True, slots=True)
class Survey:
    """One set of measured points. Each sequence has n entries; `xyz` is (n, 3)."""

    feature: tuple[str, ...]
    label: tuple[str | None, ...]
    station: tuple[str | None, ...]
    turn: tuple[str | None, ...]
    xyz: Floats
    u: Floats
    offset: Floats
    cov: Mapping[int, Floats] = field(default_factory=lambda: MappingProxyType({}))
    """For points of an anisotropic instrument: index of the point -> (3, 3) covariance, mm²."""
    up: tuple[float, float, float] | None = None
    instrument: Instrument = field(default_factory=Instrument)
    target_spacing: tuple[tuple[str, str, float, float], ...] = ()
    part_temperature_c: float | None = None
    part_temperature_u_k: float | None = None
    after_ride_in: bool = False
    chain_adjusters: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """By side, in mm or marks, as far as stated."""
    fork_runout_mm: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """By side: total indicator reading of a leg turned on V-blocks."""


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One line of a reference: a nominal and the allowed deviations from it.

    Degrees for keys that are angles, millimetres for the rest, as the reference states them.
    """

    nominal: float | None = None
    lower: float | None = None
    upper: float | None = None
    required: bool | None = None
    """None: required when a limit is given."""


NO_TOLERANCE = Tolerance()


@dataclass(frozen=True, slots=True)
class Handling:
    """What the handling figures need besides the characteristics.

    attitude_deg: by how much the levelled machine leans forward of or behind its ride height,
    added to the head angle; arm_droop_deg: by how much the axle hangs below the pivot;
    head_above_ground_mm: the lower face of the head above the ground.
    """

    attitude_deg: float | None = None
    fork_offset_mm: float | None = None
    front_tyre_radius_mm: float | None = None
    rear_tyre_radius_mm: float | None = None
    wheelbase_mm: float | None = None
    arm_droop_deg: float | None = None
    head_above_ground_mm: float | None = None


NO_HANDLING = Handling()
WHEEL_RUNOUT_U_MM = 0.3
"""Where the reference states none; a supposition, editable."""


@dataclass(frozen=True, slots=True)
class Reference:
    """Nominal geometry and tolerances, as far as the engine needs them."""

    characteristics: Mapping[str, Tolerance] = field(default_factory=lambda: MappingProxyType({}))
    levelling: str | None = None
    control_points: Mapping[str, tuple[float, float, float]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    control_weights: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    materials: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    expansion_per_k: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    face_squareness_deg: float = 0.2
    head_length_mm: float | None = None
    handling: Handling = NO_HANDLING
    rim_width_mm: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Between the edges of the `front` and the `rear` rim, as far as stated."""
    wheel_runout_u_mm: float = WHEEL_RUNOUT_U_MM


@dataclass(frozen=True, slots=True)
class Options:
    """threshold: the probability c from which a verdict is given. monte_carlo: how many trials;
    None: only where first order does not suffice, 0: never. seed: of the trials, None: always the
    same. digits: significant digits of u from which no more trials are made; None: all of them.
    shared: whether to tell what other surveys may share (`Result.shared`), for combining."""

    threshold: float = 0.95
    monte_carlo: int | None = None
    seed: int | None = None
    digits: int | None = None
    shared: bool = False
