"""Every trial against `scipy.optimize.least_squares` on the engine's own residuals, one by one.

SciPy gets the points of the trial in the frames of the estimate and starts at the estimate. The
faces are then placed by a plane of NumPy's least squares.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares, root

from app.chassis import axes
from app.chassis.estimate import axis
from app.chassis.rotation import rotation
from app.chassis.set_up import SetUp
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN
from app.chassis.survey import Floats, Survey
from app.chassis.trials.head import Trials
from tests.chassis.trials.surveys import everything_at_once, small_turn, solved, sound

TRIALS = 300
LEVER_MM = 500.0
EQUAL_MM = 1e-6


def displaced(trials: Trials, checked: SetUp, drawn: Floats, growth: float) -> Floats:
    """(n, 3), mm: the points that tell the axes as this trial observed them."""
    stack, observations = checked.stack, checked.stack.observations
    block = trials.steering.block if trials.steering is not None else None
    assert block is not None
    place = checked.prepared.xyz[stack.places].copy()
    pivots = observations.blocks[0].last
    for row in range(len(place)):
        error = drawn[3 * row : 3 * row + 3]
        if row < pivots:
            place[row] += trials.pivot.size[row] @ error
        else:
            spread = block.spread[block.order.index(row - pivots)]
            moved = spread * error if spread.ndim == 1 else spread @ error
            place[row] += block.frame @ moved
    return place * (1.0 + growth)


def by_scipy(trials: Trials, checked: SetUp, drawn: Floats) -> list[tuple[Floats, Floats]]:
    """Direction and point of both axes in one trial; drawn: (deviates,)."""
    stack, prepared, start = checked.stack, checked.prepared, checked.prepared.steering
    assert start is not None
    common = trials.in_common(drawn[:, np.newaxis])
    place = displaced(trials, checked, drawn, float(common.growths["frame"][0]))
    observations = stack.observations.of_axes()
    pivots = observations.blocks[0].last
    position = np.concatenate(
        (
            place[:pivots] @ prepared.pivot_frame,
            (place[pivots:] - np.array(start.origin)) @ start.frame,
        )
    )
    first = 3 * len(place)
    spacings = tuple(
        replaced_spacing._replace(length=replaced_spacing.length + replaced_spacing.u * error)
        for replaced_spacing, error in zip(
            observations.spacings, drawn[first : observations.axis_rows], strict=True
        )
    )
    seen = replace(observations, position=position, spacings=spacings)
    found = least_squares(
        axes.residuals,
        checked.fitted.parameters[: observations.axis_unknowns],
        axes.jacobian,
        method="lm",
        x_scale="jac",
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
        max_nfev=20_000,
        args=(seen,),
    ).x
    # What hardly changes chi-square is left by that to a millionth of a millimetre and more.

    def slope(at: Floats) -> Floats:
        return axes.jacobian(at, seen).T @ axes.residuals(at, seen)

    found = root(slope, found, tol=1e-14).x
    pivot = axis(found, PIVOT_COLUMN, prepared.pivot_frame, (0.0, 0.0, 0.0))
    steering = axis(found, STEERING_COLUMN, start.frame, start.origin)
    return [(np.array(one.direction), np.array(one.point)) for one in (pivot, steering)]


def off_the_line(place: Floats, point: Floats, direction: Floats) -> float:
    arm = place - point
    return float(np.linalg.norm(arm - (arm @ direction) * direction))


def head_by_hand(
    trials: Trials, checked: SetUp, drawn: Floats, direction: Floats, point: Floats
) -> Floats:
    """H by a plane through the points, with its tilts observed as they were drawn."""
    prepared, stack, block = checked.prepared, checked.stack, trials.steering
    assert block is not None
    common = trials.in_common(drawn[:, np.newaxis])
    face = drawn[stack.observations.head_rows]
    places, u = (
        stack.head_places,
        np.sqrt(
            prepared.uncertainty.along(stack.head_places, np.array(checked.steering.direction))
            if checked.steering
            else np.ones(1)
        ),
    )
    a, b, c = block.block.frame.T @ direction
    across = block.block.frame @ np.array(rotation(a / c, b / c))
    grown = 1.0 + float(common.growths["frame"][0])
    arm = prepared.xyz[places] * grown - point
    height = arm @ direction + face[:-2] * u * grown + prepared.offset[places]
    height += np.sign(prepared.offset[places]) * float(common.offset[0])
    rows = np.column_stack((np.ones(len(places)), arm @ across[:, :2])) / u[:, np.newaxis]
    tilts = np.column_stack((np.zeros(2), np.eye(2))) / prepared.squareness
    design = np.concatenate((rows, tilts))
    right = np.concatenate((height / u, face[-2:]))
    solution = np.linalg.lstsq(design, right, rcond=None)[0]
    return np.asarray(point + solution[0] * direction)


@pytest.mark.parametrize(
    ("taken", "first_order_off_mm"),
    [(sound, 1e-3), (everything_at_once, 1e-4), (small_turn, 0.3)],
    ids=["sound", "everything at once", "strongly curved"],
)
def test_each_trial_is_solved_as_by_scipy(
    taken: Callable[[], Survey], first_order_off_mm: float
) -> None:
    checked, trials = solved(taken())
    drawn = np.empty((trials.deviates, TRIALS))
    trials.draw(np.random.default_rng(11), drawn)
    answer = trials.associate(drawn, finish=True)
    assert answer.found.all()
    whole = answer.associated
    assert whole.steering is not None
    assert whole.head is not None
    assert trials.steering is not None
    block = trials.steering.block
    rows = drawn[
        3 * checked.stack.observations.blocks[0].last : checked.stack.observations.axis_rows
    ]
    first_order = block.gain @ rows
    furthest = 0.0
    for trial in range(TRIALS):
        pivot, steering = by_scipy(trials, checked, drawn[:, trial])
        for line, (direction, point) in ((whole.pivot, pivot), (whole.steering, steering)):
            apart = np.linalg.norm(line.direction.value[:, trial] - direction)
            assert LEVER_MM * apart < EQUAL_MM
            assert off_the_line(line.point.value[:, trial], point, direction) < EQUAL_MM
        head = head_by_hand(trials, checked, drawn[:, trial], *steering)
        assert np.linalg.norm(whole.head.value[:, trial] - head) < 2.0 * EQUAL_MM
        a, b, _, _ = first_order[:4, trial]
        straight = block.frame @ (np.array((a, b, 1.0)) / np.sqrt(1.0 + a * a + b * b))
        furthest = max(furthest, LEVER_MM * float(np.linalg.norm(straight - steering[0])))
    assert furthest > first_order_off_mm
