"""Each sign rule by what it means at the machine: one part is moved by hand, and the sign told.

Seen from the rider: forward is +X, left is +Y, up is +Z. Nothing here uses an angle's formula.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.formulas.everything import computed
from app.chassis.survey import Handling, Reference
from tests.chassis.formulas.machine import Features, Fork, Machine, Pair, Wheels, X, Y, Z
from tests.chassis.formulas.seen import Seen

NOMINALS = Machine().control
REFERENCE = Reference(
    levelling="by_control",
    control_points=NOMINALS,
    handling=Handling(0.0, 32.0, 300.0, 310.0, 1420.0, 8.0, 690.0),
)
Change = Callable[[Features], None]


def shifted(*names: str, by: np.ndarray) -> Change:
    def change(features: Features) -> None:
        for name in names:
            features[name] = features[name] + by

    return change


def of(features: Features, reference: Reference) -> Mapping[str, float]:
    features = dict(features)
    for name in features:
        if name.endswith(("direction", "normal")):
            features[name] = features[name] / np.sqrt(features[name] @ features[name])
    left = features["pivot.direction"]
    for name in features:
        if name.startswith(("face", "axle_face")):
            features[name] = np.asarray(left @ features[name])
    found = computed(Seen(features, (0.0, 0.0, 1.0)).with_derivatives(), reference)
    return {key: float(one.value) for key, one in {**found.values, **found.handling}.items()}


RULES: list[tuple[str, Change, str, float]] = [
    ("the steering head's top leans to the right",
     shifted("steering.direction", by=-0.02 * Y), "head_twist", 1),
    ("the head stands to the left",
     shifted("head", "steering.point", by=4.0 * Y), "head_offset", 1),
    ("the head is pushed back",
     shifted("head", "steering.point", by=-5.0 * X), "head_reach", 635.0),
    ("the head is pushed down",
     shifted("head", "steering.point", by=-5.0 * Z), "head_height", 375.0),
    ("the steering axis leans farther back",
     shifted("steering.direction", by=-0.02 * X), "head_angle", 0.43),
    ("the axle's left end is pulled back, so the wheel points left",
     shifted("axle.direction", by=-0.02 * X), "axle_toe", 1),
    ("the axle's left end is high, clockwise from behind",
     shifted("axle.direction", by=0.02 * Z), "axle_twist", 1),
    ("the wheel stands to the left",
     shifted("axle.point", "axle_face.left", "axle_face.right", by=3.0 * Y), "axle_offset", 1),
    ("the tail rails stand to the left",
     shifted("pair.tail.left", "pair.tail.right", by=3.0 * Y), "pair_offset.tail", 1),
    ("the left rail is high",
     shifted("pair.tail.left", by=3.0 * Z), "pair_roll.tail", 1),
    ("the left rail is rearward",
     shifted("pair.tail.left", by=-3.0 * X), "pair_skew.tail", 1),
    ("the shock bolt's left end is rearward",
     shifted("axis.shock.direction", by=-0.02 * X), "axis_toe.shock", 1),
    ("the shock bolt's left end is high",
     shifted("axis.shock.direction", by=0.02 * Z), "axis_twist.shock", 1),
    ("the spar's point is forward",
     shifted("control.spar", by=1e-3 * X), "control.spar.x", 1),
    ("the spar's point is to the left",
     shifted("control.spar", by=2.0 * Y), "control.spar.y", 1),
    ("the spar's point is high",
     shifted("control.spar", by=1e-3 * Z), "control.spar.z", 1),
    ("the pivot axis's left end is high",
     shifted("pivot.direction", by=0.02 * Z), "datum_roll", 1),
    ("the pivot axis points to the left, its left end rearward",
     shifted("pivot.direction", by=-0.02 * X), "datum_yaw", 1),
    ("the frame's faces stand to the left",
     shifted("face.left", "face.right", by=2.0 * Y), "datum_shift", 1),
    ("the left leg's top stands out to the left",
     shifted("leg.left.direction", by=0.02 * Y), "fork_spread", 1),
    ("the right leg's top stands out to the right",
     shifted("leg.right.direction", by=-0.02 * Y), "fork_spread", 1),
    ("the left leg's top is forward",
     shifted("leg.left.direction", by=0.02 * X), "fork_cross", 1),
    ("the right leg's top is forward",
     shifted("leg.right.direction", by=0.02 * X), "fork_cross", -1),
    ("both legs' tops are forward of the steering axis",
     shifted("leg.left.direction", "leg.right.direction", by=0.02 * X), "fork_rake", 1),
    ("both legs' tops are to the right of the steering axis",
     shifted("leg.left.direction", "leg.right.direction", by=-0.02 * Y), "fork_lean", 1),
    ("the legs stand farther ahead of the steering axis",
     shifted("leg.left.centroid", "leg.right.centroid", by=3.0 * X), "fork_offset", 34.7),
    ("the front wheel's top leans to the right: the left end of its axle is high",
     shifted("rim.front.left.normal", "rim.front.right.normal", by=0.02 * Z), "wheel_lean", 1),
    ("the rear wheel's top leans to the right",
     shifted("rim.rear.left.normal", "rim.rear.right.normal", by=0.02 * Z), "wheel_lean", -1),
    ("the front wheel runs to the left of the rear one",
     shifted("rim.front.left.centre", "rim.front.right.centre", by=3.0 * Y), "wheel_track", 1),
    ("the front wheel's top leans to the right of the steering axis",
     shifted("rim.front.left.normal", "rim.front.right.normal", by=0.02 * Z),
     "front_wheel_lean", 1),
    ("the front wheel stands to the left of the head",
     shifted("rim.front.left.centre", "rim.front.right.centre", by=3.0 * Y),
     "front_wheel_offset", 1),
    ("the head's top leans right, so the front tyre touches the ground to the left",
     shifted("steering.direction", by=-0.02 * Y), "front_contact_mm", 1),
    ("the rear wheel's top leans right, so its tyre touches the ground to the left",
     shifted("axle.direction", by=0.02 * Z), "rear_contact_mm", 1),
    ("the front tyre touches to the left of the rear wheel's line",
     shifted("head", "steering.point", by=4.0 * Y), "wheel_line_mm", 1),
    ("the rear wheel points left, so the front tyre touches to the right of its line",
     shifted("axle.direction", by=-0.02 * X), "wheel_line_mm", -1),
]  # fmt: skip


@pytest.mark.parametrize(("what", "change", "key", "expected"), RULES, ids=[r[0] for r in RULES])
def test_the_sign_says_what_is_seen(what: str, change: Change, key: str, expected: float) -> None:
    """expected: a sign, or about what the number becomes where it is never negative."""
    plain = Machine(wheels=Wheels(rear_toe=0.0), offset=0.0).features()
    for name in [name for name in plain if name.startswith("rim")]:
        if name.endswith("centre"):
            plain[name] = plain[name] - 4.0 * Y
    before, changed = of(plain, REFERENCE), dict(plain)
    change(changed)
    after = of(changed, REFERENCE)
    if abs(expected) == 1:
        assert before[key] == pytest.approx(0.0, abs=1e-10)
        assert after[key] * expected > 1e-5
    else:
        assert after[key] == pytest.approx(expected, rel=0.02)
        assert (after[key] - before[key]) * (expected - before[key]) > 0.0


NOT_MIRRORED = (
    "head_reach", "head_height", "head_angle", "axis_distance", "face_position", "pivot_width",
    "arm_length", "fork_spread", "fork_spacing", "fork_rake", "fork_offset", "distance",
    "normal_trail_mm", "trail_mm",
)  # fmt: skip


LEFTWARD = ("pivot.direction", "axle.direction", "axis.shock.direction")
SKEWED = Machine(
    twist=1.2,
    offset=4.0,
    toe=0.6,
    axle_twist=-0.9,
    axle_offset=-2.0,
    pairs={"tail": Pair((-300.0, 5.0, 260.0), roll=2.0, skew=-1.2)},
    axes={"shock": (1.3, -0.6)},
    control={
        name: (x + 1.0 + 0.02 * y, y + 2.0, z + 3.0 + 0.01 * y)
        for name, (x, y, z) in Machine().control.items()
    },
    fork=Fork(0.9, -0.5, 30.0, 188.0, 0.4, -0.6, 20.0, 20.0),
    wheels=Wheels(14.0, 0.9, 5.0, -0.6, 0.7),
)


def exchanged(name: str) -> str:
    return name.replace("left", "?").replace("right", "left").replace("?", "right")


def mirrored(features: Features) -> Features:
    """A direction to the left stays one: it is mirrored and turned round."""
    found = {}
    for name, value in features.items():
        round_again = name.endswith("normal") or name in LEFTWARD
        found[exchanged(name)] = value * (1.0, -1.0, 1.0) * (-1.0 if round_again else 1.0)
    return found


def test_a_mirrored_machine_has_its_sideways_numbers_turned_round() -> None:
    """Left and right exchanged everywhere: what leans right leans left, lengths stay."""
    nominals = {exchanged(name): (x, -y, z) for name, (x, y, z) in NOMINALS.items()}
    one = of(SKEWED.features(), REFERENCE)
    other = of(mirrored(SKEWED.features()), replace(REFERENCE, control_points=nominals))
    assert len(one) == len(other) > 45
    for key, value in one.items():
        same = key.startswith(NOT_MIRRORED) or (key.startswith("control") and key[-1] in "xz")
        expected = value if same else -value
        assert other[exchanged(key)] == pytest.approx(expected, abs=1e-9), key
        assert same or abs(value) > 1e-4, f"{key} shows nothing"
