"""Surveys that went wrong in every way: solved to finite numbers or refused in words, no crash.

A seeded generator damages a good survey: points lost, doubled, mislabelled, moved, made equal,
put on one line, scaled, given odd uncertainties, in the order of a hundred ways.
"""

import copy
import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app import resources
from app.errors import BadInput, Refusal
from app.schemas.reading import read_reference, survey_from
from app.services.solving import solve
from app.wording.errors import explain, explanations

SEED = resources.seed_data()
SURVEY: dict[str, Any] = json.loads((SEED / "before-head-bent.json").read_text(encoding="utf-8"))
REFERENCE = read_reference((SEED / "reference.json").read_bytes())
Damage = Callable[[dict[str, Any], np.random.Generator], None]


def pick(survey: dict[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    points: list[dict[str, Any]] = survey["points"]
    return points[int(rng.integers(len(points)))] if points else {}


def lose_points(survey: dict[str, Any], rng: np.random.Generator) -> None:
    kept = rng.random(len(survey["points"])) < rng.random()
    survey["points"] = [p for p, keep in zip(survey["points"], kept, strict=True) if keep]


def lose_a_feature(survey: dict[str, Any], rng: np.random.Generator) -> None:
    gone = pick(survey, rng).get("feature")
    survey["points"] = [p for p in survey["points"] if p["feature"] != gone]


def keep_one_feature(survey: dict[str, Any], rng: np.random.Generator) -> None:
    kept = pick(survey, rng).get("feature")
    survey["points"] = [p for p in survey["points"] if p["feature"] == kept]


def double_a_point(survey: dict[str, Any], rng: np.random.Generator) -> None:
    survey["points"] = [*survey["points"], copy.deepcopy(pick(survey, rng))]


def make_all_equal(survey: dict[str, Any], rng: np.random.Generator) -> None:
    feature = pick(survey, rng).get("feature")
    for point in survey["points"]:
        if point["feature"] == feature:
            point.update(x=1.0, y=2.0, z=3.0)


def exchange_sides(survey: dict[str, Any], rng: np.random.Generator) -> None:
    sides = {"left": "right", "right": "left"}
    feature = pick(survey, rng).get("feature")
    for point in survey["points"]:
        if point["feature"] == feature and point.get("label") in sides:
            point["label"] = sides[point["label"]]


def exchange_turns(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for point in survey["points"]:
        if "turn" in point:
            point["turn"] = "left" if point["turn"] == "right" else "right"


def one_turn_differs(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for point in survey["points"]:
        if "turn" in point:
            point["turn"] = "left"
            return


def exchange_features(survey: dict[str, Any], rng: np.random.Generator) -> None:
    one, other = pick(survey, rng), pick(survey, rng)
    if one and "station" not in one and "station" not in other:
        one["feature"], other["feature"] = other["feature"], one["feature"]


def rename_stations(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for point in survey["points"]:
        if "station" in point and rng.random() < 0.5:
            point["station"] = str(rng.choice(["1", "2", "return", "return2", "half_turn"]))


def drop_stations_of_lines(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for point in survey["points"]:
        if point["feature"] != "steer_target":
            point.pop("station", None)


def scale(survey: dict[str, Any], rng: np.random.Generator) -> None:
    factor = float(rng.choice([1e-3, 1 / 25.4, 0.1, 10.0, 1e3, 1e-9, 0.0]))
    for point in survey["points"]:
        point.update({axis: point[axis] * factor for axis in "xyz"})


def mirror(survey: dict[str, Any], rng: np.random.Generator) -> None:
    axis = str(rng.choice(list("xyz")))
    for point in survey["points"]:
        point[axis] = -point[axis]


def flatten(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for axis in rng.choice(list("xyz"), size=int(rng.integers(1, 4)), replace=False):
        for point in survey["points"]:
            point[str(axis)] = 0.0


def throw_a_point(survey: dict[str, Any], rng: np.random.Generator) -> None:
    point = pick(survey, rng)
    point["x"] = float(rng.choice([-1e7, 1e7, 0.0, 1e4]))


def odd_uncertainty(survey: dict[str, Any], rng: np.random.Generator) -> None:
    value = float(rng.choice([1e-6, 1e3, 10.0, 1e-3]))
    for point in survey["points"]:
        if rng.random() < 0.5:
            point["u"] = value


def odd_covariance(survey: dict[str, Any], rng: np.random.Generator) -> None:
    pick(survey, rng)["cov"] = [float(rng.choice([0.0, 0.01, -0.01, 1e6])) for _ in range(6)]


def odd_up(survey: dict[str, Any], rng: np.random.Generator) -> None:
    survey["up"] = rng.choice([-1.0, 0.0, 1.0, 1e-7, 1e7], size=3).tolist()


def odd_instrument(survey: dict[str, Any], rng: np.random.Generator) -> None:
    survey["instrument"].update(
        probe_radius_mm=float(rng.choice([0.0, 3.0, 1e3])),
        scale_u_ppm=float(rng.choice([0.0, 1e6])),
        offset_u_mm=float(rng.choice([0.0, 100.0])),
        repeatability_mm=float(rng.choice([1e-6, 0.05, 1e3])),
        repeatability_degrees_of_freedom=float(rng.choice([0.5, 1.0, 1e6])),
    )


def odd_temperature(survey: dict[str, Any], rng: np.random.Generator) -> None:
    survey["part_temperature_c"] = float(rng.choice([-60.0, 20.0, 120.0]))
    survey["part_temperature_u_k"] = float(rng.choice([0.0, 50.0]))


def stack_targets(survey: dict[str, Any], rng: np.random.Generator) -> None:
    upper = {p["station"]: p for p in survey["points"] if p.get("label") == "upper"}
    for point in survey["points"]:
        if point.get("label") == "lower" and point["station"] in upper:
            point.update({axis: upper[point["station"]][axis] for axis in "xyz"})


def add_bores(survey: dict[str, Any], rng: np.random.Generator) -> None:
    face = next((p for p in survey["points"] if p["feature"] == "head_face"), None)
    base = face or {"x": 0.0, "y": 0.0, "z": 0.0}
    for _ in range(int(rng.integers(1, 4))):
        bore = {axis: base[axis] + float(rng.normal(0, 60)) for axis in "xyz"}
        survey["points"] = [*survey["points"], {"feature": "head_bore", **bore}]


def odd_spacing(survey: dict[str, Any], rng: np.random.Generator) -> None:
    names = ["upper", "lower", "nobody"]
    pair = [str(rng.choice(names)), str(rng.choice(names))]
    survey["rig"] = {"target_spacing_mm": [[*pair, float(rng.choice([1.0, 300.0])), 0.05]]}


def add_features_of_later(survey: dict[str, Any], rng: np.random.Generator) -> None:
    for feature, label in [("rear_axle", "left"), ("pair", "tail.left"), ("axis", "link"),
                           ("fork_leg", "right"), ("control", "mount")]:  # fmt: skip
        place = {axis: float(rng.normal(0, 300)) for axis in "xyz"}
        survey["points"] = [*survey["points"], {"feature": feature, "label": label, **place}]


DAMAGES: tuple[Damage, ...] = (
    lose_points, lose_a_feature, keep_one_feature, double_a_point, make_all_equal, exchange_sides,
    exchange_turns, one_turn_differs, exchange_features, rename_stations, drop_stations_of_lines,
    scale, mirror, flatten, throw_a_point, odd_uncertainty, odd_covariance, odd_up,
    odd_instrument, odd_temperature, stack_targets, add_bores, odd_spacing, add_features_of_later,
)  # fmt: skip


def require_said_well(error: BadInput | Refusal) -> None:
    assert error.code in explanations()
    assert explain(error).sentence.isprintable()


def require_an_honest_answer(survey: dict[str, Any]) -> str:
    """Return the code of the refusal, or `solved`; anything else raises."""
    try:
        result = solve(survey_from(survey), REFERENCE)
    except (BadInput, Refusal) as error:
        require_said_well(error)
        return error.code
    text = json.dumps(result, allow_nan=False)
    assert "{" not in result["finding"]["sentence"]
    assert len(text) > 100
    return "solved"


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: str(damage.__name__))
def test_one_kind_of_damage_is_solved_or_refused(damage: Damage) -> None:
    rng = np.random.default_rng(17)
    outcomes = set()
    for _ in range(6):
        survey = copy.deepcopy(SURVEY)
        damage(survey, rng)
        outcomes.add(require_an_honest_answer(survey))
    assert outcomes


@pytest.mark.parametrize("seed", range(20))
def test_several_kinds_at_once_are_solved_or_refused(seed: int) -> None:
    rng = np.random.default_rng(seed)
    outcomes = set()
    for _ in range(10):
        survey = copy.deepcopy(SURVEY)
        for place in rng.choice(len(DAMAGES), size=int(rng.integers(2, 5)), replace=False):
            DAMAGES[int(place)](survey, rng)
        outcomes.add(require_an_honest_answer(survey))
    assert len(outcomes) > 1
