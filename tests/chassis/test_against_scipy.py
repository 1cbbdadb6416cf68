"""The estimate against SciPy's least_squares: on the engine's own rows, and on others'.

The second is an independent statement of the whole problem: another parameterisation (radius,
height, phase; axis by angles), no frames, no hierarchy of weights: two fits one after the other.
"""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from app.chassis import axes
from app.chassis.estimate import estimate
from app.chassis.evaluate import evaluate
from app.chassis.preparation import prepare
from app.chassis.stacking import stack
from tests.chassis.poses import Floats, Key, Pose, random_motion, survey

POSE = Pose(twist=0.5, offset=1.0, angle=24.3)
Points = list[tuple[Key, Floats]]
MORE: Points = [
    (("head_face", None, None), POSE.on_face(22.0, 40.0)),
    (("head_face", None, None), POSE.on_face(22.0, -80.0)),
    (("head_bore", "high", None), POSE.on_bore(130.0)),
    (("head_bore", "low", None), POSE.on_bore(4.0)),
    (("pivot", "left", "return"), np.array([0.0, 131.0, 0.0])),
    (("pivot", "right", "return"), np.array([0.0, -129.0, 0.0])),
]


@pytest.mark.parametrize("seed", range(3))
def test_the_same_rows_from_the_same_start_have_the_same_minimum(seed: int) -> None:
    measured = survey(POSE.points() + MORE, noise=0.1, seed=seed, motion=random_motion(seed))
    rows = stack(prepare(measured, POSE.reference()))
    ours = estimate(rows)
    theirs = least_squares(
        axes.residuals, rows.start, "2-point", method="trf", args=(rows.observations,)
    )
    assert ours.parameters == pytest.approx(theirs.x, rel=1e-6, abs=1e-6)
    assert ours.chi_square == pytest.approx(2.0 * theirs.cost, rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_the_derivatives_are_those_of_the_rows(seed: int) -> None:
    measured = survey(
        POSE.points() + MORE,
        noise=0.5,
        seed=seed,
        target_spacing=(("upper", "lower", 235.2, 0.1),),
    )
    rows = stack(prepare(measured, POSE.reference()))
    at = rows.start + np.random.default_rng(seed).normal(0.0, 0.02, len(rows.start))
    # The leans of the sides are zero wherever the solver looks.
    at[[column + 1 for column in rows.side_columns.values()]] = 0.0
    slopes = axes.jacobian(at, rows.observations)
    for column, step in enumerate(np.eye(len(at)) * 1e-5):
        ahead = axes.residuals(at + step, rows.observations)
        behind = axes.residuals(at - step, rows.observations)
        numeric = (ahead - behind) / 2e-5
        assert slopes[:, column] == pytest.approx(numeric, rel=1e-6, abs=1e-5)


def axis_of(parameters: Floats) -> tuple[Floats, Floats]:
    """Unit vector and a point, from two angles and the place where the axis meets z = 0 turned."""
    turn = Rotation.from_euler("xy", parameters[:2]).as_matrix()
    return turn[:, 2], turn[:, 0] * parameters[2] + turn[:, 1] * parameters[3]


def line_rows(direction: Floats, through: Floats, places: Floats) -> Floats:
    arm = places - through
    return np.asarray(np.cross(arm, direction)).ravel()


@pytest.mark.parametrize("seed", range(3))
def test_another_statement_of_the_problem_has_the_same_answer(seed: int) -> None:
    """In machine axes. Targets by radius, height and phase, one axis fit; then the plane."""
    points = POSE.points() + MORE
    measured = survey(points, noise=0.1, seed=seed)
    place = {key: xyz for (key, _), xyz in zip(points, measured.xyz, strict=True)}
    faces = np.array(
        [x for (k, _), x in zip(points, measured.xyz, strict=True) if k[0] == "head_face"]
    )
    bore = np.array([x for k, x in place.items() if k[0] == "head_bore"])
    stations = ["s1", "s2", "s3", "s4", "s5", "return"]
    names = ["upper", "lower"]
    seen = np.array([[place["steer_target", name, s] for name in names] for s in stations])

    def steering_rows(parameters: Floats) -> Floats:
        up, through = axis_of(parameters)
        ahead = np.cross([0.0, 1.0, 0.0], up)
        ahead /= np.linalg.norm(ahead)
        left = np.cross(up, ahead)
        radius, height, phase = parameters[4:10].reshape(2, 3).T
        turn = np.concatenate(([0.0], parameters[10:]))[:, np.newaxis] + phase
        modelled = (
            through
            + (radius * np.cos(turn))[:, :, np.newaxis] * ahead
            + (radius * np.sin(turn))[:, :, np.newaxis] * left
            + height[:, np.newaxis] * up
        )
        return np.concatenate(((seen - modelled).ravel(), line_rows(up, through, bore))) / 0.1

    head = math.hypot(POSE.reach, POSE.height)
    start = [math.radians(-0.5), math.radians(-24.0), POSE.distance, 0.0]
    for name in names:
        radius, azimuth, height = POSE.targets[name]
        start += [radius, POSE.position + height, math.radians(azimuth)]
    start += [math.radians(a) for a in (28.0, 14.0, -14.0, -28.0, 2.0)]
    fit = least_squares(steering_rows, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    up, through = axis_of(fit.x)

    pivots = np.array([x for k, x in place.items() if k[0] == "pivot"])

    def pivot_rows(p: Floats) -> Floats:
        direction = np.array([p[0], 1.0, p[1]]) / math.sqrt(1.0 + p[0] ** 2 + p[1] ** 2)
        return line_rows(direction, np.array([p[2], 0.0, p[3]]), pivots) / 0.1

    line = least_squares(pivot_rows, np.zeros(4), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    left = np.array([line.x[0], 1.0, line.x[1]]) / math.sqrt(1.0 + line.x[0] ** 2 + line.x[1] ** 2)
    origin = np.array([line.x[2], 0.0, line.x[3]])

    one = np.cross(up, [0.0, 1.0, 0.0])
    one /= np.linalg.norm(one)
    other = np.cross(up, one)
    squareness = math.radians(0.2)

    def face_rows(parameters: Floats) -> Floats:
        height, first, second = parameters
        arm = faces - through
        plane = height + first * (arm @ one) + second * (arm @ other)
        return np.concatenate(((arm @ up - plane) / 0.1, parameters[1:] / squareness))

    plane = least_squares(face_rows, [head, 0.0, 0.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    h = through + plane.x[0] * up
    middle = (
        left @ place["pivot_face", "left", None] + left @ place["pivot_face", "right", None]
    ) / 2.0

    flat = up - (up @ left) * left
    flat /= np.linalg.norm(flat)
    result = evaluate(measured, POSE.reference())
    found = {item.key: item.value for item in result.characteristics}
    assert found["head_twist"] == pytest.approx(math.degrees(math.asin(-up @ left)), abs=1e-7)
    assert found["axis_distance"] == pytest.approx(
        np.cross(left, flat) @ (through - origin), abs=1e-6
    )
    assert found["face_position"] == pytest.approx(flat @ (h - origin), abs=1e-6)
    assert found["head_offset"] == pytest.approx(left @ h - middle, abs=1e-6)
