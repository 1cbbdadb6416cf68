"""Chi-squares of a face's points, against least squares set up another way."""

import numpy as np
import pytest

from app.chassis import head_face
from app.chassis.frames import frame_along
from app.chassis.head_face import Face

SQUARENESS = 2e-3


def made(seed: int, count: int, across: float, u: float) -> Face:
    """Points that lie up to 30 mm from the axis one way, up to `across` the other."""
    rng = np.random.default_rng(seed)
    direction = rng.normal(size=3)
    x, y, z = (direction / np.linalg.norm(direction)).tolist()
    frame = frame_along((x, y, z))
    local = rng.uniform(-1.0, 1.0, (count, 3)) * (30.0, across, 0.2)
    turn = rng.uniform(0.0, np.pi)
    sideways = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))))
    local[:, :2] = local[:, :2] @ sideways.T
    variance = (u * rng.uniform(1.0, 100.0, count)) ** 2
    return head_face.face(local @ frame.T, np.zeros(count), variance, np.zeros(3), frame)


def squares(face: Face, heights: np.ndarray, squareness: float) -> float:
    """One system: a row for each point, and one for each tilt, observed as 0."""
    root = 1.0 / np.sqrt(face.variance)
    design = np.column_stack((np.ones(len(root)), face.lateral)) * root[:, np.newaxis]
    rows = np.vstack((design, np.eye(3)[1:] / squareness))
    seen = np.append(heights * root, (0.0, 0.0))
    left = seen - rows @ np.linalg.lstsq(rows, seen, rcond=None)[0]
    return float(left @ left)


@pytest.mark.parametrize("count", [1, 2, 3, 6])
@pytest.mark.parametrize("u", [1e-3, 0.1])
@pytest.mark.parametrize("across", [0.0, 20.0])
def test_chi_squares_agree_with_one_least_squares_system(
    count: int, u: float, across: float
) -> None:
    for seed in range(5):
        face = made(seed, count, across, u)
        last = np.arange(count) == count - 1
        heights = (face.height, last.astype(float))
        found = head_face.chi_squares(face, heights, SQUARENESS)
        expected = [squares(face, height, SQUARENESS) for height in heights]
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_chi_square_of_the_face_is_that_of_its_plane() -> None:
    face = made(7, 5, 20.0, 0.05)
    (found,) = head_face.chi_squares(face, (face.height,), SQUARENESS)
    assert found == pytest.approx(head_face.plane(face, SQUARENESS).chi_square, rel=1e-12)


def test_scatter_of_a_wide_face_is_about_its_own_plane() -> None:
    face = made(3, 6, 20.0, 0.05)
    own = head_face.own_plane(face)
    assert own is not None
    assert head_face.scatter(face) == pytest.approx((own.chi_square, 3), rel=1e-12)


def test_scatter_of_a_narrow_face_tilts_along_it_alone() -> None:
    """A straight line's height along the points, by a fit of one slope along their direction."""
    face = made(4, 5, 0.5, 0.05)
    _, _, ways = np.linalg.svd(face.lateral - face.lateral.mean(axis=0))
    weights = 1.0 / np.sqrt(face.variance)
    line, squares, *_ = np.polyfit(face.lateral @ ways[0], face.height, 1, w=weights, full=True)
    assert len(line) == 2
    statistic, freedom = head_face.scatter(face)
    assert freedom == 3
    assert statistic == pytest.approx(float(squares[0]), rel=1e-10)


def test_points_in_one_spot_scatter_about_their_mean() -> None:
    face = made(5, 4, 20.0, 0.05)
    spot = face._replace(lateral=face.lateral / 1000.0)
    mean = np.average(spot.height, weights=1.0 / spot.variance)
    expected = float(((spot.height - mean) ** 2 / spot.variance).sum())
    assert head_face.scatter(spot) == pytest.approx((expected, 3), rel=1e-12)
    assert head_face.own_plane(spot) is None
