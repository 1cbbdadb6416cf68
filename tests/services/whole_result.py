"""A result with every characteristic there is, made by hand: for pages and certificates.

The numbers are invented and need not fit together; words and verdicts are the program's own.
"""

from collections.abc import Iterator

import numpy as np

from app.chassis import verdicts
from app.chassis.result import Characteristic, Figure, Share
from app.chassis.survey import Tolerance
from app.chassis.verdicts import Row
from app.schemas.result import ResultOut
from app.services.result_parts import characteristic_in_words
from app.wording import checks
from app.wording import verdicts as words
from app.wording.handling import figure
from tests.drawings.frames import whole

# key: nominal, deviation before, deviation after, expanded uncertainty, limit either way, source
LINES: dict[str, tuple[float, float, float, float, float | None, str]] = {
    "head_twist": (0.0, 0.91, -0.05, 0.07, 0.3, "steer_target"),
    "head_offset": (0.0, 3.1, 0.4, 0.38, 2.0, "pivot"),
    "axis_distance": (642.0, -6.1, 0.4, 0.28, 3.0, "steer_target"),
    "face_position": (88.0, 1.2, 0.3, 0.69, 3.0, "steer_target"),
    "head_reach": (560.0, -6.2, 0.6, 0.31, 4.0, "steer_target"),
    "head_height": (330.0, 1.6, 0.2, 0.4, None, "control"),
    "head_angle": (24.0, 0.5, 0.02, 0.05, 0.6, "steer_target"),
    "face_squareness": (0.0, 0.11, 0.09, 0.08, 0.3, "head_face"),
    "pivot_width": (260.0, -0.25, -0.22, 0.33, 1.0, "face_squareness"),
    "datum_roll": (0.0, 0.21, 0.12, 0.09, 0.3, "control"),
    "datum_yaw": (0.0, -0.1, -0.08, 0.1, 0.3, "pivot"),
    "datum_shift": (0.0, 0.6, 0.4, 0.5, 2.0, "control"),
    "arm_length": (545.0, -0.7, -0.6, 0.3, 2.0, "axle_face"),
    "axle_toe": (0.0, 0.14, 0.12, 0.08, 0.2, "rear_axle"),
    "axle_twist": (0.0, -0.05, -0.06, 0.09, 0.3, "rear_axle"),
    "axle_offset": (0.0, -0.8, -0.7, 0.4, 1.5, "axle_face"),
    "fork_spread": (0.0, 0.06, 0.01, 0.05, 0.15, "fork_leg"),
    "fork_cross": (0.0, -0.4, -0.02, 0.05, 0.15, "fork_leg"),
    "fork_spacing": (210.0, 0.7, 0.1, 0.2, 1.0, "fork_leg"),
    "fork_rake": (0.0, -1.3, 0.05, 0.08, 0.2, "steer_target"),
    "fork_lean": (0.0, 0.2, 0.04, 0.07, 0.2, "steer_target"),
    "fork_offset": (32.0, -4.1, 0.3, 0.4, 1.0, "fork_leg"),
    "wheel_lean": (0.0, 0.6, 0.1, 0.12, 0.5, "front_rim"),
    "wheel_track": (0.0, 5.2, 0.9, 0.8, 3.0, "wheel_runout"),
    "front_wheel_lean": (0.0, 0.3, 0.05, 0.1, 0.4, "wheel_runout"),
    "front_wheel_offset": (0.0, 2.2, 0.3, 0.7, 2.0, "instrument_offset"),
}
for _name in ("tail_rails", "engine_mounts_front", "foot_rests"):
    LINES[f"pair_offset.{_name}"] = (0.0, 0.7, 0.6, 0.3, 2.0, "pair")
    LINES[f"pair_roll.{_name}"] = (0.0, -0.14, -0.12, 0.11, 0.4, "pair")
    LINES[f"pair_skew.{_name}"] = (0.0, 0.22, 0.2, 0.12, 0.5, "pair")
for _name in ("engine_front_left", "spar_left", "spar_right"):
    LINES[f"control.{_name}.x"] = (0.0, 0.5, 0.4, 0.3, 2.0, "control")
    LINES[f"control.{_name}.y"] = (0.0, -0.4, -0.3, 0.3, 2.0, "control")
    LINES[f"control.{_name}.z"] = (0.0, -1.1, -1.0, 0.3, 2.0, "control")
for _name in ("spar_left.tail_right", "spar_right.tail_left"):
    LINES[f"distance.{_name}"] = (731.5, -0.8, -0.7, 0.28, 3.0, "control")
LINES["axis_toe.shock_bolt"] = (0.0, 0.2, 0.19, 0.15, None, "axis")
LINES["axis_twist.shock_bolt"] = (0.0, -0.2, -0.19, 0.15, None, "axis")

HANDLING = (
    Figure("normal_trail_mm", 88.4, 0.4),
    Figure("trail_mm", 96.8, 0.5),
    Figure("front_contact_mm", 1.4, 0.6),
    Figure("rear_contact_mm", -0.9, 0.3),
    Figure("wheel_line_mm", 2.2, 0.8),
)
REQUIRED = (
    "head_twist", "head_offset", "axis_distance", "face_position", "head_reach", "head_angle",
    "datum_roll", "axle_toe", "axle_offset", "fork_cross", "fork_rake", "wheel_track",
)  # fmt: skip


def characteristics(*, after: bool) -> Iterator[Characteristic]:
    """All of them, judged."""
    for key, (nominal, was, now, expanded, limit, source) in LINES.items():
        tolerance = Tolerance(
            nominal, None if limit is None else -limit, limit, key in REQUIRED and limit is not None
        )
        budget = (Share(source, 0.62), Share("instrument_scale", 0.27), Share("temperature", 0.11))
        value = nominal + (now if after else was)
        yield verdicts.characteristic(
            Row(key, value), expanded / 1.96, None, tolerance, 0.95, budget, False
        )


def result(*, after: bool = True) -> ResultOut:
    """The result of the measurement after the correction, or before it."""
    found = tuple(characteristics(after=after))
    covariance = np.diag([one.standard_uncertainty**2 for one in found])
    tolerances = {
        one.key: Tolerance(one.nominal, one.lower, one.upper, one.required) for one in found
    }
    finding = verdicts.finding(found, covariance, tolerances, 0.95, False)
    tally = words.Tally(
        reference="Invented Works Example 700 2019-2022, revision 1",
        within=tuple(one.key for one in found if one.verdict == "within"),
        outside=tuple(one.key for one in found if one.verdict == "outside"),
        undecided=tuple(one.key for one in found if one.verdict == "undecided"),
        missing=finding.missing,
        probability_all=finding.probability_all,
        threshold=0.95,
        moved=False,
    )
    return {
        "format": "jigbook.result/1",
        "engine_version": "1",
        "levelling": "by_control",
        "threshold": 0.95,
        "finding": {
            "verdict": finding.verdict,
            "probability_all": finding.probability_all,
            "required": finding.required,
            "missing": list(finding.missing),
            "sentence": words.finding_sentence(finding.verdict, tally),
        },
        "rig_check": {
            "verdict": "steady",
            "scope": "datum_and_steering",
            "statistic": 4.3,
            "limit": 20.52,
            "degrees_of_freedom": 5,
            "detectable_slip_mm": 0.6,
            "sentence": checks.rig("steady", "datum_and_steering", 0.6),
        },
        "noise_check": {
            "verdict": "as_claimed",
            "statistic": 15.1,
            "limit": 39.25,
            "degrees_of_freedom": 16,
            "sentence": checks.noise("as_claimed"),
        },
        "orientation": "checked",
        "characteristics": [characteristic_in_words(one) for one in found],
        "covariance": {"keys": [one.key for one in found], "matrix": covariance.tolist()},
        "handling": {
            one.name: figure(one.name, one.value, one.standard_uncertainty) for one in HANDLING
        },
        "fork_bend_mm": {"left": 0.04, "right": 0.62} if not after else {},
        "warnings": [],
        "outline": whole(0.6, 0.4) if after else whole(6.2, 3.0),
    }
