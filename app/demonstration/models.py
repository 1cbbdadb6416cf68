"""The invented models of the demonstration: nominal geometry, tolerances, the works' word."""

from dataclasses import dataclass, replace
from typing import Any

from app.demonstration.pose import Pose, truth

INVENTED = "invented for the demonstration"

LIMITS: dict[str, tuple[float, float]] = {
    "head_twist": (-0.3, 0.3),
    "head_offset": (-2.0, 2.0),
    "axis_distance": (-3.0, 3.0),
    "face_position": (-3.0, 3.0),
    "head_reach": (-4.0, 4.0),
    "head_angle": (-0.6, 0.6),
}
"""Allowed deviations: deg for the angles, mm for the rest. That of the head twist is common
practice (no source), the others are invented."""


@dataclass(frozen=True, slots=True)
class Model:
    make: str
    model: str
    years: str
    pose: Pose
    frame: str = "steel"
    straightening: str = "unknown"
    limit_mm: float | None = None

    def bent(self, **changes: float) -> Pose:
        """The pose with `changes` added to its nominal values."""
        return replace(
            self.pose, **{name: getattr(self.pose, name) + by for name, by in changes.items()}
        )


SKARV = Model("Fjordmark (invented)", "Skarv 700", "2019-2024", Pose(), straightening="permitted")
LOM = Model(
    "Fjordmark (invented)", "Lom 400", "2021-2025",
    Pose(head_reach_mm=642.0, head_height_mm=298.0, head_angle_deg=25.5, pivot_width_mm=236.0),
)  # fmt: skip
BJERG = Model(
    "Havrebro (invented)", "Bjerg 1000 R", "2022-2026",
    Pose(head_reach_mm=664.0, head_height_mm=352.0, head_angle_deg=23.2, pivot_width_mm=284.0),
    frame="aluminium", straightening="forbidden", limit_mm=2.0,
)  # fmt: skip
MODELS = (SKARV, LOM, BJERG)


def reference_of(model: Model) -> dict[str, Any]:
    """The model's `jigbook.reference/1` document."""
    values = truth(model.pose, "by_height", model.pose.head_height_mm)
    lines: dict[str, Any] = {
        key: {
            "nominal": round(values[key], 3),
            "lower": lower,
            "upper": upper,
            "required": True,
            "source": "common practice, no source" if key == "head_twist" else INVENTED,
        }
        for key, (lower, upper) in LIMITS.items()
    }
    lines["head_height"] = {"nominal": round(values["head_height"], 3)}
    lines["pivot_width"] = {"nominal": model.pose.pivot_width_mm}
    return {
        "format": "jigbook.reference/1",
        "machine": {"make": model.make, "model": model.model, "years": model.years},
        "materials": {"frame": model.frame},
        "levelling": "by_height",
        "provenance": {"kind": "invented", "detail": INVENTED},
        "characteristics": lines,
        "face_squareness_deg": 0.2,
        "head_length_mm": 180.0,
        "repair": {"straightening": model.straightening, "limit_mm": model.limit_mm},
    }
