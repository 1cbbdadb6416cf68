"""One text of each formula: derivatives, trials and constants say the same, wherever one stands."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis import head as by_hand
from app.chassis.associated import Associated
from app.chassis.formulas.everything import Computed, computed
from app.chassis.frames import vector
from app.chassis.survey import Handling, Reference, Tolerance
from tests.chassis.formulas.machine import Fork, Machine, Pair, Wheels, turning
from tests.chassis.formulas.seen import Seen

BENT = Machine(
    twist=1.2,
    offset=4.0,
    toe=0.6,
    axle_twist=-0.9,
    axle_offset=-2.0,
    pairs={"tail": Pair((-300.0, 5.0, 260.0), roll=2.0, skew=-1.2), "rest": Pair()},
    axes={"shock": (1.3, -0.6), "link": (-0.4, 0.8)},
    fork=Fork(0.9, -0.5, 30.0, 188.0, 0.4, -0.6, 20.0, -35.0),
    wheels=Wheels(14.0, 0.9, 5.0, -0.6, 0.7),
)
RULES = ("by_control", "by_line", "by_height", "by_angle")


def reference(rule: str, **nominals: float) -> Reference:
    return Reference(
        levelling=rule,
        characteristics={
            "head_height": Tolerance(378.0),
            "head_angle": Tolerance(24.5),
            "distance.front_left.tail": Tolerance(),
            "distance.spar.front_right": Tolerance(),
        },
        control_points={
            name: (x + 2.0, y - 1.0, z + 3.0) for name, (x, y, z) in BENT.control.items()
        },
        control_weights={"spar": 2.5, "tail": 0.5},
        handling=Handling(0.4, 32.0, 300.0, 310.0, 1420.0, 8.0, 690.0),
    )


def all_of(found: Computed) -> dict[str, np.ndarray]:
    return {key: np.asarray(one.value) for key, one in {**found.values, **found.handling}.items()}


def slopes_of(found: Computed) -> dict[str, np.ndarray]:
    slopes = {key: one.slopes for key, one in {**found.values, **found.handling}.items()}
    return {key: one for key, one in slopes.items() if one is not None}


@pytest.mark.parametrize("rule", RULES)
def test_slopes_are_those_of_central_differences(rule: str) -> None:
    seen, of = Seen.by(BENT, turning(np.array([1.0, 2.0, -1.0]), 70.0)), reference(rule)
    slopes = slopes_of(computed(seen.with_derivatives(), of))
    # Steps of every input over one another, all at once as trials: 1e-3 mm, and 1e-6 of a unit
    # vector, where the rounding and the third derivative are both far below the tolerance.
    sizes = np.concatenate(
        [
            np.full(value.size, 1e-6 if name.endswith(("direction", "normal")) else 1e-3)
            for name, value in seen.features.items()
        ]
    )
    steps = np.diag(sizes)
    numbers = seen.numbers[:, np.newaxis]
    ahead = all_of(computed(seen.over(numbers + steps), of))
    behind = all_of(computed(seen.over(numbers - steps), of))
    assert len(slopes) == len(ahead) == 54
    for key, found in slopes.items():
        expected = (ahead[key] - behind[key]) / (2.0 * sizes)
        scale = max(1.0, float(np.abs(expected).max()))
        np.testing.assert_allclose(found, expected, rtol=0.0, atol=3e-7 * scale, err_msg=key)


@pytest.mark.parametrize("rule", RULES)
def test_trials_and_constants_have_the_values_of_the_derivative_state(rule: str) -> None:
    seen, of = Seen.by(BENT), reference(rule)
    expected = all_of(computed(seen.with_derivatives(), of))
    alone = all_of(computed(seen.over(seen.numbers), of))
    noise = np.random.default_rng(3).normal(scale=0.01, size=(seen.inputs, 7))
    noise[:, 4] = 0.0
    trials = all_of(computed(seen.over(seen.numbers[:, np.newaxis] + noise), of))
    assert list(alone) == list(trials) == list(expected)
    for key, wanted in expected.items():
        assert trials[key].shape == (7,), key
        assert alone[key] == pytest.approx(wanted, rel=1e-12, abs=1e-12), key
        assert trials[key][4] == pytest.approx(wanted, rel=1e-12, abs=1e-12), key


def test_each_trial_is_what_it_would_be_alone() -> None:
    seen, of = Seen.by(BENT), reference("by_control")
    numbers = seen.numbers[:, np.newaxis]
    numbers = numbers + np.random.default_rng(8).normal(scale=0.02, size=(seen.inputs, 5))
    together = all_of(computed(seen.over(numbers), of))
    for trial in range(5):
        alone = all_of(computed(seen.over(numbers[:, trial]), of))
        for key, value in alone.items():
            assert together[key][trial] == pytest.approx(value, rel=1e-10, abs=1e-11), key


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("seed", range(4))
def test_where_the_instrument_stands_changes_nothing(rule: str, seed: int) -> None:
    generator = np.random.default_rng(seed)
    turn = turning(generator.normal(size=3), generator.uniform(-180.0, 180.0))
    shift = generator.uniform(-10_000.0, 10_000.0, size=3)
    of = reference(rule)
    at_home = all_of(computed(Seen.by(BENT).with_derivatives(), of))
    away = all_of(computed(Seen.by(BENT, turn, shift).with_derivatives(), of))
    assert list(away) == list(at_home)
    for key, value in at_home.items():
        assert away[key] == pytest.approx(value, abs=1e-9), key


def test_the_order_of_measuring_changes_nothing() -> None:
    seen, of = Seen.by(BENT), reference("by_control")
    backwards = Seen(dict(reversed(list(seen.features.items()))), seen.up)
    one = all_of(computed(seen.with_derivatives(), of))
    other = all_of(computed(backwards.with_derivatives(), of))
    assert set(one) == set(other)
    for key, value in one.items():
        assert other[key] == pytest.approx(value, abs=1e-10), key


def by_columns(associated: Associated, gradient: tuple[float, ...]) -> np.ndarray:
    """The gradient of `chassis.head` carried to the inputs."""
    steering, head = associated.steering, associated.head
    assert steering is not None
    assert head is not None
    rows = []
    for one in (
        associated.pivot.direction, associated.pivot.point, steering.direction, steering.point
    ):  # fmt: skip
        assert one.slopes is not None
        rows.append(one.slopes)
    for side in ("left", "right"):
        face = associated.faces[side].slopes
        assert face is not None
        rows.append(face[np.newaxis])
    # H is the point of the axis at a height over its point: here it is an input of its own.
    assert head.slopes is not None
    assert steering.direction.slopes is not None
    assert steering.point.slopes is not None
    axis, arm = steering.direction.value, head.value - steering.point.value
    height = axis @ (head.slopes - steering.point.slopes) + arm @ steering.direction.slopes
    return np.asarray(np.array(gradient) @ np.vstack([*rows, height]))


def test_the_head_is_that_of_the_formulas_differentiated_by_hand() -> None:
    associated = Seen.by(BENT, turning(np.array([0.2, 1.0, 2.0]), 50.0)).with_derivatives()
    steering, pivot = associated.steering, associated.pivot
    assert steering is not None
    assert associated.head is not None
    # H on the axis by its height, so that both have the same inputs.
    height = float(steering.direction.value @ (associated.head.value - steering.point.value))
    on_axis = replace(associated, head=steering.point + steering.direction * height)
    found = computed(on_axis, reference("by_line")).values
    left, up = vector(pivot.direction.value), vector(steering.direction.value)
    origin, point = vector(pivot.point.value), vector(steering.point.value)
    sides = [float(associated.faces[side].value) for side in ("left", "right")]
    expected = {
        "head_twist": by_hand.head_twist(left, up),
        "head_offset": by_hand.head_offset(left, up, point, height, *sides),
        "axis_distance": by_hand.axis_distance(left, origin, up, point),
        "face_position": by_hand.face_position(left, origin, up, point, height),
        "pivot_width": by_hand.pivot_width(*sides),
    }
    for key, wanted in expected.items():
        assert found[key].value == pytest.approx(wanted.value, abs=1e-10), key
        slopes = found[key].slopes
        assert slopes is not None
        np.testing.assert_allclose(
            slopes, by_columns(on_axis, wanted.gradient), rtol=0.0, atol=1e-10, err_msg=key
        )


def test_what_another_path_gives_is_skipped_and_handling_stays() -> None:
    seen, of = Seen.by(BENT).with_derivatives(), reference("by_angle")
    whole = computed(seen, of)
    head = {"head_twist", "head_offset", "axis_distance", "face_position", "pivot_width"}
    head |= {"head_reach", "head_height", "head_angle"}
    part = computed(seen, of, known={key: whole.values[key] for key in head})
    assert set(whole.values) - set(part.values) == head
    assert {name: one.value for name, one in part.handling.items()} == {
        name: one.value for name, one in whole.handling.items()
    }
    few = computed(seen, of, only={"axle_toe", "head_twist"})
    assert list(few.values) == ["head_twist", "axle_toe"]
    assert set(few.handling) == set(whole.handling)


def test_what_levelling_sets_is_the_nominal_itself_without_slopes() -> None:
    seen = Seen.by(BENT)
    found = computed(seen.with_derivatives(), reference("by_height")).values["head_height"]
    assert found.value == 378.0
    assert found.slopes is not None
    assert found.slopes.shape == (seen.inputs,)
    assert not found.slopes.any()
    trials = np.repeat(seen.numbers[:, np.newaxis], 4, axis=1)
    over = computed(seen.over(trials), reference("by_angle")).values["head_angle"]
    assert np.asarray(over.value).tolist() == [np.radians(24.5)] * 4


def test_a_trial_that_has_no_answer_leaves_the_others_alone() -> None:
    seen, of = Seen.by(BENT), reference("by_height")
    trials = np.repeat(seen.numbers[:, np.newaxis], 3, axis=1)
    trials[seen.columns["head"], 1] = (50.0, 0.0, 200.0)
    found = all_of(computed(seen.over(trials), of))
    assert np.isnan(found["head_reach"]).tolist() == [False, True, False]
    assert np.isfinite(found["face_position"]).all()
    assert np.isfinite(found["arm_length"]).all()
