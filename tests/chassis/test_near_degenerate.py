"""Near-degenerate sets give an honestly large uncertainty or a refusal, never a wrong small one."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from app.demonstration.extent import Extent
from app.demonstration.machine import SOUND, Arm, Fork, Machine
from app.demonstration.machine_survey import Measured, measure
from app.demonstration.machine_truth import Terms
from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig, Target
from app.demonstration.session import draw_session
from tests.chassis.degenerate import honest, u_of
from tests.demonstration.machines import BENT
from tests.simulation.machines import BY_CONTROL

SETTINGS = settings(
    max_examples=60, deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate]
)
LEVEL = Terms("by_angle", 24.0)
seeds = st.integers(0, 10**6)
HARDLY = frozenset({"steering_hardly_turned", "axis_not_determined", "axes_not_crosswise"})
STACKED = (Target("upper", 180.0, 210.0, 10.0), Target("lower", 160.0, -40.0, 10.0))
OPPOSITE = (Target("upper", 180.0, 60.0, 90.0), Target("lower", 160.0, 60.0, -90.0))
ALONE = (Target("upper", 180.0, 210.0, 30.0),)
HEAD_ALONE = Extent(features=())


def head_survey(rig: Rig, seed: int, pose: Pose = BENT.head) -> Measured:
    machine = Machine(pose)
    return measure(machine, replace(HEAD_ALONE, rig=rig), np.random.default_rng(seed))


def turned_by(targets: tuple[Target, ...], degrees: tuple[float, ...]) -> Rig:
    return Rig(targets=targets, stations_deg=degrees, return_steering=False)


@pytest.mark.parametrize("turn", [0.002, 1.0])
@pytest.mark.parametrize("targets", [STACKED, OPPOSITE, ALONE], ids=["stacked", "opposite", "one"])
def test_a_steering_that_was_hardly_turned_is_refused(
    targets: tuple[Target, ...], turn: float
) -> None:
    for seed in range(20):
        for angles in ((0.0, turn / 2.0, turn), (-turn, 0.0, turn)):
            made = head_survey(turned_by(targets, angles), seed)
            assert honest(made, LEVEL, HARDLY) is None


@SETTINGS
@given(
    st.sampled_from([STACKED, OPPOSITE, ALONE, Rig().targets]),
    st.floats(0.5, 25.0),
    st.integers(3, 6),
    seeds,
)
def test_the_less_the_steering_turns_the_less_is_claimed(
    targets: tuple[Target, ...], half: float, stations: int, seed: int
) -> None:
    angles = tuple(np.linspace(-half, half, stations).tolist())
    honest(head_survey(turned_by(targets, angles), seed), LEVEL, HARDLY)


@SETTINGS
@given(st.floats(0.001, 60.0), st.booleans(), seeds)
def test_bore_points_close_together(apart: float, arcs: bool, seed: int) -> None:
    """Alone they are the axis, or are refused; beside arcs they say little."""
    rig = Rig(bore_mm=(80.0, 80.0 + apart), targets=Rig().targets if arcs else ())
    made = measure(
        Machine(BENT.head), replace(HEAD_ALONE, rig=rig), np.random.default_rng(seed), None
    )
    survey, allowed = made.survey, HARDLY | {"coincident_points", "bore_and_arc_disagree"}
    # The simulator touches within 2 mm of where it should: here exactly so far apart.
    rows = [row for row, feature in enumerate(survey.feature) if feature == "head_bore"]
    along = made.session.head.orientation @ _axis_of(BENT.head)
    off = apart - float((survey.xyz[rows[1]] - survey.xyz[rows[0]]) @ along)
    xyz = survey.xyz.copy()
    xyz[rows[1]] += off * along
    result = honest(replace(made, survey=replace(survey, xyz=xyz)), LEVEL, allowed)
    if result is not None and not arcs:
        # Two points with 0.1 mm across each: 0.14 mm over their distance.
        assert u_of(result, "head_twist") >= 0.9 * np.degrees(0.1414 / (apart + 0.5))


def _axis_of(pose: Pose) -> np.ndarray:
    lean, twist = np.radians([pose.head_angle_deg, pose.head_twist_deg])
    return np.array([-np.sin(lean) * np.cos(twist), -np.sin(twist), np.cos(lean) * np.cos(twist)])


@SETTINGS
@given(st.floats(-100.0, 100.0), seeds)
def test_a_hanging_arm_is_measured_like_any_other(droop: float, seed: int) -> None:
    """Its shape does not depend on how it hangs, and no more is made of `up` than it can bear."""
    machine = Machine(BENT.head, arm=Arm(562.0, droop, 0.3, -0.4, 1.0))
    extent = Extent(rig=Rig(targets=(), head_face_points=0), features=("rear_axle", "axle_face"))
    made = measure(machine, extent, np.random.default_rng(seed))
    result = honest(made, Terms(), frozenset())
    assert result is not None
    assert {"arm_length", "axle_toe", "axle_twist", "axle_offset"} <= {
        item.key for item in result.characteristics
    }


@SETTINGS
@given(st.floats(-3.0, 3.0), st.floats(18.0, 32.0), seeds)
def test_a_head_near_the_foot_of_the_perpendicular(
    position: float, angle: float, seed: int
) -> None:
    """There face_position is about nothing, and the head's elevation is its angle."""
    e = np.radians(angle)
    distance = 740.0
    pose = Pose(
        0.3,
        1.0,
        distance * np.cos(e) - position * np.sin(e),
        distance * np.sin(e) + position * np.cos(e),
        angle,
        255.0,
    )
    result = honest(head_survey(Rig(), seed, pose), replace(LEVEL, nominal=angle), frozenset())
    assert result is not None
    assert u_of(result, "face_position") > 0.1


@SETTINGS
@given(st.floats(0.05, 100.0), seeds)
def test_rim_points_bunched_in_a_short_arc(span: float, seed: int) -> None:
    """Three points within a few degrees tell hardly where the wheel stands."""
    rng = np.random.default_rng(seed)
    extent = Extent(features=("front_rim", "rear_rim"))
    session = draw_session(BENT, extent, rng)
    bunched = session.rims[..., :1] + np.radians(span) * np.array([0.0, 0.5, 1.0])
    made = measure(BENT, extent, rng, replace(session, rims=bunched, wheel_steering=0.0))
    result = honest(made, LEVEL, frozenset({"coincident_points"}))
    if result is not None and span < 20.0:
        keys = [item.key for item in result.characteristics]
        assert "front_wheel_lean" not in keys or u_of(result, "front_wheel_lean") > 0.5


@SETTINGS
@given(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05), st.floats(1.0, 200.0), seeds)
def test_legs_nearly_parallel_to_the_steering_axis(
    rake: float, lean: float, half: float, seed: int
) -> None:
    """As they should be; and touched close together they say little of their direction."""
    machine = replace(SOUND, fork=Fork(rake_deg=rake, lean_deg=lean))
    extent = Extent(features=("fork_leg",), leg_mm=(half, -half))
    made = measure(machine, extent, np.random.default_rng(seed))
    result = honest(made, LEVEL, frozenset({"coincident_points"}))
    if result is not None:
        apart = np.abs(np.diff(made.session.legs, axis=1)).max()
        assert u_of(result, "fork_spread") >= 0.9 * np.degrees(0.2 / apart)


@SETTINGS
@given(st.floats(0.0, 60.0), seeds)
def test_control_points_nearly_in_line(aside: float, seed: int) -> None:
    """Where they do not hold the frame about their line, the datum is left out or doubted."""
    line = {
        "front": (420.0, 0.0, 300.0),
        "middle": (50.0, aside, 300.0),
        "rear": (-350.0, 0.0, 300.0),
    }
    machine = replace(SOUND, controls=line)
    made = measure(machine, Extent(features=("control",)), np.random.default_rng(seed))
    result = honest(made, replace(BY_CONTROL, controls=line, weights={}, distances=()), frozenset())
    assert result is not None
    keys = {item.key for item in result.characteristics}
    # The second singular value of three points, of which the middle one stands aside.
    if aside * np.sqrt(2.0 / 3.0) > 20.5:
        assert u_of(result, "datum_roll") > np.degrees(0.1 / aside)
    if aside * np.sqrt(2.0 / 3.0) < 19.5:
        assert "datum_roll" not in keys


@SETTINGS
@given(st.floats(0.1, 60.0), seeds)
def test_a_level_line_of_two_points_close_together(apart: float, seed: int) -> None:
    machine = replace(SOUND, level_line=((200.0, 80.0, 240.0), (200.0 + apart, 80.0, 240.0)))
    made = measure(machine, Extent(features=("level_line", "pair")), np.random.default_rng(seed))
    result = honest(made, Terms("by_line"), frozenset({"levelling_not_determined"}))
    if apart < 49.0:
        assert result is None
    if apart > 51.0:
        assert result is not None
        assert u_of(result, "head_angle") > 0.9 * np.degrees(0.1414 / apart)
