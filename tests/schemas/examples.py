"""A survey and a reference with every key of their formats; invented throughout."""

import copy
from typing import Any

SURVEY: dict[str, Any] = {
    "format": "jigbook.survey/1",
    "phase": "before",
    "measured_at": "2026-03-02T09:40:00+01:00",
    "by": "Invented Person",
    "mounting": "engine in, wheels out, on side stands",
    "part_temperature_c": 24.0,
    "part_temperature_u_k": 2.0,
    "after_ride_in": True,
    "up": [0.0, 0.0, 1.0],
    "chain_adjusters": {"left": 4.0, "right": 4.5},
    "fork_runout_mm": {"left": 0.04, "right": 0.06},
    "instrument": {
        "name": "arm 2",
        "standard_uncertainty_mm": 0.1,
        "offset_u_mm": 0.02,
        "scale_u_ppm": 20,
        "probe_radius_mm": 3.0,
        "calibrated": "2026-01-10",
        "due": "2027-01-10",
        "scale_temperature_c": 21.5,
        "scale_expansion_per_k": 0.0,
        "repeatability_mm": 0.05,
        "repeatability_degrees_of_freedom": 18,
    },
    "rig": {"target_spacing_mm": [["upper", "lower", 200.0, 0.05]]},
    "points": [
        {
            "feature": "steer_target",
            "label": "upper",
            "station": "s1",
            "x": 1.0,
            "y": 2.0,
            "z": 3.0,
            "u": 0.1,
            "turn": "left",
            "cov": [0.01, 0.0, 0.0, 0.01, 0.0, 0.02],
        },
        {
            "feature": "head_face",
            "label": None,
            "station": None,
            "x": 1,
            "y": -2,
            "z": 3,
            "u": None,
            "offset": 3.0,
        },
    ],
}

REFERENCE: dict[str, Any] = {
    "format": "jigbook.reference/1",
    "machine": {"make": "Invented Works", "model": "Example 600", "years": "2019-2022"},
    "materials": {"frame": "steel", "arm": "aluminium", "fork": "own_alloy"},
    "levelling": "by_height",
    "provenance": {"kind": "invented", "detail": "made up for the tests"},
    "characteristics": {
        "head_twist": {
            "nominal": 0.0,
            "lower": -0.3,
            "upper": 0.3,
            "required": True,
            "source": "common practice",
        },
        "control.engine_front_left.y": {"lower": -2.0, "upper": 2.0},
        "pair_roll.tail": {"nominal": 0.0, "lower": -0.5, "upper": 0.5, "required": False},
        "distance.a.b": {"nominal": 500.0},
    },
    "control_points": {"engine_front_left": [410.0, 120.0, 95.0]},
    "control_weights": {"engine_front_left": 1.0},
    "face_squareness_deg": 0.2,
    "head_length_mm": 180.0,
    "handling": {
        "attitude_deg": 0.0,
        "fork_offset_mm": 32.0,
        "front_tyre_radius_mm": 300.0,
        "rear_tyre_radius_mm": 310.0,
        "wheelbase_mm": 1420.0,
        "arm_droop_deg": 8.0,
        "head_above_ground_mm": 700.0,
    },
    "repair": {"straightening": "unknown", "limit_mm": None},
    "rim_width_mm": {"front": 90.0, "rear": 150.0},
    "wheel_runout_u_mm": 0.3,
    "expansion_per_k": {"fork": [12e-6, 1e-6]},
}

CSV = (
    "feature,label,station,x,y,z,u,offset,turn\n"
    "pivot,left,,1.5,2,3,0.1,,\n"
    "pivot_face,left,,1.5,2,3,0.1,3,\n"
    "steer_target,upper,s1,1.5,2,3,0.1,,left\n"
)


def survey() -> dict[str, Any]:
    return copy.deepcopy(SURVEY)


def reference() -> dict[str, Any]:
    return copy.deepcopy(REFERENCE)


Path = tuple[str | int, ...]


def paths(content: object, at: Path = ()) -> list[Path]:
    """Every place in a JSON value that holds something that is no list and no object."""
    if isinstance(content, dict):
        return [path for key, value in content.items() for path in paths(value, (*at, key))]
    if isinstance(content, list):
        return [path for i, value in enumerate(content) for path in paths(value, (*at, i))]
    return [at]


def with_value(content: Any, path: Path, value: object) -> Any:
    """A copy of a JSON value with another value in one place."""
    changed = copy.deepcopy(content)
    place = changed
    for part in path[:-1]:
        place = place[part]
    place[path[-1]] = value
    return changed


def without(content: Any, path: Path) -> Any:
    """A copy of a JSON value without one of its places."""
    changed = copy.deepcopy(content)
    place = changed
    for part in path[:-1]:
        place = place[part]
    del place[path[-1]]
    return changed
