"""What lies beyond the head against the package GTC (GUM Tree Calculator, MSL New Zealand).

Every line has two points, so that each characteristic is an explicit function of coordinates. It
is written down anew here with GTC's uncertain numbers, which propagate by their own automatic
derivatives; values, standard uncertainties, correlations and parts of the budget are compared.
"""

import math
from typing import Any

import GTC  # type: ignore[import-untyped]
import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Instrument, Reference, Survey

U, BALL, BALL_U, SCALE_U = 0.1, 3.0, 0.02, 20e-6
WARM, STEEL, SQUARE = 28.0, 11.7e-6, math.radians(0.2)
KEYS = (
    "pivot_width", "arm_length", "axle_toe", "axle_twist", "axle_offset", "pair_offset.tail",
    "pair_roll.tail", "pair_skew.tail", "axis_toe.linkage", "axis_twist.linkage", "fork_spread",
    "fork_cross", "fork_spacing",
)  # fmt: skip
POINTS: dict[tuple[str, str], tuple[float, float, float]] = {
    ("pivot", "left"): (1.0, 140.0, -0.5),
    ("pivot", "right"): (-0.5, -138.0, 0.4),
    ("pivot_face", "left"): (22.0, 123.2, 9.0),
    ("pivot_face", "right"): (-14.0, -122.7, 21.0),
    ("level_line", "rear"): (-180.0, 60.0, 200.0),
    ("level_line", "front"): (360.0, 40.0, 203.0),
    ("pair", "tail.left"): (-420.0, 96.0, 362.0),
    ("pair", "tail.right"): (-417.0, -95.0, 359.0),
    ("rear_axle", "left"): (-556.0, 151.0, -66.0),
    ("rear_axle", "right"): (-553.5, -149.0, -70.0),
    ("axle_face", "left"): (-540.0, 118.3, -60.0),
    ("axle_face", "right"): (-566.0, -117.6, -81.0),
    ("axis", "linkage"): (30.0, 80.0, -80.5),
    ("axis ", "linkage"): (31.0, -81.0, -79.0),
    ("fork_leg", "left"): (640.0, 103.0, 120.0),
    ("fork_leg ", "left"): (512.0, 102.0, 402.0),
    ("fork_leg", "right"): (641.5, -102.0, 121.0),
    ("fork_leg ", "right"): (511.0, -103.0, 399.0),
}
"""A trailing space tells the second point of a line from the first."""


def taken() -> Survey:
    count = len(POINTS)
    return Survey(
        feature=tuple(feature.strip() for feature, _ in POINTS),
        label=tuple(label for _, label in POINTS),
        station=(None,) * count,
        turn=(None,) * count,
        xyz=np.array(list(POINTS.values())),
        u=np.full(count, U),
        offset=np.full(count, np.nan),
        up=(0.0, 0.0, 1.0),
        instrument=Instrument(None, BALL_U, SCALE_U * 1e6, BALL),
        part_temperature_c=WARM,
        part_temperature_u_k=1.0,
        chain_adjusters={"left": 4.0, "right": 4.0},
    )


def minus(a: Any, b: Any) -> Any:
    return [x - y for x, y in zip(a, b, strict=True)]


def plus(a: Any, factor: Any, b: Any) -> Any:
    return [x + factor * y for x, y in zip(a, b, strict=True)]


def dot(a: Any, b: Any) -> Any:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Any, b: Any) -> Any:
    return [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]


def unit(a: Any) -> Any:
    length = GTC.sqrt(dot(a, a))
    return [x / length for x in a]


def atan2(y: Any, x: Any) -> Any:
    return GTC.atan2(y, x)


class Inputs:
    """Every input as an uncertain number."""

    def __init__(self) -> None:
        centre = (np.array(POINTS["pivot", "left"]) + np.array(POINTS["pivot", "right"])) / 2.0
        self.ball = BALL + GTC.ureal(0.0, BALL_U)
        self.scale = GTC.ureal(0.0, SCALE_U)
        self.warm, self.per_k = GTC.ureal(WARM, 1.0), GTC.ureal(STEEL, 1e-6)
        grown = (1.0 + self.scale) / (1.0 + self.per_k * (self.warm - 20.0))
        self.raw = {name: [GTC.ureal(x, U) for x in xyz] for name, xyz in POINTS.items()}
        self.place = {
            name: [(x - c) * grown for x, c in zip(xyz, centre.tolist(), strict=True)]
            for name, xyz in self.raw.items()
        }
        self.lean = {
            (feature, side): GTC.ureal(0.0, math.tan(SQUARE))
            for feature in ("pivot_face", "axle_face")
            for side in ("left", "right")
        }


def by_definition(inputs: Inputs) -> dict[str, Any]:
    """Design sections 3, 5.3 to 5.6, rad and mm."""
    at = inputs.place
    left = unit(minus(at["pivot", "left"], at["pivot", "right"]))
    base = at["pivot", "right"]
    axle_left = unit(minus(at["rear_axle", "left"], at["rear_axle", "right"]))

    def face(feature: str, side: str, through: Any, axis: Any) -> Any:
        arm = minus(at[feature, side], through)
        beside = plus(arm, -1.0 * dot(arm, axis), axis)
        lever = GTC.sqrt(dot(beside, beside))
        inward = inputs.ball if side == "right" else -inputs.ball
        return dot(left, at[feature, side]) + inward + inputs.lean[feature, side] * lever

    faces = [face("pivot_face", side, base, left) for side in ("left", "right")]
    middle = (faces[0] + faces[1]) / 2.0
    origin = plus(base, middle - dot(left, base), left)
    start = at["rear_axle", "right"]
    ends = [face("axle_face", side, start, axle_left) for side in ("left", "right")]
    across = (ends[0] + ends[1]) / 2.0
    centre = plus(start, (across - dot(left, start)) / dot(left, axle_left), axle_left)
    arm = minus(centre, origin)
    along = plus(arm, -1.0 * dot(arm, left), left)
    rearward = unit(along)
    raised = cross(left, rearward)
    line = minus(at["level_line", "front"], at["level_line", "rear"])
    forward = unit(plus(line, -1.0 * dot(line, left), left))
    upward = cross(forward, left)
    tail = [minus(at["pair", f"tail.{side}"], origin) for side in ("left", "right")]
    (xl, yl, zl), (xr, yr, zr) = [[dot(p, a) for a in (forward, left, upward)] for p in tail]
    axis = unit(minus(at["axis", "linkage"], at["axis ", "linkage"]))
    legs = {
        side: unit(minus(at["fork_leg ", side], at["fork_leg", side])) for side in ("left", "right")
    }
    return {
        "pivot_width": faces[0] - faces[1],
        "arm_length": GTC.sqrt(dot(along, along)),
        "axle_toe": atan2(dot(axle_left, rearward), dot(axle_left, left)),
        "axle_twist": atan2(dot(axle_left, raised), dot(axle_left, left)),
        "axle_offset": dot(left, arm),
        "pair_offset.tail": (yl + yr) / 2.0,
        "pair_roll.tail": atan2(zl - zr, yl - yr),
        "pair_skew.tail": atan2(xr - xl, yl - yr),
        "axis_toe.linkage": atan2(-1.0 * dot(axis, forward), dot(axis, left)),
        "axis_twist.linkage": atan2(dot(axis, upward), dot(axis, left)),
        **_fork(at, legs),
    }


def _fork(at: Any, legs: Any) -> dict[str, Any]:
    middle = unit(plus(legs["left"], 1.0, legs["right"]))
    centres = {
        side: [
            (x + y) / 2.0 for x, y in zip(at["fork_leg", side], at["fork_leg ", side], strict=True)
        ]
        for side in ("left", "right")
    }
    apart = minus(centres["left"], centres["right"])
    outward = unit(plus(apart, -1.0 * dot(apart, middle), middle))
    ahead = cross(outward, middle)
    tilts = {
        name: [atan2(dot(legs[s], way), dot(legs[s], middle)) for s in ("left", "right")]
        for name, way in (("spread", outward), ("cross", ahead))
    }
    height = (dot(centres["left"], middle) + dot(centres["right"], middle)) / 2.0
    feet = [
        plus(
            centres[s],
            (height - dot(centres[s], middle)) / dot(legs[s], middle),
            legs[s],
        )
        for s in ("left", "right")
    ]
    return {
        "fork_spread": tilts["spread"][0] - tilts["spread"][1],
        "fork_cross": tilts["cross"][0] - tilts["cross"][1],
        "fork_spacing": dot(minus(feet[0], feet[1]), outward),
    }


@pytest.fixture(scope="module")
def both() -> tuple[Result, Inputs, dict[str, Any]]:
    result = evaluate(taken(), Reference(levelling="by_line", materials={"frame": "steel"}))
    inputs = Inputs()
    return result, inputs, by_definition(inputs)


def degrees(key: str) -> float:
    lengths = {"pivot_width", "arm_length", "axle_offset", "pair_offset.tail", "fork_spacing"}
    return 1.0 if key in lengths else math.degrees(1.0)


@pytest.mark.parametrize("key", KEYS)
def test_values_and_uncertainties_are_those_of_gtc(
    both: tuple[Result, Inputs, dict[str, Any]], key: str
) -> None:
    result, _, expected = both
    item = {one.key: one for one in result.characteristics}[key]
    assert item.value == pytest.approx(expected[key].x * degrees(key), abs=1e-9)
    assert item.standard_uncertainty == pytest.approx(expected[key].u * degrees(key), rel=1e-9)


def test_correlations_are_those_of_gtc(both: tuple[Result, Inputs, dict[str, Any]]) -> None:
    result, _, expected = both
    places = [result.covariance_keys.index(key) for key in KEYS]
    u = np.sqrt(result.covariance.diagonal()[places])
    found = result.covariance[np.ix_(places, places)] / np.outer(u, u)
    wanted = [[GTC.get_correlation(expected[a], expected[b]) for b in KEYS] for a in KEYS]
    assert found == pytest.approx(np.array(wanted), abs=1e-9)
    assert abs(found - np.eye(len(KEYS))).max() > 0.5


def test_the_parts_of_a_budget_are_gtcs_components(
    both: tuple[Result, Inputs, dict[str, Any]],
) -> None:
    result, inputs, expected = both
    item = {one.key: one for one in result.characteristics}["arm_length"]
    shares = {share.source: share.share for share in item.budget}
    number = expected["arm_length"]

    def share(parts: list[Any]) -> float:
        return float(sum(GTC.component(number, part) ** 2 for part in parts) / number.u**2)

    pivots = [x for side in ("left", "right") for x in inputs.raw["pivot", side]]
    axles = [x for side in ("left", "right") for x in inputs.raw["rear_axle", side]]
    assert shares["pivot"] == pytest.approx(share(pivots), abs=1e-9)
    assert shares["rear_axle"] == pytest.approx(share(axles), abs=1e-9)
    assert shares["instrument_scale"] == pytest.approx(share([inputs.scale]), abs=1e-9)
    assert shares["temperature"] == pytest.approx(share([inputs.warm, inputs.per_k]), abs=1e-9)
