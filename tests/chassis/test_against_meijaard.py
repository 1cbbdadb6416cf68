"""Trail against the published benchmark bicycle; numbers in tests/published/handling.json."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.chassis.formulas.handling import figures
from app.chassis.survey import Handling
from app.geometry.dual import Scalar

Published = Callable[[str, str], dict[str, Any]]


def trails(angle_rad: float, radius_m: float, fork_offset_m: float) -> dict[str, float]:
    """What the engine makes of a steering axis and a wheel, in metres."""
    given = Handling(
        attitude_deg=0.0,
        fork_offset_mm=1000.0 * fork_offset_m,
        front_tyre_radius_mm=1000.0 * radius_m,
    )
    found = figures({"head_angle": Scalar(angle_rad, np.ones(1))}, given)
    return {name: float(figure.value) / 1000.0 for name, figure in found.items()}


def normal_trail_behind_the_matrix(case: dict[str, Any]) -> float:
    """Metres, from the published lean-steer term of K0, in which it is the only unknown.

    That term is -S_A, S_A = m_A u_A + (c cos(lambda) / w) m_T x_T and u_A = (x_A - w - c)
    cos(lambda) - z_A sin(lambda), A the front assembly and T the whole (the paper's appendix A).
    """
    given, tilt = case["inputs"], case["inputs"]["steer_axis_tilt_lambda_rad"]
    body, bar, wheel = given["rear_body"], given["handlebar"], given["front_wheel_m"]
    base, radius = given["wheelbase_w_m"], given["front_radius_m"]
    front = bar["m"] + wheel
    front_x, front_z = bar["m"] * bar["x"] + wheel * base, bar["m"] * bar["z"] - wheel * radius
    whole_x = body["m"] * body["x"] + front_x
    known = (front_x - front * base) * math.cos(tilt) - front_z * math.sin(tilt)
    front_moment = -float(case["published"]["K0_lean_steer"])
    return float((front_moment - known) / (whole_x / base - front))


def test_normal_trail_agrees_with_the_matrix_of_meijaard_et_al(published: Published) -> None:
    """Proc. R. Soc. A 463 (2007) 1955-1982: c = 0.08 m, lambda = 18 degrees, r_F = 0.35 m.

    The paper states trail, tilt and radius, no fork offset: that of the bicycle is r_F sin(lambda)
    less the normal trail found in the published matrix, which knows nothing of our formulas.
    """
    case = published("handling", "meijaard-2007")
    tilt, radius = (case["inputs"][key] for key in ("steer_axis_tilt_lambda_rad", "front_radius_m"))
    normal = normal_trail_behind_the_matrix(case)
    found = trails(tilt, radius, radius * math.sin(tilt) - normal)
    assert found["normal_trail_mm"] == pytest.approx(normal, rel=1e-12)
    assert found["trail_mm"] == pytest.approx(case["inputs"]["trail_c_m"], rel=1e-12)


def test_trail_agrees_with_the_worked_relations(published: Published) -> None:
    """Cossalter, Motorcycle Dynamics, chapter 1 (from memory): R tan(e) - f / cos(e)."""
    case = published("handling", "trail-relations-worked")
    given, derived = case["inputs"], case["derived"]
    angle = math.radians(given["castor_angle_deg"])
    found = trails(angle, given["front_wheel_radius_m"], given["fork_offset_m"])
    assert found["trail_mm"] == pytest.approx(derived["trail_m"], rel=1e-12)
    assert found["normal_trail_mm"] == pytest.approx(derived["normal_trail_m"], rel=1e-12)


def test_trail_follows_the_angle_as_the_worked_relations_say(published: Published) -> None:
    """(R - f sin(e)) / cos(e)², 5.98 mm a degree, as the slope that uncertainty goes by."""
    case = published("handling", "trail-relations-worked")
    given = Handling(0.0, 35.0, 300.0)
    angle = math.radians(case["inputs"]["castor_angle_deg"])
    slopes = figures({"head_angle": Scalar(angle, np.ones(1))}, given)["trail_mm"].slopes
    assert slopes is not None
    expected = 1000.0 * case["derived"]["trail_by_angle_m_per_rad"]
    assert slopes[0] == pytest.approx(expected, rel=1e-12)
