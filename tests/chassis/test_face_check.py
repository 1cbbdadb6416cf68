"""Faces whose points contradict each other: seen, told, and no verdict rests on them."""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from tests.chassis.poses import Floats, Key, Pose, random_motion, survey

POSE = Pose()
Points = list[tuple[Key, Floats]]
LIMIT_1, LIMIT_2, LIMIT_3 = 10.828, 13.816, 16.266
"""Chi-square at 0.1 % with 1, 2 and 3 degrees of freedom, from tables."""


def sides(off: float, count: int = 3, radius: float = 20.0) -> Points:
    """Points round the pivot on both faces, the first of the left `off` mm outward."""
    found: Points = []
    for k in range(count):
        at = 2.0 * math.pi * k / count
        x, z = radius * math.cos(at), radius * math.sin(at)
        found.append((("pivot_face", "left", None), np.array([x, 120.0 + off * (k == 0), z])))
        found.append((("pivot_face", "right", None), np.array([x, -120.0, z])))
    return found


def with_sides(off: float, count: int = 3) -> Points:
    return [p for p in POSE.points() if p[0][0] != "pivot_face"] + sides(off, count)


def with_head_face(drops: Sequence[float], radius: float = 25.0) -> Points:
    """Points round the axis, each so many mm below a sound face."""
    points = [p for p in POSE.points() if p[0][0] != "head_face"]
    for k, drop in enumerate(drops):
        place = POSE.on_face(radius, 360.0 / len(drops) * k) - POSE.up * drop
        points.append((("head_face", None, None), place))
    return points


def solved(points: Points, noise: float = 0.0, seed: int = 0) -> Result:
    return evaluate(survey(points, noise=noise, seed=seed), POSE.reference())


def verdicts(result: Result) -> dict[str, str]:
    return {item.key: item.verdict for item in result.characteristics}


def warned(result: Result) -> dict[str, dict[str, object]]:
    return {warning.code: dict(warning.facts) for warning in result.warnings}


@pytest.mark.parametrize("off", [1.0, 3.0, 10.0])
def test_one_point_of_a_pivot_face_off_the_others(off: float) -> None:
    """A plane goes through any three points; one square to the pivot does not."""
    result = solved(with_sides(off))
    facts = warned(result)["pivot_face_doubtful"]
    assert facts["side"] == "left"
    assert float(str(facts["limit"])) == pytest.approx(LIMIT_2, abs=0.001)
    found = verdicts(result)
    assert found["head_offset"] == found["pivot_width"] == "undecided"
    assert found["head_twist"] == found["axis_distance"] == found["face_position"] == "within"
    assert result.finding.verdict == "undecided"


def test_what_a_pivot_face_may_lean_is_no_contradiction() -> None:
    """0.2 mm over 30 mm is 0.38°: twice what is taken for granted, and twice the points' u."""
    result = solved(with_sides(0.2))
    assert result.warnings == ()
    assert result.finding.verdict == "within"


@pytest.mark.parametrize("off", [3.0, 10.0])
def test_scatter_of_a_pivot_face_is_no_movement(off: float) -> None:
    """The wrong point measured right again: the return contradicts the face, and so do the others
    among themselves."""
    again: Points = [
        (("pivot", "left", "return"), np.array([0.0, 130.0, 0.0])),
        (("pivot", "right", "return"), np.array([0.0, -130.0, 0.0])),
        (("pivot_face", "left", "return"), np.array([20.0, 120.0, 0.0])),
    ]
    result = solved(with_sides(off) + again)
    assert (result.rig_check.verdict, result.rig_check.scope) == ("steady", "datum_and_steering")
    assert set(warned(result)) == {"pivot_face_doubtful"}
    lifted = [(k, x + np.array([0.0, 0.0, 3.0]) if k[2] == "return" else x) for k, x in again]
    assert solved(with_sides(off) + lifted).rig_check.verdict == "moved"


def test_a_return_that_contradicts_a_sound_face_is_movement() -> None:
    again: Points = [(("pivot_face", "left", "return"), np.array([20.0, 123.0, 0.0]))]
    assert solved(with_sides(0.0) + again).rig_check.verdict == "moved"


@pytest.mark.parametrize(("drops", "limit"), [((0.0, 10.0), LIMIT_1), ((0.0, 10.0, 0.0), LIMIT_2)])
def test_one_bad_point_of_the_head_face(drops: Sequence[float], limit: float) -> None:
    result = solved(with_head_face(drops))
    facts = warned(result)["head_face_doubtful"]
    assert float(str(facts["limit"])) == pytest.approx(limit, abs=0.001)
    found = verdicts(result)
    for key in ("head_offset", "face_position", "head_angle"):
        assert found[key] == "undecided", key
    assert found["head_twist"] == found["axis_distance"] == found["pivot_width"] == "within"


def test_a_bad_point_shows_where_the_squareness_is_withheld() -> None:
    """Coarse points: 0.3 mm at 25 mm tell a tilt to 0.8° only, and still not 10 mm."""
    points = with_head_face((0.0, 10.0, 0.0))
    u = np.array([0.3 if key[0] == "head_face" else math.nan for key, _ in points])
    result = evaluate(survey(points, u=u), POSE.reference())
    assert "face_squareness" not in verdicts(result)
    assert "head_face_doubtful" in warned(result)


def test_the_statistic_of_two_points_by_hand() -> None:
    """10 mm between two points 50 mm apart: (10 mm)² over 2 (0.1 mm)² and the square of 50 mm times
    0.2° and the axis's own tilt."""
    result = solved(with_head_face((0.0, 10.0)))
    statistic = float(str(warned(result)["head_face_doubtful"]["statistic"]))
    square = 100.0 / (2 * 0.1**2 + (50.0 * math.radians(0.2)) ** 2)
    assert 0.8 * square < statistic < square


def test_a_tilt_on_which_four_points_agree_is_a_fact() -> None:
    """2° out of square, told by four points all round: warned of, and H stands where they say."""
    drop = 25.0 * math.tan(math.radians(2.0))
    result = solved(with_head_face((drop, 0.0, -drop, 0.0)))
    assert set(warned(result)) == {"face_damaged"}
    assert verdicts(result)["face_position"] == "within"
    one_wrong = solved(with_head_face((0.0, 1.5, 0.0, 0.0)))
    assert "head_face_doubtful" in warned(one_wrong)
    assert verdicts(one_wrong)["face_position"] == "undecided"


def test_a_tilted_face_touched_on_one_side_alone_places_nothing() -> None:
    """Four points of one tilt, all to one side of the axis: square or not shifts H by a lot."""
    points = [p for p in POSE.points() if p[0][0] != "head_face"]
    for at in (-40.0, -15.0, 15.0, 40.0):
        for radius in (20.0, 40.0):
            drop = radius * math.cos(math.radians(at)) * math.tan(math.radians(3.0))
            place = POSE.on_face(radius, at) - POSE.up * drop
            points.append((("head_face", None, None), place))
    result = solved(points)
    assert "head_face_doubtful" in warned(result)
    assert verdicts(result)["face_position"] == "undecided"


def test_an_axis_that_is_itself_uncertain_damages_no_face() -> None:
    """Two bore points 8 mm apart tell the axis to 1°: a face 2.5° to it is no contradiction."""
    points = [p for p in with_head_face((0.0, 0.5, 0.0)) if p[0][0] != "steer_target"]
    points += [(("head_bore", None, None), POSE.on_bore(height)) for height in (0.0, 8.0)]
    assert "head_face_doubtful" not in warned(solved(points))


def test_sound_faces_are_hardly_ever_doubted() -> None:
    """Two hundred surveys of three faces with three points each, 0.1 % a face: 0.6 expected."""
    points = [p for p in with_head_face((0.0, 0.0, 0.0)) if p[0][0] != "pivot_face"] + sides(0.0)
    doubted = sum(
        any(code.endswith("_doubtful") for code in warned(solved(points, 0.1, seed)))
        for seed in range(200)
    )
    assert doubted <= 3


@pytest.mark.parametrize(
    "uncertainty",
    [(1e-6, 1e3, 1e3), (1e-6, 1e3, 0.1), (1e3, 1e3, 1e3), (1e-6, 1e-6, 1e3), (1e-6, 1e-6, 1e-6)],
)
def test_a_face_of_very_uneven_uncertainties_is_solved(uncertainty: Sequence[float]) -> None:
    points = with_head_face((0.0, 0.0, 0.0))
    u = np.full(len(points), math.nan)
    u[-3:] = uncertainty
    result = evaluate(survey(points, u=u), POSE.reference())
    found = {item.key: item.value for item in result.characteristics}
    assert found["face_position"] == pytest.approx(POSE.position, abs=1e-6)


def test_uncertainties_of_a_nanometre_read_no_rounding_as_movement() -> None:
    """The return of a face at another spot: with u of 1e-6 mm the growth of chi-square must be the
    movement's, which is none, and not what rounding leaves of two large sums."""
    again: Points = [
        (("pivot", "left", "return"), np.array([0.0, 130.0, 0.0])),
        (("pivot", "right", "return"), np.array([0.0, -130.0, 0.0])),
        (("pivot_face", "left", "return"), np.array([-13.0, 120.0, 7.0])),
    ]
    points = [*POSE.points(), *again]
    motion, u = random_motion(0, 100.0), np.full(20, 1e-6)
    result = evaluate(survey(points, noise=1e-6, motion=motion, u=u), POSE.reference())
    assert result.rig_check.verdict == "steady"
    assert result.noise_check.verdict == "as_claimed"
