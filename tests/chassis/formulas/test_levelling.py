"""Levelling: each rule against what it promises, worked another way; when it is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.formulas.everything import Computed, computed
from app.chassis.levelling import level
from app.chassis.survey import Reference, Tolerance
from app.errors import Refusal
from tests.chassis.formulas.machine import Machine, turning
from tests.chassis.formulas.seen import Seen

AWAY = turning(np.array([-0.4, 0.9, 0.7]), 63.0), np.array([300.0, 900.0, -120.0])
CROOKED = Machine(
    twist=0.9,
    control={
        "front": (395.0, 118.0, 120.0),
        "tail": (-243.0, 33.0, 301.0),
        "spar": (161.0, -88.0, 322.0),
    },
)
NOMINALS = {
    "front": (410.0, 120.0, 95.0),
    "tail": (-250.0, 30.0, 310.0),
    "spar": (150.0, -90.0, 330.0),
}
WEIGHTS = {"front": 1.0, "tail": 3.0, "spar": 0.4}
BY_CONTROL = Reference(levelling="by_control", control_points=NOMINALS, control_weights=WEIGHTS)


def levelled(machine: Machine, reference: Reference) -> Computed:
    return computed(Seen.by(machine, *AWAY).with_derivatives(), reference)


def number(found: Computed, key: str) -> float:
    return float(found.values[key].value)


def test_by_control_is_the_turn_that_leaves_the_least_squares_in_side_view() -> None:
    """The best of a million turns, tried one by one."""
    found = levelled(CROOKED, BY_CONTROL)

    def squares(turns: np.ndarray) -> np.ndarray:
        total = np.zeros_like(turns)
        for name, (x, _, z) in NOMINALS.items():
            a, _, b = CROOKED.control[name]
            along = a * np.cos(turns) - b * np.sin(turns) - x
            above = a * np.sin(turns) + b * np.cos(turns) - z
            total += WEIGHTS[name] * (along**2 + above**2)
        return total

    turns = np.linspace(-math.pi, math.pi, 1_000_001)
    best = turns[squares(turns).argmin()]
    best = (best + np.linspace(-1e-5, 1e-5, 20_001))[
        squares(best + np.linspace(-1e-5, 1e-5, 20_001)).argmin()
    ]
    # A turn that raises the front makes the head higher and its axis lean farther back.
    assert number(found, "head_angle") == pytest.approx(math.radians(24.0) + best, abs=2e-8)
    reach = 640.0 * math.cos(best) - 380.0 * math.sin(best)
    assert number(found, "head_reach") == pytest.approx(reach, abs=2e-5)


def test_by_line_makes_the_line_level_with_its_front_ahead() -> None:
    seen = Seen.by(Machine(), *AWAY)
    seen.features["level_line.front"] = AWAY[0] @ np.array([350.0, -60.0, 235.0]) + AWAY[1]
    found = computed(seen.with_derivatives(), Reference(levelling="by_line"))
    assert found.axes is not None
    line = seen.features["level_line.front"] - seen.features["level_line.rear"]
    assert found.axes.up.value @ line == pytest.approx(0.0, abs=1e-10)
    assert found.axes.forward.value @ line > 0.0
    dropped = math.atan2(25.0, 550.0)
    assert number(found, "head_angle") == pytest.approx(math.radians(24.0) - dropped)


@pytest.mark.parametrize(
    ("rule", "key", "nominal"),
    [("by_height", "head_height", 365.0), ("by_angle", "head_angle", 25.5)],
)
def test_by_height_and_by_angle_are_those_of_the_two_invariants(
    rule: str, key: str, nominal: float
) -> None:
    reference = Reference(levelling=rule, characteristics={key: Tolerance(nominal)})
    found = levelled(CROOKED, reference)
    other, _ = level(reference, number(found, "axis_distance"), number(found, "face_position"))
    assert other is not None
    assert number(found, "head_reach") == pytest.approx(other.reach, abs=1e-9)
    assert number(found, "head_height") == pytest.approx(other.height, abs=1e-9)
    assert number(found, "head_angle") == pytest.approx(other.angle, abs=1e-12)


@pytest.mark.parametrize("rule", ["by_control", "by_line"])
def test_a_machine_without_head_and_arm_is_levelled_all_the_same(rule: str) -> None:
    whole = replace(CROOKED, fork=None, wheels=None)
    tail = replace(whole, head=False, steering=False, arm_length=None)
    reference = replace(BY_CONTROL, levelling=rule)
    one, other = levelled(whole, reference), levelled(tail, reference)
    assert other.levelled == rule
    for key in ("pair_roll.tail", "pair_skew.tail", "control.spar.x", "control.spar.z"):
        assert number(other, key) == pytest.approx(number(one, key), abs=1e-9)
    assert other.ahead is not None
    assert other.axes is not None
    assert other.ahead.value.tolist() == other.axes.forward.value.tolist()


def test_control_points_that_agree_on_no_turn_are_refused() -> None:
    scattered = {"front": (-410.0, 120.0, -95.0), "tail": (-250.0, 30.0, 310.0)}
    with pytest.raises(Refusal) as refused:
        levelled(CROOKED, replace(BY_CONTROL, control_points=scattered, control_weights={}))
    assert refused.value.code == "levelling_not_determined"
    facts = refused.value.facts
    front, tail = math.hypot(395.0, 120.0), math.hypot(243.0, 301.0)
    nominal = math.hypot(410.0, 95.0), math.hypot(250.0, 310.0)
    turns = [math.atan2(120.0, 395.0), math.atan2(301.0, -243.0)]
    wanted = [math.atan2(-95.0, -410.0), math.atan2(310.0, -250.0)]
    sizes = front * nominal[0], tail * nominal[1]
    resultant = abs(
        sum(
            size * np.exp(1j * (there - here))
            for size, here, there in zip(sizes, turns, wanted, strict=True)
        )
    )
    assert facts["met_ratio"] == pytest.approx(resultant / sum(sizes))
    assert facts["needed_ratio"] == 0.5


@pytest.mark.parametrize(("height", "refused"), [(0.0, True), (49.0, True), (51.0, False)])
def test_control_points_too_near_the_pivot_level_nothing(height: float, refused: bool) -> None:
    machine = replace(CROOKED, control={"front": (0.0, 300.0, height)})
    reference = replace(BY_CONTROL, control_points={"front": (3.0, 300.0, 51.0)})
    if not refused:
        assert levelled(machine, reference).levelled == "by_control"
        return
    with pytest.raises(Refusal, match="levelling_not_determined") as met:
        levelled(machine, reference)
    assert met.value.facts["reason"] == "lever"
    assert met.value.facts["met_mm"] == pytest.approx(height, abs=1e-9)


@pytest.mark.parametrize(("front", "refused"), [(-151.0, True), (-149.0, False)])
def test_a_level_line_shorter_than_50_mm_is_refused(front: float, refused: bool) -> None:
    machine = replace(CROOKED, level_line=(-200.0, front))
    if not refused:
        assert levelled(machine, Reference(levelling="by_line")).levelled == "by_line"
        return
    with pytest.raises(Refusal) as met:
        levelled(machine, Reference(levelling="by_line"))
    assert met.value.code == "levelling_not_determined"
    assert met.value.facts["met_mm"] == pytest.approx(49.0)


@pytest.mark.parametrize(
    ("reference", "machine", "needed"),
    [
        (Reference(), CROOKED, "rule"),
        (Reference(levelling="by_height"), CROOKED, "nominal"),
        (
            Reference(levelling="by_angle", characteristics={"head_angle": Tolerance(24.0)}),
            replace(CROOKED, head=False),
            "head_face",
        ),
        (Reference(levelling="by_control"), CROOKED, "control"),
        (Reference(levelling="by_line"), replace(CROOKED, level_line=None), "level_line"),
    ],
)
def test_what_levelling_lacks_is_said_and_its_characteristics_are_left_out(
    reference: Reference, machine: Machine, needed: str
) -> None:
    found = levelled(machine, reference)
    assert found.levelled is None
    assert [dict(one.facts)["needed"] for one in found.warnings] == [needed]
    assert {one.code for one in found.warnings} == {"levelling_missing"}
    lost = ("head_reach", "head_height", "head_angle", "pair_roll", "axis_t", "wheel_")
    assert not [key for key in found.values if key.startswith(lost)]
    assert "head_twist" in found.values
    assert "pair_offset.tail" in found.values


@pytest.mark.parametrize("nominal", [745.0, 660.0])
def test_a_head_height_out_of_reach_levels_nothing(nominal: float) -> None:
    """H is 744 mm from the pivot: 745 cannot be, 660 would stand it over 60° up."""
    height = Tolerance(nominal)
    found = levelled(
        CROOKED, Reference(levelling="by_height", characteristics={"head_height": height})
    )
    assert [one.code for one in found.warnings] == ["levelling_impossible"]
    assert "axis_distance" in found.values
    assert "head_reach" not in found.values
