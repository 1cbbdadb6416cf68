"""What is measured on a whole machine beside its head, and in which conditions."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from app.demonstration.rigs import Rig

STEEL, ALUMINIUM = (11.7e-6, 1e-6), (23.1e-6, 1e-6)
"""Growth per kelvin and its standard uncertainty, as design section 6 states them."""
EVERY = (
    "level_line", "control", "pair", "axis", "rear_axle", "axle_face", "fork_leg", "front_rim",
    "rear_rim",
)  # fmt: skip
RIMS = ("front_rim", "rear_rim")


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm it is, and how well that is known."""

    part_c: float = 20.0
    u_k: float = 1.0
    scale_c: float | None = None
    scale_per_k: float = 0.0
    per_k: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: MappingProxyType({"frame": STEEL})
    )
    """Part -> growth per kelvin, standard uncertainty; a part that is not named is as the frame."""

    def of(self, part: str) -> tuple[float, float]:
        return self.per_k.get(part, self.per_k["frame"])


@dataclass(frozen=True, slots=True)
class Extent:
    """Which features beside the head, how many points of each, and with what."""

    rig: Rig = field(default_factory=Rig)
    features: tuple[str, ...] = EVERY
    replicates: int = 1
    """How often each level-line, control and pair point is measured."""
    axis_points: int = 2
    axle_mm: tuple[float, ...] = (150.0, -150.0)
    """Where along the rear axle from its middle its points lie, to the left positive."""
    axle_face_points: int = 1
    leg_mm: tuple[float, ...] = (150.0, -150.0)
    """Where along each fork leg, upward from its middle."""
    rim_points: int = 3
    edges: tuple[str, ...] = ("left", "right")
    half_turn: bool = False
    """Whether the rims are measured again half a turn on."""
    runout_mm: float = 0.3
    returned: tuple[str, ...] = ()
    """Of these features the first point of each label is measured again last."""
    spacing_u_mm: float | None = None
    """How well the distance of the first two steering targets is known; None: it is not stated."""
    depth_mm: float = 0.0
    """What an instrument that sees badly in depth adds along its line of sight."""
    warmth: Warmth = field(default_factory=Warmth)
    steered_deg: float = 25.0
    """How far the steering may stand turned while fork and front wheel are measured."""
