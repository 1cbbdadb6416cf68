"""Setting the front wheel straight: every turn tried, and what comes of the best."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.formulas.everything import computed
from app.chassis.formulas.wheels import straight_lean
from app.chassis.survey import Reference
from app.geometry.dual import Vector, constant
from tests.chassis.formulas.machine import Machine, Wheels, Y, Z, turning
from tests.chassis.formulas.seen import Seen

REFERENCE = Reference(levelling="by_line")
FINE = np.linspace(-180.0, 180.0, 36_001)


def tried(normal: np.ndarray, axis: np.ndarray, ahead: np.ndarray) -> float:
    """The smallest turn (deg) after which the normal is square to ahead, by trying 0.01° steps
    and halving the one in which the sign changes."""

    def off(degrees: float) -> float:
        return float(ahead @ (turning(axis, degrees) @ normal))

    along = axis * (axis @ normal)
    square = normal - along
    angles = np.radians(FINE)[:, np.newaxis]
    every = (along + np.cos(angles) * square + np.sin(angles) * np.cross(axis, square)) @ ahead
    changes = np.flatnonzero(np.sign(every[1:]) != np.sign(every[:-1]))
    found = []
    for place in changes:
        low, high = float(FINE[place]), float(FINE[place + 1])
        for _ in range(45):
            middle = (low + high) / 2.0
            if (off(middle) > 0.0) == (off(low) > 0.0):
                low = middle
            else:
                high = middle
        found.append(low)
    return min(found, key=abs)


def directions(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A normal, an axis, and what is sideways and up."""
    generator = np.random.default_rng(seed)
    made = generator.normal(size=(3, 3))
    normal, axis, ahead = made / np.linalg.norm(made, axis=1)[:, np.newaxis]
    sideways = np.cross(generator.normal(size=3), ahead)
    sideways /= np.linalg.norm(sideways)
    return normal, axis, sideways, np.cross(ahead, sideways)


@pytest.mark.parametrize("seed", range(40))
def test_the_wheel_leans_as_after_the_smallest_turn_that_sets_it_straight(seed: int) -> None:
    normal, axis, sideways, up = directions(seed)
    found = straight_lean(*map(constant, (normal, axis, sideways, up)))
    ahead = np.cross(sideways, up)
    size = math.hypot((normal - axis * (axis @ normal)) @ ahead, np.cross(axis, normal) @ ahead)
    if abs((normal @ axis) * (axis @ ahead)) >= size:
        assert found is None
        return
    assert found is not None
    straight = turning(axis, tried(normal, axis, ahead)) @ normal
    assert straight @ ahead == pytest.approx(0.0, abs=1e-12)
    assert float(found.value) == pytest.approx(math.atan2(straight @ up, straight @ sideways))


def test_random_wheels_go_straight_both_ways_round_or_not_at_all() -> None:
    """So that all branches of the test above are met."""
    every = [straight_lean(*map(constant, directions(seed))) for seed in range(40)]
    assert 5 < sum(one is None for one in every) < 35
    leans = [abs(float(one.value)) for one in every if one is not None]
    assert 5 < sum(lean > math.pi / 2.0 for lean in leans) < len(leans) - 5


def test_leans_of_many_trials_are_those_of_each() -> None:
    cases = [directions(seed) for seed in range(40)]
    together = straight_lean(*(Vector(np.array(p).T.copy()) for p in zip(*cases, strict=True)))
    assert together is not None
    assert np.asarray(together.value).shape == (40,)
    for place, case in enumerate(cases):
        alone = straight_lean(*map(constant, case))
        value = np.asarray(together.value)[place]
        assert np.isnan(value) if alone is None else value == pytest.approx(alone.value, abs=1e-12)


@pytest.mark.parametrize("steer", [-41.0, -9.0, 20.0])
def test_lean_and_track_are_those_of_the_wheel_turned_by_hand(steer: float) -> None:
    wheels = Wheels(steer, lean=1.4, track=-4.0, rear_toe=0.8, rear_lean=0.6)
    machine = Machine(twist=1.1, offset=3.0, wheels=wheels)
    features = machine.features()
    found = computed(Seen.by(machine).with_derivatives(), REFERENCE).values
    rear = features["rim.rear.left.normal"]
    ahead = np.cross(rear, Z)
    ahead /= np.linalg.norm(ahead)
    degrees = tried(features["rim.front.left.normal"], machine.up, ahead)
    assert degrees == pytest.approx(-steer, abs=1e-8)
    straight = turning(machine.up, degrees)
    normal = straight @ features["rim.front.left.normal"]
    lean = [math.atan2(one[2], math.hypot(one[0], one[1])) for one in (normal, rear)]
    assert float(found["wheel_lean"].value) == pytest.approx(lean[0] - lean[1], abs=1e-12)
    middles = [
        (features[f"rim.{wheel}.left.centre"] + features[f"rim.{wheel}.right.centre"]) / 2.0
        for wheel in ("front", "rear")
    ]
    centre = machine.head_point + straight @ (middles[0] - machine.head_point)
    assert float(found["wheel_track"].value) == pytest.approx(rear @ (centre - middles[1]))


def test_two_edges_that_lean_apart_give_the_plane_between_them() -> None:
    machine = Machine()
    seen = Seen.by(machine)
    ahead = turning(Z, 90.0) @ -Y
    for side, lean in (("left", 1.0), ("right", -1.0)):
        name = f"rim.front.{side}.normal"
        seen.features[name] = turning(ahead, lean) @ seen.features[name]
    found = computed(seen.with_derivatives(), REFERENCE).values
    assert float(found["wheel_lean"].value) == pytest.approx(0.0, abs=1e-12)


def test_without_the_rims_width_one_edge_gives_the_lean_alone() -> None:
    wheels = Wheels(5.0, 0.7, 2.0, front_sides=("left",))
    found = computed(Seen.by(Machine(wheels=wheels)).with_derivatives(), REFERENCE)
    assert math.degrees(float(found.values["wheel_lean"].value)) == pytest.approx(0.7)
    assert not {"wheel_track", "front_wheel_offset"} & set(found.values)
    assert [(one.code, one.feature) for one in found.warnings] == [
        ("rim_width_missing", "front_rim")
    ]


def test_a_wheel_without_levelling_keeps_what_needs_none() -> None:
    found = computed(Seen.by(Machine()).with_derivatives(), replace(REFERENCE, levelling=None))
    assert "front_wheel_lean" in found.values
    assert not {"wheel_lean", "wheel_track"} & set(found.values)
